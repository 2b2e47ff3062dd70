"""The one converter between instants and slots."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from functools import cached_property
from math import ceil
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from yardplan.domain.errors import require


def zone(name: str) -> ZoneInfo:
    """Return the time zone of an IANA name; raises `InvalidField` on an unknown one."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        require(False, "site", name, "tz", name, "a name of the IANA time-zone database, such as America/Denver")
        raise AssertionError from None


@dataclass(frozen=True)
class SlotGrid:
    """A run of equal slots counted in UTC; slot `i` covers ``[at(i), at(i + 1))``.

    A local day has 276, 288 or 300 five-minute slots where the clocks change, so days are looked up,
    never multiplied.

    Parameters
    ----------
    start_at : datetime
        Aware instant of slot 0, stored in UTC.
    n_slots : int
        Number of slots.
    tz : str
        IANA name of the yard's time zone.
    slot_min : int
        Length of a slot [min].
    """

    start_at: datetime
    n_slots: int
    tz: str
    slot_min: int = 5

    def __post_init__(self) -> None:
        require(self.start_at.tzinfo is not None, "grid", "", "start_at", self.start_at, "an aware instant")
        require(self.n_slots > 0, "grid", "", "n_slots", self.n_slots, "at least 1")
        require(self.slot_min > 0, "grid", "", "slot_min", self.slot_min, "at least 1 min")
        zone(self.tz)
        object.__setattr__(self, "start_at", self.start_at.astimezone(UTC))

    @classmethod
    def of_days(cls, first_on: date, n_days: int, tz: str, slot_min: int = 5) -> "SlotGrid":
        """Return the grid from local midnight of `first_on` to local midnight `n_days` later."""
        start_at = local_midnight(first_on, tz)
        end_at = local_midnight(first_on + timedelta(days=n_days), tz)
        return cls(start_at, int((end_at - start_at) / timedelta(minutes=slot_min)), tz, slot_min)

    @cached_property
    def zone(self) -> ZoneInfo:
        """The yard's time zone."""
        return zone(self.tz)

    @property
    def end_at(self) -> datetime:
        """The instant after the last slot."""
        return self.at(self.n_slots)

    def at(self, slot: int) -> datetime:
        """Return the instant [UTC] at which `slot` starts; any integer, also outside the grid."""
        return self.start_at + timedelta(minutes=self.slot_min * int(slot))

    def local(self, slot: int) -> datetime:
        """Return the start of `slot` on the yard's own clock."""
        return self.at(slot).astimezone(self.zone)

    def slot(self, at: datetime) -> int:
        """Return the slot that contains the instant `at`; may lie outside the grid."""
        return (at.astimezone(UTC) - self.start_at) // timedelta(minutes=self.slot_min)

    def slot_up(self, at: datetime) -> int:
        """Return the first slot that starts at or after the instant `at`."""
        return -((self.start_at - at.astimezone(UTC)) // timedelta(minutes=self.slot_min))

    def slots_up(self, minutes: float) -> int:
        """Return how many slots hold `minutes`, rounded up: work is never planned too short."""
        return ceil(minutes / self.slot_min - 1e-9)

    @cached_property
    def days(self) -> tuple[tuple[date, int, int], ...]:
        """Each local day that the grid touches: date, first slot, slot after the last, cut to the grid."""
        found = []
        on = self.local(0).date()
        while (first := self.slot(local_midnight(on, self.tz))) < self.n_slots:
            after = self.slot(local_midnight(on + timedelta(days=1), self.tz))
            found.append((on, max(first, 0), min(after, self.n_slots)))
            on += timedelta(days=1)
        return tuple(found)


def clock_instants(wall: datetime, tz: tzinfo) -> tuple[datetime, ...]:
    """Return the instants [UTC] at which the clocks of `tz` show `wall`: one, none when put forward, two when back."""
    found = {wall.replace(tzinfo=tz, fold=fold).astimezone(UTC) for fold in (0, 1)}
    return tuple(sorted(at for at in found if at.astimezone(tz).replace(tzinfo=None) == wall))


def local_midnight(on: date, tz: str) -> datetime:
    """Return the instant [UTC] at which the local day `on` begins."""
    return datetime(on.year, on.month, on.day, tzinfo=zone(tz)).astimezone(UTC)
