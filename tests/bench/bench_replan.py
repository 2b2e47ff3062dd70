"""A cloudy morning on the demo yard: sun 30 % until 10:40, then a plan anew; run on demand.

    python -m tests.bench.bench_replan [--seconds 15] [--plan-seconds 60]

Prints when the first checked plan was there (the old one followed), when all ways were, how many of the jobs that need
not move each way moves, and by how much promised orders are late, beside a plan made with full freedom: the same
question without any weight on moves, searched as long as all ways together. Nothing is asserted.
"""

# ruff: noqa: T201 - figures for a person to read

import argparse
import os
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.cloudy import cloudy_morning
from yardplan.domain.problem import GoalWeights
from yardplan.solve.check import check
from yardplan.solve.run import Limits, Stop, solve
from yardplan.store.engine import open_database
from yardplan.usecases.clock import yard_now
from yardplan.usecases.demo import make_demo
from yardplan.usecases.outlook import make_outlook
from yardplan.usecases.planning import make_plan
from yardplan.usecases.publishing import publish
from yardplan.usecases.replanning import OVERTIME, replan

NOW = datetime.fromisoformat("2027-05-17T10:40-06:00")


def measure(folder: Path, seconds: float, plan_seconds: float) -> None:
    database = open_database(make_demo(folder / "demo.sqlite"))
    stop = Stop()
    outlook = make_outlook(database, now=yard_now(database))
    stored = make_plan(database, outlook, Limits(plan_seconds), stop, lambda progress: None, made_by="bench")
    publish(database, stored.number, by="bench", now=yard_now(database))
    count = cloudy_morning(database, stored.outcome.plan, NOW, folder / "sun.csv")
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}; {count} entries logged before {NOW:%H:%M}")
    found = replan(database, now=NOW, by="bench", seconds=seconds)
    print(
        f"load {os.getloadavg()[0]:.1f}; first checked plan after {found.first_s:.1f} s, "
        f"all ways after {found.seconds:.1f} s"
    )
    for text in found.told:
        print(f"  {text}")
    question = replace(found.problem, before=None, weights=GoalWeights())
    free = solve(question, Limits(seconds), stop, lambda progress: None, found.ways[0].plan)
    for way in found.ways:
        broken = [] if way.name == OVERTIME else check(found.problem, way.plan)
        print(
            f"  {way.name} (plan {way.number}): moves {way.moved} of {way.untouched} "
            f"({way.moved / max(way.untouched, 1):.0%}), promised late {way.parts.promised_late_slots} slots, others "
            f"{way.parts.other_late_slots}, missing {way.parts.missing_thousandths}, breaks {len(broken)} rules"
        )
    print(f"  full freedom: promised late {free.parts.promised_late_slots}, others {free.parts.other_late_slots}")
    database.close()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=15.0)
    parser.add_argument("--plan-seconds", type=float, default=60.0)
    options = parser.parse_args()
    with TemporaryDirectory() as folder:
        measure(Path(folder), options.seconds, options.plan_seconds)


if __name__ == "__main__":
    main()
