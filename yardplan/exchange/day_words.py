"""Days and times in plain words."""

from datetime import datetime, timedelta

from yardplan.domain.slots import SlotGrid


def by_when(at: datetime, grid: SlotGrid) -> str:
    """Return an instant in words: midnight is the end of the day before."""
    local = at.astimezone(grid.zone)
    ends_day = (local.hour, local.minute) == (0, 0)
    return f"{local - timedelta(days=1):end of %a %d %b}" if ends_day else f"{local:%a %d %b %H:%M}"
