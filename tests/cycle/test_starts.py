"""Latest safe starts and the reasons of a refusal."""

import re
from dataclasses import replace

import numpy as np
import pytest

from tests.small_yard import MONDAY
from yardplan.cycle.model import cycle_model
from yardplan.cycle.starts import judge_start, latest_starts
from yardplan.cycle.table import cook_table
from yardplan.domain.equipment import Chamber
from yardplan.domain.errors import InvalidField, NotThere
from yardplan.domain.starts import StartOutcome
from yardplan.domain.tables import NEVER, Recipe
from yardplan.exchange.start_words import start_words

from .hand_made import ALTITUDE_M, BIG_MOLD, BIG_TANK, big_yard, day_heat, one_day

TANK, BIN = Recipe("M35", "T35"), Recipe("M2", "BIN")
SCALE = np.linspace(0.7, 1.1, 10)


def day(yard=None, scale=SCALE, peak_kw=100.0, days=1, **options):
    yard = yard or big_yard()
    grid = one_day(days)
    heat = day_heat(grid, tuple(unit.id for unit in yard.units), peak_kw, np.array(scale), **options)
    landing_frac = np.full((2, len(yard.units), grid.n_slots), 0.9, np.float32)
    factors = np.ones((2, len(yard.units)))
    cook = cook_table(yard, heat, landing_frac, loss_factor=factors)

    def judge(local_hour, recipe=TANK, confidence=0.8, unit_id="U1"):
        slot = int(local_hour * 12)
        return judge_start(yard, heat, cook, landing_frac, factors, recipe, unit_id, slot, confidence)

    return cook, judge


def test_the_latest_start_reaches_at_the_confidence_and_one_slot_later_does_not():
    cook, judge = day()
    row = cook.cook_slots[1, 0, 0]
    (tank_a, _, _, _) = latest_starts(big_yard(), cook, 0.8)
    assert (tank_a.on, tank_a.unit_id, tank_a.chamber_id, tank_a.mold_id) == (MONDAY, "U1", "1A", "M35")
    assert row[tank_a.slot] != NEVER
    assert np.all(row[tank_a.slot + 1 :] == NEVER)
    assert judge(tank_a.slot / 12).outcome is StartOutcome.REACHES
    assert judge((tank_a.slot + 1) / 12).outcome is StartOutcome.STALLS
    surer = latest_starts(big_yard(), cook, 0.95)[0].slot
    assert surer < tank_a.slot < latest_starts(big_yard(), cook, 0.5)[0].slot


def test_by_chamber_and_day():
    yard = big_yard()
    narrow = replace(yard.units[0], chambers=(Chamber("1A", 2.4, 900.0), Chamber("1B", 2.0, 900.0)))
    yard = replace(yard, units=(narrow,))
    cook, _ = day(yard, days=2)
    found = latest_starts(yard, cook, 0.8)
    assert [(row.chamber_id, row.mold_id) for row in found] == 2 * [("1A", "M35"), ("1A", "M2"), ("1B", "M2")]
    assert found[3].slot - found[0].slot == 288
    with pytest.raises(InvalidField, match="confidence"):
        latest_starts(yard, cook, 0.7)


def test_a_stall_is_told_with_figures_that_hold():
    cook, judge = day()
    one = judge(16.5)
    assert one.outcome is StartOutcome.STALLS
    assert 100 < one.peak_c < BIG_TANK.piat_c
    assert 16.5 < one.end_slot / 12 < 20
    assert one.heat_kw < one.loss_kw  # there it falls again
    # the losses of that shell, about as hot as the inside air when that is at its peak
    model = cycle_model(BIG_MOLD, BIG_TANK, ALTITUDE_M)
    blown = model.wind_w_m2_k(np.array(3.0))
    lost_kw = model.loss_w(np.array(one.peak_c + 273.15), np.array(293.15), blown) / 1000
    assert one.loss_kw == pytest.approx(lost_kw, rel=0.1)
    words = start_words(one, cook.grid)
    assert re.search(
        r"U1: T35 in M35 started at 16:30 would stall at \d+ C at 1\d:\d\d, short of 205 C: the field brings \d+ kW, "
        r"losses are \d+ kW; the latest safe start is 1\d:\d\d",
        words,
    )


def test_a_surer_start_follows_a_worse_sky():
    _, judge = day()
    peaks = [judge(16.0, confidence=share).peak_c for share in (0.5, 0.8, 0.95)]
    assert peaks == sorted(peaks, reverse=True)
    assert peaks[0] > peaks[2]


def test_a_start_that_is_possible():
    cook, judge = day()
    one = judge(12.0)
    assert one.outcome is StartOutcome.REACHES
    assert one.end_slot == 144 + cook.cook_slots[1, 0, 0, 144]
    assert "comes to 205 C by 12:" in start_words(one, cook.grid)


def test_other_reasons():
    cook, judge = day()
    dark = judge(3.0)
    assert dark.outcome is StartOutcome.NO_SUN
    assert "no sun on the mirrors" in start_words(dark, cook.grid)
    assert "the first safe start is" in start_words(dark, cook.grid)

    yard = big_yard()
    small = replace(yard.units[0], chambers=(Chamber("1A", 2.4, 450.0),))  # the mold weighs 490 kg with its charge
    cook, judge = day(replace(yard, units=(small,)))
    assert judge(12.0).outcome is StartOutcome.NO_FIT
    assert start_words(judge(12.0), cook.grid) == "U1: M35 with a charge of T35 fits no chamber"

    cook, judge = day(scale=[0.585])
    slow = judge(7.75)
    assert slow.outcome is StartOutcome.TOO_LONG
    assert re.search(r"would come to 205 C at 1\d:\d\d, after 1[89]\d min: too long", start_words(slow, cook.grid))

    hot = replace(yard, products=(replace(BIG_TANK, demold_c=31.0), yard.products[1]))
    cook, judge = day(hot, temp_c=38.0)
    assert judge(12.0).outcome is StartOutcome.NO_COOLING
    assert "no start of that day is safe" in start_words(judge(12.0), cook.grid)


def test_a_time_off_the_grid_is_told():
    _, judge = day()
    with pytest.raises(NotThere, match="the outlook is from 2027-05-17"):
        judge(30.0)


def test_every_refusal_in_light_has_its_reason_and_every_reason_its_refusal():
    cook, judge = day(scale=np.linspace(0.5, 0.9, 5))
    row = cook.cook_slots[1, 0, 0]
    for slot in range(int(6.5 * 12), int(18.4 * 12), 3):
        one = judge(slot / 12)
        assert (one.outcome is StartOutcome.REACHES) == (row[slot] != NEVER)
        if one.outcome is StartOutcome.STALLS:
            assert one.peak_c < BIG_TANK.piat_c
