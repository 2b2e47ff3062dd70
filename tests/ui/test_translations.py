"""Every sentence of the window has its Spanish one, and the window speaks it."""

import re
from collections import Counter

import pytest
from PySide6.QtCore import QCoreApplication, QLocale
from PySide6.QtWidgets import QAbstractButton, QLabel, QMenu, QMessageBox

from tests.domain.test_review import facts
from tests.translations import FOLDER, LANGUAGES, field_names, read_catalog, release, source_messages
from tests.ui.weeks import small_outlook
from yardplan.domain.figures import review
from yardplan.ui.language import LANGUAGES as OFFERED
from yardplan.ui.language import choose_language, language_of
from yardplan.ui.palette import LIGHT
from yardplan.ui.review import ReviewPage
from yardplan.ui.settings import SeatSettings
from yardplan.ui.settings_dialog import SettingsDialog
from yardplan.ui.sky_words import SkyWords

CATALOGS = pytest.mark.parametrize("language", LANGUAGES)


@pytest.fixture
def spanish():
    choose_language("es")
    yield
    choose_language("en")


@CATALOGS
def test_every_sentence_of_the_sources_is_translated_and_no_other(language):
    """`python -m tests.translations` brings a catalog up to date; what it marks as unfinished is to be translated."""
    told = read_catalog(FOLDER / f"yardplan_{language}.ts")
    said = source_messages()
    assert len(said) > 700
    assert sorted(said - told.keys()) == []
    assert sorted(told.keys() - said) == []


@CATALOGS
def test_translations_have_the_fields_of_their_sentences(language):
    """A field that is lost or misspelled would be an error in the middle of work."""
    for (context, source), text in read_catalog(FOLDER / f"yardplan_{language}.ts").items():
        assert field_names(source) == field_names(text), (context, source)
        assert source.count("&") == text.count("&"), (context, source)
        assert (source[:1].isspace(), source[-1:].isspace()) == (text[:1].isspace(), text[-1:].isspace()), source


@CATALOGS
def test_what_qt_loads_is_made_of_the_catalog(language, tmp_path):
    made = tmp_path / "made.qm"
    release(FOLDER / f"yardplan_{language}.ts", made)
    assert made.read_bytes() == (FOLDER / f"yardplan_{language}.qm").read_bytes()


def test_only_languages_with_a_catalog_are_offered():
    assert set(OFFERED) == {"en", *LANGUAGES}
    assert language_of("es") == "es"
    assert language_of("xx") == "en"


def test_words_dates_and_qts_own_buttons_are_spanish(spanish, qtbot):
    outlook = small_outlook()
    words = SkyWords(outlook.yard, outlook.grid)
    assert words.cooks(3) == "3 cocciones"
    assert QLocale().language() is QLocale.Language.Spanish
    box = QMessageBox()
    qtbot.addWidget(box)
    box.addButton(QMessageBox.StandardButton.Cancel)
    assert box.button(QMessageBox.StandardButton.Cancel).text().replace("&", "") == "Cancelar"


def test_what_the_domain_says_in_a_review_is_spanish_too(spanish, qtbot):
    found = review(facts(None, ()))
    page = ReviewPage(LIGHT)
    qtbot.addWidget(page)
    page.show_review(found)
    catalog = {source for context, source in read_catalog(FOLDER / "yardplan_es.ts") if context == "review"}
    for figure in found.figures:
        said = [figure.card.name, figure.card.formula, figure.note, *(what for what, _ in figure.counts)]
        assert {text for text in said if text} <= catalog
    assert page.figures.item(0, 0).text() == "Cocciones empezadas a tiempo"
    assert page.figures.item(0, 1).text() == "no se sabe"


def test_back_in_english_nothing_is_left_of_it(spanish, qtbot):
    choose_language("en")
    dialog = SettingsDialog(SeatSettings())
    qtbot.addWidget(dialog)
    assert dialog.windowTitle() == "Settings of this seat"
    assert QCoreApplication.translate("Menus", "&File") == "&File"


def test_texts_of_one_menu_have_letters_of_their_own(spanish, tmp_path, qtbot):
    """Source: the custom of all desktops that a letter opens one entry of a menu (from memory)."""
    from yardplan.store.engine import open_database
    from yardplan.ui.window import MainWindow

    for language in ("en", "es"):
        choose_language(language)
        database = open_database(f"sqlite:///{tmp_path / language}.sqlite")
        window = MainWindow(database, SeatSettings())
        qtbot.addWidget(window)
        qtbot.waitUntil(lambda shown=window: not shown._reading, timeout=30_000)
        menus = [menu for menu in window.menuBar().findChildren(QMenu)]
        for actions in (window.menuBar().actions(), *(menu.actions() for menu in menus)):
            letters = [found.group(1).lower() for one in actions if (found := re.search("&(\\w)", one.text()))]
            twice = [letter for letter, count in Counter(letters).items() if count > 1]
            assert not twice, (language, twice, [one.text() for one in actions])
        seen = [label.text() for label in window.findChildren(QLabel)]
        seen += [button.text() for button in window.findChildren(QAbstractButton)]
        assert ("Bienvenido a yardplan" in seen) is (language == "es")
        window.close()
        database.close()
