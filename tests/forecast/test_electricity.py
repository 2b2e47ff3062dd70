"""What sun and battery leave for the benches: true for any use, tight, and never less for a better unit."""

from dataclasses import replace
from datetime import date, time, timedelta
from itertools import pairwise
from math import sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.forecast.made_years import made_year, typical
from tests.small_yard import MONDAY, TZ, small_yard, with_units
from yardplan.domain.equipment import Load
from yardplan.domain.errors import InvalidField
from yardplan.domain.log import ChargeReading
from yardplan.domain.slots import SlotGrid
from yardplan.forecast.electricity import base_load_kw, power_table
from yardplan.forecast.heat import heat_table
from yardplan.forecast.pv import unit_pv_kw
from yardplan.forecast.sky import Sun, slot_middles, sun_position

WEEK = SlotGrid.of_days(MONDAY, 4, TZ)


SKIES = {
    "mixed": np.array([0.9, 0.7, 0.75, 0.8, 0.9, 0.65]),
    "dull": np.array([0.9, 0.6, 0.45, 0.7, 0.8, 0.55]),
    "clear": np.array([0.95]),
}


@pytest.fixture(scope="module")
def heats():
    """The week under skies that differ from day to day and from scenario to scenario."""
    years = {name: typical(made_year(lambda day, solar_h, row=row: row[day % row.size])) for name, row in SKIES.items()}
    return {name: heat_table(small_yard(2), year, WEEK, n_scenarios=21) for name, year in years.items()}


@pytest.fixture(scope="module")
def heat(heats):
    return heats["mixed"]


def played(yard, heat, unit_ix=0):
    """PV (scenario, slot) and base load (slot,) of a unit [kW], and where the sun is up.

    They go on without any sun until an hour after the sunrise that follows the grid.
    """
    site, grid = yard.site, heat.grid
    longer = SlotGrid(grid.start_at, grid.n_slots + 288, grid.tz)
    sun = sun_position(slot_middles(longer), site.latitude_deg, site.longitude_deg, site.altitude_m)
    up = sun.elevation_deg > 0
    up = up[: grid.n_slots + int(np.argmax(up[grid.n_slots :])) + 12]
    within = Sun(*(row[: grid.n_slots] for row in (sun.elevation_deg, sun.azimuth_deg, sun.equation_of_time_min)))
    pv_kw = np.zeros((len(heat.temp_c), up.size))
    pv_kw[:, : grid.n_slots] = unit_pv_kw(yard, heat, within)[:, :, unit_ix].T
    return pv_kw, base_load_kw(yard, grid, up)[unit_ix], up


def energy_days(power):
    """First slot and the one after the last of each day of energy: the spans that no other one holds."""
    return [
        span
        for span in power.spans
        if not any(other != span and other[0] <= span[0] and span[1] <= other[1] for other in power.spans)
    ]


def odd_units():
    """Two units under one sky: the second has more PV and a smaller battery with a weaker inverter."""
    one, two = small_yard(2).units
    two = replace(two, pv_kw=8.0, battery_kwh=10.0, reserve_kwh=3.0, inverter_kw=3.5, round_trip_frac=0.85)
    return replace(small_yard(2), units=(one, two))


def use_of_benches(power, unit_ix, order):
    """Draw as much as all spans allow, slot by slot in the given order: (slot,) [kWh]."""
    drawn = np.zeros(power.grid.n_slots)
    left = power.span_kwh[unit_ix].astype(float)
    holding = [[ix for ix, (a, b) in enumerate(power.spans) if a <= slot < b] for slot in range(power.grid.n_slots)]
    for slot in order:
        drawn[slot] = min([power.finish_kw[unit_ix, slot] / 12, *left[holding[slot]]]) if holding[slot] else 0.0
        left[holding[slot]] -= drawn[slot]
    return drawn


def gains(unit, net_kw):
    """Change of a charge in each slot, if it is neither full nor empty."""
    net_kwh, one_way = np.clip(net_kw, -unit.inverter_kw, unit.inverter_kw) / 12, sqrt(unit.round_trip_frac)
    return np.where(net_kwh > 0, net_kwh * one_way, net_kwh / one_way)


def days_held(unit, pv_kw, base_kw, up, asked_kwh, days, charge):
    """Play one scenario slot by slot; tell for each day whether all that was asked came and the reserve stayed.

    In a day that holds less, benches rest where going on would, with all at rest from then on, let the charge fall
    below the reserve before the next forenoon, or take of what the battery has gained since dawn.
    """
    rest_kwh, held = gains(unit, pv_kw - base_kw), []
    for first, after in days:
        sunset = max((slot for slot in range(first + 1, after) if up[slot - 1] and not up[slot]), default=first)
        since_dawn = np.cumsum(rest_kwh[sunset + 1 : after][::-1]).max(initial=0.0)
        least = [min(unit.reserve_kwh + since_dawn, unit.battery_kwh)]
        for slot in range(after - 1, first, -1):
            least.append(max(unit.reserve_kwh, least[-1] - rest_kwh[slot]))
        least.reverse()  # charge at the end of each slot from which the rest of the day needs no help
        ok = True
        for slot in range(first, after):
            drawing = gains(unit, pv_kw[slot] - base_kw[slot] - asked_kwh[slot] * 12)
            if asked_kwh[slot] and charge + drawing < least[slot - first] - 1e-3:
                ok, drawing = False, rest_kwh[slot]
            charge = min(max(charge + drawing, 0.0), unit.battery_kwh)
            ok &= charge >= unit.reserve_kwh - 1e-3 or not asked_kwh[first : slot + 1].any()
        held.append(ok)
    return held


def share_held(yard, heat, power, asked_kwh, unit_ix=0, start_kwh=None):
    """Share of scenarios in which each day held; a battery of unknown charge just reaches the first forenoon."""
    unit, days = yard.units[unit_ix], energy_days(power)
    pv_kw, base_kw, up = played(yard, heat, unit_ix)
    days[-1] = days[-1][0], up.size
    asked = np.concatenate([asked_kwh, np.zeros(up.size - asked_kwh.size)])
    held = []
    for pv in pv_kw:
        lost_kwh = -min(np.cumsum(gains(unit, pv - base_kw)[: days[0][1]]).min(), 0)
        start = unit.reserve_kwh + lost_kwh if start_kwh is None else start_kwh
        held.append(days_held(unit, pv, base_kw, up, asked, days, start))
    return np.mean(held, axis=0)


ORDERS = {
    "early": lambda n: np.arange(n),
    "late": lambda n: np.arange(n)[::-1],
    "scattered": lambda n: np.random.default_rng(5).permutation(n),
    "evenings first": lambda n: np.argsort((np.arange(n) + 72) % 288 >= 144, kind="stable"),
    "afternoons first": lambda n: np.argsort(np.abs(np.arange(n) % 288 - 200), kind="stable"),
}


@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.9, 0.95])
@pytest.mark.parametrize("order", ORDERS)
@pytest.mark.parametrize("sky", SKIES)
def test_any_use_keeps_the_reserve_as_often_as_promised(heats, sky, confidence, order):
    yard, heat = odd_units(), heats[sky]
    power = power_table(yard, heat, confidence=confidence)
    for unit_ix in (0, 1):
        asked_kwh = use_of_benches(power, unit_ix, ORDERS[order](WEEK.n_slots))
        assert asked_kwh.sum() > (20 if sky == "clear" else 3)
        assert (share_held(yard, heat, power, asked_kwh, unit_ix) >= confidence - 1e-9).all()


def test_no_more_could_be_promised(heats):
    """Half a kWh more in every span, drawn as late as they allow, breaks each day's promise."""
    yard, heat = small_yard(2), heats["dull"]
    power = power_table(yard, heat, confidence=0.8)
    more = replace(power, span_kwh=power.span_kwh + np.float32(0.5))
    asked_kwh = use_of_benches(more, 0, ORDERS["late"](WEEK.n_slots))
    assert (share_held(yard, heat, power, asked_kwh)[1:] < 0.8).all()


def test_sun_that_would_be_spilled_can_be_used_by_day(heats):
    """A clear day gives benches more than the battery can hold for them."""
    unit = small_yard().units[0]
    power = power_table(small_yard(2), heats["clear"], confidence=0.8)
    usable_kwh = (unit.battery_kwh - unit.reserve_kwh) * sqrt(unit.round_trip_frac)
    by_day = [power.span_kwh[0, power.spans.index(day)] for day in energy_days(power)][2:]
    assert min(by_day) > usable_kwh
    assert min(by_day) > power.evening_kwh[0, 2:].max() + 5


def test_a_clear_day_fills_the_evening_and_rain_does_not(heats):
    """Common practice, no source: 6 kW of PV and a battery carry an evening shift of finishing after a clear day."""
    unit = small_yard().units[0]
    clear = power_table(small_yard(2), heats["clear"], confidence=0.8)
    night_h = (clear.evening_ix == 2).sum() / 12
    # a full battery less the reserve and the night's base load; an hour or two around the night draw on it as well
    most = (unit.battery_kwh - unit.reserve_kwh) * sqrt(unit.round_trip_frac) - night_h * unit.base_night_kw
    assert most - 3.5 * unit.base_day_kw < clear.evening_kwh[0, 1:].min()
    assert clear.evening_kwh[0].max() < most
    yard = small_yard()
    rain = power_table(yard, heat_table(yard, typical(made_year(0.0)), WEEK), confidence=0.8)
    assert rain.evening_kwh.max() < 0.5
    assert (rain.charge_kwh[0, -288:] < clear.charge_kwh[0, -288:]).all()


def test_the_last_evening_runs_on_to_the_morning():
    yard, year = small_yard(), typical(made_year(0.9))
    short = power_table(yard, heat_table(yard, year, WEEK), confidence=0.8)
    full = power_table(yard, heat_table(yard, year, SlotGrid.of_days(MONDAY, 5, TZ)), confidence=0.8)
    assert short.evening_kwh[0, -1] == pytest.approx(full.evening_kwh[0, 4], abs=0.5)
    assert short.evening_kwh[0, -1] > 0
    assert short.spans[-1][1] == WEEK.n_slots


def test_evenings_reach_from_sunset_to_sunrise(heat):
    power = power_table(small_yard(2), heat, confidence=0.8)
    up = heat.elevation_deg > 0
    assert (power.evening_ix[up] == -1).all()
    assert (power.evening_ix[~up] >= 0).all()
    at_midnights = [int(power.evening_ix[first]) for _, first, _ in WEEK.days]
    assert at_midnights == [0, 1, 2, 3]
    assert power.evening_kwh.shape == (2, 5)


def test_a_day_of_energy_ends_in_the_forenoon(heat):
    power = power_table(small_yard(2), heat, confidence=0.8)
    starts = [WEEK.local(first) for first, _ in energy_days(power)][1:]
    assert all(9 <= start.hour < 10 for start in starts)
    covered = np.zeros(WEEK.n_slots, int)
    for first, after in energy_days(power):
        covered[first:after] += 1
    assert (covered == 1).all()


def test_loads_run_by_the_clock():
    """Fans of 0.3 kW from 18:00 to 21:30 in each unit, lights of 0.2 kW from 20:00 to 01:00 in the second."""
    fans, lights = Load("fans", "*", time(18), time(21, 30), 0.3), Load("lights", "U2", time(20), time(1), 0.2)
    yard = replace(small_yard(2), loads=(fans, lights))
    grid = SlotGrid.of_days(date(2027, 3, 13), 2, TZ)  # clocks are put forward on the second day at 02:00
    added_kw = base_load_kw(yard, grid, np.zeros(grid.n_slots, bool)) - 0.4
    hours = np.array([(local := grid.local(slot)).hour + local.minute / 60 for slot in range(grid.n_slots)])
    evening, late = (hours >= 18) & (hours < 21.5), (hours >= 20) | (hours < 1)
    assert added_kw[0] == pytest.approx(0.3 * evening)
    assert added_kw[1] == pytest.approx(0.3 * evening + 0.2 * late)
    assert added_kw[0].sum() / 12 == pytest.approx(2 * 3.5 * 0.3)
    all_day = replace(yard, loads=(replace(fans, from_local=time(7), to_local=time(7)),))
    assert base_load_kw(all_day, grid, np.ones(grid.n_slots, bool)) == pytest.approx(0.8 + 0.3)


def test_loads_take_of_what_benches_get(heat):
    yard = small_yard(2)
    plain = power_table(yard, heat, confidence=0.8)
    fans = replace(yard, loads=(Load("fans", "U1", time(20), time(22), 0.5),))
    less = power_table(fans, heat, confidence=0.8)
    assert less.evening_kwh[0, 1:] == pytest.approx(plain.evening_kwh[0, 1:] - 1.0, abs=0.01)
    assert less.evening_kwh[1] == pytest.approx(plain.evening_kwh[1])
    at_21 = WEEK.slot(WEEK.start_at + timedelta(hours=21))
    assert less.finish_kw[:, at_21] == pytest.approx([5 - 0.4 - 0.5, 5 - 0.4])


def test_power_is_what_the_inverter_has_left(heat):
    yard = small_yard(2)
    power = power_table(yard, heat, confidence=0.8)
    night = power.evening_ix >= 0
    assert power.finish_kw[:, night] == pytest.approx(5.0 - 0.4)
    assert power.finish_kw[:, ~night] == pytest.approx(5.0 - 0.8)
    weak = power_table(with_units(yard, inverter_kw=0.5), heat, confidence=0.8)
    assert weak.finish_kw[:, ~night].max() == 0


def test_a_measured_charge_is_what_the_plan_begins_with(heat):
    yard = small_yard(2)
    at = WEEK.at(20 * 12)  # Monday, 20:00
    full, low, unknown = (
        power_table(yard, heat, confidence=0.8, charge=ChargeReading(at, kwh))
        for kwh in ({"U1": 20.0}, {"U1": 6.5}, {})
    )
    until = full.spans[0][1]
    assert full.spans[0][0] == low.spans[0][0] == 240
    assert WEEK.local(until).hour == 9
    # from sunset 13.3 kWh through the battery, less the night and the first hours of the morning
    assert 13.43 - 10 * 0.4 - 2 * 0.8 - 1 < full.evening_kwh[0, 1] < 13.43 - 10 * 0.4 - 0.8 * 0.2
    assert low.evening_kwh[0, 1] == 0
    assert unknown.evening_kwh[0, 1] == 0
    assert full.evening_kwh[1, 1] == unknown.evening_kwh[1, 1]
    assert full.charge_kwh[0, 240] == pytest.approx(20.0)
    # a full battery and an empty one are alike after a day or two of sun
    assert full.evening_kwh[0, -1] == pytest.approx(low.evening_kwh[0, -1])
    assert full.span_kwh[0].sum() > low.span_kwh[0].sum()


def test_an_empty_battery_gives_nothing_until_the_sun_has_filled_it_to_the_reserve(heats):
    """Under one dull sky; then it gives no more than what came."""
    yard, heat = with_units(small_yard(2), pv_kw=5.0), heats["dull"]
    power = power_table(yard, heat, confidence=0.5, charge=ChargeReading(WEEK.start_at, {"U1": 0.0}))
    asked_kwh = use_of_benches(power, 0, ORDERS["late"](WEEK.n_slots))
    assert power.evening_kwh[0, :2].max() == 0 < power.evening_kwh[0, 2]
    assert (share_held(yard, heat, power, asked_kwh, start_kwh=0.0) >= 0.5).all()


@pytest.mark.parametrize(
    ("kwh", "at", "told"),
    [
        ({"U9": 3.0}, WEEK.start_at, "U9"),
        ({"U1": 20.1}, WEEK.start_at, "from 0 to 20"),
        ({"U1": -0.1}, WEEK.start_at, "from 0 to 20"),
        ({"U1": float("nan")}, WEEK.start_at, "from 0 to 20"),
        ({"U1": 5.0}, WEEK.start_at - timedelta(minutes=1), "within the plan's days"),
        ({"U1": 5.0}, WEEK.end_at, "within the plan's days"),
    ],
)
def test_odd_charges_are_refused(heat, kwh, at, told):
    with pytest.raises(InvalidField, match=told):
        power_table(small_yard(2), heat, confidence=0.8, charge=ChargeReading(at, kwh))


def sunnier(heat, dni_w_m2, share):
    """The heat table with some more light in some slots of some scenarios."""
    n_scenarios, n_slots = heat.dni_w_m2.shape
    more = np.random.default_rng(7).random((n_scenarios, n_slots // 12, 1)) < share
    more_dni = np.repeat(more, 12, axis=2).reshape(n_scenarios, n_slots) * dni_w_m2 * (heat.elevation_deg > 3)
    more_ghi = more_dni * np.sin(np.radians(np.maximum(heat.elevation_deg, 0)))
    return replace(heat, dni_w_m2=heat.dni_w_m2 + more_dni, ghi_w_m2=heat.ghi_w_m2 + more_ghi)


@settings(max_examples=25, deadline=None)
@given(dni_w_m2=st.floats(1, 400), share=st.floats(0.02, 1), confidence=st.sampled_from([0.5, 0.8, 0.95]))
def test_more_sun_never_gives_less_evening_energy(heats, dni_w_m2, share, confidence):
    for heat in heats.values():
        less, more = (
            power_table(small_yard(2), each, confidence=confidence).evening_kwh
            for each in (heat, sunnier(heat, dni_w_m2, share))
        )
        assert (more >= less - 2e-3).all()


@settings(max_examples=25, deadline=None)
@given(reserve_kwh=st.floats(0, 20), more_kwh=st.floats(0.1, 10), confidence=st.sampled_from([0.5, 0.8, 0.95]))
def test_a_larger_reserve_never_gives_more(heats, reserve_kwh, more_kwh, confidence):
    yard = small_yard(2)
    for heat in heats.values():
        small, large = (
            power_table(with_units(yard, reserve_kwh=min(kwh, 20.0)), heat, confidence=confidence).evening_kwh
            for kwh in (reserve_kwh, reserve_kwh + more_kwh)
        )
        assert (large <= small + 2e-3).all()


def test_more_confidence_never_gives_more(heats):
    for heat in heats.values():
        tables = [power_table(small_yard(2), heat, confidence=share) for share in (0.5, 0.8, 0.9, 0.95)]
        for bold, careful in pairwise(tables):
            assert (careful.evening_kwh <= bold.evening_kwh + 1e-6).all()


@pytest.mark.parametrize(
    ("on", "evenings"), [(date(2026, 12, 18), 1), (date(2026, 6, 18), 0)], ids=["no sun", "no night"]
)
def test_polar_night_and_midnight_sun(on, evenings):
    yard = small_yard()
    site = replace(yard.site, latitude_deg=78.2, longitude_deg=15.6, altitude_m=10.0, tz="Arctic/Longyearbyen")
    yard = replace(yard, site=site)
    grid = SlotGrid.of_days(on, 2, site.tz)
    power = power_table(yard, heat_table(yard, typical(made_year(0.9)), grid, n_scenarios=3), confidence=0.8)
    assert power.evening_kwh.shape == (1, evenings)
    assert not power.evening_kwh.any()
    assert set(power.evening_ix.tolist()) == ({0} if evenings else {-1})
    assert power.spans[-1][1] == grid.n_slots


@pytest.mark.parametrize("confidence", [0.0, 1.0, -1, 80])
def test_odd_confidences_are_refused(heat, confidence):
    with pytest.raises(InvalidField, match="confidence"):
        power_table(small_yard(2), heat, confidence=confidence)
