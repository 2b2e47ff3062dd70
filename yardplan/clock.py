"""The only place that reads the wall clock; everything else is told what time it is."""

from datetime import UTC, datetime


def now_utc() -> datetime:
    """Return the present instant, aware, in UTC, cut to whole seconds."""
    return datetime.now(UTC).replace(microsecond=0)  # noqa: TID251 - this is the one place
