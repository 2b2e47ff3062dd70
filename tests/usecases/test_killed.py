"""Killed hard while logging and publishing: what was acknowledged is there, and no plan is half there.

A handful of times here; `python -m tests.bench.bench_killed` does it a hundred times.
"""

from pathlib import Path

from tests.killed import kill_and_look


def test_what_was_acknowledged_outlives_a_kill(tmp_path: Path) -> None:
    assert kill_and_look(tmp_path, 5) > 0
