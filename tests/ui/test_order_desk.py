"""The order book edited in the window, on a real database: in place, by form, from files, and taken back."""

import shutil
from dataclasses import replace
from datetime import date

import pytest
from PySide6.QtCore import QLocale, QObject, Qt, QTimer
from PySide6.QtWidgets import QComboBox, QDialog, QLabel, QMessageBox, QPushButton

from tests.end_to_end.test_command_line import filled, yard_folder
from tests.small_yard import TZ
from tests.ui.weeks import small_outlook
from yardplan.domain.errors import InvalidField
from yardplan.domain.history import state_of
from yardplan.domain.order_changes import OrderChange
from yardplan.domain.slots import zone
from yardplan.store.engine import open_database
from yardplan.store.read import read_orders, read_yard
from yardplan.ui.jobs import Today, Week
from yardplan.ui.order_cells import read_cell
from yardplan.ui.order_desk import OrderDesk
from yardplan.ui.order_dialog import next_number
from yardplan.ui.order_table import COLUMNS, Show
from yardplan.ui.orders import OrdersPage
from yardplan.usecases.clock import yard_now
from yardplan.usecases.ordering import change_orders, preview_orders

__all__ = ["filled", "yard_folder"]  # fixtures

LONG = 30_000
TODAY = date(2027, 5, 14)
HEADER = "order,customer,product,color,quantity,due,promise,priority,note\n"


@pytest.fixture
def database(filled, tmp_path):
    shutil.copy(filled, tmp_path / "yard.sqlite")
    made = open_database(f"sqlite:///{tmp_path / 'yard.sqlite'}")
    yield made
    made.close()


class Seat(QObject):
    """A page with its desk, as the window has them."""

    def __init__(self, database, qtbot):
        super().__init__()
        self.qtbot, self.database = qtbot, database
        self.page = OrdersPage()
        qtbot.addWidget(self.page)
        self.page.resize(1260, 600)
        self.desk = OrderDesk(database, self.page, self)
        self.errors = []
        self.desk.failed.connect(self.errors.append)
        with database.begin_read() as session:
            yard, orders = read_yard(session), read_orders(session)
        outlook = replace(small_outlook(yard, now=yard_now(database)), orders=orders)
        today = Today(state_of(yard, None, (), outlook.now), yard, None, "tester")
        self.desk.show_week(Week(outlook, None, today, None))
        self.page.show()
        self.wait()

    def wait(self):
        self.qtbot.waitUntil(lambda: not self.desk.busy, timeout=LONG)
        assert self.errors == []

    def type(self, order_id, column, text, key=Qt.Key.Key_Return):
        """Edit a cell as a person does: F2, type, Enter."""
        number = next(at for at, name in COLUMNS.items() if name == column)
        self.page.choose(order_id, number)
        self.page.table.setFocus()
        self.qtbot.keyClick(self.page.table, Qt.Key.Key_F2)
        editor = self.page.table.findChild(QObject, "cell_edit")
        editor.clear()
        self.qtbot.keyClicks(editor, text)
        self.qtbot.keyClick(editor, key)
        self.qtbot.wait(20)  # an editor hands on what was typed in a turn of its own
        self.wait()

    @property
    def book(self):
        with self.database.begin_read() as session:
            return {order.id: order for order in read_orders(session)}

    @property
    def told(self):
        return self.page.told.text()

    def cell(self, order_id, column):
        model = self.page.table.model()
        return model.index(model.place_of(order_id), column).data()


@pytest.fixture
def sit(database, qtbot):
    made = []

    def taken():
        made.append(Seat(database, qtbot))
        return made[-1]

    yield taken
    for one in made:
        one.desk.close()


def local(at):
    return at.astimezone(zone(TZ))


@pytest.mark.gui
def test_cells_are_edited_in_place_and_told_in_words(sit):
    at = sit()
    at.type("Y-1", "quantity", "9")
    assert at.book["Y-1"].quantity == 9
    assert at.cell("Y-1", 4) == "9"
    assert at.told == "order Y-1: quantity 4 → 9"
    at.type("Y-1", "due", "22/5/2027")
    assert local(at.book["Y-1"].due_at).isoformat() == "2027-05-23T00:00:00-06:00"
    at.type("Y-1", "promise", "21 May 14:30")
    assert local(at.book["Y-1"].promise_at).isoformat() == "2027-05-21T14:30:00-06:00"
    at.type("Y-1", "promise", "")
    assert at.book["Y-1"].promise_at is None
    at.type("Y-1", "priority", "3")
    at.type("Y-1", "customer", "Invented Ranch")
    at.type("Y-1", "note", "with lid")
    assert (at.book["Y-1"].priority, at.book["Y-1"].customer, at.book["Y-1"].note) == (3, "Invented Ranch", "with lid")


@pytest.mark.parametrize(
    ("column", "text", "why"),
    [
        ("quantity", "0", "from 1 to 100,000"),
        ("quantity", "-3", "from 1 to 100,000"),
        ("quantity", "3.5", "no whole number"),
        ("quantity", "1e9", "from 1 to 100,000"),
        ("due", "31/2/2027", "There is no such day"),
        ("due", "", "needs a due date"),
        ("due", "22/5/2027 25:10", "no such time"),
        ("priority", "12", "1 to 9"),
    ],
)
def test_what_cannot_be_is_refused_at_the_field_which_stays_open(sit, column, text, why):
    at = sit()
    before = at.book
    at.type("Y-1", column, text)
    assert why in at.told
    editor = at.page.table.findChild(QObject, "cell_edit")
    assert editor is not None
    assert at.book == before
    at.qtbot.keyClick(editor, Qt.Key.Key_Escape)
    at.wait()
    assert at.book == before


def test_a_day_is_told_back_in_words_while_it_is_typed():
    assert read_cell("due", "3/6/2027", TODAY).words == "Thursday, 3 June 2027"
    QLocale.setDefault(QLocale("en_US"))
    assert read_cell("due", "3/6/2028", TODAY).words == "Monday, March 6, 2028"
    assert read_cell("due", "2027-06-03 14:30", TODAY).text == "2027-06-03 14:30"


def test_a_color_goes_with_its_product(sit):
    at = sit()
    at.desk._edit("Y-1", "product", "BIN")
    at.wait()
    assert (at.book["Y-1"].product_id, at.book["Y-1"].color) == ("BIN", "sand")
    at.desk._edit("Y-1", "color", "pink")
    assert "expected a color" in at.told
    assert at.book["Y-1"].color == "sand"


def test_every_edit_is_undone_and_done_again(sit):
    at = sit()
    before = {ident: replace(order, row_version=0) for ident, order in at.book.items()}
    at.type("Y-1", "quantity", "9")
    at.page.choose("Y-2")
    at.page.remove.trigger()
    at.wait()
    assert "Y-2" not in at.book
    assert at.page.undo.toolTip() == "Undo: order Y-2 taken out"
    for _ in range(2):
        at.page.undo.trigger()
        at.wait()
    assert {ident: replace(order, row_version=0) for ident, order in at.book.items()} == before
    assert not at.page.undo.isEnabled()
    for _ in range(2):
        at.page.redo.trigger()
        at.wait()
    assert "Y-2" not in at.book
    assert at.book["Y-1"].quantity == 9
    assert not at.page.redo.isEnabled()


def test_an_edit_that_another_seat_was_faster_with_is_told_and_shown(sit, database):
    at = sit()
    order = at.book["Y-1"]
    change_orders(database, (OrderChange(order, replace(order, quantity=6)),), by="other", now=yard_now(database))
    at.type("Y-1", "quantity", "9")
    assert "changed at another seat" in at.told
    assert at.book["Y-1"].quantity == 6
    assert at.cell("Y-1", 4) == "6"


def test_a_quantity_for_a_month_of_the_yard_and_a_day_that_is_over_are_asked_about(sit):
    at = sit()
    at.type("Y-1", "quantity", "5000")
    box = at.page.findChild(QMessageBox, "is_that_meant")
    assert "5,000 Tank are 5,000 cycles" in box.text()
    box.defaultButton().click()
    at.wait()
    assert at.book["Y-1"].quantity == 4
    box.deleteLater()
    at.qtbot.wait(10)
    at.type("Y-1", "due", "3/5/2027")
    box = at.page.findChildren(QMessageBox, "is_that_meant")[-1]
    assert "which is over" in box.text()
    next(button for button in box.buttons() if button.text() == "It is meant").click()
    at.wait()
    assert local(at.book["Y-1"].due_at).date() == date(2027, 5, 4)


def test_an_order_is_added_by_a_form_that_checks(sit):
    at = sit()
    at.page.add.trigger()
    dialog = at.page.findChild(QDialog, "add_order")
    assert dialog.number.text() == "Y-4"
    assert not dialog.ok.isEnabled()
    dialog.lines["quantity"].setText("0")
    assert "from 1 to 100,000" in dialog.findChild(QLabel, "new_told").text()
    dialog.lines["quantity"].setText("3")
    dialog.lines["due"].setText("28 May")
    assert dialog.findChild(QLabel, "new_told").text() == "Friday, 28 May 2027"
    dialog.number.setText("Y-1")
    assert not dialog.ok.isEnabled()
    dialog.number.setText("Y-4")
    dialog.ok.click()
    at.wait()
    assert (at.book["Y-4"].quantity, at.book["Y-4"].product_id) == (3, "TANK")


def test_the_next_number_goes_on_from_the_highest():
    assert next_number(["Y-1025", "Y-9", "K7"]) == "Y-1026"
    assert next_number(["A-009"]) == "A-010"
    assert next_number(["x"]) == next_number([]) == "1"


@pytest.mark.gui
def test_a_file_is_looked_through_before_anything_is_taken(sit, tmp_path):
    at = sit()
    before = at.book
    path = tmp_path / "orders.csv"
    path.write_text(
        HEADER + "Z-1,Invented,TANK,sand,1,2027-05-20,,1,\nZ-2,Invented,TANK,sand,0,2027-05-20,,1,\n"
        "Y-1,Invented,TANK,sand,10,2027-05-20,,1,\nY-1,Invented,TANK,sand,12,2027-05-20,,1,\n"
        "Z-3,Invented,TANK,sand,90000,2027-05-20,,1,\n"
    )
    at.desk.bring_in(path)
    at.wait()
    dialog = at.page.findChild(QDialog, "import_orders")
    rows = [[dialog.table.model().index(r, c).data() for c in range(4)] for r in range(5)]
    assert rows[0] == ["2", "new", "", "Z-1"]
    assert rows[1][:3] == ["3", "bad: is 0; expected a whole number of pieces from 1 to 100,000", "quantity"]
    assert rows[2][1] == rows[3][1] == "its number is there already"
    assert "is that meant? 90,000 Tank are 90,000 cycles" in rows[4][1]
    assert at.book == before
    assert dialog.take.text() == "Take in: 1"
    choice = dialog.findChild(QComboBox, "double_0")
    assert choice.currentText() == "Keep what is there first"
    choice.setCurrentIndex(2)
    assert dialog.take.text() == "Take in: 3"
    choice.setCurrentIndex(1)
    dialog.with_slips.setChecked(True)
    assert dialog.take.text() == "Take in: 3"
    at.qtbot.mouseClick(dialog.take, Qt.MouseButton.LeftButton)
    at.wait()
    assert at.book["Y-1"].quantity == 12
    assert {"Z-1", "Z-3"} <= set(at.book)
    at.page.undo.trigger()
    at.wait()
    assert {ident: replace(order, row_version=0) for ident, order in at.book.items()} == {
        ident: replace(order, row_version=0) for ident, order in before.items()
    }


def test_a_file_that_is_no_orders_brings_nothing_and_says_so(sit, tmp_path):
    at = sit()
    path = tmp_path / "orders.csv"
    path.write_bytes(b"\x00\x01\x02")
    at.desk.bring_in(path)
    at.wait()
    dialog = at.page.findChild(QDialog, "import_orders")
    model = dialog.table.model()
    assert any("NUL byte" in model.index(at_row, 1).data() for at_row in range(model.rowCount()))
    assert not dialog.take.isEnabled()
    dialog.reject()
    assert preview_orders(at.database, path).found.rows == ()


def test_five_thousand_orders_come_in_while_the_window_stays_alive(sit, tmp_path):
    """Liveness, not speed: gaps are measured in tests/bench/bench_sales_window.py."""
    at = sit()
    path = tmp_path / "many.csv"
    path.write_text(HEADER + "".join(f"N-{n},Invented,TANK,sand,1,2027-05-2{n % 9},,1,\n" for n in range(5000)))
    ticks = []
    timer = QTimer(interval=5)
    timer.timeout.connect(lambda: ticks.append(1))
    timer.start()
    at.desk.bring_in(path)
    at.wait()
    at.page.findChild(QDialog, "import_orders").take.click()
    at.wait()
    assert len(at.book) == 5003
    assert at.page._model.rowCount() == 5003
    assert len(ticks) > 5


def test_orders_are_listed_by_kind(sit):
    at = sit()
    at.page.kind.setCurrentIndex(at.page.kind.findData(Show.PROMISED))
    assert at.page._model.rowCount() == 2
    assert at.page._count.text() == "2 of 3"
    at.page.kind.setCurrentIndex(at.page.kind.findData(Show.FREE))
    assert at.page._model.rowCount() == 1
    at.page.kind.setCurrentIndex(at.page.kind.findData(Show.UNPLANNED))
    assert at.page._model.rowCount() == 3, "there is no plan"


def test_where_nothing_can_be_written_nothing_can_be_pressed_and_it_says_why(sit):
    at = sit()
    at.page.choose("Y-1")
    at.page.set_read_only("the database cannot be written")
    for action in (at.page.add, at.page.remove, at.page.undo, at.page.bring_in):
        assert not action.isEnabled()
        assert action.toolTip() == "the database cannot be written"
    model = at.page.table.model()
    assert not model.flags(model.index(0, 4)) & Qt.ItemFlag.ItemIsEditable
    at.page.set_read_only("")
    assert at.page.add.isEnabled()


def test_what_the_yard_does_not_make_is_refused_by_the_order_book_itself(database):
    with database.begin_read() as session:
        order = read_orders(session)[0]
    with pytest.raises(InvalidField):
        change_orders(
            database, (OrderChange(order, replace(order, product_id="BOAT")),), by="x", now=yard_now(database)
        )


def test_all_that_can_be_pressed_has_a_name(sit):
    at = sit()
    for button in at.page.findChildren(QPushButton):
        assert button.text() or button.accessibleName()
    names = {action.objectName() for action in at.page.actions()}
    assert names == {"order_add", "order_remove", "order_undo", "order_redo", "order_import", "order_why"}
