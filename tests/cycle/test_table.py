"""Cook tables: what they mean, and what must hold whatever the mold and the sky."""

from collections import OrderedDict
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.small_yard import small_mold
from yardplan.cycle import cooks
from yardplan.cycle import table as table_module
from yardplan.cycle.cooks import Cooks
from yardplan.cycle.model import cycle_model
from yardplan.cycle.table import cook_table
from yardplan.cycle.trace import trace
from yardplan.domain.equipment import Chamber
from yardplan.domain.errors import InvalidField
from yardplan.domain.products import Item, ItemKind
from yardplan.domain.tables import NEVER, Recipe

from .hand_made import ALTITUDE_M, BIG_MOLD, BIG_TANK, big_yard, day_heat, one_day

GRID = one_day()
TANK, BIN = Recipe("M35", "T35"), Recipe("M2", "BIN")
FULL = np.full((2, 1), 0.9)


def table(yard=None, heat=None, intercept_frac=FULL, **options):
    yard = yard or big_yard()
    heat = heat or sun(100.0)
    return cook_table(yard, heat, intercept_frac, **options)


def sun(peak_kw, scale=(1.0,), temp_c=20.0, grid=GRID, unit_ids=("U1",)):
    return day_heat(grid, unit_ids, peak_kw, np.array(scale), temp_c)


def hour(local_hour):
    return int(local_hour * 12)


def clouds(seed, n_scenarios=8, peak_kw=110.0, temp_c=20.0):
    """Patchy skies: each hour of each scenario has a clearness of its own."""
    rng = np.random.default_rng(seed)
    clear = sun(peak_kw, np.ones(n_scenarios), temp_c)
    clearness = np.repeat(np.clip(rng.normal(0.8, 0.4, (n_scenarios, 24)), 0.0, 1.0), 12, axis=1)
    return replace(clear, field_kw=clear.field_kw * clearness[:, None, :])


def test_axes_and_units_of_the_table():
    cooks_at = table(confidences=(0.5, 0.8))
    assert cooks_at.recipes == (TANK, BIN)
    assert cooks_at.cook_slots.shape == (2, 2, 1, GRID.n_slots)
    noon = cooks_at.cook_slots[1, :, 0, hour(12)]
    assert 5 <= noon[0] <= 10  # 25 to 50 min near noon for the large tank
    assert noon[1] < noon[0]
    assert 6 <= cooks_at.cool_slots[1, 0, 0, hour(12)] <= 13


def test_no_start_in_the_dark_or_late_in_the_afternoon():
    slots = table().cook_slots[0, 0, 0]
    assert np.all(slots[: hour(6.5)] == NEVER)
    assert np.all(slots[hour(16.5) :] == NEVER)  # the sun still shines till 18:30, losses equal gains
    assert np.all(slots[hour(9) : hour(14)] > 0)


def test_thin_cloud_all_day_never_reaches_piat():
    slots = table(heat=sun(100.0, [0.4])).cook_slots
    assert np.all(slots[:, 0] == NEVER)
    assert np.any(slots[:, 1] != NEVER)  # the small mold does it


def test_the_table_agrees_with_the_course_of_single_cycles():
    heat = clouds(3, 1)
    whole, model = table(heat=heat), cycle_model(BIG_MOLD, BIG_TANK, ALTITUDE_M)
    absorbed_kw = np.minimum(heat.field_kw[0, 0] * 0.9 * BIG_MOLD.absorptance_frac, 150.0)
    for start in range(hour(7), hour(17)):
        course = trace(model, absorbed_kw[start:], heat.temp_c[0, start:], heat.wind_m_s[0, start:])
        slots = whole.cook_slots[0, 0, 0, start]
        if slots == NEVER:
            assert course.piat_min > 180 - 0.1
        else:
            assert 5 * (slots - 1) - 0.1 < course.piat_min < 5 * slots + 0.1
            cool_min = course.demold_min - course.piat_min
            assert cool_min - 1.0 < 5 * whole.cool_slots[0, 0, 0, start] < cool_min + 6.5
            heating = course.minute <= course.piat_min
            heat_kwh = np.sum(np.diff(course.minute[heating]) * course.absorbed_kw[heating][1:]) / 60
            # the course is cut at whole steps of a minute
            assert whole.heat_kwh[0, 0, start] == pytest.approx(heat_kwh, abs=100 / 60)


def test_confidence_is_the_share_of_scenarios_that_are_over():
    scale = np.linspace(0.5, 1.0, 10)
    one_by_one = np.array([table(heat=sun(100.0, [each])).cook_slots[0, 0, 0] for each in scale])
    together = table(heat=sun(100.0, scale), confidences=(0.1, 0.5, 0.75, 0.8, 0.95)).cook_slots[:, 0, 0]
    infinite = np.where(one_by_one == NEVER, 10**6, one_by_one)
    for start in range(hour(8), hour(16)):
        for share, slots in zip((0.1, 0.5, 0.75, 0.8, 0.95), together[:, start], strict=True):
            enough = [n for n in range(1, 37) if (infinite[:, start] <= n).mean() >= share - 1e-9]
            assert slots == (min(enough) if enough else NEVER)


def test_more_confidence_never_means_a_shorter_cook():
    slots = table(heat=clouds(5)).cook_slots[:, 0, 0]
    assert np.any(slots[0] != slots[2])
    assert np.all(np.diff(np.where(slots == NEVER, 10**6, slots), axis=0) >= 0)


def test_the_limit_of_mold_heat_caps_what_is_absorbed():
    yard = big_yard()
    capped = replace(yard, units=(replace(yard.units[0], max_mold_heat_kw=60.0),))
    assert np.all(table(capped).cook_slots[0, 0, 0, hour(12)] > table(yard).cook_slots[0, 0, 0, hour(12)])
    kwh = table(capped).heat_kwh[0, 0, hour(12)]
    assert kwh <= 60.0 * table(capped).cook_slots[0, 0, 0, hour(12)] * 5 / 60
    starved = replace(yard, units=(replace(yard.units[0], max_mold_heat_kw=20.0),))
    assert np.all(table(starved).cook_slots[:, 0] == NEVER)


def test_a_limit_of_the_shell_caps_what_is_absorbed():
    yard = big_yard()
    cool = replace(yard, molds=(yard.molds[0], replace(yard.molds[1], max_shell_c=209.0)))
    free, capped = table(yard), table(cool)
    assert np.array_equal(free.cook_slots[:, 0], capped.cook_slots[:, 0])
    assert np.all(capped.cook_slots[:, 1] >= free.cook_slots[:, 1])
    assert np.any(capped.cook_slots[:, 1] > free.cook_slots[:, 1])
    model = cycle_model(cool.molds[1], cool.products[1], ALTITUDE_M)
    sun_kw = np.minimum(sun(100.0).field_kw[0, 0, hour(12) :] * 0.9 * 0.94, 150.0)
    course = trace(model, sun_kw, 20.0 + 0 * sun_kw, 3.0 + 0 * sun_kw)
    heating = course.minute <= course.piat_min
    heat_kwh = np.sum(np.diff(course.minute[heating]) * course.absorbed_kw[heating][1:]) / 60
    assert capped.heat_kwh[1, 0, hour(12)] == pytest.approx(heat_kwh, abs=0.8)
    assert capped.heat_kwh[1, 0, hour(12)] < 0.95 * sun_kw[0] * course.piat_min / 60  # the rest was dropped


def test_inserts_and_the_wind_shield_count_in_the_table():
    yard = big_yard()
    items = (*yard.items, Item("NUT", "Heavy nut", ItemKind.INSERT, 99.0, piece_kg=20.0))
    fitted = replace(yard, items=items, products=(replace(BIG_TANK, inserts=(("NUT", 4),)), yard.products[1]))
    draughty = replace(yard, units=(replace(yard.units[0], wind_through_frac=1.0),))
    heat = replace(sun(100.0), wind_m_s=8.0 + 0 * sun(100.0).wind_m_s)
    noon = [table(each, heat).heat_kwh[0, 0, hour(12)] for each in (yard, fitted, draughty)]
    assert noon[1] > noon[0] + 1.5  # 80 kg of steel to 210 C are 2.1 kWh
    assert noon[2] > noon[0] + 1.0


def test_a_mold_that_fits_no_chamber_is_never_cooked_there():
    yard = big_yard(2)
    heat = sun(100.0, unit_ids=("U1", "U2"))
    small = replace(yard.units[1], chambers=(Chamber("2A", 2.0, 900.0), Chamber("2B", 2.4, 480.0)))
    slots = table(replace(yard, units=(yard.units[0], small)), heat, np.full((2, 2), 0.9)).cook_slots
    assert np.all(slots[:, 0, 1] == NEVER)  # too wide for 2A; 490 kg with its charge are too heavy for 2B
    assert np.any(slots[:, 0, 0] != NEVER)
    assert np.any(slots[:, 1, 1] != NEVER)


def test_a_cook_that_takes_too_long_is_a_loss():
    slow = table(heat=sun(60.0))
    longest = slow.cook_slots[0, 0, 0].max()
    assert 12 < longest <= 36
    assert table(heat=sun(60.0), max_cook_min=30).cook_slots[0, 0, 0].max() == NEVER


def test_a_cook_must_end_before_the_grid():
    morning = replace(one_day(), n_slots=hour(12))
    heat = day_heat(morning, ("U1",), 100.0, np.ones(3))
    slots = table(heat=heat).cook_slots[0, 0, 0]
    assert slots[hour(10)] > 0
    assert slots[hour(11.75)] == NEVER
    assert np.all(np.flatnonzero(slots) + slots[slots > 0] <= hour(12))


def test_no_cook_where_it_would_not_cool_down():
    yard = big_yard()
    cold_demold = replace(yard, products=(replace(BIG_TANK, demold_c=31.0), yard.products[1]))
    assert np.all(table(cold_demold, sun(100.0, temp_c=38.0)).cook_slots[:, 0] == NEVER)
    assert np.any(table(cold_demold, sun(100.0, temp_c=5.0)).cook_slots[:, 0] != NEVER)


def test_warm_air_slows_the_cooling():
    cold, warm = (table(heat=sun(100.0, temp_c=temp_c)).cool_slots[0, 0, 0, hour(11)] for temp_c in (5.0, 40.0))
    assert warm > cold + 1


def test_a_change_to_one_mold_works_out_that_mold_only(monkeypatch):
    worked_out = []
    monkeypatch.setattr(table_module, "_memory", OrderedDict())
    monkeypatch.setattr(
        table_module, "Cooks", lambda heat, model, *rest: worked_out.append(model) or Cooks(heat, model, *rest)
    )
    yard, heat = big_yard(), clouds(7)
    old = table(yard, heat)
    assert len(worked_out) == 2
    assert np.array_equal(table(yard, replace(heat, seed=5)).cook_slots, old.cook_slots)  # the same heat
    assert len(worked_out) == 2
    heavier = replace(yard, molds=(replace(BIG_MOLD, shell_kg=480.0), yard.molds[1]))
    new = table(heavier, heat)
    assert len(worked_out) == 3
    table_module._memory.clear()
    fresh = table(heavier, heat)
    for name in ("cook_slots", "cool_slots", "heat_kwh"):
        assert np.array_equal(getattr(new, name), getattr(fresh, name))
    assert not np.array_equal(new.cook_slots[:, 0], old.cook_slots[:, 0])


@pytest.mark.parametrize("change", [
    {"field_kw": 0.98}, {"temp_c": 0.9}, {"wind_m_s": 3.0}, {"intercept": 0.97}, {"loss": 1.1}, {"longest": 100},
    {"confidences": (0.3, 0.8, 0.95)},
])  # fmt: skip
def test_whatever_a_cook_depends_on_is_noticed(change):
    heat, (name, value) = clouds(8), *change.items()
    old = table(heat=heat)
    if name in ("field_kw", "temp_c", "wind_m_s"):
        heat = replace(heat, **{name: getattr(heat, name) * np.float32(value)})
    options = {
        "intercept_frac": FULL * (value if name == "intercept" else 1.0),
        "loss_factor": np.full((2, 1), value if name == "loss" else 1.0),
        "max_cook_min": value if name == "longest" else 180,
        "confidences": value if name == "confidences" else old.confidences,
    }
    changed = table(heat=heat, **options)
    table_module._memory.clear()
    assert np.array_equal(table(heat=heat, **options).heat_kwh, changed.heat_kwh)
    assert not np.array_equal(old.cook_slots, changed.cook_slots)


def test_memory_is_bounded(monkeypatch):
    monkeypatch.setattr(table_module, "_memory", OrderedDict())
    table(heat=sun(80.0))
    n_rows = len(table_module._memory)
    row_bytes = next(iter(table_module._memory.values())).nbytes
    monkeypatch.setattr(table_module, "_KEPT_BYTES", (2 * n_rows + 1) * row_bytes)
    for peak_kw in (85.0, 90.0, 100.0):
        table(heat=sun(peak_kw))
    assert len(table_module._memory) == 2 * n_rows + 1


def test_equal_molds_on_equal_units_share_their_result():
    yard = big_yard(2)
    twins = replace(
        yard,
        molds=(*yard.molds, small_mold("M3")),
        products=(BIG_TANK, replace(yard.products[1], mold_ids=("M2", "M3"))),
    )
    slots = table(twins, sun(80.0, unit_ids=("U1", "U2")), np.full((3, 2), 0.8)).cook_slots
    assert np.array_equal(slots[:, 1], slots[:, 2])
    assert np.array_equal(slots[:, :, 0], slots[:, :, 1])
    shaded = table(twins, sun(80.0, unit_ids=("U1", "U2")), np.array([[0.8, 0.8], [0.8, 0.5], [0.8, 0.8]])).cook_slots
    assert np.array_equal(shaded[:, 1, 0], slots[:, 1, 0])
    assert np.all(shaded[:, 1, 1, hour(12)] > slots[:, 1, 1, hour(12)])


def test_losses_by_mold_and_unit():
    calm, lossy = table(), table(loss_factor=np.array([[1.4], [1.0]]))
    assert lossy.cook_slots[0, 0, 0, hour(12)] > calm.cook_slots[0, 0, 0, hour(12)]
    assert np.array_equal(lossy.cook_slots[:, 1], calm.cook_slots[:, 1])


def test_many_scenarios_are_read_off_close_to_the_exact_ones(monkeypatch):
    heat = clouds(11, 70)
    fast = table(heat=heat)
    table_module._memory.clear()
    monkeypatch.setattr(cooks, "_EXACT_SCENARIOS", 1000)
    exact = table(heat=heat)
    both = (fast.cook_slots != NEVER) & (exact.cook_slots != NEVER)
    off = np.abs(fast.cook_slots - exact.cook_slots)[both]
    assert both.sum() > 200
    assert 0 < np.mean(off > 0) < 0.04  # a slot of five minutes, here and there
    assert off.max() == 1
    assert np.array_equal(fast.cook_slots != NEVER, exact.cook_slots != NEVER)


@pytest.mark.parametrize(("options", "text"), [
    ({"confidences": (0.8, 0.5)}, "rising shares"),
    ({"confidences": (0.5, 1.0)}, "rising shares"),
    ({"confidences": ()}, "rising shares"),
    ({"intercept_frac": np.full((1, 1), 0.9)}, r"shape \(2, 1\)"),
    ({"intercept_frac": np.full((2, 1), 90.0)}, "from 0 to 3"),
    ({"intercept_frac": np.full((2, 1), np.nan)}, "from 0 to 3"),
    ({"loss_factor": np.zeros((2, 1))}, "above 0"),
    ({"heat": sun(100.0, unit_ids=("U2",))}, "the yard's units"),
])  # fmt: skip
def test_wrong_input_is_refused(options, text):
    with pytest.raises(InvalidField, match=text):
        table(**options)


MOLDS = st.builds(
    lambda area, kg_m2, emittance: replace(BIG_MOLD, surface_m2=area, shell_kg=area * kg_m2, emittance_frac=emittance),
    st.floats(4.0, 14.0), st.floats(15.0, 60.0), st.floats(0.3, 1.0),
)  # fmt: skip
SKIES = st.builds(clouds, st.integers(0, 10**6), st.just(4), st.floats(40.0, 140.0))


def cooked(mold, heat, shot_kg=60.0, wall_mm=6.0) -> np.ndarray:
    """Cook slots (confidence, start), infinite if never."""
    yard = big_yard()
    roomy = replace(yard.units[0], chambers=(Chamber("1A", 3.0, 9000.0), Chamber("1B", 3.0, 9000.0)))
    tank = replace(BIG_TANK, shot_kg=shot_kg, wall_mm=wall_mm)
    yard = replace(yard, units=(roomy,), molds=(mold, yard.molds[1]), products=(tank, yard.products[1]))
    slots = table(yard, heat).cook_slots[:, 0, 0].astype(float)
    slots[slots == NEVER] = np.inf
    return slots


@settings(max_examples=25, deadline=None)
@given(mold=MOLDS, heat=SKIES, more=st.floats(1.0, 1.5))
def test_more_sun_never_lengthens_a_cook(mold, heat, more):
    assert np.all(cooked(mold, replace(heat, field_kw=heat.field_kw * more)) <= cooked(mold, heat))


@settings(max_examples=25, deadline=None)
@given(mold=MOLDS, heat=SKIES, more=st.floats(1.05, 2.0))
def test_a_heavier_shot_never_shortens_a_cook(mold, heat, more):
    assert np.all(cooked(mold, heat, 60.0 * more) >= cooked(mold, heat, 60.0))


@settings(max_examples=25, deadline=None)
@given(mold=MOLDS, heat=SKIES, colder_k=st.floats(1.0, 40.0))
def test_colder_air_never_shortens_a_cook(mold, heat, colder_k):
    assert np.all(cooked(mold, replace(heat, temp_c=heat.temp_c - np.float32(colder_k))) >= cooked(mold, heat))


@settings(max_examples=25, deadline=None)
@given(mold=MOLDS, heat=SKIES)
def test_a_later_start_never_ends_earlier(mold, heat):
    slots = cooked(mold, heat)
    for row in slots:
        starts = np.flatnonzero(np.isfinite(row))
        assert np.all(np.diff(starts + row[starts]) >= 0)


@settings(max_examples=10, deadline=None)
@given(mold=MOLDS, seed=st.integers(0, 10**6), peak_kw=st.floats(40.0, 120.0))
def test_every_never_is_a_stall_or_a_lack_of_sun(mold, seed, peak_kw):
    heat = clouds(seed, 1, peak_kw)
    slots = cooked(mold, heat)[0]
    absorbed_kw = np.minimum(heat.field_kw[0, 0] * 0.9 * mold.absorptance_frac, 150.0)
    tank = replace(BIG_TANK, shot_kg=60.0, wall_mm=6.0)
    model = cycle_model(mold, tank, ALTITUDE_M)
    lit = np.flatnonzero(absorbed_kw > 0)
    for start in lit[np.isinf(slots[lit])][::4]:
        reach = slice(start, start + 36)
        course = trace(model, absorbed_kw[reach], heat.temp_c[0, reach], heat.wind_m_s[0, reach])
        assert course.piat_min == np.inf
        assert course.air_c.max() < tank.piat_c
