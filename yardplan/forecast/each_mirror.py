"""What becomes of the direct light on each single mirror of a field: at an instant, and over a clear day."""

from dataclasses import dataclass
from datetime import date, datetime

import numpy as np

from yardplan.domain.equipment import Site, Unit
from yardplan.domain.slots import SlotGrid, local_midnight, zone
from yardplan.forecast.dirt import clean_slots
from yardplan.forecast.mirrors import Mirrors, attenuation_frac, cosine_frac, toward_sun
from yardplan.forecast.shading import open_frac
from yardplan.forecast.sky import Floats, clear_sky, slot_middles, sun_position

STEP_MIN = 15


@dataclass(frozen=True, eq=False)
class MirrorShares:
    """Shares of the direct light on each mirror, as if it stood square to the sun, that reach the mold.

    What misses the outline of a certain mold is left out, as in `HeatTable`.

    Attributes
    ----------
    at : datetime
        Instant, or local midnight at the beginning of the day that they are the mean of.
    elevation_deg, azimuth_deg : float [deg]
        Where the sun stands then; of a day, at its highest.
    cosine_frac : ndarray (mirror,)
        Left by standing askew to the sun.
    open_frac : ndarray (mirror,)
        Of that, what neighbors neither shade nor block.
    glass_frac : ndarray (mirror,)
        Reflectance when clean, and what the air lets through.
    clean_frac : float
        What dirt leaves, by the last wash.
    """

    at: datetime
    elevation_deg: float
    azimuth_deg: float
    cosine_frac: Floats
    open_frac: Floats
    glass_frac: Floats
    clean_frac: float

    @property
    def sent_frac(self) -> Floats:
        """All shares together: ndarray (mirror,)."""
        sent: Floats = self.cosine_frac * self.open_frac * self.glass_frac * self.clean_frac
        return sent


def shares_at(site: Site, unit: Unit, at: datetime) -> MirrorShares | None:
    """Return the shares at an instant; None while the sun is under the site's least elevation."""
    sun = sun_position(np.array([at.timestamp()]), site.latitude_deg, site.longitude_deg, site.altitude_m)
    if sun.elevation_deg[0] < max(site.min_elevation_deg, 0.0):
        return None
    return _shares(site, unit, at, sun.elevation_deg, sun.azimuth_deg, np.ones(1))


def shares_of_day(site: Site, unit: Unit, on: date) -> MirrorShares | None:
    """Return the mean shares over a local day, each instant weighed by the direct light of a clear sky then.

    None where the sun stays under the site's least elevation.
    """
    grid = SlotGrid.of_days(on, 1, site.tz, STEP_MIN)
    sky = clear_sky(slot_middles(grid), site.latitude_deg, site.longitude_deg, site.altitude_m, site.linke)
    high = sky.sun.elevation_deg >= max(site.min_elevation_deg, 0.0)
    if not high.any():
        return None
    return _shares(
        site, unit, grid.start_at, sky.sun.elevation_deg[high], sky.sun.azimuth_deg[high], sky.dni_w_m2[high]
    )


def _shares(
    site: Site, unit: Unit, at: datetime, elevation_deg: Floats, azimuth_deg: Floats, weight: Floats
) -> MirrorShares:
    mirrors = Mirrors.of(unit.field, unit.target_up_m)
    cosine = cosine_frac(mirrors.to_target, toward_sun(elevation_deg, azimuth_deg))
    open_ = open_frac(mirrors, elevation_deg, azimuth_deg)
    weight = weight / weight.sum()
    mean_cosine = cosine @ weight
    reflectance = np.array([mirror.reflectance_frac for mirror in unit.field])
    first_on = at.astimezone(zone(site.tz)).date()
    day = SlotGrid(local_midnight(first_on, site.tz), 1, site.tz)
    highest = int(elevation_deg.argmax())
    return MirrorShares(
        at=at,
        elevation_deg=float(elevation_deg[highest]),
        azimuth_deg=float(azimuth_deg[highest]),
        cosine_frac=mean_cosine,
        open_frac=(cosine * open_) @ weight / np.maximum(mean_cosine, 1e-9),
        glass_frac=reflectance * attenuation_frac(mirrors.slant_m),
        clean_frac=float(clean_slots(unit, day)[0, 0]),
    )
