"""From the demo's log and measured sun to factors that the next outlook counts on."""

import json
from datetime import timedelta

import numpy as np
import pytest
from typer.testing import CliRunner

from tests import made_log
from yardplan.cli import app
from yardplan.domain.calibration import Calibration, Suspect, factors_of
from yardplan.domain.errors import InvalidField, NotThere
from yardplan.domain.slots import zone
from yardplan.exchange.calibration_document import calibration_words
from yardplan.exchange.documents import validate
from yardplan.store.engine import open_database
from yardplan.store.read import read_calibrations, read_yard
from yardplan.usecases.calibration import calibrate
from yardplan.usecases.clock import yard_now
from yardplan.usecases.demo import make_demo
from yardplan.usecases.outlook import make_outlook, outlook_document


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    database = open_database(make_demo(tmp_path_factory.mktemp("demo") / "demo.sqlite"))
    yield database
    database.close()


@pytest.fixture(scope="module")
def found(demo):
    return calibrate(demo, now=yard_now(demo), by="test")[0]


def test_the_demos_month_is_fitted_to_a_minute_or_two(found):
    assert found.n_cycles >= 200
    assert 0.3 < found.residual_min < 2.0
    assert 1 <= found.n_outliers <= 0.06 * found.n_cycles  # 2 % of the peaks were noted much too late
    assert dict(found.left_out)["it was lost before its peak"] >= 1


def test_the_demos_hidden_factors_are_found_within_the_spread_that_is_told(found):
    off, off_spreads = [], []
    for one in found.calibrations:
        if one.n_cycles >= 8 and one.mold_id != made_log.WORN_COPY.mold_id:
            hidden = made_log.UNIT_HEAT.get(one.unit_id, 1.0) * made_log.MOLD_HEAT.get(one.mold_id, 1.0)
            off.append(np.log(one.heat_factor / hidden))
            off_spreads.append(off[-1] / one.spread_frac)
    assert len(off) >= 8
    assert np.std(off) < 0.03
    assert abs(np.mean(off)) < 0.02
    assert np.max(np.abs(off_spreads)) < 3.0


def test_the_demos_worn_paint_is_told_with_its_evidence(found):
    assert any((Suspect.PAINT, str(made_log.WORN_COPY)) in drift.suspects for drift in found.drifts)
    drift = found.drifts[0]
    assert drift.heat_change_frac == pytest.approx(made_log.WORN_HEAT - 1, abs=0.05)
    words = calibration_words(found, zone("America/Denver"))
    assert f"black paint {made_log.WORN_COPY}" in words
    assert "standard errors" in words
    assert "logged cycles fitted" in words


def test_the_next_outlook_counts_on_it_and_says_so(demo, found, tmp_path):
    now = yard_now(demo)
    calibrated = make_outlook(demo, now=now, days=1)
    assert calibrated.calibrations == tuple(sorted(found.calibrations, key=lambda one: (one.unit_id, one.mold_id)))
    weak = min((one for one in found.calibrations if one.n_cycles), key=lambda one: one.heat_factor)
    recipes = [ix for ix, recipe in enumerate(calibrated.cook.recipes) if recipe.mold_id == weak.mold_id]
    unit_ix = calibrated.cook.unit_ids.index(weak.unit_id)
    document = outlook_document(calibrated)
    validate(document, "heat")
    rows = {(row["unit"], row["mold"]): row for row in document["calibrations"]}
    assert rows[weak.unit_id, weak.mold_id]["residual_min"] == weak.residual_min
    fresh = open_database(make_demo(tmp_path / "again.sqlite"))
    try:
        plain = make_outlook(fresh, now=now, days=1)
    finally:
        fresh.close()
    assert plain.calibrations == ()
    for recipe_ix in recipes:
        slots, before = (cook.cook_slots[1, recipe_ix, unit_ix] for cook in (calibrated.cook, plain.cook))
        both = (slots > 0) & (before > 0)
        assert both.any()
        assert slots[both].mean() > before[both].mean()


def test_old_fits_are_kept_and_the_newest_counts(demo, found):
    calibrate(demo, now=yard_now(demo) - timedelta(days=8), by="test")
    with demo.begin_read() as session:
        newest = read_calibrations(session)
    assert sum(one.n_cycles for one in newest) < found.n_cycles  # a week less of log
    calibrate(demo, now=yard_now(demo), by="test")


def test_on_the_command_line(demo, found):
    document = json.loads(CliRunner().invoke(app, ["calibrate", "--json", "--db", demo.url]).stdout)
    validate(document, "calibration")
    assert document["cycles"] == found.n_cycles
    assert document["drifts"][0]["since"].startswith("2027-05-0")
    assert "M02 on U1: heat" in CliRunner().invoke(app, ["calibrate", "--db", demo.url]).stdout


def test_what_is_missing_is_told(tmp_path, demo):
    empty = open_database(f"sqlite:///{tmp_path / 'empty.sqlite'}")
    with pytest.raises(NotThere, match="yard"):
        calibrate(empty, now=yard_now(demo), by="test")
    empty.close()
    with pytest.raises(NotThere, match="logged cycles"):
        calibrate(demo, now=yard_now(demo) + timedelta(days=365), by="test")
    told = CliRunner().invoke(app, ["calibrate", "--db", f"sqlite:///{tmp_path / 'empty.sqlite'}"])
    assert told.exit_code == 2


def test_factors_in_the_yards_order(demo):
    with demo.begin_read() as session:
        yard = read_yard(session)
    one = Calibration("U2", "M03", 0.9, 1.2, 0.02, 5, 1.0, yard_now(demo))
    gone = Calibration("U99", "M03", 0.5, 0.5, 0.02, 5, 1.0, yard_now(demo))
    heat, loss = factors_of(yard, (one, gone))
    assert heat.shape == (14, 6)
    assert (heat[2, 1], loss[2, 1]) == (0.9, 1.2)
    assert np.count_nonzero(heat != 1) == np.count_nonzero(loss != 1) == 1
    with pytest.raises(InvalidField, match="heat_factor is -1"):
        Calibration("U2", "M03", -1, 1.2, 0.02, 5, 1.0, yard_now(demo))
