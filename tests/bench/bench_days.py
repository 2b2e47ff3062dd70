"""Plans anew after many random legal days; run on demand.

    python -m tests.bench.bench_days [--days 500]

Each plan must keep all rules and all work that is done or runs; it fails loudly otherwise.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
from time import perf_counter

from tests.solve.test_replanning import replanned_after


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--days", type=int, default=500)
    options = parser.parse_args()
    began = perf_counter()
    for seed in range(options.days):
        replanned_after(seed)
    print(f"{options.days} days, each planned anew and checked, in {perf_counter() - began:.0f} s: no rule broken")


if __name__ == "__main__":
    main()
