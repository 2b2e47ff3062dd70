"""Languages of the window: catalogs that ship with the program, and Qt's own words for buttons and dialogs."""

from PySide6.QtCore import QCoreApplication, QLibraryInfo, QLocale, QTranslator

from yardplan.paths import resource

LANGUAGES = {"en": "English", "es": "Español"}
"""Names of the languages in themselves; English is what the sources are written in."""

_installed: list[QTranslator] = []


def language_of(code: str) -> str:
    """Return the language to show: the one that was chosen, else the desktop's where there is a catalog of it."""
    wanted = code or QLocale.system().name().partition("_")[0]
    return wanted if wanted in LANGUAGES else "en"


def choose_language(code: str) -> None:
    """Show one of `LANGUAGES` from now on, in widgets that are made anew; empty: that of the desktop.

    Numbers and dates follow the language, with the customs of the desktop's country.
    """
    app = QCoreApplication.instance()
    while _installed:
        QCoreApplication.removeTranslator(_installed.pop())
    if code and app is not None:
        QLocale.setDefault(QLocale(QLocale(code).language(), QLocale.system().territory()))
    language = language_of(code)
    if language == "en":
        return
    folders = (str(resource("translations")), QLibraryInfo.path(QLibraryInfo.LibraryPath.TranslationsPath))
    for name, folder in zip((f"yardplan_{language}", f"qtbase_{language}"), folders, strict=True):
        catalog = QTranslator(app)
        if catalog.load(name, folder):
            QCoreApplication.installTranslator(catalog)
            _installed.append(catalog)
