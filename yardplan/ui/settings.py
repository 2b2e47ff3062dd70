"""What this seat remembers: looks, language, units and habits; whatever affects a plan is in the database."""

import getpass
from dataclasses import dataclass

from PySide6.QtCore import QByteArray, QSettings

from yardplan.ui.palette import Theme
from yardplan.ui.units import Units


@dataclass
class SeatSettings:
    """Settings of this seat, read once and written when the window closes.

    Attributes
    ----------
    language : str
        Code of the language such as ``es``; empty: that of the desktop.
    person : str
        Who sits here; empty: as the machine knows them.
    guided : bool
        Whether the first steps need not be shown any more.
    """

    theme: Theme = Theme.SYSTEM
    search_s: int = 60
    hidden_rows: frozenset[str] = frozenset()
    geometry: QByteArray | None = None
    language: str = ""
    units: Units = Units.REGION
    person: str = ""
    guided: bool = False


def load_settings() -> SeatSettings:
    """Return this seat's settings; what is missing or unknown takes its default."""
    store = _store()
    theme, units = str(store.value("theme", "")), str(store.value("units", ""))
    search_s = str(store.value("search_s", "60"))
    hidden = str(store.value("hidden_rows", ""))
    geometry = store.value("geometry")
    return SeatSettings(
        theme=Theme(theme) if theme in set(Theme) else Theme.SYSTEM,
        search_s=min(max(int(search_s), 1), 3600) if search_s.isdecimal() else 60,
        hidden_rows=frozenset(hidden.split()),
        geometry=geometry if isinstance(geometry, QByteArray) else None,
        language=str(store.value("language", "")),
        units=Units(units) if units in set(Units) else Units.REGION,
        person=str(store.value("person", "")),
        guided=str(store.value("guided", "")) == "yes",
    )


def save_settings(settings: SeatSettings) -> None:
    """Keep this seat's settings."""
    store = _store()
    for name in ("theme", "units", "language", "person"):
        store.setValue(name, str(getattr(settings, name)))
    store.setValue("search_s", str(settings.search_s))
    store.setValue("hidden_rows", " ".join(sorted(settings.hidden_rows)))
    store.setValue("guided", "yes" if settings.guided else "no")
    if settings.geometry is not None:
        store.setValue("geometry", settings.geometry)


def machine_person() -> str:
    """Return the name of the person at this seat as the machine knows it."""
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # a container may know no name for its user
        return "unknown"


def seat_person() -> str:
    """Return the name of the person at this seat."""
    return str(_store().value("person", "")) or machine_person()


def _store() -> QSettings:
    return QSettings(QSettings.Format.IniFormat, QSettings.Scope.UserScope, "yardplan", "window")
