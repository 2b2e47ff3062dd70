import re
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pvlib
import pytest

from tests.forecast.made_years import (
    DELHI,
    TUCSON,
    epw_text,
    made_year,
    pvgis_csv_text,
    pvgis_json_text,
    tmy3_text,
)
from yardplan import paths
from yardplan.domain.errors import BadFile
from yardplan.forecast.weather import GUST_FACTOR, HOURS, read_typical_year

DATA = Path(pvlib.__file__).parent / "data"
GREENSBORO, MIAMI, SAND_POINT = DATA / "723170TYA.CSV", DATA / "12839.tm2", DATA / "703165TY.csv"


@pytest.fixture(scope="module")
def tucson():
    return made_year(lambda day, solar_h: 0.3 + 0.6 * ((day * 7 + np.floor(solar_h)) % 5 > 1), TUCSON)


@pytest.fixture(scope="module")
def epw(tucson):
    return epw_text(tucson)


@pytest.fixture(scope="module")
def greensboro():
    return read_typical_year(GREENSBORO)


@pytest.fixture(scope="module")
def miami():
    return read_typical_year(MIAMI)


def write(tmp_path, text, name="year.txt", encoding="utf-8"):
    path = tmp_path / name
    path.write_text(text, encoding=encoding)
    return path


def refused(tmp_path, text, encoding="utf-8"):
    with pytest.raises(BadFile) as caught:
        read_typical_year(write(tmp_path, text, encoding=encoding))
    return caught.value.problems


def change_row(text, row, change):
    """Change row `row`, counted from 1 as a spreadsheet shows it."""
    lines = text.split("\n")
    lines[row - 1] = change(lines[row - 1])
    return "\n".join(lines)


def put(line, column, value):
    cells = line.split(",")
    cells[column] = str(value)
    return ",".join(cells)


def kwh_m2(values):
    return float(np.sum(values, dtype=np.float64)) / 1000


# Sums straight from the raw columns of two public typical years (US government data) that pvlib ships
def test_greensboro_sums(greensboro):
    weather = greensboro.weather
    assert len(weather.starts_at) == HOURS
    assert kwh_m2(weather.dni_w_m2) == pytest.approx(1476.549, abs=1e-3)
    assert kwh_m2(weather.ghi_w_m2) == pytest.approx(1566.203, abs=1e-3)
    assert kwh_m2(weather.dhi_w_m2) == pytest.approx(682.223, abs=1e-3)
    assert ((weather.dni_w_m2 > 600).sum(), (weather.dni_w_m2 > 0).sum()) == (1166, 4134)
    assert weather.dni_w_m2.max() == 984
    assert (greensboro.latitude_deg, greensboro.longitude_deg, greensboro.altitude_m) == (36.1, -79.95, 273)
    assert greensboro.name == "GREENSBORO PIEDMONT TRIAD INT, NC"
    assert weather.temp_c.mean(dtype=float) == pytest.approx(14.42, abs=0.005)
    assert weather.wind_m_s.mean(dtype=float) == pytest.approx(3.054, abs=5e-4)
    assert weather.cloud_frac.mean(dtype=float) == pytest.approx(0.5568, abs=5e-5)
    assert ((weather.wind_m_s > 10).sum(), weather.wind_m_s.max()) == (17, np.float32(15.4))


def test_greensboro_days_and_months(greensboro):
    local = [at - timedelta(hours=5) for at in greensboro.weather.starts_at]
    dni = greensboro.weather.dni_w_m2.astype(float)
    by_month = [sum(value for at, value in zip(local, dni, strict=True) if at.month == m) / 1e3 for m in (1, 4, 7, 11)]
    assert by_month == pytest.approx([95.641, 150.749, 143.638, 92.562], abs=1e-3)
    days = dni.reshape(365, 24)
    assert ((days > 600).sum(axis=1) >= 4).sum() == 160
    assert days.sum(axis=1).argmax() == 31 + 28 + 20  # 21 March
    assert days.sum(axis=1).max() == pytest.approx(9743)
    assert ((days.sum(axis=1) < 1000).sum(), (days.sum(axis=1) >= 5000).sum()) == (79, 159)


def test_miami_sums_and_tenths(miami):
    weather = miami.weather
    assert kwh_m2(weather.dni_w_m2) == pytest.approx(1504.922, abs=1e-3)
    assert kwh_m2(weather.ghi_w_m2) == pytest.approx(1792.618, abs=1e-3)
    assert kwh_m2(weather.dhi_w_m2) == pytest.approx(809.504, abs=1e-3)
    assert ((weather.dni_w_m2 > 600).sum(), (weather.dni_w_m2 > 0).sum(), weather.dni_w_m2.max()) == (917, 4453, 1006)
    assert weather.temp_c.mean(dtype=float) == pytest.approx(24.31, abs=0.005)
    assert weather.wind_m_s.mean(dtype=float) == pytest.approx(4.337, abs=5e-4)
    assert (weather.temp_c[0], weather.wind_m_s[0]) == (20.0, np.float32(6.7))
    assert miami.longitude_deg == pytest.approx(-80.267, abs=1e-3)


def test_the_demo_year():
    year = read_typical_year(paths.demo_folder() / "typical_year.epw")
    assert kwh_m2(year.weather.dni_w_m2) == pytest.approx(2437.2, abs=0.1)  # sum of the raw column
    assert (year.latitude_deg, year.longitude_deg, year.altitude_m) == (32.17, -110.88, 809)
    assert year.weather.starts_at[0] == datetime(2001, 1, 1, 7, tzinfo=UTC)


@pytest.mark.parametrize("path", [GREENSBORO, MIAMI, SAND_POINT], ids=lambda path: path.name)
def test_steps_are_whole_hours_in_utc(path):
    starts = read_typical_year(path).weather.starts_at
    assert {after - before for before, after in pairwise(starts)} == {timedelta(hours=1)}


@pytest.mark.parametrize(
    ("write_text", "tolerance"),
    [(epw_text, 0.01), (tmy3_text, 0.01), (pvgis_csv_text, 0.01), (pvgis_json_text, 0.01)],
)
def test_all_formats_tell_the_same_hours(tmp_path, tucson, write_text, tolerance):
    read = read_typical_year(write(tmp_path, write_text(tucson)))
    first = tucson.local(0).astimezone(UTC)
    hour = round((read.weather.starts_at[0] - first) / timedelta(hours=1))
    assert read.weather.starts_at[0] == first + timedelta(hours=hour)
    for name, made in (("dni_w_m2", tucson.dni), ("ghi_w_m2", tucson.ghi), ("dhi_w_m2", tucson.dhi)):
        assert getattr(read.weather, name) == pytest.approx(np.roll(made, -hour), abs=tolerance)
    assert read.weather.temp_c == pytest.approx(np.roll(tucson.temp, -hour), abs=0.06)
    assert read.weather.gust_m_s == pytest.approx(GUST_FACTOR * np.roll(tucson.wind, -hour), abs=0.1)
    assert (read.latitude_deg, read.longitude_deg, read.altitude_m) == TUCSON[:3]


def test_half_hour_zones(tmp_path):
    year = made_year(0.7, DELHI)
    for text in (epw_text(year), tmy3_text(year)):
        read = read_typical_year(write(tmp_path, text))
        assert read.weather.starts_at[0] == datetime(2000, 12, 31, 18, 30, tzinfo=UTC)
        assert read.weather.dni_w_m2 == pytest.approx(year.dni, abs=0.01)


def test_southern_years(tmp_path):
    year = made_year(0.7, (-28.4478, 21.2561, 835.0, 2.0))
    read = read_typical_year(write(tmp_path, epw_text(year)))
    assert read.weather.dni_w_m2 == pytest.approx(year.dni, abs=0.01)


def test_a_year_without_any_direct_light_is_taken(tmp_path):
    read = read_typical_year(write(tmp_path, tmy3_text(made_year(0.0))))
    assert not read.weather.dni_w_m2.any()


def test_latin_1_names_and_byte_order_marks(tmp_path, tucson):
    text = epw_text(tucson, name="Cañón inventado")
    assert read_typical_year(write(tmp_path, text, encoding="latin-1")).name.startswith("Cañón inventado")
    assert read_typical_year(write(tmp_path, text, encoding="utf-8-sig")).name.startswith("Cañón inventado")


def test_missing_cloud_is_marked_not_refused(tmp_path, tucson, epw):
    text = change_row(epw, 9 + 12, lambda line: put(line, 22, 99))
    cloud = read_typical_year(write(tmp_path, text)).weather.cloud_frac
    assert np.flatnonzero(np.isnan(cloud)).tolist() == [12]
    assert np.isnan(read_typical_year(write(tmp_path, pvgis_csv_text(tucson))).weather.cloud_frac).all()


@pytest.mark.parametrize(
    ("column", "value", "label", "said"),
    [
        (14, 9999, "direct normal", "missing"),
        (14, "", "direct normal", "missing"),
        (14, "cloudy", "direct normal", "cloudy"),
        (14, -3, "direct normal", "is -3; expected 0 to"),
        (13, 2400, "global horizontal", "is 2400"),
        (15, 9999, "diffuse horizontal", "missing"),
        (6, 99.9, "dry bulb", "missing"),
        (6, 71.0, "dry bulb", "is 71"),
        (21, 999, "wind speed", "missing"),
        (21, -1, "wind speed", "is -1"),
    ],
)
def test_a_bad_value_is_named_with_its_row(tmp_path, epw, column, value, label, said):
    (problem,) = refused(tmp_path, change_row(epw, 4242, lambda line: put(line, column, value)))
    assert (problem.row, problem.column) == (4242, label)
    assert said in problem.text


@pytest.mark.parametrize("text_of", [tmy3_text, pvgis_csv_text])
def test_rows_are_counted_as_a_spreadsheet_shows_them(tmp_path, tucson, text_of):
    text = text_of(tucson)
    column = {"tmy3_text": 3, "pvgis_csv_text": 4}[text_of.__name__]
    (problem,) = refused(tmp_path, change_row(text, 1234, lambda line: put(line, column, -50)))
    assert problem.row == 1234


def test_a_bad_value_in_tmy2(tmp_path):
    lines = MIAMI.read_text().split("\n")
    assert lines[12][23:27] == "0000"  # direct normal of the twelfth hour
    lines[12] = lines[12][:23] + "9999" + lines[12][27:]
    (problem,) = refused(tmp_path, "\n".join(lines))
    assert (problem.row, problem.column) == (13, "DNI")


def test_missing_and_repeated_hours_are_named(tmp_path, epw):
    lines = epw.split("\n")
    gone = refused(tmp_path, "\n".join(lines[:1000] + lines[1003:]))
    assert "8757 hours; expected 8760" in gone[0].text
    assert gone[1].row == 1001
    assert re.search(r"after the hour 02-11 07:00 comes 02-11 11:00", gone[1].text)
    twice = refused(tmp_path, "\n".join([*lines[:1000], lines[999], *lines[1000:]]))
    assert "8761" in twice[0].text
    assert twice[1].row == 1001
    swapped = refused(tmp_path, "\n".join([*lines[:1000], lines[1001], lines[1000], *lines[1002:]]))
    assert [problem.row for problem in swapped] == [1001, 1002, 1003]


def test_a_leap_day_is_refused(tmp_path, epw):
    lines = epw.split("\n")
    leap = [put(put(put(line, 0, 2004), 1, 2), 2, 29) for line in lines[8 + 24 * 58 : 8 + 24 * 59]]
    problems = refused(tmp_path, "\n".join([*lines[: 8 + 24 * 59], *leap, *lines[8 + 24 * 59 :]]))
    assert "8784 hours" in problems[0].text
    assert any("29 February" in problem.text for problem in problems)


def test_a_year_that_begins_in_july_is_refused(tmp_path, epw):
    lines = epw.rstrip("\n").split("\n")
    half = 8 + 24 * 181
    problems = refused(tmp_path, "\n".join([*lines[:8], *lines[half:], *lines[8:half]]))
    assert "1 January" in problems[0].text


@pytest.mark.parametrize("hours", [-1, 1, 0.5])
def test_shifted_clocks_are_found(tmp_path, epw, hours):
    text = change_row(epw, 1, lambda line: put(line, 8, -7 + hours))
    (problem,) = refused(tmp_path, text)
    assert f"moved by {hours:+g} h" in problem.text


def test_a_wrong_longitude_sign_is_found(tmp_path, epw):
    (problem,) = refused(tmp_path, change_row(epw, 1, lambda line: put(line, 7, 110.88)))
    assert "place" in problem.text


def test_swapped_columns_are_found(tmp_path, tucson):
    text = tmy3_text(tucson).replace("GHI (W/m^2),DNI (W/m^2)", "DNI (W/m^2),GHI (W/m^2)")
    (problem,) = refused(tmp_path, text)
    assert "swapped" in problem.text


def test_many_problems_are_listed_shortly(tmp_path, epw):
    lines = epw.split("\n")
    lines[8:300] = [put(line, 14, 9999) for line in lines[8:300]]
    problems = refused(tmp_path, "\n".join(lines))
    assert len(problems) == 21
    assert "272 more" in problems[-1].text


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "expected a typical year"),
        ("when,what\n1,2\n", "expected a typical year"),
        ("{}", "looks like PVGIS JSON"),
        ("{not json", "looks like PVGIS JSON"),
        ("LOCATION,Nowhere\n", "looks like EPW"),
        ("LOCATION,a,b,c,d,0,high,1,1,1\n" + "\n" * 10, "looks like EPW"),
        ('1,"A",ZZ,-7,32,-110,809\nDate (MM/DD/YYYY),Time (HH:MM)\n01/01/2001,01:00\n', "DNI"),
        ("Latitude (decimal degrees): 45\nLongitude (decimal degrees): 8\n", "looks like PVGIS CSV"),
        (" 12839 MIAMI                  FL  -5 N 25 48 W  80 16     2\n", "looks like TMY2"),
    ],
)
def test_other_files_are_refused_with_a_reason(tmp_path, text, said):
    (problem,) = refused(tmp_path, text)
    assert problem.row == 0
    assert said in problem.text


def test_cut_files_are_refused(tmp_path, tucson, epw):
    for text in (pvgis_csv_text(tucson), pvgis_json_text(tucson), tmy3_text(tucson), epw):
        assert refused(tmp_path, text[: len(text) // 2])


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(BadFile, match="cannot be opened"):
        read_typical_year(tmp_path / "none.epw")
