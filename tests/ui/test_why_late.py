"""Why an order is late, told to sales and to the customer; the searches are real and short."""

import shutil

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QLabel

from tests.end_to_end.test_command_line import FROM_MONDAY, filled, run, yard_folder
from yardplan.store.engine import open_database
from yardplan.ui import why_late
from yardplan.ui.why_late import WhyLate
from yardplan.usecases.clock import yard_now
from yardplan.usecases.comparing import stored_plan
from yardplan.usecases.outlook import make_outlook

__all__ = ["filled", "yard_folder"]  # fixtures


@pytest.fixture(scope="module")
def planned(filled, tmp_path_factory):
    path = tmp_path_factory.mktemp("late") / "yard.sqlite"
    shutil.copy(filled, path)
    url = f"sqlite:///{path}"
    run("order", "set", "Y-1", "quantity=40", "due=2027-05-17", "promise=", "--db", url)
    run("plan", "--db", url, "--seconds", "0.3", *FROM_MONDAY)
    return url


@pytest.fixture
def asked(planned, qtbot, monkeypatch):
    monkeypatch.setattr(why_late, "SEARCH_S", 0.1)
    database = open_database(planned)
    stored = stored_plan(database, 1)
    days = stored.outcome.plan.grid.days
    outlook = make_outlook(database, now=yard_now(database), first_on=days[0][0], days=len(days), confidence=0.8)
    order = next(order for order in outlook.orders if order.id == "Y-1")
    made = WhyLate(database, outlook, stored, order)
    qtbot.addWidget(made)
    made.show()
    yield made
    made.background.close()
    database.close()


def test_at_most_four_reasons_are_told_and_what_would_help(asked, qtbot):
    qtbot.waitUntil(lambda: asked.copy.isEnabled(), timeout=120_000)
    told = asked._told.toPlainText().splitlines()
    assert told[0] == "What stands in the way:"
    assert 1 <= sum(line.startswith("•") and "of the time that counts" in line for line in told) <= 4
    assert "What would help, each measured by a new search:" in told
    assert "unfinished" in asked.findChild(QLabel, "why_step").text()
    qtbot.mouseClick(asked.copy, Qt.MouseButton.LeftButton)
    mail = QGuiApplication.clipboard().text()
    assert mail.startswith("Your order of 40 Tank, sand, wished for Mon 17 May:")
    assert "By Wednesday, 19 May 2027 we can have" in mail
    for inside in ("Y-1", "M1", "U1", "1A", "TANK", "P1", "%"):
        assert inside not in mail


def test_a_person_who_has_seen_enough_gets_what_is_known(asked, qtbot):
    asked.stop.click()
    qtbot.waitUntil(lambda: asked.copy.isEnabled(), timeout=120_000)
    assert asked._told.toPlainText().startswith("What stands in the way:")


def test_closing_ends_the_search(asked, qtbot):
    assert asked.background.busy
    asked.close()
    assert not asked.background.busy
