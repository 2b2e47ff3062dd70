from dataclasses import replace
from datetime import UTC, date, time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.small_yard import TZ, at, small_orders, small_yard
from yardplan.domain.equipment import Bench, Hung, Load, MoldCopy
from yardplan.domain.errors import BadFile, CannotWrite, InvalidField
from yardplan.domain.field import field_rows
from yardplan.domain.heat_work import WorkRest
from yardplan.domain.log import LoggedCycle
from yardplan.domain.people import Downtime, Duty, Operator, ResourceKind, Shift
from yardplan.domain.products import Delivery, FinishStep, Item, ItemKind
from yardplan.domain.slots import zone
from yardplan.exchange.cells import end_of_day, instant
from yardplan.exchange.yard_files import read_yard_folder, write_yard_folder


def _rich_yard():
    """The small yard with something in every table."""
    yard = small_yard(2)
    tank = replace(
        yard.products[0],
        routing=(*yard.products[0].routing, FinishStep("leak test", "stand", "inspection", 25, 0.4)),
        inserts=(("VALVE", 2),),
    )
    weekday, weekend = frozenset(range(5)), frozenset({5, 6})
    busy = Operator(
        "P9", "=Nine", frozenset({"water test", "handling"}),
        (Duty("early", weekday, date(2027, 5, 1), date(2027, 6, 1)), Duty("night", weekend)),
        frozenset({date(2027, 5, 20)}), 3,
    )  # fmt: skip
    washed = replace(yard.units[1], washes_on=(date(2027, 5, 19), date(2027, 5, 24)), wash_min=60, wash_crew=3)
    return replace(
        yard,
        units=(yard.units[0], washed),
        products=(tank, yard.products[1]),
        items=(*yard.items, Item("VALVE", "Valve, 50 mm", ItemKind.INSERT, 12)),
        benches=(*yard.benches, Bench("T1", "Stand", "stand", "U2")),
        shifts=(*yard.shifts, Shift("night", time(22), time(6), overtime=True)),
        operators=(*yard.operators, busy),
        deliveries=(Delivery("VALVE", at(2, 10.5), 40),),
        downtimes=(
            Downtime(ResourceKind.YARD, "", at(4, 0), at(4, 12), "holiday"),
            Downtime(ResourceKind.MOLD, "M2#2", at(1, 6), at(1, 9), "repaint"),
        ),
        hung=(Hung("1A", MoldCopy("M1", 1), "PE-L", "sand"), Hung("2B", MoldCopy("M2", 2))),
        work_rest=(WorkRest(95.0, 60, 45), WorkRest(103.5, 30, 0)),
        loads=(Load("air conditioning", "*", time(10), time(18), 0.9), Load("lights", "U2", time(20), time(1), 0.2)),
    )


LOGGED = (
    LoggedCycle(
        "L-1", "1A", MoldCopy("M1", 1), "TANK", "sand", at(-3, 9), at(-3, 9.5), at(-3, 10.25), at(-3, 11.5), 205.5, 1, 0
    ),
    LoggedCycle(
        "L-2", "2B", MoldCopy("M2", 2), "BIN", "black", at(-2, 9), at(-2, 9.5), None, at(-2, 12), 151, 0, 1, "cloud"
    ),
)


@pytest.fixture
def folder(tmp_path) -> Path:
    write_yard_folder(tmp_path / "yard", _rich_yard(), small_orders(), LOGGED, notice="Invented.")
    return tmp_path / "yard"


def _edit(folder: Path, file: str, old: str, new: str) -> None:
    text = (folder / file).read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{old!r} is {text.count(old)} times in {file}"
    (folder / file).write_text(text.replace(old, new), encoding="utf-8")


def _refused(folder: Path) -> str:
    with pytest.raises(BadFile) as caught:
        read_yard_folder(folder)
    return str(caught.value)


def test_a_yard_that_is_written_is_read_back_equal(tmp_path):
    weather = tmp_path / "year.epw"
    weather.write_bytes(b"LOCATION\r\n")
    folder = tmp_path / "new" / "yard"
    sun = tmp_path / "sun.csv"
    sun.write_bytes(b"start,dni_w_m2\r\n")
    write_yard_folder(
        folder, _rich_yard(), small_orders(), LOGGED, clock_at=at(-3, 14), weather_path=weather, sun_path=sun,
        notice='Made "up".',
    )  # fmt: skip
    found = read_yard_folder(folder)
    assert found.sun_path == folder / "sun.csv"
    assert found.sun_path.read_bytes() == b"start,dni_w_m2\r\n"
    assert found.yard == _rich_yard()
    assert (found.orders, found.logged, found.clock_at) == (small_orders(), LOGGED, at(-3, 14))
    assert found.clock_at.utcoffset() == UTC.utcoffset(None)
    assert found.weather_path == folder / "year.epw"
    assert found.weather_path.read_bytes() == b"LOCATION\r\n"
    assert found.notice == 'Made "up".'
    assert all((folder / name).read_text().startswith('# Made "up".\n') for name in ("site.toml", "molds.csv"))


def test_writing_what_was_read_gives_the_same_files(tmp_path, folder):
    found = read_yard_folder(folder)
    write_yard_folder(tmp_path / "again", found.yard, found.orders, found.logged, notice=found.notice)
    for path in folder.iterdir():
        assert (tmp_path / "again" / path.name).read_bytes() == path.read_bytes()


def test_tables_that_a_yard_can_do_without_may_be_absent(folder):
    for name in ("deliveries", "downtimes", "hung", "days_off", "clean_downs", "orders", "log", "routing", "inserts"):
        (folder / f"{name}.csv").unlink()
    found = read_yard_folder(folder)
    assert found.orders == found.logged == found.yard.downtimes == found.yard.products[0].routing == ()


NAMES = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), min_size=1, max_size=20).map(str.strip)


@given(name=NAMES, skills=st.frozensets(NAMES.filter(lambda text: text and ";" not in text), min_size=1, max_size=4))
def test_any_words_survive_the_files(tmp_path_factory, name, skills):
    yard = small_yard()
    yard = replace(yard, operators=(replace(yard.operators[0], name=name, skills=skills), *yard.operators[1:]))
    yard = replace(yard, site=replace(yard.site, name=name), colors=("sand", name))
    folder = tmp_path_factory.mktemp("any") / "yard"
    write_yard_folder(folder, yard)
    assert read_yard_folder(folder).yard == yard


@given(
    st.floats(-500, 500, allow_subnormal=False),
    st.floats(0.1, 1),
    st.floats(0.1, 20),
)
def test_any_place_of_a_mirror_survives_the_files(tmp_path_factory, east_m, reflectance_frac, width_m):
    yard = small_yard()
    mirror = replace(yard.units[0].field[0], east_m=east_m, reflectance_frac=reflectance_frac, width_m=width_m)
    yard = replace(yard, units=(replace(yard.units[0], field=(mirror,)),))
    folder = tmp_path_factory.mktemp("any") / "yard"
    write_yard_folder(folder, yard)
    assert read_yard_folder(folder).yard == yard


def test_a_list_that_could_not_be_read_back_is_not_written(tmp_path):
    yard = small_yard()
    bad = replace(yard.operators[0], skills=frozenset({"cut; drill"}))
    with pytest.raises(InvalidField, match="expected a name without a semicolon"):
        write_yard_folder(tmp_path / "yard", replace(yard, operators=(bad, *yard.operators[1:])))
    assert list(tmp_path.iterdir()) == []


def test_a_folder_with_files_in_it_is_not_written_over(tmp_path):
    (tmp_path / "note.txt").write_text("mine")
    with pytest.raises(CannotWrite, match="is there already; expected a new or an empty folder"):
        write_yard_folder(tmp_path, small_yard())
    assert [path.name for path in tmp_path.iterdir()] == ["note.txt"]


# --- bad rows -------------------------------------------------------------------------------------------------

YARD_FAULTS = {
    "value out of range": (
        "molds.csv",
        "M1,Mold M1,aluminum,160",
        "M1,Mold M1,aluminum,-5",
        "molds.csv row 5, column shell_kg",
        "a number from 1 to 10000",
    ),
    "no number": (
        "chambers.csv",
        "1A,U1,2.4",
        "1A,U1,wide",
        "chambers.csv row 4, column max_swing_m: is 'wide'",
        "a number with a decimal point",
    ),
    "not finite": ("chambers.csv", "1A,U1,2.4", "1A,U1,nan", "column max_swing_m: is 'nan'", "a number"),
    "python number": ("chambers.csv", "1A,U1,2.4", "1A,U1,2_4", "column max_swing_m: is '2_4'", "a number"),
    "unknown metal": (
        "molds.csv",
        "M1,Mold M1,aluminum",
        "M1,Mold M1,clay",
        "column metal: is 'clay'",
        "one of aluminum, steel",
    ),
    "id twice": (
        "molds.csv",
        "M2,Mold M2",
        "M1,Mold M2",
        "molds.csv row 6, column mold: is 'M1', which is there already",
        "each mold once",
    ),
    "unknown unit of a chamber": ("chambers.csv", "1A,U1", "1A,U7", "column unit: is 'U7'", "a unit, one of U1, U2"),
    "unknown mold of a product": (
        "products.csv",
        "15,1,15,1,M1",
        "15,1,15,1,M1; M8",
        "products.csv row 5, column molds: is 'M8'",
        "a mold, one of M1, M2",
    ),
    "unknown bench kind": (
        "routing.csv",
        "TANK,1,cut,bench",
        "TANK,1,cut,saw",
        "column bench_kind: is 'saw'",
        "one of bench, stand",
    ),
    "step twice": (
        "routing.csv",
        "TANK,2,leak test",
        "TANK,1,leak test",
        "column step: step 1 of TANK is there already",
        "each step once",
    ),
    "unknown copy": ("hung.csv", "2B,M2#2", "2B,M2#3", "column mold: is 'M2#3'", "one of M1#1, M2#1, M2#2"),
    "no copy": ("hung.csv", "2B,M2#2", "2B,M2", "column mold: is 'M2'", "a mold and its copy such as M03#2"),
    "chamber with two molds": (
        "hung.csv",
        "2B,M2#2",
        "1A,M2#2",
        "hung.csv row 5: chamber_id, mold of hung mold M2#2",
        "each chamber and each copy once",
    ),
    "mold in a chamber that is too small": (
        "molds.csv",
        "aluminum,160,6,1.5,1.8,0.94,0.9,1,2",
        "aluminum,160,6,1.5,2.6,0.94,0.9,1,2",
        "molds.csv row 6",
        "fits at least one chamber",
    ),
    "unknown shift": ("duties.csv", "P1,early", "P1,dawn", "column shift: is 'dawn'", "one of early, late, night"),
    "unknown weekday": (
        "duties.csv",
        "P1,early,Mon; Tue",
        "P1,early,Mon; Tyr",
        "column weekdays: is 'Mon; Tyr",
        "weekdays such as",
    ),
    "bad break": (
        "shifts.csv",
        "early,06:00,14:00,10:00+20",
        "early,06:00,14:00,10:00 for 20",
        "column breaks",
        "starts and minutes",
    ),
    "yes or no": ("shifts.csv", "22:00,06:00,,yes", "22:00,06:00,,maybe", "column overtime: is 'maybe'", "yes or no"),
    "down-time of nothing": (
        "downtimes.csv",
        "mold,M2#2",
        "mold,M7#1",
        "downtimes.csv row 6, column resource: resource_id",
        "a mold, one of",
    ),
    "down-time that ends first": (
        "downtimes.csv",
        "2027-05-18 09:00",
        "2027-05-18 05:00",
        "downtimes.csv row 6, column end_at",
        "after start_at",
    ),
    "unknown item": (
        "deliveries.csv",
        "VALVE",
        "VALE",
        "column item: is 'VALE'",
        "a stock item, one of R-BLACK, R-SAND, VALVE",
    ),
    "resin without a color": ("stock.csv", "5000,LLDPE,sand", "5000,LLDPE,", "stock.csv row 4", "both, for a resin"),
    "order of nothing": (
        "orders.csv",
        "Y-1,Invented Farm,TANK",
        "Y-1,Invented Farm,TUB",
        "orders.csv row 5, column product: is 'TUB'",
        "one of BIN, TANK",
    ),
    "order in an unknown color": (
        "orders.csv",
        "TANK,sand",
        "TANK,mauve",
        "orders.csv row 5, column color",
        "black, sand",
    ),
    "log out of order": (
        "log.csv",
        "2027-05-14 10:15",
        "2027-05-14 08:15",
        "log.csv row 4",
        "in the order charge, heat, PIAT, demold",
    ),
    "bad wash date": (
        "units.csv",
        "U1,Unit 1,2.5,2027-05-14",
        "U1,Unit 1,2.5,14.05.2027",
        "column washed_on: is '14.05.2027'",
        "a date such as",
    ),
    "load of no unit": (
        "loads.csv",
        "lights,U2",
        "lights,U7",
        "loads.csv row 6",
        "one of U1, U2, or * for each of them",
    ),
    "site off the earth": (
        "site.toml",
        "latitude_deg = 35.0",
        "latitude_deg = 95.0",
        "site.toml column site.latitude_deg: is 95.0",
        "a number from -90 to 90",
    ),
    "site with words for numbers": (
        "site.toml",
        "altitude_m = 1600.0",
        'altitude_m = "high"',
        "site.altitude_m: is 'high'",
        "a number from",
    ),
    "unknown zone": ("site.toml", TZ, "Mars/Olympus", "site.tz: is 'Mars/Olympus'", "IANA time-zone database"),
    "unknown key": ("site.toml", "loaders = 1", "forklifts = 1", "site.forklifts: is not known here", "loaders"),
    "no site": ("site.toml", "[site]", "[place]", "site.toml column site: is missing", "a table [site] with name"),
    "notice no text": ("site.toml", 'notice = "Invented."', "notice = 7", "notice: is 7", "expected text"),
    "name no text": ("site.toml", 'name = "Test mesa"', "name = 7", "site.name, site.tz: expected text", ""),
    "no toml": ("site.toml", "[site]", "[site", "site.toml: is no TOML", "line 5"),
    "missing key": ("site.toml", "altitude_m = 1600.0", "", "site.altitude_m: is missing", ""),
    "colors no list": (
        "site.toml",
        'colors = ["sand", "black"]',
        'colors = "sand"',
        "colors: is 'sand'",
        "a list of words",
    ),
    "clock no time": ("site.toml", "[site]", 'clock_at = "soon"\n[site]', "clock_at: is 'soon'", "a time such as"),
    "weather not there": (
        "site.toml",
        "[site]",
        'weather = "year.epw"\n[site]',
        "weather: is 'year.epw'",
        "a file in this folder",
    ),
    "measured sun not there": (
        "site.toml",
        "colors = ",
        'measured_sun = "sun.csv"\ncolors = ',
        "site.toml",
        "measured_sun: is 'sun.csv'",
    ),
    "weather elsewhere": (
        "site.toml",
        "[site]",
        'weather = "../year.epw"\n[site]',
        "weather: is '../year.epw'",
        "a file in this folder",
    ),
}


@pytest.mark.parametrize("fault", YARD_FAULTS)
def test_each_fault_of_a_yard_is_told_with_its_place_and_what_is_expected(folder, fault):
    file, old, new, place, expected = YARD_FAULTS[fault]
    _edit(folder, file, old, new)
    told = _refused(folder)
    assert place in told
    assert expected in told


def test_bad_rows_of_several_files_are_all_told_and_blame_nothing_else(folder):
    _edit(folder, "molds.csv", "M1,Mold M1,aluminum,160", "M1,Mold M1,aluminum,heavy")
    _edit(folder, "chambers.csv", "2A,U2,2.4", "2A,U2,0")
    _edit(folder, "operators.csv", "handling; water test,3", "handling; water test,30")
    _edit(folder, "orders.csv", "BIN,black,5", "BIN,black,5.5")
    with pytest.raises(BadFile) as caught:
        read_yard_folder(folder)
    places = [(found.file, found.row, found.column) for found in caught.value.problems]
    assert sorted(places) == [
        ("chambers.csv", 6, "max_swing_m"),
        ("molds.csv", 5, "shell_kg"),
        ("operators.csv", 8, "jobs_at_once"),
        ("orders.csv", 6, "quantity"),
    ]


def test_a_unit_is_not_blamed_for_mirrors_that_could_not_be_read(folder):
    path = folder / "heliostats.csv"
    path.write_text(path.read_text().replace("0.93", "1.93"))
    with pytest.raises(BadFile) as caught:
        read_yard_folder(folder)
    assert {found.file for found in caught.value.problems} == {"heliostats.csv"}
    assert len(caught.value.problems) == 24


def test_a_unit_without_mirrors_is_told(folder):
    path = folder / "heliostats.csv"
    path.write_text("\n".join(line for line in path.read_text().splitlines() if not line.startswith("U2")))
    assert "units.csv row 8: field of unit U2 is 0; expected at least one heliostat" in _refused(folder)


ROWS_OF_U2 = (
    "unit,mirrors,first_m,row_gap_m,spacing_m,half_arc_deg,up_m,width_m,height_m,reflectance_frac,row_rise_m\n"
    "U2,30,14,4,2.6,65,1.3,1.22,1.83,0.93,1\n"
)


def test_a_field_may_be_given_in_rows_and_comes_out_place_by_place(folder, tmp_path):
    path = folder / "heliostats.csv"
    path.write_text("\n".join(line for line in path.read_text().splitlines() if not line.startswith("U2")))
    (folder / "fields.csv").write_text(ROWS_OF_U2)
    yard = read_yard_folder(folder).yard
    rows = field_rows(30, 14, 4, 2.6, 65, 1.3, 1.22, 1.83, 0.93, row_rise_m=1)
    assert (yard.units[0].field, yard.units[1].field) == (_rich_yard().units[0].field, rows)
    write_yard_folder(tmp_path / "again", yard)
    assert not (tmp_path / "again" / "fields.csv").exists()
    assert read_yard_folder(tmp_path / "again").yard == yard
    (folder / "fields.csv").write_text(ROWS_OF_U2.replace("U2,", "U1,"))
    assert "field of unit U2 is 0" in _refused(folder)


def test_a_wash_on_no_day_is_told(folder):
    _edit(folder, "units.csv", "2027-05-19; 2027-05-24", "2027-05-19; May 24")
    assert "units.csv row 8, column washes_on" in _refused(folder)
    assert "dates such as 2027-05-17; 2027-05-20" in _refused(folder)


def test_rows_that_cannot_be_laid_out_are_told_with_their_place(folder):
    (folder / "fields.csv").write_text(ROWS_OF_U2.replace("2.6", "2.0"))
    assert "fields.csv row 2, column spacing_m" in _refused(folder)
    assert "mirrors 2.00 m apart touch as they turn" in _refused(folder)
    (folder / "fields.csv").write_text(ROWS_OF_U2.replace("0.93", "9.3"))
    assert "fields.csv row 2, column reflectance_frac: reflectance_frac of heliostat at east 0.0" in _refused(folder)


def test_an_operator_on_two_shifts_at_once_is_named(folder):
    _edit(folder, "duties.csv", "P9,night,Sat; Sun", "P9,early,Sat; Mon")
    told = _refused(folder)
    assert "operators.csv row 8" in told
    assert "=Nine is on both shifts at once" in told


def test_a_table_that_a_yard_needs_must_be_there(folder):
    (folder / "molds.csv").unlink()
    (folder / "shifts.csv").unlink()
    with pytest.raises(BadFile) as caught:
        read_yard_folder(folder)
    assert {(found.file, found.row) for found in caught.value.problems} == {("molds.csv", 0), ("shifts.csv", 0)}
    assert "molds.csv: could not be read: No such file" in str(caught.value)


def test_a_table_with_a_misspelled_name_is_not_passed_over(folder):
    (folder / "downtimes.csv").rename(folder / "downtime.csv")
    assert "downtime.csv: is not a file of a yard; expected units.csv" in _refused(folder)


def test_a_folder_that_is_not_there_or_has_no_site_is_refused(tmp_path, folder):
    assert "is not a folder" in _refused(tmp_path / "absent")
    (folder / "site.toml").unlink()
    assert "site.toml: could not be read" in _refused(folder)


# --- times ----------------------------------------------------------------------------------------------------


def test_a_day_ends_at_the_next_local_midnight_also_where_the_clocks_change():
    # America/Denver 2027: clocks go forward on 14 March, back on 7 November (IANA time-zone database).
    denver = zone(TZ)
    for on, hours in (("2027-03-14", 23), ("2027-05-17", 24), ("2027-11-07", 25)):
        start_at = instant(f"{on} 00:00", denver)
        assert (end_of_day(on, denver) - start_at).total_seconds() == hours * 3600


@pytest.mark.parametrize(
    "text", ["2027-05-17", "20270517 0600", "2027-W20-1 06:00", "2027-05-17 6:00", "2027-02-31 06:00"]
)
def test_a_time_in_another_form_is_no_time(text):
    with pytest.raises(ValueError, match=r"\d|day"):
        instant(text, zone(TZ))
