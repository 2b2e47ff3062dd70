"""Quotes, holds and their orders from the command line; two seats and one place."""

import json
import multiprocessing
from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from tests.end_to_end.test_command_line import database, filled, run, yard_folder
from yardplan.domain.errors import ChangedElsewhere, OutOfDate
from yardplan.domain.order_changes import OrderChange
from yardplan.exchange.documents import validate
from yardplan.store.engine import open_database
from yardplan.store.read import read_orders
from yardplan.usecases.clock import yard_now
from yardplan.usecases.holding import hold_quote, holds_of
from yardplan.usecases.ordering import change_orders
from yardplan.usecases.quoting import make_quote, sales_book, wish_of

__all__ = ["database", "filled", "yard_folder"]  # fixtures


@pytest.fixture
def planned(database):
    run("plan", "--db", database, "--seconds", "0.5", "--from", "2027-05-17", "--days", "3")
    return database


def quote(db, *words, expect=0):
    return run("quote", *words, "--db", db, expect=expect)


def test_a_quote_tells_dates_limits_and_what_it_rests_on_and_changes_no_plan(planned):
    before = run("export", "orders", planned.removeprefix("sqlite:///") + ".csv", "--db", planned)
    words = quote(planned, "TANK", "12", "--color", "black", "--wish", "2027-05-20", "--lead-days", "2")
    for part in (
        "Quote 1: 12 TANK in black",
        "in at least 8 of 10 weathers",
        "wished for Thu May 20, 2027",
        "based on plan 1",
    ):
        assert part in words
    assert "season average, not forecast" in words
    document = json.loads(quote(planned, "TANK", "12", "--color", "black", "--json"))
    validate(document, "quote")
    ready = [datetime.fromisoformat(document[key]["ready"]) for key in ("p50", "p80", "p95")]
    assert ready == sorted(ready)
    assert sum(row["pieces"] for row in document["p80"]["deliveries"]) == 12
    assert (document["product"], document["quantity"], document["plan_number"]) == ("TANK", 12, 1)
    assert before == run("export", "orders", planned.removeprefix("sqlite:///") + ".csv", "--db", planned)


def test_asking_the_same_again_gives_the_same_dates(planned):
    one, two = (json.loads(quote(planned, "BIN", "3", "--color", "sand", "--json")) for _ in range(2))
    assert [one[key] for key in ("p50", "p80", "p95")] == [two[key] for key in ("p50", "p80", "p95")]
    assert "OUT OF DATE" not in quote(planned, "--show", "1")


def test_several_products_make_one_quote(planned):
    document = json.loads(quote(planned, "TANK", "2", "BIN", "3", "--color", "sand", "--json"))
    validate(document, "quote")
    assert [row["product"] for row in document["wishes"]] == ["TANK", "BIN"]
    assert document["quantity"] == 5


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("BOAT", "3", "--color", "sand"), "there is no product 'BOAT'; known are BIN, TANK"),
        (("TANK", "0", "--color", "sand"), "a whole number of pieces from 1 to 100,000"),
        (("TANK", "10000000", "--color", "sand"), "a whole number of pieces from 1 to 100,000"),
        (("TANK", "many", "--color", "sand"), "a whole number of pieces from 1 to 100,000"),
        (("TANK", "3", "--color", "pink"), "a color in which resin LLDPE is kept: black, sand"),
        (("TANK", "3"), "--color, one of black, sand"),
        (("TANK",), "pairs such as TANK-800 12"),
        ((), "pairs such as TANK-800 12"),
        (("TANK", "3", "--color", "sand", "--wish", "2027-05-01"), "a date from today, 2027-05-14, on"),
        (("TANK", "3", "--color", "sand", "--wish", "2206-05-01"), "a date up to"),
        (("TANK", "3", "--color", "sand", "--wish", "2027-02-31"), "does not match"),
        (("TANK", "3", "--color", "sand", "--lead-days", "-1"), "0 to 365 days"),
    ],
)
def test_what_cannot_be_asked_is_told_plainly(database, words, told):
    assert told in " ".join(quote(database, *words, expect=2).replace("│", " ").split())


def test_far_more_than_the_yard_can_make_is_told_with_what_it_can(planned):
    words = quote(planned, "TANK", "9000", "--color", "sand", expect=1)
    assert "of 9000 pieces by" in words


def test_finished_pieces_are_promised_first_and_those_on_hold_are_not(planned, tmp_path):
    file = tmp_path / "finished.csv"
    file.write_text("product,color,free,on_hold\nTANK,black,5,2\n")
    assert "5 free pieces, 2 on a quality hold" in run("import", "finished", file, "--db", planned)
    document = json.loads(quote(planned, "TANK", "6", "--color", "black", "--json"))
    assert document["wishes"][0]["from_stock"] == 5
    assert document["p95"]["deliveries"][0]["pieces"] == 5
    file.write_text("product,color,free\nBOAT,black,5\nTANK,black,-1\n")
    text = run("import", "finished", file, "--db", planned, expect=2)
    assert "row 2" in text
    assert "row 3" in text


def test_a_hold_shows_in_the_plan_expires_and_becomes_an_order(planned):
    quote(planned, "TANK", "4", "--color", "sand")
    words = run("hold", "quote", "1", "--until", "2027-05-20", "--customer", "Invented Co", "--db", planned)
    assert "kept: hold K1 (quote 1) for Invented Co: 4 TANK in sand" in words
    assert "K1" in run("hold", "list", "--db", planned)
    assert "OUT OF DATE: orders, stock, yard or holds have changed since" in quote(planned, "--show", "1", expect=1)
    assert "hold K1" in run("plan", "--db", planned, "--seconds", "0.3", "--from", "2027-05-17", "--days", "3")
    seat = open_database(planned)
    late = yard_now(seat) + timedelta(days=7)
    assert holds_of(seat, now=late) == ()
    assert len(holds_of(seat, now=yard_now(seat))) == 1
    seat.close()
    assert "based on plan 1, now plan 2" in quote(planned, "--show", "1", expect=1)
    assert "order K1: 4 TANK in sand for Invented Co" in run("hold", "order", "K1", "--db", planned)
    assert "no capacity is kept" in run("hold", "list", "--db", planned)
    assert "there is no hold 'K1'" in run("hold", "order", "K1", "--db", planned, expect=2)


def test_a_hold_takes_its_place_from_the_next_quote_and_gives_it_back(planned):
    first = json.loads(quote(planned, "TANK", "6", "--color", "sand", "--json"))
    run("hold", "quote", "1", "--until", "2027-05-20", "--db", planned)
    behind = json.loads(quote(planned, "TANK", "6", "--color", "sand", "--json"))
    assert behind["p80"]["ready"] > first["p80"]["ready"]
    text = run("hold", "quote", "1", "--until", "2027-05-20", "--db", planned, expect=1)
    assert "out of date" in text
    assert "Quote 3" in text
    assert "released: hold K1" in run("hold", "release", "K1", "--db", planned)
    assert json.loads(quote(planned, "TANK", "6", "--color", "sand", "--json"))["p80"] == first["p80"]


def _seat(url, number, begin, answers):
    seat = open_database(url)
    begin.wait(60)
    try:
        hold_quote(seat, number, customer=f"Invented {number}", until_on=date(2027, 5, 20), now=yard_now(seat), by="x")
        answers.put("held")
    except OutOfDate:
        answers.put("out of date")
    seat.close()


def test_of_two_seats_only_one_gets_the_same_hours(planned):
    """S9 of the stories: both ask, both want it in the same second."""
    seat = open_database(planned)
    now = yard_now(seat)
    laid = sales_book(seat, now=now)
    numbers = [
        make_quote(seat, [wish_of(seat, "TANK", "3", "sand")], now=now, by="x", laid=laid)["quote_number"]
        for _ in range(2)
    ]
    context = multiprocessing.get_context("spawn")
    begin, answers = context.Event(), context.Queue()
    seats = [context.Process(target=_seat, args=(planned, number, begin, answers)) for number in numbers]
    for process in seats:
        process.start()
    begin.set()
    assert sorted(answers.get(timeout=120) for _ in seats) == ["held", "out of date"]
    for process in seats:
        process.join(60)
    assert len(holds_of(seat, now=now)) == 1
    seat.close()


def test_months_ahead_are_told_in_words_csv_and_json(database, tmp_path):
    file = tmp_path / "season.csv"
    words = ("season", "--months", "1", "--product", "TANK", "--db", database)
    document = json.loads(run(*words, "--json", "--csv", file))
    validate(document, "season")
    (month,) = document["months"]
    (row,) = month["products"]
    assert month["month"] == "2027-06"
    assert 0 < row["p10"] <= row["p50"] <= row["p90"]
    assert sum(unit["pieces"] for unit in row["units"]) == row["p50"]
    lines = file.read_text().splitlines()
    assert lines[0] == "month,product,p10,p50,p90,ordered,limited_by,U1"
    assert lines[1].startswith(f"2027-06,TANK,{row['p10']},{row['p50']},{row['p90']},0,")
    assert "there is no product 'BOAT'" in run("season", "--product", "BOAT", "--db", database, expect=2)


def test_single_orders_are_changed_added_and_taken_out(database):
    told = run("order", "set", "Y-1", "quantity=7", "promise=", "--db", database)
    assert told.startswith("order Y-1: quantity 4 -> 7, promise_at 2027-05-19 06:00:00+00:00 -> None")
    assert "order Z-9 added" in run(
        "order", "add", "Z-9", "product=TANK", "color=sand", "quantity=2", "due=2027-05-22", "--db", database
    )
    assert "a number that no other order has" in run(
        "order", "add", "Z-9", "product=TANK", "color=sand", "quantity=2", "due=2027-05-22", "--db", database, expect=2
    )
    assert "1 to 100,000" in run("order", "set", "Z-9", "quantity=0", "--db", database, expect=2)
    assert "order Z-9 taken out" in run("order", "remove", "Z-9", "--db", database)
    assert "there is no open order 'Z-9'" in run("order", "remove", "Z-9", "--db", database, expect=2)
    assert "column=value" in " ".join(run("order", "set", "Y-1", "quantity", "--db", database, expect=2).split())


def test_good_rows_of_a_file_come_in_and_a_number_that_is_there_is_kept_replaced_or_renamed(database, tmp_path):
    file = tmp_path / "orders.csv"
    head = "order,customer,product,color,quantity,due\n"
    file.write_text(
        head + "Y-1,Invented,TANK,sand,9,2027-05-20\nZ-1,Invented,TANK,sand,1,2027-05-20\nZ-2,,TANK,sand,0,2027-05-20\n"
    )
    run("import", "orders", file, "--db", database, expect=2)
    words = run("import", "orders", file, "--good-rows", "--db", database, expect=1)
    assert "taken: orders.csv: 1 orders" in words
    assert "row 4, column quantity: is 0" in words
    assert "Y-1 was there already: keep" in words
    file.write_text(head + "Y-1,Invented,TANK,sand,9,2027-05-20\n")
    assert "1 orders" in run("import", "orders", file, "--good-rows", "--doubles", "rename", "--db", database)
    assert "1 orders" in run("import", "orders", file, "--good-rows", "--doubles", "replace", "--db", database)
    seat = open_database(database)
    with seat.begin_read() as session:
        quantities = {order.id: order.quantity for order in read_orders(session)}
    seat.close()
    assert {ident: quantities[ident] for ident in ("Y-1", "Y-1-2", "Z-1")} == {"Y-1": 9, "Y-1-2": 9, "Z-1": 1}


def test_each_edit_of_the_order_book_can_be_taken_back_unless_another_seat_came_first(database):
    seat = open_database(database)
    now = yard_now(seat)

    def book():
        with seat.begin_read() as session:
            return {order.id: replace(order, row_version=0) for order in read_orders(session)}

    def known(ident):
        with seat.begin_read() as session:
            return next(order for order in read_orders(session) if order.id == ident)

    before = book()
    one, two = known("Y-1"), known("Y-2")
    changes = (
        OrderChange(one, replace(one, quantity=9)),
        OrderChange(two, None),
        OrderChange(None, replace(one, id="Z-1")),
    )
    made = change_orders(seat, changes, by="x", now=now)
    after = book()
    assert (after["Y-1"].quantity, "Y-2" in after, "Z-1" in after) == (9, False, True)
    undone = change_orders(seat, [change.taken_back for change in reversed(made)], by="x", now=now)
    assert book() == before
    change_orders(seat, [change.taken_back for change in reversed(undone)], by="x", now=now)
    assert book() == after
    with pytest.raises(ChangedElsewhere):
        change_orders(seat, [made[0].taken_back], by="x", now=now)
    assert book() == after
    seat.close()
