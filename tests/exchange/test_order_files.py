import csv
import random
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.small_yard import TZ, at, small_orders, small_yard
from yardplan.domain.errors import BadFile, CannotWrite, InvalidField
from yardplan.domain.orders import Order
from yardplan.exchange.order_files import edited, find_orders, read_orders, write_orders

HEADER = "order,customer,product,color,quantity,due,promise,priority,note"
GOOD = "N-1,Invented Farm,TANK,sand,4,2027-05-20,,2,"
YARD = small_yard()


def _read(path: Path, known=frozenset()):
    return read_orders(path, YARD, known_ids=known)


def _file(tmp_path, *rows, header=HEADER, name="orders.csv") -> Path:
    path = tmp_path / name
    path.write_text("\n".join((header, *rows)) + "\n", encoding="utf-8")
    return path


def _book(tmp_path, rows, title="Sheet", **more_sheets) -> Path:
    book = openpyxl.Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(row)
    for name, cells in more_sheets.items():
        sheet = book.create_sheet(name)
        for row in cells:
            sheet.append(row)
    book.save(tmp_path / "orders.xlsx")
    return tmp_path / "orders.xlsx"


def test_a_date_means_the_end_of_that_local_day(tmp_path):
    (order,) = _read(_file(tmp_path, "N-1,Invented Farm,TANK,sand,4,2027-05-20,2027-05-19 14:30,2,with lid"))
    assert order == Order("N-1", "Invented Farm", "TANK", "sand", 4, at(3, 24), at(2, 14.5), 2, "with lid")


def test_columns_may_come_in_any_order_and_optional_ones_may_be_left_out(tmp_path):
    path = _file(tmp_path, "2027-05-20,4,sand,TANK,N-1", header="Due,QUANTITY,color,product,order")
    assert _read(path) == (Order("N-1", "", "TANK", "sand", 4, at(3, 24)),)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_delimiter_byte_order_mark_and_line_ends_are_found_out(tmp_path, delimiter, encoding, line_end):
    text = line_end.join((HEADER, GOOD.replace("Invented Farm", "Señor Invented"))).replace(",", delimiter)
    path = tmp_path / "orders.csv"
    path.write_bytes(text.encode(encoding))
    (order,) = _read(path)
    assert (order.customer, order.quantity, order.due_at) == ("Señor Invented", 4, at(3, 24))


def test_a_cell_may_hold_the_delimiter_or_a_new_line_and_rows_count_as_in_a_spreadsheet(tmp_path):
    two_lines = 'N-1,"Farm, Invented",TANK,sand,4,2027-05-20,,,"first\nsecond"'
    (order,) = _read(_file(tmp_path, two_lines))
    assert (order.customer, order.note) == ("Farm, Invented", "first\nsecond")
    with pytest.raises(BadFile, match="row 4, column quantity"):
        _read(_file(tmp_path, two_lines, "", "N-2,,TANK,sand,x,2027-05-20,,,"))


# Where the clocks change: IANA time-zone database, America/Denver 2027 (14 March and 7 November).
def test_a_time_that_the_clock_shows_twice_needs_its_offset(tmp_path):
    with pytest.raises(BadFile, match=r"expected an offset with this time, -06:00 or -07:00"):
        _read(_file(tmp_path, "N-1,,TANK,sand,4,2027-11-07 01:30,,,"))
    (order,) = _read(_file(tmp_path, "N-1,,TANK,sand,4,2027-11-07 01:30-07:00,,,"))
    assert order.due_at == datetime(2027, 11, 7, 8, 30, tzinfo=UTC)
    write_orders(tmp_path / "out.csv", (order,), TZ)
    assert _read(tmp_path / "out.csv") == (order,)


CSV_FAULTS = {
    "unknown product": ("N-1,,TUB,sand,4,2027-05-20,,,", "row 2, column product: is 'TUB'", "one of BIN, TANK"),
    "negative quantity": ("N-1,,TANK,sand,-3,2027-05-20,,,", "column quantity: is -3", "whole number of pieces from 1"),
    "no quantity": ("N-1,,TANK,sand,0,2027-05-20,,,", "column quantity: is 0", "whole number of pieces from 1"),
    "absurd quantity": ("N-1,,TANK,sand,1000000000,2027-05-20,,,", "column quantity: is 1000000000", "to 100,000"),
    "half a piece": ("N-1,,TANK,sand,3.5,2027-05-20,,,", "column quantity: is '3.5'", "whole number"),
    "decimal comma": ('N-1,,TANK,sand,"3,5",2027-05-20,,,', "column quantity: is '3,5'", "whole number"),
    "thousands mark": ('N-1,,TANK,sand,"1,000",2027-05-20,,,', "column quantity: is '1,000'", "without separators"),
    "word as quantity": ("N-1,,TANK,sand,four,2027-05-20,,,", "column quantity: is 'four'", "whole number"),
    "endless number": (f"N-1,,TANK,sand,{'9' * 5000},2027-05-20,,,", "column quantity: is '9999", "whole number"),
    "exponent": ("N-1,,TANK,sand,1e2,2027-05-20,,,", "column quantity: is '1e2'", "whole number"),
    "31 February": ("N-1,,TANK,sand,4,2027-02-31,,,", "column due: is '2027-02-31'", "a date such as"),
    "day and month unclear": ("N-1,,TANK,sand,4,03/04/2027,,,", "column due: is '03/04/2027'", "a date such as"),
    "no year of this age": ("N-1,,TANK,sand,4,9999-12-31,,,", "column due: is '9999-12-31'", "a date such as"),
    "25 o'clock": ("N-1,,TANK,sand,4,2027-05-20,2027-05-20 25:00,,", "column promise: is '2027-05-20 25:00'", "a date"),
    "skipped by the clock": ("N-1,,TANK,sand,4,2027-03-14 02:30,,,", "column due", "put forward over this one"),
    "blank due": ("N-1,,TANK,sand,4,,,,", "column due: is blank", "a date such as"),
    "blank number": (",,TANK,sand,4,2027-05-20,,,", "column order: is blank", "some text"),
    "unknown color": ("N-1,,TANK,mauve,4,2027-05-20,,,", "column color: is 'mauve'", "black, sand"),
    "priority ten": ("N-1,,TANK,sand,4,2027-05-20,,10,", "column priority: is 10", "1 to 9"),
    "cut last line": ("N-1,,TANK,san", "row 2: has 4 cells", "expected 9"),
    "too many cells": (GOOD + ",left over", "row 2: has 10 cells", "expected 9"),
    "open quote": ('N-1,"Invented Farm,TANK,sand,4,2027-05-20,,,', "row 2: cannot be split", "quotes in pairs"),
    "twice in the file": (GOOD + "\n" + GOOD, "row 3, column order: is 'N-1', which is there already", "once"),
    "known already": (GOOD.replace("N-1", "Y-9"), "column order: is 'Y-9', which the yard has already", "new number"),
    "no orders": ("", "file: has no orders", "a row for each"),
}


@pytest.mark.parametrize("fault", CSV_FAULTS)
def test_each_fault_of_a_row_is_told_with_its_place_and_what_is_allowed(tmp_path, fault):
    rows, place, allowed = CSV_FAULTS[fault]
    path = _file(tmp_path, rows)
    before = path.read_bytes()
    with pytest.raises(BadFile) as caught:
        _read(path, known=frozenset({"Y-9"}))
    assert place in str(caught.value)
    assert allowed in str(caught.value)
    assert path.read_bytes() == before


def test_all_bad_rows_are_listed_and_the_good_ones_are_not_taken(tmp_path):
    rows = [CSV_FAULTS[name][0] for name in ("negative quantity", "31 February", "too many cells", "unknown product")]
    with pytest.raises(BadFile) as caught:
        _read(_file(tmp_path, GOOD.replace("N-1", "N-0"), *rows))
    assert {problem.row for problem in caught.value.problems} == {3, 4, 5, 6}


def test_several_faults_in_one_row_are_all_told(tmp_path):
    with pytest.raises(BadFile) as caught:
        _read(_file(tmp_path, "N-1,,TUB,sand,many,2027-02-31,,,"))
    assert [problem.column for problem in caught.value.problems] == ["product", "quantity", "due"]


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "is empty; expected a first row with the columns order, customer"),
        (b"# only a remark\n", "is empty"),
        ((HEADER + "\nN-1,Se\xf1or,TANK,sand,4,2027-05-20,,,\n").encode("latin-1"), "row 2: byte 0xf1 at place 7 is"),
        ((HEADER + "\n" + GOOD).encode("utf-16"), "is UTF-16; expected UTF-8"),
        ((HEADER + "\n" + GOOD + "\n\0\0\0").encode(), "row 3: has a NUL byte"),
        (HEADER.replace("product,", "").encode(), "column product: the column is missing"),
        ((HEADER + ",promis").encode(), "'promis' is not a column of this file"),
        ((HEADER + ",due").encode(), "column due: the column is there more than once"),
        (b"\x89PNG\r\n\x1a\n\0\0", "NUL byte"),
    ],
)
def test_a_file_that_is_no_table_of_orders_is_refused(tmp_path, content, told):
    path = tmp_path / "orders.csv"
    path.write_bytes(content)
    with pytest.raises(BadFile) as caught:
        _read(path)
    assert told in str(caught.value)


def test_a_missing_file_and_a_folder_are_refused(tmp_path):
    for path in (tmp_path / "absent.csv", tmp_path):
        with pytest.raises(BadFile, match="could not be read"):
            _read(path)


def test_a_file_with_endless_rows_is_refused(tmp_path):
    path = tmp_path / "orders.csv"
    path.write_text(HEADER + "\n" * 100_002 + GOOD)
    with pytest.raises(BadFile, match="has more than 100,000 rows"):
        _read(path)


def test_a_file_that_is_far_too_large_is_refused_unread(tmp_path):
    path = tmp_path / "orders.csv"
    with path.open("wb") as stream:
        stream.truncate(21_000_000)
    with pytest.raises(BadFile, match="has 21 MB; expected at most 20"):
        _read(path)


@given(st.binary(max_size=400))
def test_any_bytes_after_a_header_are_taken_or_refused_but_never_crash(tmp_path_factory, content):
    path = tmp_path_factory.mktemp("any") / "orders.csv"
    path.write_bytes(HEADER.encode() + b"\n" + content)
    with suppress(BadFile):
        assert _read(path)


# --- spreadsheets ---------------------------------------------------------------------------------------------


def test_a_workbook_gives_dates_numbers_and_times_as_they_show(tmp_path):
    day, minute = datetime(2027, 5, 20), datetime(2027, 5, 19, 14, 30)  # noqa: DTZ001 - a spreadsheet knows no zone
    rows = [HEADER.split(","), [1042, "Invented Farm", "TANK", "sand", 4.0, day, minute, 2, None]]
    (order,) = _read(_book(tmp_path, rows))
    assert order == Order("1042", "Invented Farm", "TANK", "sand", 4, at(3, 24), at(2, 14.5), 2)


def test_a_workbook_may_hold_other_sheets_beside_one_named_orders(tmp_path):
    rows = [HEADER.split(","), GOOD.split(",")]
    assert len(_read(_book(tmp_path, rows, title="Orders", Prices=[["a", 1]]))) == 1
    with pytest.raises(BadFile, match="has filled sheets Sheet, Prices; expected one, or one named orders"):
        _read(_book(tmp_path, rows, Prices=[["a", 1]]))


def test_bad_cells_of_a_workbook_are_told_by_row_and_column(tmp_path):
    rows = [HEADER.split(","), [1, "", "TANK", "sand", 3.5, "2027-05-20"], [], [2, "", "TANK", "sand", -1, "31 Feb"]]
    with pytest.raises(BadFile) as caught:
        _read(_book(tmp_path, rows))
    assert [(problem.row, problem.column) for problem in caught.value.problems] == [(2, "quantity"), (4, "due")]


def test_remarks_above_the_header_of_a_workbook_count_as_rows(tmp_path):
    rows = [["# Orders of the week"], [], HEADER.split(","), ["N-1", "", "TUB", "sand", 4, "2027-05-20"]]
    with pytest.raises(BadFile, match="row 4, column product: is 'TUB'"):
        _read(_book(tmp_path, rows))


def test_a_formula_that_was_never_computed_is_refused_not_read_as_blank(tmp_path):
    rows = [HEADER.split(","), ["N-1", "", "TANK", "sand", 4, "2027-05-20", "=F2", 1, ""]]
    with pytest.raises(BadFile, match="row 2: cell 7 is a formula without a stored value"):
        _read(_book(tmp_path, rows))


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 cut off", b"order,customer\n"])
def test_what_only_claims_to_be_a_workbook_is_refused(tmp_path, content):
    path = tmp_path / "orders.xlsx"
    path.write_bytes(content)
    with pytest.raises(BadFile, match="no readable XLSX workbook"):
        _read(path)


def test_a_damaged_workbook_is_taken_or_refused_but_never_crashes(tmp_path):
    content = _book(tmp_path, [HEADER.split(","), GOOD.split(",")]).read_bytes()
    path, dice = tmp_path / "damaged.xlsx", random.Random(1)
    refused = 0
    for _ in range(300):
        damaged = bytearray(content)
        for _ in range(dice.randint(1, 6)):
            damaged[dice.randrange(len(damaged))] = dice.randrange(256)
        path.write_bytes(damaged)
        try:
            _read(path)
        except BadFile:
            refused += 1
    assert refused > 100


def test_a_workbook_without_cells_is_refused(tmp_path):
    with pytest.raises(BadFile, match="filled sheets none"):
        _read(_book(tmp_path, []))


# --- writing --------------------------------------------------------------------------------------------------


def test_orders_that_are_written_are_read_back_equal(tmp_path):
    write_orders(tmp_path / "orders.csv", small_orders(), TZ)
    assert _read(tmp_path / "orders.csv") == small_orders()


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=30).map(str.strip)
INSTANTS = st.datetimes(
    min_value=datetime(1990, 1, 1), max_value=datetime(2100, 1, 1), timezones=st.just(UTC)  # noqa: DTZ001 - UTC is given beside it
).map(lambda moment: moment.replace(microsecond=0))  # fmt: skip
ORDERS = st.builds(
    Order,
    id=WORDS.filter(lambda text: text and not text.startswith("#")),
    customer=WORDS,
    product_id=st.sampled_from(["TANK", "BIN"]),
    color=st.sampled_from(["sand", "black"]),
    quantity=st.integers(1, 100_000),
    due_at=INSTANTS,
    promise_at=st.none() | INSTANTS,
    priority=st.integers(1, 9),
    note=WORDS,
)


@given(st.lists(ORDERS, min_size=1, max_size=5, unique_by=lambda order: order.id))
def test_any_orders_survive_a_file(tmp_path_factory, orders):
    path = tmp_path_factory.mktemp("orders") / "orders.csv"
    write_orders(path, tuple(orders), TZ)
    assert _read(path) == tuple(orders)


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "'=1+1", "'quoted", "''-x"])
def test_no_written_cell_can_act_as_a_formula(tmp_path, text):
    # CWE-1236, Improper Neutralization of Formula Elements in a CSV File (MITRE).
    order = Order("N-1", text, "TANK", "sand", 1, at(3, 24), note=text)
    path = tmp_path / "orders.csv"
    write_orders(path, (order,), TZ)
    with path.open(encoding="utf-8-sig", newline="") as stream:
        cells = [cell for row in csv.reader(stream) for cell in row]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t", "\r"))]
    assert _read(path) == (order,)


def test_a_file_that_cannot_take_the_place_of_another_leaves_nothing_behind(tmp_path):
    (tmp_path / "orders.csv").mkdir()
    with pytest.raises(CannotWrite, match=r"orders\.csv: could not be written: Is a directory"):
        write_orders(tmp_path / "orders.csv", small_orders(), TZ)
    assert [path.name for path in tmp_path.iterdir()] == ["orders.csv"]


def test_a_folder_that_is_not_there_is_told_and_nothing_is_left_behind(tmp_path):
    with pytest.raises(CannotWrite, match="could not be written: No such file"):
        write_orders(tmp_path / "absent" / "orders.csv", small_orders(), TZ)
    assert list(tmp_path.iterdir()) == []


# Good rows of a damaged file


def _rows(*numbers):
    return [GOOD.replace("N-1", f"N-{number}") for number in numbers]


def test_good_rows_of_a_corrupt_file_are_offered_and_bad_ones_told_by_row_field_and_reason(tmp_path):
    """M3 of the stories: NUL bytes, a wrong column count in row 7, mixed encodings, the last line cut."""
    rows = [row.encode() for row in (HEADER, *_rows(2, 3, 4, 5, 6, 7, 8, 9, 10))]
    rows[2] = rows[2].replace(b"sand", b"sa\0nd")
    rows[4] = rows[4].replace(b"Farm", "Señor".encode("latin-1"))
    rows[6] += b",one,more"
    rows[7] = rows[7].replace(b",4,", b",-3,")
    rows[9] = rows[9][:12]
    path = tmp_path / "orders.csv"
    content = b"\n".join(rows)
    path.write_bytes(content)
    found = find_orders(path, YARD)
    assert [(row, order.id) for row, order in found.rows] == [(2, "N-2"), (4, "N-4"), (6, "N-6"), (9, "N-9")]
    told = {problem.row: str(problem) for problem in found.problems}
    assert sorted(told) == [3, 5, 7, 8, 10]
    assert "NUL byte" in told[3]
    assert "not UTF-8" in told[5]
    assert "has 11 cells; expected 9" in told[7]
    assert "column quantity: is -3; expected a whole number of pieces from 1 to 100,000" in told[8]
    assert "cells; expected 9" in told[10]
    assert path.read_bytes() == content
    with pytest.raises(BadFile):
        _read(path)


def test_a_quote_that_is_never_closed_spoils_its_own_row_only(tmp_path):
    rows = _rows(2, 3, 4)
    rows[1] = rows[1].replace("Invented Farm", '"Invented Farm')
    found = find_orders(_file(tmp_path, *rows), YARD)
    assert [order.id for _, order in found.rows] == ["N-2", "N-4"]
    (problem,) = found.problems
    assert problem.row == 3
    assert "quotes in pairs" in problem.text


def test_numbers_that_come_twice_are_good_rows(tmp_path):
    found = find_orders(_file(tmp_path, GOOD, GOOD.replace(",4,", ",7,")), YARD)
    assert [order.quantity for _, order in found.rows] == [4, 7]
    assert found.problems == ()


@given(st.binary(max_size=400), st.integers(0, 300))
def test_whatever_is_in_a_file_it_is_read_or_told(tmp_path_factory, junk, at_byte):
    path = tmp_path_factory.mktemp("junk") / "orders.csv"
    content = "\n".join((HEADER, *_rows(2, 3, 4, 5))).encode()
    path.write_bytes(content[:at_byte] + junk + content[at_byte:])
    found = find_orders(path, YARD)
    assert found.rows or found.problems


# Single values


def test_an_order_is_edited_by_values_told_as_in_a_file():
    order = small_orders()[0]
    made = edited("Y-1", {"quantity": "7", "due": "2027-05-22", "promise": "", "note": "with lid"}, YARD, order)
    assert made == replace(order, quantity=7, due_at=at(5, 24), promise_at=None, note="with lid")
    fresh = edited("Z-9", {"product": "TANK", "color": "sand", "quantity": "2", "due": "2027-05-22 14:30"}, YARD)
    assert fresh == Order("Z-9", "", "TANK", "sand", 2, at(5, 14.5))


@pytest.mark.parametrize(
    ("cells", "told"),
    [
        ({"quantity": "0"}, "1 to 100,000"),
        ({"quantity": "3,5"}, "a whole number"),
        ({"quantity": ""}, "a whole number"),
        ({"due": "31.2.2027"}, "a date such as"),
        ({"due": "2027-03-14 02:30"}, "put forward over this one"),
        ({"priority": "10"}, "1 to 9"),
        ({"product": "BOAT"}, "one of BIN, TANK"),
        ({"color": "pink"}, "black, sand"),
        ({"size": "4"}, "one of customer, product"),
        ({"order": "N-2"}, "one of customer, product"),
    ],
)
def test_a_value_that_cannot_be_is_refused_with_what_is_allowed(cells, told):
    with pytest.raises(InvalidField, match=told):
        edited("Y-1", cells, YARD, small_orders()[0])


def test_a_new_order_needs_its_product_color_quantity_and_due():
    with pytest.raises(InvalidField, match="product is ''"):
        edited("Z-9", {"quantity": "2"}, YARD)
