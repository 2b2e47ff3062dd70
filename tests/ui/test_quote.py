"""The Quote page on a real database with a real order book: what sales do from the first question to the order."""

import shutil
import sqlite3
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import QObject, Qt, QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QLabel

from tests.end_to_end.test_command_line import FROM_MONDAY, filled, run, yard_folder
from yardplan.domain.quotes import Finished
from yardplan.store.engine import open_database
from yardplan.store.promises import write_finished
from yardplan.store.read import read_orders
from yardplan.ui.access import Access
from yardplan.ui.counter import Counter
from yardplan.ui.palette import DARK, LIGHT, SUNLIGHT
from yardplan.ui.quote import QuotePage
from yardplan.usecases.clock import yard_now
from yardplan.usecases.holding import hold_quote, holds_of
from yardplan.usecases.quoting import quoted_again

__all__ = ["filled", "yard_folder"]  # fixtures

LONG = 60_000


@pytest.fixture(scope="module")
def planned(filled, tmp_path_factory):
    path = tmp_path_factory.mktemp("planned") / "yard.sqlite"
    shutil.copy(filled, path)
    run("plan", "--db", f"sqlite:///{path}", "--seconds", "0.5", *FROM_MONDAY)
    return path


@pytest.fixture
def url(planned, tmp_path):
    shutil.copy(planned, tmp_path / "yard.sqlite")
    return f"sqlite:///{tmp_path / 'yard.sqlite'}"


@pytest.fixture
def database(url):
    made = open_database(url)
    yield made
    made.close()


class Seat(QObject):
    """A page with its counter, as the window has them."""

    def __init__(self, database, qtbot):
        super().__init__()
        self.qtbot = qtbot
        self.page = QuotePage(LIGHT)
        qtbot.addWidget(self.page)
        self.page.resize(1260, 680)
        self.counter = Counter(database, self.page, self)
        self.errors = []
        self.counter.failed.connect(self.errors.append)
        self.page.show()
        self.wait()

    def wait(self):
        self.qtbot.waitUntil(lambda: not self.counter.busy, timeout=LONG)
        assert self.errors == []

    def press(self, button):
        assert button.isEnabled(), button.objectName()
        self.qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
        self.wait()

    def ask(self, product, color, quantity, wish=""):
        self.page.form.choose(0, product, color, quantity)
        self.page.form.wish.line.setText(wish)
        self.press(self.page.form.check)

    def text(self, name):
        return self.page.findChild(QLabel, name).text()

    @property
    def document(self):
        return self.page._told.document


@pytest.fixture
def sit(database, qtbot):
    made = []

    def taken():
        made.append(Seat(database, qtbot))
        return made[-1]

    yield taken
    for one in made:
        one.counter.close()


def orders_of(database):
    with database.begin_read() as session:
        return {order.id: order for order in read_orders(session)}


def test_a_quick_quote_tells_three_dates_and_saves_no_order(sit, database):
    at = sit()
    before = orders_of(database)
    at.ask("TANK", "black", "12", "20/5/2027")
    document = at.document
    assert [at.text(f"weathers_{ix}") for ix in range(3)] == [
        "in at least 5 of 10 weathers", "in at least 8 of 10 weathers", "in at least 19 of 20 weathers",
    ]  # fmt: skip
    days = [date.fromisoformat(document[key]["delivered_on"]) for key in ("p50", "p80", "p95")]
    assert [at.text(f"day_{ix}") for ix in range(3)] == [f"{day:%A}, {day.day} {day:%B %Y}" for day in days]
    assert "Thursday, 20 May 2027 is wished" in at.text("wish_told")
    assert "What limits it:" in at.text("limit_told")
    assert len(at.page.rail._ticks) == 20
    assert "Twenty equally likely dates" in at.page.rail.accessibleName()
    assert "plan 1" in at.text("basis_told")
    assert orders_of(database) == before


def test_the_second_quote_takes_the_book_that_is_laid(sit):
    at = sit()
    laid = at.counter._shelf.laid
    assert laid is not None, "the page lays the book before somebody asks"
    at.ask("TANK", "black", "2")
    at.ask("BIN", "sand", "3")
    assert at.counter._shelf.laid is laid
    assert at.page.quotes.count() == 2


def test_a_quote_is_held_listed_let_go_of_and_ordered(sit, database):
    at = sit()
    at.ask("TANK", "sand", "4")
    at.page.customer.setText("Invented Farm")
    at.page.until.line.setText("20/5/2027")
    at.press(at.page.hold)
    (hold,) = holds_of(database, now=yard_now(database))
    assert (hold.customer, hold.until_on) == ("Invented Farm", date(2027, 5, 20))
    assert at.page.holds.count() == 1
    assert "Kept as K1, Invented Farm: 4 Tank, sand" in at.text("kept_told")
    assert not at.page.hold.isEnabled(), "it is kept already"
    at.page.holds.setCurrentRow(0)
    at.press(at.page.release)
    assert holds_of(database, now=yard_now(database)) == ()
    assert "Let go of K1" in at.text("quote_news")
    at.press(at.page.hold)
    at.page.holds.setCurrentRow(0)
    with at.qtbot.waitSignal(at.counter.ordered):
        at.press(at.page.order_hold)
    order = orders_of(database)["K1"]
    assert (order.quantity, order.customer, order.promise_at) == (4, "Invented Farm", hold.promise_at)
    assert at.page.holds.count() == 0


def test_a_quote_becomes_an_order_with_one_press(sit, database):
    at = sit()
    at.ask("BIN", "black", "2")
    at.page.customer.setText("Invented School")
    at.press(at.page.order)
    order = orders_of(database)["K1"]
    assert (order.product_id, order.quantity, order.customer) == ("BIN", 2, "Invented School")
    assert order.promise_at == datetime.fromisoformat(at.document["p80"]["ready"])
    assert "In the order book as K1, promised for" in at.text("quote_news")


def test_a_quote_is_marked_when_another_plan_is_there_and_is_not_promised_before_it_is_asked_again(sit, url):
    at = sit()
    at.ask("TANK", "sand", "2")
    run("plan", "--db", url, "--seconds", "0.3", *FROM_MONDAY)
    at.counter.read_again()
    at.wait()
    assert "based on plan 1, now plan 2" in at.text("stale")
    assert at.page.quotes.item(0).text().startswith("Out of date. Quote 1")
    assert not at.page.hold.isEnabled()
    assert not at.page.order.isEnabled()
    at.press(at.page.again_button)
    assert at.document["quote_number"] == 2
    assert at.page.hold.isEnabled()
    at.page.quotes.setCurrentRow(1)
    at.page.quotes.itemActivated.emit(at.page.quotes.item(1))
    assert at.document["quote_number"] == 1


def test_of_two_seats_the_slower_one_sees_new_dates(sit, database):
    """S9 of the stories, at the window: the other seat keeps the same hours first."""
    at = sit()
    at.ask("TANK", "sand", "6")
    other = quoted_again(database, 1, now=yard_now(database), by="other seat")
    hold_quote(
        database, other["quote_number"], customer="Other", until_on=date(2027, 5, 20), now=yard_now(database), by="x"
    )
    first = at.document["p80"]["ready"]
    at.press(at.page.hold)
    at.wait()
    assert len(holds_of(database, now=yard_now(database))) == 1
    assert at.document["quote_number"] == 3
    assert at.document["p80"]["ready"] > first
    assert "Not kept: orders, stock, yard or holds have changed since" in at.text("quote_news")


def test_stock_goes_first_and_several_products_make_one_quote(sit, database):
    with database.begin() as session:
        write_finished(session, (Finished("TANK", "black", 5, 2),), by="x", at=yard_now(database))
    at = sit()
    at.page.form.more.click()
    at.page.form.choose(1, "BIN", "sand", "2")
    at.ask("TANK", "black", "6")
    assert "5 pieces lie finished" in at.text("wish_told")
    assert [row["product"] for row in at.document["wishes"]] == ["TANK", "BIN"]
    assert "In parts: 5 by" in at.text("parts_told")
    at.page.form.lines[0].drop.click()
    assert [wish.product_id for wish in at.page.form.wishes] == ["BIN"]


def test_what_cannot_be_asked_is_told_while_it_is_typed(sit):
    at = sit()
    form = at.page.form
    for quantity, why in (("0", "from 1 to 100,000"), ("3.5", "no whole number"), ("10000000", "from 1 to 100,000")):
        form.choose(0, "TANK", "sand", quantity)
        assert why in at.text("wish_trouble")
        assert not form.check.isEnabled()
    form.choose(0, "TANK", "sand", "3")
    form.wish.line.setText("1/5/2027")
    assert "is over" in at.text("wish_trouble")
    form.wish.line.setText("1/5/2206")
    assert "Do you mean" in at.text("wish_trouble")
    assert not form.check.isEnabled()
    form.wish.line.clear()
    assert form.check.isEnabled()
    assert at.text("wish_trouble") == ""


def test_an_impossible_date_is_told_with_the_earliest_one_and_what_limits_and_may_be_noted(sit, database):
    at = sit()
    at.ask("TANK", "sand", "40", "15/5/2027")
    assert "cannot be promised, 0 of 40 pieces" in at.text("wish_told")
    assert at.text("day_1").endswith("2027")
    assert len(at.document["helps"]) <= 3
    at.page.customer.setText("Invented School")
    at.press(at.page.note_wish)
    order = orders_of(database)["W1"]
    assert (order.promise_at, order.quantity, order.customer) == (None, 40, "Invented School")
    assert order.due_at.isoformat() == "2027-05-16T06:00:00+00:00", "the end of the wished day in Denver"
    assert "wished for Saturday, 15 May 2027 and not promised" in at.text("quote_news")
    at.press(at.page.note_wish)
    assert "a number that no other order has" in at.text("quote_news"), "noted once"
    assert len([ident for ident in orders_of(database) if ident.startswith("W")]) == 1


def test_far_more_than_can_be_made_is_told_and_cannot_be_kept(sit):
    at = sit()
    at.ask("TANK", "sand", "9000")
    assert "not by" in at.text("day_1")
    assert "of 9000 pieces by then" in at.text("note_1")
    assert not at.page.hold.isEnabled()
    assert not at.page.order.isEnabled()


def test_the_text_for_a_mail_names_dates_and_what_is_kept_and_nothing_of_the_yard(sit):
    at = sit()
    at.page.form.lead_days.setValue(2)
    at.ask("TANK", "black", "3")
    at.press(at.page.copy)
    told = QGuiApplication.clipboard().text()
    assert told.startswith("Quote 1: 3 Tank, black")
    on = date.fromisoformat(at.document["p80"]["delivered_on"])
    assert f"with you on {on:%A}, {on.day} {on:%B %Y} (2 days on the way)" in told
    assert "Nothing is kept for you yet" in told
    for inside in ("M1", "U1", "TANK", "plan 1", "1A"):
        assert inside not in told
    at.press(at.page.hold)
    assert "We keep this for you to the end of" in at.page.mail


def test_the_window_is_alive_while_the_book_is_laid_and_quotes_are_made(sit):
    """Liveness, not speed: a timer of the window's thread goes on ticking while the counter works."""
    at = sit()
    ticks = []
    timer = QTimer(interval=5)
    timer.timeout.connect(lambda: ticks.append(1))
    timer.start()
    at.counter._shelf.laid = None
    at.page.form.choose(0, "TANK", "black", "12")
    at.page.form.check.click()
    assert not at.page.form.check.isEnabled(), "one question at a time"
    assert at.text("quote_news") == "Looking for the earliest dates ..."
    at.wait()
    assert len(ticks) > 10


def test_without_a_yard_the_page_says_what_to_do(tmp_path, qtbot, sit):
    empty = open_database(f"sqlite:///{tmp_path / 'empty.sqlite'}")
    at = Seat(empty, qtbot)
    assert "yardplan demo" in at.text("message")
    assert not at.page.form.check.isEnabled()
    at.counter.close()
    empty.close()


def test_all_that_can_be_pressed_or_filled_in_has_a_name_and_is_reached_by_tab(sit):
    at = sit()
    at.ask("TANK", "black", "3")
    at.page.activateWindow()
    at.page.form.lines[0].product.setFocus()
    seen = []
    for _ in range(40):
        now = QGuiApplication.focusObject()
        if now in seen:
            break
        seen.append(now)
        at.qtbot.keyClick(now, Qt.Key.Key_Tab)
    names = {one.objectName() for one in seen}
    wanted = {"wish_product_1", "wish_color_1", "wish_quantity_1", "wish_on", "lead_days", "check_dates", "quotes"}
    assert wanted | {"customer", "hold", "until_on", "order", "copy", "holds"} <= names
    for one in seen:
        assert one.accessibleName() or one.text(), one.objectName()


@pytest.mark.parametrize("colors", [LIGHT, DARK, SUNLIGHT])
def test_the_rail_is_drawn_in_the_colors_of_each_theme(sit, colors):
    at = sit()
    at.ask("TANK", "black", "12", "20/5/2027")
    at.page.set_colors(colors)
    picture = at.page.rail.grab().toImage()
    seen = {picture.pixelColor(x, y).name() for x in range(picture.width()) for y in range(picture.height())}
    assert colors.base.lower() in seen
    assert colors.text.lower() in seen
    assert colors.accent.lower() in seen, "the wished day"


def test_a_hold_that_is_over_is_gone(database):
    at = yard_now(database)
    with sqlite3.connect(database.url.removeprefix("sqlite:///")) as connection:
        assert connection.execute("select count(*) from hold").fetchone() == (0,)
    assert holds_of(database, now=at + timedelta(days=9)) == ()


def test_who_would_give_way_is_told_and_nothing_of_it_is_kept(sit, database):
    """S7 of the stories."""
    at = sit()
    before = orders_of(database)
    at.page.form.may_move.setChecked(True)
    at.ask("TANK", "sand", "2")
    assert at.document["quote_number"] is None
    assert at.document["moves"] is not None
    assert "a manager has to plan anew" in at.text("moves_told")
    promised = {ident for ident, order in before.items() if order.promise_at}
    assert promised.isdisjoint(row["order"] for row in at.document["moves"])
    assert not at.page.hold.isEnabled()
    assert not at.page.order.isEnabled()
    assert orders_of(database) == before
    assert at.page.quotes.count() == 0
    assert at.text("quote_title").startswith("Not kept")


def test_where_the_database_is_gone_dates_can_be_checked_and_nothing_be_kept(sit, database, qtbot):
    """S12 of the stories: the share goes away and comes back."""
    at = sit()
    file = Path(database.url.removeprefix("sqlite:///"))
    access = Access(database, (at.page,), at)
    at.ask("TANK", "sand", "2")
    known = at.document
    away = file.with_name("away.sqlite")
    file.rename(away)
    access.look()
    qtbot.waitUntil(lambda: bool(access.reason), timeout=LONG)
    assert "its file is not there" in access.banner.text()
    assert "was read 0 min ago" in access.banner.text()
    assert not access.banner.isHidden()
    assert not at.page.hold.isEnabled()
    assert "its file is not there" in at.page.hold.toolTip()
    at.ask("TANK", "sand", "2")
    assert at.document["quote_number"] is None
    assert at.document["p80"] == known["p80"]
    assert not at.page.order.isEnabled()
    away.rename(file)
    with qtbot.waitSignal(access.back, timeout=LONG):
        access.look()
    assert access.banner.isHidden()
    at.ask("TANK", "sand", "2")
    assert at.document["quote_number"] == 2
    assert at.page.hold.isEnabled()
    access.close()


def test_a_database_that_lets_only_read_says_so(database, qtbot):
    with sqlite3.connect(database.url.removeprefix("sqlite:///")) as other:
        other.execute("begin immediate")  # a seat that is just writing is no trouble
        other.rollback()
    assert database.write_trouble() == ""
    with database._writing.connect() as connection:
        connection.exec_driver_sql("PRAGMA query_only = 1")
    try:
        assert "readonly" in database.write_trouble()
    finally:
        with database._reading.connect() as connection:
            connection.exec_driver_sql("PRAGMA query_only = 0")
    assert database.write_trouble() == ""


def test_what_must_be_bought_is_told(sit, url):
    run("set", "stock", "R-BLACK", "on_hand=0", "lead_days=6", "--db", url)
    at = sit()
    at.ask("TANK", "black", "2")
    assert "kg of PE black must be ordered at once; it takes 6 days and is here on" in at.text("buy_told")
