"""How the demo's month went, on the command line."""

import json

import pytest
from typer.testing import CliRunner

from yardplan.cli import app
from yardplan.domain.heat_use import HeatTo
from yardplan.exchange.documents import validate
from yardplan.exchange.review_document import write_table
from yardplan.store.engine import open_database
from yardplan.usecases.clock import yard_now
from yardplan.usecases.demo import make_demo
from yardplan.usecases.reviewing import review_yard


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return make_demo(tmp_path_factory.mktemp("demo") / "demo.sqlite")


def run(*words, expect=0):
    done = CliRunner().invoke(app, list(map(str, words)))
    assert done.exit_code == expect, done.output
    return done.output


def test_the_demos_weeks_are_reviewed_from_its_log_and_its_measured_sun(demo, tmp_path):
    database = open_database(demo)
    parts = []
    found = review_yard(database, now=yard_now(database), on_part=parts.append)
    assert parts[0].is_part
    same = [(one.card.id, one.value) for one in parts[0].figures if one.card.id != "fit_error"]
    assert same == [(one.card.id, one.value) for one in found.figures if one.card.id != "fit_error"]
    database.close()
    counts = dict(found.figure("heat_use").counts)
    # uses and losses add up to the usable heat within 1 %
    assert sum(counts[f"kWh {to}"] for to in HeatTo) == pytest.approx(counts["usable kWh"], rel=0.01)
    # melting and heating a kg of polyethylene to 200 C takes about 0.2 kWh/kg: specific heat of 2.2 kJ/(kg K) and
    # 0.18 MJ/kg of melting (from memory); mold and losses take more
    # (common practice, no source)
    assert 0.2 < found.figure("heat_per_kg").value < 1.2
    assert found.figure("first_pass_yield").value + found.figure("scrap_ratio").value == pytest.approx(1)
    assert found.figure("starts_in_time").note == "no plan was in force"
    lost = {reason: (scrapped, rework) for reason, scrapped, rework in found.tables["losses"].rows}
    assert lost["cloud, did not come to its peak"] == (4, 0)
    path = tmp_path / "losses.csv"
    write_table(path, found.tables["losses"])
    assert path.read_text().splitlines()[0] == "reason,scrapped,rework"


def test_words_and_json_tell_the_same(demo):
    document = json.loads(run("review", "--days", "14", "--json", "--db", demo))
    validate(document, "review")
    told = run("review", "--days", "14", "--db", demo)
    for row in document["figures"]:
        assert f"  {row['name']}: " in told
    assert "black paint of M06#1" in told


def test_without_a_yard_it_says_what_to_do(tmp_path):
    assert "yardplan import yard" in run("review", "--db", f"sqlite:///{tmp_path}/empty.sqlite", expect=2)
