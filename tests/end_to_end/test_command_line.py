"""The jobs without a screen, on a small yard with real weather, a real database and the real solver."""

import json
import re
import shutil
import sqlite3
from dataclasses import replace
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path

import pytest
from typer.testing import CliRunner

from tests.forecast.local_service import Reply, answering, good, layers_document, layers_step
from tests.small_yard import small_orders, small_yard, with_units
from yardplan import paths
from yardplan.cli import app
from yardplan.clock import now_utc
from yardplan.domain.equipment import Heliostat
from yardplan.domain.yard import Yard
from yardplan.exchange.documents import validate
from yardplan.exchange.yard_files import write_yard_folder

CLOCK_AT = datetime.fromisoformat("2027-05-14T14:00-06:00")
FROM_MONDAY = ("--from", "2027-05-17", "--days", "3")


def run(*words: str | Path, expect: int = 0) -> str:
    result = CliRunner().invoke(app, [str(word) for word in words])
    assert result.exit_code == expect, (result.output, result.exception)
    return result.stdout if expect == 0 or "--json" in words else result.output


def sunny_yard() -> Yard:
    """The small yard with mirrors enough for its molds under a real sky."""
    yard = small_yard()
    places = [(3.0 * (i % 8) - 10.5, 10.0 + 4.0 * (i // 8)) for i in range(40)]
    field = tuple(Heliostat(east_m, north_m, 1.5, 1.22, 1.83, 0.93) for east_m, north_m in places)
    return replace(yard, units=(replace(yard.units[0], field=field),))


@pytest.fixture(scope="module")
def yard_folder(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("yard")
    weather = paths.demo_folder() / "typical_year.epw"
    write_yard_folder(
        folder, sunny_yard(), small_orders(), clock_at=CLOCK_AT, weather_path=weather, notice="Invented for a test."
    )
    return folder


@pytest.fixture(scope="module")
def filled(yard_folder, tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("filled") / "yard.sqlite"
    run("import", "yard", yard_folder, "--db", f"sqlite:///{path}")
    return path


@pytest.fixture
def database(filled, tmp_path) -> str:
    shutil.copy(filled, tmp_path / "yard.sqlite")
    return f"sqlite:///{tmp_path / 'yard.sqlite'}"


def content(url: str) -> str:
    with sqlite3.connect(url.removeprefix("sqlite:///")) as connection:
        return sha256("\n".join(connection.iterdump()).encode()).hexdigest()


def test_from_files_to_a_checked_plan_and_back(database, tmp_path):
    document = json.loads(run("plan", "--db", database, "--json", "--seconds", "5", *FROM_MONDAY))
    validate(document, "plan")
    assert {order["id"] for order in document["orders"]} == {"Y-1", "Y-2", "Y-3"}
    assert len(document["cycles"]) == 12  # 4 + 5 + 3 pieces, one cavity each
    assert document["bound"] <= document["objective"]
    file = tmp_path / "plan.json"
    file.write_text(json.dumps(document))
    assert "plan.json: ok" in run("check", file, "--db", database)
    validate(json.loads(run("check", file, "--db", database, "--json")), "check")

    run("export", "plan", tmp_path / "kept.json", "--db", database)
    kept = json.loads((tmp_path / "kept.json").read_text())
    assert kept["cycles"] == document["cycles"]


def test_the_newest_plan_is_judged_under_every_sky(database):
    assert "yardplan plan" in run("risk", "--db", database, expect=2)
    made = json.loads(run("plan", "--db", database, "--json", "--seconds", "2", *FROM_MONDAY))
    document = json.loads(run("risk", "--db", database, "--json"))
    validate(document, "risk")
    assert document["plan_number"] == made["plan_number"]
    # nothing has changed since, so neither have the chances
    told = ("on_time_chance", "p50", "p80", "p95")
    assert [[row[name] for name in told] for row in document["orders"]] == [
        [row[name] for name in told] for row in made["orders"]
    ]
    assert made["risk"]["scenarios"] == document["scenarios"] >= 20
    words = run("risk", "--db", database)
    assert f"Plan {made['plan_number']} under {document['scenarios']} skies" in words
    assert "of 20" in words


def test_a_plan_that_was_tampered_with_is_refused_by_name(database, tmp_path):
    document = json.loads(run("plan", "--db", database, "--json", "--seconds", "2", *FROM_MONDAY))
    document["cycles"][0]["charge_crew"] = ["P99"]
    file = tmp_path / "plan.json"
    file.write_text(json.dumps(document))
    told = run("check", file, "--db", database, expect=1)
    assert "P99" in told
    answer = json.loads(run("check", file, "--db", database, "--json", expect=1))
    validate(answer, "check")
    assert not answer["ok"]


def test_the_heat_outlook_in_words_and_as_a_document(database):
    words = run("heat", "--db", database, *FROM_MONDAY)
    assert "Mon 17 May" in words
    assert "kWh" in words
    document = json.loads(run("heat", "--db", database, "--json", *FROM_MONDAY))
    validate(document, "heat")
    assert len(document["days"]) == 3
    power = document["days"][1]["units"][0]["power"]
    assert 0 < power["evening_kwh"] < power["sunset_charge_kwh"]
    assert power["pv_kwh"]["p10"] <= power["pv_kwh"]["p50"] <= power["pv_kwh"]["p90"]
    (bay,) = document["days"][1]["bays"]
    assert (bay["units"], bay["evening_kwh"]) == (["U1"], power["evening_kwh"])


def test_a_reserve_that_is_low_is_told_and_taken(tmp_path):
    write_yard_folder(tmp_path / "yard", with_units(sunny_yard(), reserve_kwh=1.0))
    told = run("import", "yard", tmp_path / "yard", "--db", f"sqlite:///{tmp_path / 'yard.sqlite'}")
    assert told.startswith("taken: Test mesa: 1 units")
    assert "Note: unit U1 keeps 1.0 kWh in its battery; to stow its mirrors" in told


def test_what_stands_in_the_batteries_is_noted(database):
    assert run("charge", "U1=14.5", "--db", database) == "noted: U1 14.5 kWh\n"
    assert "one of U1" in run("charge", "U9=1", "--db", database, expect=2)
    assert "a unit and its kWh such as U1=14.5" in run("charge", "U1", "--db", database, expect=2)


def test_heat_of_one_unit_or_product_and_what_a_wash_would_bring(database):
    words = run("heat", "--db", database, *FROM_MONDAY, "--product", "TANK", "--wash")
    assert "TANK in M1: start" in words
    assert "BIN" not in words
    assert "crew hours (2 people, 90 min)" in words.splitlines()[-1]
    document = json.loads(run("heat", "--db", database, "--json", *FROM_MONDAY, "--wash"))
    validate(document, "heat")
    (wash,) = document["washes"]
    # washed three days before: 0.4 % a day that the wash gives back on each of three days
    assert wash["kwh"] / wash["kwh_before"] == pytest.approx(1 / 0.996**3 - 1, rel=0.01)
    assert "known are BIN, TANK" in run("heat", "--db", database, "--product", "BOAT", expect=2)
    assert "known are U1" in run("heat", "--db", database, "--unit", "U9", expect=2)


def test_a_refused_start_is_told_in_one_sentence_with_figures(database):
    told = run("heat", "--db", database, *FROM_MONDAY, "--product", "TANK", "--at", "17:30")
    (line,) = [line for line in told.splitlines() if "started at 17:30" in line]
    assert re.search(
        r"U1: TANK in M1 started at 17:30 would stall at \d+ C at \d\d:\d\d, short of 205 C: the field brings \d+ kW, "
        r"losses are \d+ kW; the latest safe start is 1[3-7]:\d\d",
        line,
    )
    document = json.loads(run("heat", "--db", database, "--json", *FROM_MONDAY, "--product", "TANK"))
    validate(document, "heat")
    (start,) = document["starts"]
    rows = [row for row in document["days"][0]["units"][0]["latest_starts"] if row["mold"] == "M1"]
    assert [row["chamber"] for row in rows] == ["1A", "1B"]
    latest_at, start_at, told_at = (
        datetime.fromisoformat(text) for text in (rows[0]["at"], start["start"], start["latest_start"])
    )
    assert told_at == latest_at
    assert start_at - latest_at == timedelta(minutes=5)  # without --at the first start that is refused
    assert start["outcome"] == "stalls"
    told = run("heat", "--db", database, *FROM_MONDAY, "--at", "17:30", expect=2)
    assert "--product" in told


def test_the_yard_goes_out_and_comes_back_the_same(database, tmp_path):
    run("export", "yard", tmp_path / "out", "--db", database)
    second = f"sqlite:///{tmp_path / 'second.sqlite'}"
    run("import", "yard", tmp_path / "out", "--db", second)
    run("export", "orders", tmp_path / "one.csv", "--db", database)
    run("export", "orders", tmp_path / "two.csv", "--db", second)
    assert (tmp_path / "one.csv").read_text() == (tmp_path / "two.csv").read_text()


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("Z-1,Depot,BOAT,sand,3,2027-05-20", ("row 2", "product", "BIN", "TANK")),
        ("Z-1,Depot,BIN,sand,-3,2027-05-20", ("row 2", "quantity", "-3", "1")),
        ("Y-1,Depot,BIN,sand,3,2027-05-20", ("row 2", "Y-1")),
        ("Z-1,Depot,BIN,sand,3,2027-05-20\nZ-1,Depot,BIN,sand,4,2027-05-20", ("row 3", "Z-1")),
        ("Z-1,Depot,BIN,sand,3,2027-02-31", ("row 2", "due", "2027-02-31")),
    ],
)
def test_a_bad_order_file_is_told_and_nothing_of_it_is_taken(database, tmp_path, rows, words):
    file = tmp_path / "orders.csv"
    file.write_text(f"order,customer,product,color,quantity,due\n{rows}\nZ-9,Depot,BIN,sand,1,2027-05-20\n")
    before = content(database)
    told = run("import", "orders", file, "--db", database, expect=2)
    for word in words:
        assert word in told
    assert content(database) == before


def test_good_orders_are_added(database, tmp_path):
    file = tmp_path / "orders.csv"
    file.write_text("order;customer;product;color;quantity;due\nZ-9;Depot;BIN;sand;1;2027-05-20\n")
    assert "1 order" in run("import", "orders", file, "--db", database)
    run("export", "orders", tmp_path / "all.csv", "--db", database)
    assert "Z-9" in (tmp_path / "all.csv").read_text()


def test_a_mold_that_fits_no_chamber_and_an_operator_in_two_places_are_told_together_with_their_rows(
    yard_folder, tmp_path
):
    folder = tmp_path / "yard"
    shutil.copytree(yard_folder, folder)
    molds = (folder / "molds.csv").read_text()
    (folder / "molds.csv").write_text(molds.replace("1.8", "5.0", 1))
    url = f"sqlite:///{tmp_path / 'new.sqlite'}"
    told = run("import", "yard", folder, "--db", url, expect=2)
    assert "M1" in told
    assert "fits at least one chamber" in told

    (folder / "molds.csv").write_text(molds)
    duties = (folder / "duties.csv").read_text().rstrip("\n")
    row = next(line for line in duties.splitlines() if line.startswith("P1,"))
    (folder / "shifts.csv").write_text((folder / "shifts.csv").read_text().replace("14:00,22:00", "13:00,22:00"))
    (folder / "duties.csv").write_text(f"{duties}\n{row.replace('early', 'late')}\n")
    told = run("import", "yard", folder, "--db", url, expect=2)
    assert "Person 1 is on both shifts at once" in told
    told = run("heat", "--db", url, expect=2)
    assert "there is no yard" in told


def edited_weather(path: Path, column: int, value: str, hours: range | None = None) -> Path:
    """The demo's typical year with one column of some hours replaced."""
    lines = (paths.demo_folder() / "typical_year.epw").read_text(encoding="latin-1").splitlines()
    for at in range(8, len(lines)):
        if hours is None or at - 8 in hours:
            cells = lines[at].split(",")
            cells[column] = value
            lines[at] = ",".join(cells)
    path.write_text("\n".join(lines) + "\n", encoding="latin-1")
    return path


DNI, GHI, DHI = 14, 13, 15  # columns of an EPW data line, from 0; EnergyPlus Auxiliary Programs, "EPW data dictionary"


def test_a_weather_file_with_gaps_is_refused_and_the_old_weather_stays(database, tmp_path):
    gappy = edited_weather(tmp_path / "gappy.epw", DNI, "9999", range(3000, 3004))
    before = content(database)
    told = run("import", "weather", gappy, "--db", database, expect=2)
    assert "gappy.epw: nothing was taken" in told
    assert "row " in told
    assert content(database) == before


def test_a_week_without_sun_is_a_plan_that_says_what_is_impossible(database, tmp_path):
    dark = edited_weather(tmp_path / "dark.epw", DNI, "0")
    run("import", "weather", dark, "--db", database)
    told = run("plan", "--db", database, "--seconds", "2", *FROM_MONDAY, expect=1)
    assert "impossible" in told
    assert told.count("no heat") == 3  # once for each order


def test_a_database_newer_than_the_program_is_left_alone(database):
    path = Path(database.removeprefix("sqlite:///"))
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE yardplan_version SET version_num = '9999'")
    connection.close()  # the last one to close takes the write-ahead log in
    before = path.read_bytes()
    told = run("plan", "--db", database, expect=2)
    assert "9999" in told
    assert "install a newer yardplan" in told
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("heat", "--confidence", "0.9"), "one of (0.5, 0.8, 0.95)"),
        (("check", "absent.json"), "could not be read"),
        (("import", "orders", "absent.csv"), "absent.csv"),
        (("export", "plan", "out.json", "--number", "7"), "7"),
        (("export", "plan", "out.json"), "build one first"),
    ],
)
def test_what_is_not_there_is_told(database, tmp_path, monkeypatch, words, told):
    monkeypatch.chdir(tmp_path)
    assert told in run(*words, "--db", database, expect=2)
    assert not (tmp_path / "out.json").exists()


def test_a_file_that_is_no_plan_is_told(database, tmp_path):
    file = tmp_path / "plan.json"
    for text, told in (("{", "is not JSON"), ('{"schema": "x"}', "'generated_at' is a required"), ("[]", "object")):
        file.write_text(text)
        assert told in run("check", file, "--db", database, expect=2)


def test_the_version_is_told():
    assert run("--version").startswith("yardplan 0.")


def without_a_stopped_clock(url: str) -> str:
    """The same database on the clock of this computer, since a service tells of the days to come."""
    with sqlite3.connect(url.removeprefix("sqlite:///")) as connection:
        connection.execute("DELETE FROM setting WHERE key = 'clock_at'")
    connection.close()
    return url


def test_the_weather_in_use_is_told_asked_for_and_credited(database):
    url = without_a_stopped_clock(database)
    told = run("weather", "--db", url)
    assert "no forecast in use; plans count on climatology: typical year of" in told
    assert "--contact" in run("weather", "--fetch", "--db", url, expect=1)

    first_at = now_utc().replace(minute=0, second=0)
    document = layers_document(
        [layers_step(first_at + timedelta(hours=hour)) for hour in range(60)], issued_at=first_at
    )
    unchanging = {"Date": "Mon, 17 May 2027 13:20:00 GMT", "Expires": "Mon, 17 May 2027 13:51:00 GMT"}
    with answering(good(document, **unchanging)) as service:
        settings = ("--contact", "pat@yard.example", "--address", service.address, "--credit", "by an invented service")
        told = run("weather", "--fetch", *settings, "--db", url)
        assert "issued" in told
        assert "by an invented service" in told
        assert "not asked again before" in told
        assert run("weather", "--fetch", "--db", url).startswith("forecast of 127.0.0.1:")
        assert service.n_asked == 1
    # What came in is kept as an outlook, to be scored when its hours were measured.
    assert "1 outlook kept since" in run("verify", "--db", url)
    answer = json.loads(run("weather", "--db", url, "--json"))
    validate(answer, "weather")
    assert len(answer["forecast"]["start"]) == 59
    assert answer["trouble"] == ""


def test_a_service_out_of_reach_is_told_without_an_error(database):
    url = without_a_stopped_clock(database)
    with answering(Reply(403)) as service:
        told = run(
            "weather", "--fetch", "--contact", "a@b.example", "--address", service.address, "--db", url, expect=1
        )
    assert "no forecast in use" in told
    assert "no newer forecast: 127.0.0.1" in told
    assert "(403)" in run("weather", "--db", url)
    assert "https" in run("weather", "--address", "http://weather.example/", "--db", url, expect=2)


def test_the_yards_own_files_of_sun_and_forecast(database, tmp_path):
    file = tmp_path / "sun.csv"
    file.write_text("# zone: America/Denver\nend;dni_w_m2\n2027-05-14 11:55;812,5\n2027-05-14 12:00;815,0\n")
    assert "2 readings of 5 min" in run("import", "measured", file, "--db", database)
    file.write_text("# zone: America/Denver\nend;dni_wm2\n2027-05-14 12:05;812,5\n")
    told = run("import", "measured", file, "--db", database, expect=2)
    assert "row 2, column dni_wm2: has no unit that is known; expected dni_w_m2" in told
    file.write_text("# zone: America/Denver\nstart,cloud_pct\n2027-05-15 06:00,10\n2027-05-15 07:00,20\n")
    assert "2 steps of 60 min" in run("import", "forecast", file, "--db", database)
    assert run("weather", "--db", database).startswith("own CSV sun.csv, issued Fri 14 May 14:00, 0.0 h old")
    assert run("verify", "--db", database).startswith("1 outlook kept since Fri 14 May; no hour that they speak of was")


def test_sun_that_was_read_off_is_typed_and_pulls_todays_outlook(database):
    today = ("--from", "2027-05-14", "--days", "1", "--json")
    before = json.loads(run("heat", "--db", database, *today))
    run("weather", "--measured", "13:50=0", "--measured", "13:55=0", "--db", database)
    after = json.loads(run("heat", "--db", database, *today))
    assert after["days"][0]["kwh"]["p50"] < before["days"][0]["kwh"]["p50"]
    assert "one up to now, 14:00" in run("weather", "--measured", "14:30=700", "--db", database, expect=2)
    assert "such as 10:20=640" in run("weather", "--measured", "noon", "--db", database, expect=2)


def test_the_outlooks_that_were_shown_are_kept_and_told_of(database):
    assert "No outlook was kept in the last 30 days" in run("verify", "--db", database, "--days", "30")
    run("heat", "--db", database, *FROM_MONDAY)
    document = json.loads(run("verify", "--db", database, "--json"))
    validate(document, "verification")
    assert (document["outlooks"], document["leads"], document["correction"]) == (1, [], None)


def test_a_typical_year_whose_clock_is_off_is_refused(database, tmp_path):
    lines = (paths.demo_folder() / "typical_year.epw").read_text(encoding="latin-1").splitlines()
    # Without its diffuse light the components cannot tell, but mornings and afternoons do.
    for at in range(8, len(lines)):
        cells = lines[at].split(",")
        cells[GHI], cells[DHI] = "0", "0"
        lines[at] = ",".join(cells)
    head = lines[0].split(",")
    head[7] = str(float(head[7]) + 15)  # the place east of where it is, by an hour of the sun
    lines[0] = ",".join(head)
    file = tmp_path / "off.epw"
    file.write_text("\n".join(lines) + "\n", encoding="latin-1")
    before = content(database)
    told = run("import", "weather", file, "--db", database, expect=2)
    assert "the time labels are off" in told
    assert content(database) == before


COOK = ("live", "1A", "--mold", "M1", "--product", "TANK", "--since", "13:20")


def test_a_running_cook_is_told_with_its_peak_and_chance(database, tmp_path):
    words = run(*COOK, "--air", "120", "--db", database)
    assert words.startswith("1A at 14:00: TANK in M1, inside air 120 C")
    assert "chance" in words
    document = json.loads(run(*COOK, "--air", "120", "--db", database, "--json"))
    validate(document, "live")
    file = tmp_path / "readings.csv"
    file.write_text("time,chamber,air_c\n2027-05-14 13:40,1A,80\n2027-05-14 13:50,1A,105\n2027-05-14 14:00,1A,120\n")
    read = json.loads(run(*COOK, "--readings", file, "--db", database, "--json"))
    validate(read, "live")
    assert read["air_c"] == 120


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((*COOK, "--air", "900"), "inside air from -40 to 350 C"),
        (("live", "9Z", *COOK[2:], "--air", "120"), "known are 1A, 1B"),
        (("live", "1A", "--mold", "M2", *COOK[4:], "--air", "120"), "one of M1"),
        (COOK, "--air / --readings"),
        ((*COOK, "--readings", "absent.csv"), "absent.csv"),
    ],
)
def test_a_cook_that_cannot_be_told_of(database, words, told):
    assert told in run(*words, "--db", database, expect=2)


def test_the_yard_is_changed_row_by_row_and_back(database):
    assert run("set", "molds", "M2", "copies=3", "change_min=50", "--db", database) == "changed: molds: M2 changed\n"
    before = content(database)
    told = run("set", "molds", "M2", "copies=lots", "--db", database, expect=2)
    assert "molds.csv row 2, column copies: is 'lots'; expected a whole number" in told
    assert "expected a mold, one of M1" in run("set", "products", "BIN", "molds=M7", "--db", database, expect=2)
    assert "is no column=value" in run("set", "molds", "M2", "copies", "--db", database, expect=2)
    assert content(database) == before
    assert [line.split("  ")[-1] for line in run("versions", "--db", database).splitlines()] == [
        "written",
        "molds: M2 changed",
    ]
    listed = run("versions", "--back-to", "1", "--db", database).splitlines()
    assert listed[2].split() == ["3", "2027-05-14", "14:00", *listed[0].split()[3:4], "molds:", "M2", "changed"]
