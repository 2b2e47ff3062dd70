"""The yard's own CSV: one day of invented sun, spelled in every way that is taken and in those that are not."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.small_yard import small_yard
from yardplan.domain.errors import BadFile
from yardplan.domain.tables import Weather
from yardplan.forecast.own_csv import MOST_STEPS, read_own_csv
from yardplan.forecast.sky import clear_sky

SITE = small_yard().site
DENVER = ZoneInfo("America/Denver")


def read(tmp_path: Path, text: str | bytes, site=SITE) -> Weather:
    path = tmp_path / "sun.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_own_csv(path, site)


def refused(tmp_path: Path, text: str | bytes) -> list[str]:
    with pytest.raises(BadFile) as raised:
        read(tmp_path, text)
    return [str(problem) for problem in raised.value.problems]


def same(values, expected) -> None:
    np.testing.assert_allclose(values, np.array(expected, np.float32), rtol=1e-6)


def test_every_column_comes_in_its_unit(tmp_path):
    weather = read(
        tmp_path,
        "start,dni_w_m2,ghi_w_m2,dhi_w_m2,temp_c,wind_m_s,gust_m_s,cloud_frac\n"
        "2027-05-17T18:00Z,900.5,880,90,21.5,3,6,0.25\n"
        "2027-05-17T19:00Z,910,890,91,22.5,4,7,0.5\n",
    )
    assert weather.starts_at == (datetime(2027, 5, 17, 18, tzinfo=UTC), datetime(2027, 5, 17, 19, tzinfo=UTC))
    assert (weather.step_min, weather.source, weather.issued_at) == (60, "own CSV sun.csv", None)
    same(weather.dni_w_m2, [900.5, 910])
    same(weather.ghi_w_m2, [880, 890])
    same(weather.dhi_w_m2, [90, 91])
    same(weather.temp_c, [21.5, 22.5])
    same(weather.wind_m_s, [3, 4])
    same(weather.gust_m_s, [6, 7])
    same(weather.cloud_frac, [0.25, 0.5])


@pytest.mark.parametrize(
    ("column", "cell", "array", "value"),
    [
        # NIST Special Publication 811, 2008, appendix B: factors to SI units; 32 F is 0 C
        ("temp_f", "122", "temp_c", 50.0),
        ("temp_f", "-40", "temp_c", -40.0),
        ("wind_km_h", "36", "wind_m_s", 10.0),
        ("wind_mph", "10", "wind_m_s", 4.4704),
        ("gust_kn", "10", "gust_m_s", 5.14444),
        ("cloud_pct", "37.5", "cloud_frac", 0.375),
        ("cloud_oktas", "3", "cloud_frac", 0.375),
    ],
)
def test_units_are_converted_by_their_name(tmp_path, column, cell, array, value):
    weather = read(tmp_path, f"# step_min: 60\nstart,{column}\n2027-05-17T18:00Z,{cell}\n")
    assert getattr(weather, array)[0] == pytest.approx(value, abs=1e-4)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_delimiters_line_ends_and_byte_order_marks(tmp_path, delimiter, newline, mark):
    lines = ["# made for a test", "Start|DNI_W_m2|Temp_C", "2027-05-17T18:00Z|900|21", "2027-05-17T18:05Z||22"]
    weather = read(tmp_path, mark + newline.join(lines).replace("|", delimiter) + newline)
    same(weather.dni_w_m2, [900, np.nan])
    same(weather.temp_c, [21, 22])


def test_decimal_commas(tmp_path):
    semicolons = "start;dni_w_m2;temp_c\n2027-05-17T18:00Z;900,25;21,5\n2027-05-17T18:05Z;901;22\n"
    quoted = 'start,dni_w_m2,temp_c\n2027-05-17T18:00Z,"900,25","21,5"\n2027-05-17T18:05Z,901,22\n'
    for text in (semicolons, quoted):
        weather = read(tmp_path, text)
        same(weather.dni_w_m2, [900.25, 901])
        same(weather.temp_c, [21.5, 22])


@pytest.mark.parametrize(
    "spelled",
    [
        "2027-05-17 12:05", "2027-05-17T12:05:00", "2027/05/17 12:05", "2027/5/17 12:05", "17.05.2027 12:05",
        "17.5.2027 12:05:00.000", "2027-05-17T12:05-06:00", "2027-05-17 12:05 -0600", "2027-05-17T18:05Z",
        "2027-05-17 18:05 UTC", "2027-05-17T23:50+05:45",
    ],
)  # fmt: skip
def test_spellings_of_the_same_instant(tmp_path, spelled):
    weather = read(tmp_path, f"# zone: America/Denver\nstart,dni_w_m2\n2027-05-17T18:00Z,800\n{spelled},900\n")
    assert weather.starts_at[1] == datetime(2027, 5, 17, 18, 5, tzinfo=UTC)


def test_a_label_at_the_end_of_its_step(tmp_path):
    weather = read(tmp_path, "# zone: -07:00\nend,dni_w_m2\n2027-05-17 23:30,0\n2027-05-17 24:00,0\n")
    assert weather.starts_at == (datetime(2027, 5, 18, 6, tzinfo=UTC), datetime(2027, 5, 18, 6, 30, tzinfo=UTC))


def test_rows_and_cells_that_are_not_there_are_gaps(tmp_path):
    weather = read(
        tmp_path,
        "start,dni_w_m2,temp_c\n2027-05-17T18:00Z,1,\n2027-05-17T18:05Z,2,20\n\n2027-05-17T18:20Z,,21\n"
        "2027-05-17T18:25Z,4,22\n",
    )
    assert len(weather.starts_at) == 6
    same(weather.dni_w_m2, [1, 2, np.nan, np.nan, np.nan, 4])
    same(weather.temp_c, [np.nan, 20, np.nan, np.nan, 21, 22])
    assert np.isnan(weather.wind_m_s).all()


def test_a_step_may_be_stated_for_a_file_that_does_not_show_it(tmp_path):
    weather = read(tmp_path, "# step_min: 10\nstart,dni_w_m2\n2027-05-17T18:00Z,1\n2027-05-17T18:30Z,2\n")
    same(weather.dni_w_m2, [1, np.nan, np.nan, 2])


HEAD = "# zone: America/Denver\nstart,dni_w_m2\n2027-05-17 12:00,800\n2027-05-17 12:05,801\n2027-05-17 12:10,802\n"


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ("2027-05-17 12:15,-1", "row 6, column dni_w_m2: is -1; expected 0 to 1420; night readings below zero"),
        ("2027-05-17 12:15,1421", "row 6, column dni_w_m2: is 1421; expected 0 to 1420"),
        ("2027-05-17 12:15,NaN", "row 6, column dni_w_m2: is 'NaN'; expected a number"),
        ("2027-05-17 12:15,-9999", "row 6, column dni_w_m2: is -9999; expected 0 to 1420"),
        ("2027-05-17 12:15,inf", "row 6, column dni_w_m2: is 'inf'; expected a number"),
        ("2027-05-17 12:15,1 000", "row 6, column dni_w_m2: is '1 000'; expected a number without separators"),
        ("2027-05-17 12:05,803", "row 6, column start: is '2027-05-17 12:05', which is earlier than the row before"),
        ("2027-05-17 12:10,803", "row 6, column start: is '2027-05-17 12:10', which is the time of the row before"),
        ("2027-05-17 12:12,803", "row 6, column start: comes 2 min after the row before; expected 5 min or a multiple"),
        ("2027-05-17 12:15", "row 6: has 1 cells; expected 2"),
        ("2027-05-17 12:15,803,9", "row 6: has 3 cells; expected 2"),
        ("2027-02-30 12:15,803", "row 6, column start: is '2027-02-30 12:15'; expected a date and time that exist"),
        (
            "05/17/2027 12:15,803",
            "row 6, column start: is '05/17/2027 12:15'; expected a time such as 2027-05-17 06:30",
        ),
        ("2027-05-17 12:15 PM,803", "expected a time such as"),
        ("2027-05-17 12:15+19:00,803", "expected an offset from -14:00 to +14:00"),
        ("2047-05-17 12:15,803", f"expected at most {MOST_STEPS:,} steps: a date is wrong"),
        ("2027-11-07 01:30,803", "expected an offset with it, -06:00 or -07:00; the clock of America/Denver shows"),
        ("2028-03-12 02:30,803", "the clock of America/Denver shows; it is put forward over this one"),
        ('2027-05-17 12:15,"803', "cannot be split into cells"),
    ],
)
def test_bad_rows_are_refused_with_row_and_reason(tmp_path, rows, told):
    problems = refused(tmp_path, HEAD + rows + "\n")
    assert len(problems) == 1
    assert told in problems[0]


def test_a_clock_change_is_passed_with_offsets_and_by_a_clock_that_does_not_change(tmp_path):
    both = "".join(f"2027-11-07 01:{at}{offset},0\n" for offset in ("-06:00", "-07:00") for at in ("00", "30"))
    weather = read(tmp_path, f"# zone: America/Denver\nstart,dni_w_m2\n2027-11-07 00:30,0\n{both}2027-11-07 02:00,0\n")
    assert len(weather.starts_at) == 6
    standard = "".join(f"2028-03-12 0{hour}:{at},0\n" for hour in (1, 2, 3) for at in ("00", "30"))
    weather = read(tmp_path, f"# zone: -07:00\nstart,dni_w_m2\n{standard}")
    assert (len(weather.starts_at), weather.step_min) == (6, 30)
    assert np.isfinite(weather.dni_w_m2).all()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("start,dni_wm2\n2027-05-17T18:00Z,1\n", "row 1, column dni_wm2: has no unit that is known; expected dni_w_m2"),
        ("start,dni\n2027-05-17T18:00Z,1\n", "row 1, column dni: has no unit that is known; expected dni_w_m2"),
        ("start,temp_k\n2027-05-17T18:00Z,1\n", "expected temp_c, temp_f"),
        ("start,wind_kt\n2027-05-17T18:00Z,1\n", "expected wind_m_s, wind_km_h, wind_mph, wind_kn"),
        ("start,dni_w_m2,rain_mm\n2027-05-17T18:00Z,1,2\n", "column rain_mm: is not a column of this file; expected"),
        ("start,temp_c,temp_f\n2027-05-17T18:00Z,1,2\n", "column temp_f: says the same as temp_c"),
        ("dni_w_m2,temp_c\n1,2\n", "there is neither; expected one: whether a row's time starts or ends its step"),
        ("time,dni_w_m2\n2027-05-17T18:00Z,1\n", "there is neither; expected one"),
        ("start,end,dni_w_m2\n2027-05-17T18:00Z,2027-05-17T18:05Z,1\n", "there is both; expected one"),
        ("start,start,dni_w_m2\n2027-05-17T18:00Z,2027-05-17T18:05Z,1\n", "there is one of them twice"),
        ("start\n2027-05-17T18:00Z\n", "names only times"),
        ("start,dni_w_m2\n", "has no rows"),
        ("", "has no first row"),
        ("# zone: UTC\n", "has no first row"),
        ("start,dni_w_m2\n2027-05-17 12:00,1\n", "expected an offset with it such as -06:00, or a line such as # zone"),
        ("start,dni_w_m2\n2027-05-17T18:00Z,1\n", "has one row; expected a line such as # step_min"),
        ("# zone: Mars/Base\nstart,dni_w_m2\n2027-05-17 12:00,1\n", "row 1, column zone: is 'Mars/Base'; expected UTC"),
        ("# step_min: 7\nstart,dni_w_m2\n2027-05-17T18:00Z,1\n", "row 1, column step_min: is '7'"),
        ("start,dni_w_m2\n2027-05-17T18:00Z,1\n2027-05-17T18:07Z,1\n", "rows are mostly 420 s apart"),
        ("start,dni_w_m2\n2027-05-17T18:00:00Z,1\n2027-05-17T18:00:30Z,1\n", "rows are mostly 30 s apart"),
        ("start;dni_w_m2\n2027-05-17T18:00Z;1,5\n2027-05-17T18:05Z;1.5\n", "row 3, column dni_w_m2: is 1.5 where row"),
        ("start;dni_w_m2\n2027-05-17T18:00Z;1,012\n2027-05-17T18:05Z;987\n", "may be 1.012 or 1012"),
        (b"start,dni_w_m2\n2027-05-17T18:00Z,1\n\xb0,2\n", "row 3: is not UTF-8"),
        ("start,dni_w_m2\n2027-05-17T18:00Z,1\n".encode("utf-16"), "is not UTF-8"),
        (b"start,dni_w_m2\n2027-05-17T18:00Z,1\0\n", "NUL"),
    ],
)  # fmt: skip
def test_bad_files_are_refused(tmp_path, text, told):
    problems = refused(tmp_path, text)
    assert any(told in problem for problem in problems), problems


def test_cells_and_rows_that_a_spreadsheet_leaves_empty_at_the_edges(tmp_path):
    weather = read(tmp_path, '"# zone: UTC",,,\nstart,dni_w_m2,,\n2027-05-17 18:00,1,,\n2027-05-17 18:05,2,,\n,,,\n')
    same(weather.dni_w_m2, [1, 2])


def test_a_file_that_is_too_large(tmp_path, monkeypatch):
    monkeypatch.setattr("yardplan.forecast.own_csv.LARGEST_FILE_MB", 0.00001)
    assert "expected at most" in refused(tmp_path, "start,dni_w_m2\n2027-05-17T18:00Z,1\n")[0]


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(BadFile, match="could not be read"):
        read_own_csv(tmp_path / "absent.csv", SITE)


def test_many_bad_rows_are_counted(tmp_path):
    rows = "".join(f"2027-05-{day:02d}T18:00Z,-5\n" for day in range(1, 31))
    problems = refused(tmp_path, "start,dni_w_m2\n" + rows)
    assert len(problems) == 21
    assert problems[-1] == "file: and 10 more like these"


def day(cloud: np.ndarray | float, hours: int = 24) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Starts [s], direct and global light of a day of 5-minute steps at the test site, through an invented cover."""
    starts_s = datetime(2027, 5, 17, 6, tzinfo=UTC).timestamp() + np.arange(hours * 12) * 300.0
    sky = clear_sky(starts_s + 150, SITE.latitude_deg, SITE.longitude_deg, SITE.altitude_m)
    height = np.sin(np.radians(np.clip(sky.sun.elevation_deg, 0, None)))
    dni = sky.dni_w_m2 * (1 - cloud)
    diffuse = sky.ghi_w_m2 - sky.dni_w_m2 * height + 0.3 * cloud * sky.ghi_w_m2
    return starts_s, dni, dni * height + diffuse


def light_csv(names: str, starts_s: np.ndarray, first: np.ndarray, second: np.ndarray) -> str:
    rows = (
        f"{datetime.fromtimestamp(at, UTC):%Y-%m-%dT%H:%MZ},{one:.2f},{two:.2f}"
        for at, one, two in zip(starts_s, first, second, strict=True)
    )
    return f"start,{names}\n" + "\n".join(rows) + "\n"


@pytest.mark.parametrize("cover", [0.0, 0.5, 1.0, "mixed"])
def test_swapped_columns_of_light_are_found(tmp_path, cover):
    cloud = (np.arange(288) // 12 % 2).astype(float) if cover == "mixed" else cover
    starts_s, dni, ghi = day(cloud)
    read(tmp_path, light_csv("dni_w_m2,ghi_w_m2", starts_s, dni, ghi))
    (problem,) = refused(tmp_path, light_csv("ghi_w_m2,dni_w_m2", starts_s, dni, ghi))
    assert "row 1, column dni_w_m2, ghi_w_m2: do not fit each other" in problem
    assert "if swapped" in problem


def test_light_that_would_not_fit_swapped_either_is_not_called_swapped(tmp_path):
    starts_s, dni, ghi = day(0.0)
    weather = read(tmp_path, light_csv("dni_w_m2,ghi_w_m2", starts_s + 2 * 3600, dni, ghi))  # the time guard's matter
    assert np.isfinite(weather.dni_w_m2).all()


def test_swapped_wind_and_gust_are_found(tmp_path):
    rows = [f"2027-05-17T18:{minute:02d}Z,{4 + minute % 3},{2 + minute % 3}" for minute in range(0, 60, 5)]
    text = "start,{},{}\n" + "\n".join(rows) + "\n"
    read(tmp_path, text.format("gust_m_s", "wind_m_s"))
    (problem,) = refused(tmp_path, text.format("wind_m_s", "gust_m_s"))
    assert "gusts below the mean wind" in problem


@given(
    start_min=st.integers(0, 14 * 365 * 1440),
    step_min=st.sampled_from([1, 5, 10, 15, 30, 60]),
    skips=st.lists(st.integers(0, 4), min_size=2, max_size=30),
    label=st.sampled_from(["start", "end"]),
    offset_min=st.integers(-48, 48).map(lambda quarters: 15 * quarters),
)
def test_what_is_written_comes_back_wherever_rows_are_missing(
    tmp_path_factory, start_min, step_min, skips, label, offset_min
):
    first = datetime(2020, 1, 1, tzinfo=UTC) + timedelta(minutes=start_min)
    places = np.cumsum([0, *(skip + 1 for skip in skips)])
    sign, (hours, minutes) = "-" if offset_min < 0 else "+", divmod(abs(offset_min), 60)
    lines = [f"# step_min: {step_min}", f"# zone: {sign}{hours:02d}:{minutes:02d}", f"{label},dni_w_m2"]
    for place in places:
        wall = first + timedelta(minutes=offset_min + step_min * (int(place) + (label == "end")))
        lines.append(f"{wall:%Y-%m-%d %H:%M},{place}")
    path = tmp_path_factory.mktemp("own") / "own.csv"
    path.write_text("\n".join(lines))
    weather = read_own_csv(path, SITE)
    assert weather.starts_at[0] == first
    assert len(weather.starts_at) == places[-1] + 1
    assert np.flatnonzero(np.isfinite(weather.dni_w_m2)).tolist() == places.tolist()
    same(weather.dni_w_m2[places], places)
