from dataclasses import replace

import pytest
from PySide6.QtCore import Qt

from tests.ui.weeks import small_outlook, small_plan, stored
from yardplan.domain.plan import Plan
from yardplan.domain.risk import OrderRisk, PlanRisk
from yardplan.domain.rules import Blocked, Why
from yardplan.ui.order_table import DUE, OrderModel, order_rows
from yardplan.ui.orders import OrdersPage
from yardplan.ui.words import Words

ORDER, QUANTITY, FINISH, CHANCE, STATE, REASON = 0, 4, 8, 9, 10, 11


@pytest.fixture
def outlook():
    return small_outlook()


@pytest.fixture
def rows(outlook):
    made = stored(small_plan(outlook))
    outcome = replace(made.outcome, blocked=(Blocked("Y-3", Why.NO_CREW, "rigging"),))
    return order_rows(outlook, replace(made, outcome=outcome), Words(outlook.yard, made.outcome.plan))


@pytest.fixture
def page(qtbot, rows):
    made = OrdersPage()
    qtbot.addWidget(made)
    made.resize(1000, 400)
    made.show_rows(rows)
    return made


def column(page, number):
    model = page.table.model()
    return [model.index(at, number).data() for at in range(model.rowCount())]


def test_the_model_keeps_qts_rules(qtmodeltester, rows):
    model = OrderModel()
    model.show_rows(rows)
    qtmodeltester.check(model)
    model.show_rows(())
    qtmodeltester.check(model)
    model.show_rows(rows)
    assert model.rowCount() == 3


def test_rows_tell_what_the_plan_makes_of_each_order(outlook, rows):
    told = {row.order_id: row.cells for row in rows}
    assert told["Y-1"][:7] == ("Y-1", "Invented Farm", "Tank", "sand", "4", "Tue 18 May", "Tue 18 May")
    assert told["Y-1"][STATE] == "unfinished: 3 of 4 missing, late 1 d"
    assert told["Y-2"][6] == ""
    assert told["Y-3"][REASON] == "nobody with the skill is on shift when needed (rigging)"


def test_a_finished_order_tells_when(outlook):
    done = replace(outlook, orders=(replace(outlook.orders[1], quantity=1),))
    plan = small_plan(outlook)
    row = order_rows(done, stored(plan), Words(outlook.yard, plan))[0]
    assert row.cells[FINISH] == "Mon 17 May 21:20"
    assert row.cells[STATE] == "on time"


def test_chances_are_told_of_twenty_and_sort_by_value(page, outlook):
    rows = tuple(OrderRisk(f"Y-{n}", chance, 9, None, None) for n, chance in ((1, 0.0), (2, 0.449), (3, 1.0)))
    plan = small_plan(outlook)
    made = replace(stored(plan), risk=PlanRisk(60, rows, 0.0, 0.0))
    page.show_rows(order_rows(outlook, made, Words(outlook.yard, plan)))
    page.table.sortByColumn(CHANCE, Qt.SortOrder.DescendingOrder)
    assert column(page, CHANCE) == ["20 of 20", "8 of 20", "0 of 20"]


def test_without_a_plan_only_the_wishes_are_told(outlook):
    rows = order_rows(outlook, None, Words(outlook.yard, Plan(outlook.grid)))
    assert all(row.cells[FINISH : REASON + 1] == ("", "", "", "") for row in rows)


def test_columns_sort_by_value_not_by_letters(page, outlook):
    many = [replace(order, quantity=number) for order, number in zip(outlook.orders, (9, 100, 20), strict=True)]
    words = Words(outlook.yard, Plan(outlook.grid))
    page.show_rows(order_rows(replace(outlook, orders=tuple(many)), None, words))
    page.table.sortByColumn(QUANTITY, Qt.SortOrder.AscendingOrder)
    assert column(page, QUANTITY) == ["9", "20", "100"]
    page.table.sortByColumn(DUE, Qt.SortOrder.DescendingOrder)
    assert column(page, ORDER)[-1] == "Y-1"


def test_the_filter_looks_at_all_columns(page):
    page.filter.setText("depot")
    assert column(page, ORDER) == ["Y-2"]
    page.filter.setText("SKILL")
    assert column(page, ORDER) == ["Y-3"]
    page.filter.setText("nothing like it")
    assert column(page, ORDER) == []
    page.filter.clear()
    assert len(column(page, ORDER)) == 3


def test_choosing_a_row_tells_its_order(page, qtbot):
    with qtbot.waitSignal(page.order_chosen) as told:
        page.choose("Y-2")
    assert told.args == ["Y-2"]
    assert page.order_id == "Y-2"
    with qtbot.waitSignal(page.order_chosen) as told:
        page.choose("")
    assert told.args == [""]


@pytest.mark.gui
def test_enter_and_double_click_open_a_row(page, qtbot):
    page.show()
    page.choose("Y-3")
    with qtbot.waitSignal(page.order_opened) as told:
        qtbot.keyClick(page.table, Qt.Key.Key_Return)
    assert told.args == ["Y-3"]


def test_new_rows_keep_the_current_order(page, rows):
    page.choose("Y-3")
    page.show_rows(rows[1:])
    assert page.order_id == "Y-3"
    page.show_rows(rows[:1])
    assert page.order_id == ""


def test_cells_are_named_for_screen_readers(rows, qapp):
    model = OrderModel()
    model.show_rows(rows)
    told = model.index(0, STATE).data(Qt.ItemDataRole.AccessibleTextRole)
    assert told.startswith("State: unfinished")


def test_an_empty_list_says_what_to_do(page, rows):
    assert page._empty.isHidden()
    page.filter.setText("no such thing")
    assert "change the filter" in page._empty.text()
    page.filter.setText("")
    assert page._empty.isHidden()
    page.show_rows(())
    assert "There is no order yet" in page._empty.text()
    assert not page._empty.isHidden()
    page.show_rows(rows)
    assert page._empty.isHidden()
