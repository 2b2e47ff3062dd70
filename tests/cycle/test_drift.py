"""Warnings of a drift: told where there is one, with the right suspect, and not otherwise."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from yardplan.cycle.drift import MIN_COOKS, drifts
from yardplan.cycle.fit import fit
from yardplan.domain.calibration import Suspect

from .made_cooks import FIRST_AT, made_cook, spoiled

DAYS = 30
NOW = FIRST_AT + timedelta(days=DAYS)


def month(seed, *, field=1.0, paint=1.0, thermocouple_k=0.0, reads_k=0.0, molds=("M1", "M2", "M3")):
    """Two units with two chambers for a month; in its last ten days one thing is not as it was on unit U1."""
    rng = np.random.default_rng(seed)
    cooks = []
    for unit_id, heat in (("U1", 0.95), ("U2", 1.02)):
        for half_day in range(2 * DAYS):
            at = FIRST_AT + timedelta(hours=12 * half_day)
            late = at >= NOW - timedelta(days=10)
            mold_id, side = molds[rng.integers(len(molds))], "AB"[rng.integers(2)]
            chamber_id, copy = unit_id[1] + side, f"{mold_id}#{unit_id[1]}"
            heat_now = heat * (field if late and unit_id == "U1" else 1) * (paint if late and copy == "M2#1" else 1)
            here = late and chamber_id == "1A"
            cook = made_cook(
                rng, heat=heat_now, unit_id=unit_id, mold_id=mold_id, chamber_id=chamber_id, mold_copy=copy, at=at,
                above_k=thermocouple_k if here else 0.0,
            )  # fmt: skip
            cooks.append(replace(cook, piat_c=cook.piat_c + (reads_k if here else 0.0)))
    return spoiled(rng, cooks, 0.05)


def told(cooks):
    return drifts(cooks, fit(cooks, [], fitted_at=NOW), now=NOW)


@pytest.mark.parametrize("seed", range(3))
def test_nothing_is_told_where_nothing_drifts(seed):
    assert told(month(seed)) == ()


@pytest.mark.parametrize("seed", range(2))
def test_a_weaker_field(seed):
    (drift,) = told(month(seed, field=0.92))
    assert drift.suspects == ((Suspect.FIELD, "U1"),)
    assert -0.11 < drift.heat_change_frac < -0.04
    assert abs(drift.elsewhere_frac) < 0.02
    assert drift.std_errors > 3.5
    assert drift.n_recent >= 15
    assert drift.n_before >= 30
    assert NOW - timedelta(days=10) <= drift.since_at < NOW - timedelta(days=8)


def test_peeling_paint_of_one_copy():
    (drift,) = told(month(1, paint=0.86, molds=("M1", "M2")))
    assert drift.suspects == ((Suspect.PAINT, "M2#1"),)
    assert drift.heat_change_frac < -0.07


def test_a_thermocouple_that_reads_too_little_in_one_chamber():
    (drift,) = told(month(2, thermocouple_k=20.0))
    assert drift.suspects == ((Suspect.THERMOCOUPLE, "1A"),)
    assert drift.heat_change_frac < -0.04  # cooks are held longer than they seem to need


def test_readings_of_piat_that_moved():
    drift = told(month(3, reads_k=12.0))[0]
    assert drift.suspects[0] == (Suspect.THERMOCOUPLE, "1A")
    assert drift.piat_change_k == pytest.approx(12.0, abs=2.0)


def test_what_cannot_be_told_apart_is_told_as_such():
    # one mold in one chamber of one unit: its paint or the thermocouple; a field takes two molds
    cooks = [cook for cook in month(4, paint=0.85) if cook.unit_id == "U2" or cook.mold_id == "M2"]
    alone = [replace(cook, chamber_id="1A") if cook.unit_id == "U1" else cook for cook in cooks]
    (drift,) = told(alone)
    assert set(drift.suspects) == {(Suspect.PAINT, "M2#1"), (Suspect.THERMOCOUPLE, "1A")}


def test_a_few_cooks_tell_nothing():
    cooks = month(5, field=0.85)
    late = [cook for cook in cooks if cook.heat_at >= NOW - timedelta(days=10) and cook.unit_id == "U1"]
    few = [cook for cook in cooks if cook not in late] + late[: MIN_COOKS - 1]
    assert told(few) == ()
