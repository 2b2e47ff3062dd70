"""The jobs that need no screen. Each prints plain words, or one JSON document with ``--json``.

Exit status: 0 good, 1 the job says no (a broken rule, nothing could be planned), 2 bad input.
"""

# Each module adds its commands to the program when it is imported; the order is that of the help page.
from yardplan.cli import day, editing, files, planning, questions, reviewing, sales, screen, sun, units, yard
from yardplan.cli.asking import app

__all__ = [
    "app",
    "day",
    "editing",
    "files",
    "planning",
    "questions",
    "reviewing",
    "sales",
    "screen",
    "sun",
    "units",
    "yard",
]
