"""Rest that people need in the heat, as time after each job in which they do nothing.

Let a job take as many slots as the least that any of its slots allows in an hour, at most; and let nobody start
another one before so many slots of rest as are left of an hour by the least that is allowed from the start of the job
to an hour after its end. Then in any hour the work is within the least that its slots allow: if it belongs to one job,
by the first rule; if to more, the job with the least limit has a rest beside it in that hour, with the job before or
after it, which leaves just that much. So it is enough; it is a little more than the rule asks, since after light work
and before a hot hour the rest comes early, and nobody does light work in the rest after heavy work.
"""

import numpy as np

from yardplan.domain.heat_work import HOUR_MIN
from yardplan.domain.problem import Problem


class Rests:
    """Rest by kind of work, start and length, in slots."""

    def __init__(self, problem: Problem) -> None:
        limits = problem.limits
        self.n_slots, slot_min = problem.grid.n_slots, problem.grid.slot_min
        self.hour = HOUR_MIN // slot_min
        self.is_on = limits is not None and limits.is_hot
        self._allowed: dict[bool, list[int]] = {}
        if limits is not None and self.is_on:
            for heavy, minutes in ((True, limits.heavy_min), (False, limits.moderate_min)):
                # a limit is rounded down to slots, no limit stays none
                self._allowed[heavy] = (minutes // slot_min).tolist() + [self.hour] * (2 * self.hour)
        self._groups: dict[tuple[bool, int], tuple[int, tuple[tuple[int, int], ...]]] = {}

    def after(self, start: int, length: int, *, heavy: bool) -> int:
        """Return the slots of rest after a job."""
        if not self.is_on or not length:
            return 0
        first, last = (
            min(max(start, 0), self.n_slots),
            min(max(start + length + self.hour, 0), self.n_slots + self.hour),
        )
        return self.hour - min(self._allowed[heavy][first:last], default=self.hour)

    def end(self, start: int, end: int, *, heavy: bool) -> int:
        """Return the slot from which on somebody may work again after a job in ``[start, end)``."""
        return end + self.after(start, end - start, heavy=heavy)

    def most(self, length: int, *, heavy: bool) -> int:
        """Return the longest rest after any job of that length."""
        return max((rest for rest, _ in self._by_rest(length, heavy)[1]), default=0)

    def table(self, length: int, *, heavy: bool) -> list[int]:
        """Return the rest after a job by its start slot."""
        return [self.after(start, length, heavy=heavy) for start in range(self.n_slots)]

    def fit(self, starts: int, free: int, length: int, *, heavy: bool) -> int:
        """Return those of a mask of starts from which on somebody is free for the job and the rest after it."""
        if not self.is_on or not length:
            return starts & runs(free, length) if length else starts
        allowed, by_rest = self._by_rest(length, heavy)
        found, starts = 0, starts & allowed
        for rest, mask in by_rest:
            found |= starts & mask & runs(free, length + rest)
        return found

    def _by_rest(self, length: int, heavy: bool) -> tuple[int, tuple[tuple[int, int], ...]]:
        """Return the starts that a job's own length allows, and those with each length of rest."""
        if not self.is_on:
            return -1, ()
        key = heavy, length
        if key not in self._groups:
            limits = np.array(self._allowed[heavy])
            least = np.lib.stride_tricks.sliding_window_view(limits, max(length, 1))[: self.n_slots].min(axis=1)
            allowed = _mask((least >= self.hour) | (least >= length))
            rests = np.array(self.table(length, heavy=heavy))
            self._groups[key] = allowed, tuple((rest, _mask(rests == rest)) for rest in np.unique(rests).tolist())
        return self._groups[key]


def runs(mask: int, length: int) -> int:
    """Return the mask of the slots from which on `length` slots in a row are set."""
    have = 1
    while have < length:
        step = min(have, length - have)
        mask &= mask >> step
        have += step
    return mask


def _mask(bits: np.ndarray) -> int:
    return int.from_bytes(np.packbits(bits, bitorder="little").tobytes(), "little")
