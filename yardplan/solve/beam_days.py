"""What a unit can heat in a day at most: an exact dynamic program over its beam and its two chambers."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from yardplan.solve.bookings import Bookings
from yardplan.solve.compiled import Compiled, Place

Recipe = tuple[str, str]
"""Mold and product."""


@dataclass(frozen=True, eq=False)
class BeamDays:
    """All days of all units side by side, in slots since the start of the day.

    Attributes
    ----------
    recipes : tuple of (mold id, product id)
        What may be heated; the second axis of the arrays.
    days : tuple of (first, after)
        Slots of the grid of each day and unit; the last axis of the arrays: day by day, unit by unit.
    cook : array (slot, recipe, day and unit)
        Slots of a heat that starts then; 0 where none may.
    turn : array (slot, recipe, day and unit)
        Least slots from the end of heat until the chamber is empty again; where a unit has more than two chambers,
        so few that any could be charged by then.
    charge : array (recipe,)
        Slots of charging before heat.
    may : array (chamber of a unit, slot, recipe, day and unit)
        Whether that chamber can take the heat.
    """

    recipes: tuple[Recipe, ...]
    days: tuple[tuple[int, int], ...]
    cook: NDArray[np.int64]
    turn: NDArray[np.int64]
    charge: NDArray[np.int64]
    may: NDArray[np.bool_]

    def best(
        self, worth: NDArray[np.float64], on_slot: Callable[[], None] = lambda: None
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return the most that each unit's day can be worth, and how often it then heats what.

        Backward in time, over the slots left until each chamber is empty. A heat asks for the beam to itself and for
        a chamber that has been empty as long as charging takes; it leaves that chamber taken for its cooling and
        demolding. Every way of a unit through a day obeys this, so none is worth more. What else a plan obeys is
        left out: people, molds, clean-downs, and that a chamber may not be empty at dawn.

        Parameters
        ----------
        worth : array (slot, recipe, day and unit)
            What a heat is worth that starts then.
        on_slot : callable
            Called for each slot; it may raise to end what is not wanted any more.

        Returns
        -------
        value : array (day and unit,)
        counts : array (slot, recipe, day and unit)
            1 for each heat of the best way.
        """
        n_slots, _, n_days = self.cook.shape
        most_charge = int(self.charge.max(initial=0))
        n_states = most_charge + int(self.turn.max(initial=0)) + 1
        state, each = np.arange(n_states), np.arange(n_days)
        value = np.zeros((n_slots + int(self.cook.max(initial=0)) + 1, n_days, n_states, n_states))
        passed = np.maximum(state - 1, 0)
        charges = sorted(set(self.charge.tolist()))
        for slot in range(n_slots - 1, -1, -1):
            on_slot()
            here = value[slot + 1][:, passed][:, :, passed]
            for chamber, may in enumerate(self.may[:, slot]):
                used = np.flatnonzero(may.any(axis=1))
                if not used.size:
                    continue
                cook, after = self.cook[slot, used], self.turn[slot, used] + most_charge
                other = np.maximum(state - cook[..., None], 0)
                ahead = (slot + cook)[..., None], each[None, :, None]
                then = value[(*ahead, after[..., None], other) if chamber == 0 else (*ahead, other, after[..., None])]
                then = np.where(may[used][..., None], then + worth[slot, used][..., None], -np.inf)
                for charge in charges:
                    same = self.charge[used] == charge
                    if same.any():
                        top, ready = then[same].max(axis=0), most_charge - charge + 1
                        if chamber == 0:
                            here[:, :ready] = np.maximum(here[:, :ready], top[:, None, :])
                        else:
                            here[:, :, :ready] = np.maximum(here[:, :, :ready], top[:, :, None])
            value[slot] = here
        return value[0, :, 0, 0], self._traced(value, worth, most_charge)

    def _traced(self, value: NDArray[np.float64], worth: NDArray[np.float64], most_charge: int) -> NDArray[np.float64]:
        counts = np.zeros_like(worth)
        for day in range(self.cook.shape[2]):
            slot, states = 0, (0, 0)
            while slot < self.cook.shape[0]:
                now = value[slot, day, states[0], states[1]]
                if now <= 0:
                    break
                passed = max(states[0] - 1, 0), max(states[1] - 1, 0)
                if value[slot + 1, day, passed[0], passed[1]] >= now:
                    slot, states = slot + 1, passed
                    continue
                slot, states = self._step(value, worth, most_charge, counts, day, slot, states)
        return counts

    def _step(
        self,
        value: NDArray[np.float64],
        worth: NDArray[np.float64],
        most_charge: int,
        counts: NDArray[np.float64],
        day: int,
        slot: int,
        states: tuple[int, int],
    ) -> tuple[int, tuple[int, int]]:
        """Count the heat that the best way begins in a slot; returns where it goes on."""
        best, then = -np.inf, (slot + 1, states)
        chosen = -1
        for chamber in range(2):
            fit = self.may[chamber, slot, :, day] & (states[chamber] <= most_charge - self.charge)
            for recipe in np.flatnonzero(fit).tolist():
                cook = int(self.cook[slot, recipe, day])
                after = int(self.turn[slot, recipe, day]) + most_charge, max(states[1 - chamber] - cook, 0)
                left = after if chamber == 0 else after[::-1]
                got = worth[slot, recipe, day] + value[slot + cook, day, left[0], left[1]]
                if got > best:
                    best, then, chosen = got, (slot + cook, left), recipe
        counts[slot, chosen, day] += 1
        return then


def beam_days(compiled: Compiled, book: Bookings) -> BeamDays:
    """Return the days of all units with what kept work and down-times leave of their beams and chambers."""
    recipes = tuple(
        sorted(
            {
                (mold_id, line.order.product_id)
                for line in compiled.lines
                for mold_id in compiled.recipes[line.order.product_id]
            }
        )
    )
    n_units, grid_days = len(compiled.units), compiled.grid.days
    length = max(after - first for _, first, after in grid_days)
    days = tuple((first, after) for _, first, after in grid_days for _ in range(n_units))
    shape = (length, len(recipes), len(days))
    cook, turn, may = np.zeros(shape, np.int64), np.zeros(shape, np.int64), np.zeros((2, *shape), np.bool_)
    charge = np.array([compiled.makes[product_id].charge_slots for _, product_id in recipes], np.int64)
    for place, chamber, crowded in _chambers(compiled):
        field, open_slots = _running(book.field_free[place.unit_ix], compiled), _running(place.open, compiled)
        free = _running(book.chamber_free[place.id], compiled)
        for recipe_ix, (mold_id, product_id) in enumerate(recipes):
            row = compiled.row(mold_id, product_id, place.id)
            if row is None:
                continue
            make = compiled.makes[product_id]
            cooks, cools = np.array(row.cook), np.array(row.cool)
            starts = _flags(row.starts, compiled.n_slots)
            at = np.arange(compiled.n_slots)
            heated, cooled = _cut(at + cooks, compiled), _cut(at + cooks + cools, compiled)
            starts &= field[heated] - field[at] == cooks
            starts &= open_slots[cooled] - open_slots[at] == cooks + cools
            charged_from = np.maximum(at - make.charge_slots, 0)
            starts &= free[cooled] - free[charged_from] == cooled - charged_from
            for day_ix, (_, first, after) in enumerate(grid_days):
                mine, span = day_ix * n_units + place.unit_ix, after - first
                cook[:span, recipe_ix, mine] = np.maximum(cook[:span, recipe_ix, mine], cooks[first:after])
                turns = cools[first:after] + make.demold_slots
                if crowded:
                    turns = np.full_like(turns, -make.charge_slots)
                turn[:span, recipe_ix, mine] = np.where(starts[first:after], turns, turn[:span, recipe_ix, mine])
                may[chamber, :span, recipe_ix, mine] |= starts[first:after]
    used = may.any(axis=0)
    return BeamDays(recipes, days, np.where(used, cook, 0), np.where(used, turn, 0), charge, may)


def _chambers(compiled: Compiled) -> Iterator[tuple[Place, int, bool]]:
    """Yield each chamber with its number in its unit, and whether the unit has more than the program can tell apart."""
    seen: dict[int, list[Place]] = {}
    for place in compiled.places:
        seen.setdefault(place.unit_ix, []).append(place)
    for places in seen.values():
        for number, place in enumerate(places):
            yield place, min(number, 1), len(places) > 2


def _flags(mask: int, n_slots: int) -> NDArray[np.bool_]:
    return np.array([mask >> slot & 1 for slot in range(n_slots)], np.bool_)


def _running(mask: int, compiled: Compiled) -> NDArray[np.int64]:
    """Return how many slots of a mask lie before each slot."""
    return np.concatenate(([0], np.cumsum(_flags(mask, compiled.n_slots))))


def _cut(slots: NDArray[np.int64], compiled: Compiled) -> NDArray[np.int64]:
    return np.minimum(slots, compiled.n_slots)
