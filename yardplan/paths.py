"""Where the shipped files and the user's own data are."""

import os
import sys
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def resource(name: str) -> Path:
    """Return the path of a shipped file, such as ``schemas/plan.schema.json``.

    A wheel carries the files inside the package; a checkout has them beside it.

    Raises
    ------
    FileNotFoundError
        If neither place has the file.
    """
    return _shipped("resources", name)


def demo_folder() -> Path:
    """Return the folder with the readable files of the invented demo yard."""
    return _shipped("demo_db", "")


def _shipped(folder: str, name: str) -> Path:
    for base in (_PACKAGE / folder, _PACKAGE.parent / folder):
        path = base / name
        if path.exists():
            return path
    raise FileNotFoundError(f"{folder}/{name} is neither in the installed package nor beside it")


def user_data_folder() -> Path:
    """Return the folder of the user's own data, by the platform's custom; it may not exist yet."""
    home = Path.home()
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", home / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME", home / ".local" / "share"))
    return base / "yardplan"


def default_database_url() -> str:
    """Return the address of the user's own SQLite database."""
    return f"sqlite:///{user_data_folder() / 'yardplan.sqlite'}"
