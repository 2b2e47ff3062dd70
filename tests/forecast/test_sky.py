from datetime import UTC, date, datetime, timedelta, timezone
from math import degrees, radians, tan

import ephem
import numpy as np
import pytest

from yardplan.domain.slots import SlotGrid
from yardplan.forecast.sky import clear_sky, slot_middles, sun_position

# Source: Reda and Andreas 2004, NREL/TP-560-34302, Table A5.1 (820 hPa; here the pressure follows the altitude)
SPA_EXAMPLE = (datetime(2003, 10, 17, 12, 30, 30, tzinfo=timezone(timedelta(hours=-7))), 39.742476, -105.1786, 1830.14)

ALICE, UPINGTON = (-23.698, 133.881, 546.0), (-28.4478, 21.2561, 835.0)
PHOENIX, CALAMA, OUARZAZATE = (33.4484, -112.074, 331.0), (-22.456, -68.929, 2260.0), (30.9189, -6.8934, 1136.0)

# Geometric topocentric zenith and azimuth; computed by three libraries that agree (SPA, ephem, ERFA)
TABLE = [
    (ALICE, "2024-06-20T02:30", 47.9436, 11.1761),
    (ALICE, "2024-12-21T05:00", 26.8510, 264.5647),
    (UPINGTON, "2024-03-20T12:00", 34.1115, 323.6184),
    (UPINGTON, "2025-06-21T09:00", 56.8866, 26.6835),
    (UPINGTON, "2024-12-21T05:00", 73.5112, 108.1438),
    (PHOENIX, "2025-12-21T18:00", 60.5111, 157.1138),
    (PHOENIX, "2025-09-22T15:00", 69.5023, 104.2281),
    (CALAMA, "2025-12-21T18:00", 19.7999, 262.9603),
]


def refraction_deg(geometric_deg: float, pressure_hpa: float, temp_c: float = 12.0) -> float:
    """Saemundsson 1986, as printed in the source of the SPA."""
    lifted = 1.02 / (60 * tan(radians(geometric_deg + 10.3 / (geometric_deg + 5.11))))
    return pressure_hpa / 1010 * 283 / (273 + temp_c) * lifted


def standard_hpa(altitude_m: float) -> float:
    return 1013.25 * (1 - 2.25577e-5 * altitude_m) ** 5.25588  # ISO 2533


def test_sun_position_of_the_published_example():
    at, *place = SPA_EXAMPLE
    sun = sun_position(np.array([at.timestamp()]), *place)
    assert 90 - sun.elevation_deg[0] == pytest.approx(50.11162, abs=5e-4)
    assert sun.azimuth_deg[0] == pytest.approx(194.34024, abs=1e-4)
    assert sun.equation_of_time_min[0] == pytest.approx(14.6415, abs=2e-3)


@pytest.mark.parametrize(("place", "at", "zenith_deg", "azimuth_deg"), TABLE)
def test_sun_position_at_dry_sites(place, at, zenith_deg, azimuth_deg):
    instant = datetime.fromisoformat(at).replace(tzinfo=UTC)
    sun = sun_position(np.array([instant.timestamp()]), *place)
    lifted = refraction_deg(90 - zenith_deg, standard_hpa(place[2]))
    assert sun.elevation_deg[0] == pytest.approx(90 - zenith_deg + lifted, abs=0.003)
    assert sun.azimuth_deg[0] == pytest.approx(azimuth_deg, abs=0.005)


@pytest.mark.parametrize("place", [ALICE, UPINGTON, PHOENIX])
def test_sun_position_against_a_second_library(place):
    observer = ephem.Observer()
    observer.lat, observer.lon, observer.elevation = str(place[0]), str(place[1]), place[2]
    observer.pressure, observer.temp = standard_hpa(place[2]), 12.0
    first = datetime(2027, 1, 3, tzinfo=UTC)
    instants = [first + timedelta(hours=31 * n) for n in range(280)]
    sun = sun_position(np.array([at.timestamp() for at in instants]), *place)
    compared = 0
    for n, at in enumerate(instants):
        observer.date = ephem.Date(at.replace(tzinfo=None))
        body = ephem.Sun(observer)
        elevation_deg = degrees(body.alt)
        if 5 < elevation_deg < 85:
            compared += 1
            assert sun.elevation_deg[n] == pytest.approx(elevation_deg, abs=0.01)
            assert sun.azimuth_deg[n] == pytest.approx(degrees(body.az), abs=0.03)
    assert compared > 100


@pytest.mark.parametrize(
    ("on", "minutes"), [("2025-02-11", -14.18), ("2025-05-14", 3.67), ("2025-07-26", -6.56), ("2025-11-03", 16.44)]
)
def test_equation_of_time(on, minutes):
    # computed by SPA and by the transit of a second library
    noon = datetime.fromisoformat(f"{on}T12:00").replace(tzinfo=UTC)
    sun = sun_position(np.array([noon.timestamp()]), 0.0, 0.0, 0.0)
    assert sun.equation_of_time_min[0] == pytest.approx(minutes, abs=0.02)


@pytest.mark.parametrize(
    ("place", "on", "tz", "kwh_m2", "hours", "most"),
    [
        # Ineichen and Perez 2002 with Linke 3, 5-min middles; computed by a second library's sun and by hand
        (PHOENIX, date(2025, 6, 21), "America/Phoenix", 10.57, 11.33, 924.5),
        (UPINGTON, date(2025, 6, 21), "Africa/Johannesburg", 6.82, 7.50, 858),
        (UPINGTON, date(2025, 12, 21), "Africa/Johannesburg", 11.41, 11.58, 1014),
        (CALAMA, date(2025, 12, 21), "America/Santiago", 12.13, 11.75, 1085),
        (OUARZAZATE, date(2025, 12, 21), "Africa/Casablanca", 7.16, 7.67, 920),
    ],
)
def test_clear_day_sums(place, on, tz, kwh_m2, hours, most):
    sky = clear_sky(slot_middles(SlotGrid.of_days(on, 1, tz)), *place, linke=3.0)
    assert sky.dni_w_m2.sum() / 12e3 == pytest.approx(kwh_m2, rel=0.005)
    assert (sky.dni_w_m2 > 600).sum() / 12 == pytest.approx(hours, abs=0.1)
    assert sky.dni_w_m2.max() == pytest.approx(most, rel=0.005)


def test_clear_sky_formula_by_hand():
    """Ineichen and Perez 2002, with Kasten and Young 1989 air mass and Spencer 1971, written out again."""
    place = (33.4484, -112.074, 1000.0)
    at = np.array([datetime(2025, 9, 22, 18, tzinfo=UTC).timestamp()])
    sky = clear_sky(at, *place, linke=3.0)
    zenith = 90 - sky.sun.elevation_deg[0]
    airmass = standard_hpa(1000) / 1013.25 / (np.cos(radians(zenith)) + 0.50572 * (96.07995 - zenith) ** -1.6364)
    heights = np.exp(-1000 / 8000)
    by_turbidity = (0.664 + 0.163 / heights) * np.exp(-0.09 * airmass * 2)
    day_rad = 2 * np.pi * (265 - 1) / 365
    extra = 1366.1 * (
        1.00011 + 0.034221 * np.cos(day_rad) + 0.00128 * np.sin(day_rad)
        + 0.000719 * np.cos(2 * day_rad) + 0.000077 * np.sin(2 * day_rad)
    )  # fmt: skip
    assert sky.extra_w_m2[0] == pytest.approx(extra, abs=0.1)
    assert sky.dni_w_m2[0] == pytest.approx(extra * by_turbidity, rel=2e-3)


def test_night_and_polar_night_are_dark_and_finite():
    grid = SlotGrid.of_days(date(2026, 12, 18), 3, "Arctic/Longyearbyen")
    sky = clear_sky(slot_middles(grid), 78.2, 15.6, 10.0)
    assert not sky.dni_w_m2.any()
    assert not sky.ghi_w_m2.any()
    assert np.isfinite(sky.extra_w_m2).all()
    summer = clear_sky(slot_middles(SlotGrid.of_days(date(2026, 6, 18), 1, "Arctic/Longyearbyen")), 78.2, 15.6, 10.0)
    assert (summer.dni_w_m2 > 0).all()


def test_a_clearer_sky_gives_more():
    at = slot_middles(SlotGrid.of_days(date(2027, 5, 17), 1, "America/Denver"))
    clear, hazy = (clear_sky(at, 35, -106, 1600, linke=linke) for linke in (2.5, 5.0))
    day = clear.sun.elevation_deg > 5
    assert (clear.dni_w_m2[day] > hazy.dni_w_m2[day]).all()
