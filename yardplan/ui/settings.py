"""What this seat remembers: looks and habits only; whatever affects a plan is in the database."""

from dataclasses import dataclass

from PySide6.QtCore import QByteArray, QSettings

from yardplan.ui.palette import Theme


@dataclass
class SeatSettings:
    """Settings of this seat, read once and written when the window closes."""

    theme: Theme = Theme.SYSTEM
    search_s: int = 60
    hidden_rows: frozenset[str] = frozenset()
    geometry: QByteArray | None = None


def load_settings() -> SeatSettings:
    """Return this seat's settings; what is missing or unknown takes its default."""
    store = _store()
    theme = str(store.value("theme", Theme.SYSTEM.value))
    search_s = str(store.value("search_s", "60"))
    hidden = str(store.value("hidden_rows", ""))
    geometry = store.value("geometry")
    return SeatSettings(
        theme=Theme(theme) if theme in set(Theme) else Theme.SYSTEM,
        search_s=min(max(int(search_s), 1), 3600) if search_s.isdecimal() else 60,
        hidden_rows=frozenset(hidden.split()),
        geometry=geometry if isinstance(geometry, QByteArray) else None,
    )


def save_settings(settings: SeatSettings) -> None:
    """Keep this seat's settings."""
    store = _store()
    store.setValue("theme", settings.theme.value)
    store.setValue("search_s", str(settings.search_s))
    store.setValue("hidden_rows", " ".join(sorted(settings.hidden_rows)))
    if settings.geometry is not None:
        store.setValue("geometry", settings.geometry)


def _store() -> QSettings:
    return QSettings(QSettings.Format.IniFormat, QSettings.Scope.UserScope, "yardplan", "window")
