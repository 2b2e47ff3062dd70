"""A hot day: a table that allows at this week's temperatures what the source allows at 104 F, 20 min of heavy work.

Source of the table by default: CDC/NIOSH, Heat Stress: Work/Rest Schedules.
"""

import json
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.end_to_end.test_command_line import CLOCK_AT, FROM_MONDAY, run, sunny_yard
from tests.small_yard import small_orders
from yardplan import paths
from yardplan.domain.heat_work import WorkRest
from yardplan.exchange.yard_files import write_yard_folder

WEEK = ("--seconds", "4", *FROM_MONDAY)


def database_of(folder: Path, *rows: WorkRest) -> str:
    yard = sunny_yard()
    tank, box = yard.products
    yard = replace(
        yard,
        products=(replace(tank, demold_min=20), replace(box, demold_min=20)),
        work_rest=rows,
    )
    weather = paths.demo_folder() / "typical_year.epw"
    write_yard_folder(
        folder / "yard", yard, small_orders(), clock_at=CLOCK_AT, weather_path=weather, notice="Invented."
    )
    url = f"sqlite:///{folder / 'yard.sqlite'}"
    run("import", "yard", folder / "yard", "--db", url)
    return url


def most_heavy_min(document: dict) -> int:
    """The most minutes that anybody charges or demolds in any 60 minutes, counted from the document alone."""
    spells: dict[str, list[tuple[datetime, datetime]]] = {}
    for row in document["cycles"]:
        heat = datetime.fromisoformat(row["heat_start"])
        charge = datetime.fromisoformat(row["charge_start"])
        minutes = {"TANK": 15, "BIN": 10}[row["product"]] + row["clean_down_min"]
        assert charge + timedelta(minutes=minutes) <= heat
        demold = (datetime.fromisoformat(row["demold_start"]), datetime.fromisoformat(row["demold_end"]))
        assert demold[1] - demold[0] == timedelta(minutes=20)  # a rested person takes no longer than on a cool day
        charging = charge, charge + timedelta(minutes=minutes)
        for crew, spell in ((row["charge_crew"], charging), (row["demold_crew"], demold)):
            for person in crew:
                spells.setdefault(person, []).append(spell)
    most = timedelta(0)
    for own in spells.values():
        for _, end in own:
            begin = end - timedelta(hours=1)
            most = max(most, sum((max(min(b, end) - max(a, begin), timedelta(0)) for a, b in own), timedelta(0)))
    return int(most / timedelta(minutes=1))


@pytest.fixture(scope="module")
def hot(tmp_path_factory) -> str:
    return database_of(tmp_path_factory.mktemp("hot"), WorkRest(60, 30, 20))


def test_on_a_hot_day_nobody_handles_more_than_the_table_allows_in_any_hour(hot, tmp_path):
    document = json.loads(run("plan", "--db", hot, "--json", *WEEK))
    assert document["cycles"]
    assert most_heavy_min(document) == 20
    file = tmp_path / "plan.json"
    file.write_text(json.dumps(document))
    assert "ok" in run("check", file, "--db", hot)
    told = run("plan", "--db", hot, *WEEK)
    assert "down to 20 min of heavy work in an hour" in told
    assert "Local codes come first" in told


def test_switching_it_off_takes_a_reason_which_is_kept_and_told(hot):
    assert "reason" in run("heat-rule", "--db", hot, "--off", "  ", expect=2)
    assert "work/rest rule: on" in run("heat-rule", "--db", hot)
    try:
        told = run("heat-rule", "--db", hot, "--off", "air-conditioned cabs since May, table does not apply")
        assert "OFF since Fri 14 May 2027 14:00 by" in told
        words = run("plan", "--db", hot, *WEEK)
        assert "OFF since Fri 14 May 2027 14:00" in words
        assert "air-conditioned cabs since May, table does not apply" in words
        assert most_heavy_min(json.loads(run("plan", "--db", hot, "--json", *WEEK))) > 20
    finally:
        assert "work/rest rule: on" in run("heat-rule", "--db", hot, "--on")


def test_at_the_tables_caution_no_handling_is_planned(tmp_path):
    url = database_of(tmp_path, WorkRest(60, 0, 0))
    document = json.loads(run("plan", "--db", url, "--json", *WEEK, expect=1))
    assert document["cycles"] == []
