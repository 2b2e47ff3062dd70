from datetime import datetime

import pytest

from tests.small_yard import small_yard
from yardplan.domain.errors import BadFile
from yardplan.exchange.thermocouple_file import read_thermocouples


def written(tmp_path, *rows):
    path = tmp_path / "thermocouples.csv"
    path.write_text("\n".join(["time,chamber,air_c", *rows]))
    return path


def test_readings_of_each_chamber_in_the_order_of_time(tmp_path):
    path = written(tmp_path, "2027-05-14 13:40,1A,100", "2027-05-14 13:30,1A,60.5", "2027-05-14T19:35Z,1B,80")
    found = read_thermocouples(path, small_yard())
    assert found["1A"] == (
        (datetime.fromisoformat("2027-05-14T13:30-06:00"), 60.5),
        (datetime.fromisoformat("2027-05-14T13:40-06:00"), 100.0),
    )
    assert found["1B"] == ((datetime.fromisoformat("2027-05-14T13:35-06:00"), 80.0),)


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("2027-05-14 13:40,9Z,100", "1A, 1B"),
        ("2027-05-14 13:40,1A,hot", "number"),
        ("2027-05-14 13:40,1A,900", "is 900; expected inside air from -40 to 350 C"),
        ("2027-05-14 13:30,1A,61", "another reading of the same time"),
        ("yesterday,1A,61", "row 3, column time"),
    ],
)
def test_bad_readings_are_told_with_their_row_and_none_is_taken(tmp_path, row, told):
    with pytest.raises(BadFile) as raised:
        read_thermocouples(written(tmp_path, "2027-05-14 13:30,1A,60", row), small_yard())
    assert told in str(raised.value)
    assert "row 3" in str(raised.value)
