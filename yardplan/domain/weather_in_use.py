"""The weather that plans count on, how old it is, and how services tell it."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from yardplan.domain.tables import Weather


class ServiceFormat(StrEnum):
    """How a forecast service tells the weather; `forecast.services` says what each looks like."""

    CLOUD_LAYERS = "cloud-layers"
    IRRADIANCE = "irradiance"


@dataclass(frozen=True, eq=False)
class WeatherInUse:
    """What plans count on at one moment.

    Attributes
    ----------
    tz : str
        IANA name of the yard's time zone.
    source : str
        Where it comes from, in words; empty where there is no weather at all.
    credit : str
        The line to be shown with it; empty where none is asked for.
    issued_at, fetched_at : datetime or None
        When the forecast was made and got; None for climatology.
    checked_at : datetime or None
        When the service last answered, also that nothing has changed.
    ask_from_at : datetime or None
        The service is not asked again before; None if it may be now.
    age_h : float or None
        Since it was issued [h]; None for climatology.
    trouble : str
        Why the service gave nothing the last time, or is not asked; empty if all is well.
    warnings : tuple of str
        What is to be known about the forecast.
    weather : Weather or None
        The forecast; None where the typical year, or nothing, is all there is.
    members : tuple of Weather
        Further members of its ensemble.
    service : str
        Name of the service that the forecast is of; empty where there is none.
    """

    tz: str
    source: str
    credit: str = ""
    issued_at: datetime | None = None
    fetched_at: datetime | None = None
    checked_at: datetime | None = None
    ask_from_at: datetime | None = None
    age_h: float | None = None
    trouble: str = ""
    warnings: tuple[str, ...] = ()
    weather: Weather | None = None
    members: tuple[Weather, ...] = ()
    service: str = ""

    @property
    def reaches_to_at(self) -> datetime | None:
        """End of the forecast; None for climatology."""
        return end_of(self.weather) if self.weather else None


def end_of(weather: Weather) -> datetime:
    """Return the end of the last step."""
    return weather.starts_at[-1] + timedelta(minutes=weather.step_min)
