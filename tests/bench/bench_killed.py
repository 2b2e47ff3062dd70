"""A seat is killed hard at random moments while it logs and publishes; run on demand.

    python -m tests.bench.bench_killed [--times 100] [--seed 0]

Every acknowledged entry and publication must be there afterward, and every plan whole; it fails loudly otherwise.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.killed import kill_and_look


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=int, default=100)
    parser.add_argument("--seed", type=int, default=0)
    options = parser.parse_args()
    with TemporaryDirectory() as folder:
        kept = kill_and_look(Path(folder), options.times, options.seed)
    print(f"killed {options.times} times: {kept} entries, plans and publications were acknowledged, all are there")


if __name__ == "__main__":
    main()
