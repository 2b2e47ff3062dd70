import json
import os
import subprocess
import sys
from copy import deepcopy
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from tests.small_yard import MONDAY, TZ, at, hand_made_cook, small_problem, small_yard, with_yard
from yardplan.cycle.windows import windows
from yardplan.domain.days import BayDay, PowerDay
from yardplan.domain.equipment import MoldCopy
from yardplan.domain.errors import BadFile
from yardplan.domain.outcome import GoalParts, SolveOutcome, Status, StoredPlan
from yardplan.domain.plan import Cycle, FinishJob, MoldChange, Plan
from yardplan.domain.problem import Problem
from yardplan.domain.risk import OrderRisk, PlanRisk
from yardplan.domain.rules import Blocked, Rule, Violation, Why
from yardplan.domain.slots import SlotGrid
from yardplan.domain.tables import HeatTable
from yardplan.exchange.documents import check_document, plan_document, read_plan_document, validate
from yardplan.exchange.fingerprint import fingerprint
from yardplan.exchange.heat_document import heat_document
from yardplan.exchange.plan_words import plan_words
from yardplan.exchange.risk_document import risk_document, risk_words
from yardplan.forecast.days import unit_days, yard_days
from yardplan.paths import resource

PROBLEM = small_problem()
SCHEMAS = (
    "plan",
    "heat",
    "check",
    "risk",
    "log",
    "state",
    "published",
    "replan",
    "adherence",
    "verification",
    "review",
)


def _plan(problem: Problem = PROBLEM) -> Plan:
    cycle = Cycle(
        id="C1", order_id="Y-1", product_id="TANK", color="sand", mold=MoldCopy("M1", 1), chamber_id="1A", pieces=1,
        charge_slot=110, clean_slots=3, heat_slot=118, heat_end_slot=130, cool_end_slot=137, demold_slot=139,
        end_slot=142, charge_crew=("P1", "P2"), demold_crew=("P1",), locked=True,
    )  # fmt: skip
    running = replace(cycle, id="C0", charge_slot=-20, heat_slot=-15, clean_slots=0, heat_end_slot=-3, locked=False)
    changes = (
        MoldChange("X1", "1B", MoldCopy("M2", 1), MoldCopy("M2", 2), 90, 102, ("P1", "P2")),
        MoldChange("X2", "1A", None, MoldCopy("M1", 1), 70, 82, ("P1",), True),
    )
    jobs = (FinishJob("F1", "C1", 0, "W1", "P2", 170, 174, 1 / 3),)
    return Plan(problem.grid, (cycle, running), changes, jobs)


def _stored(plan: Plan, **changes: object) -> StoredPlan:
    parts = GoalParts(10**12, 1, 2, 3, 4, 5, 6, 7, 8, 9)
    blocked = (Blocked("Y-2", Why.NO_RESIN, "PE black"),)
    outcome = SolveOutcome(plan, Status.GOOD, parts, 10**11, blocked, 1.25, 7)
    return StoredPlan(3, at(-3, 14), "Invented Person", 0.8, "hand-made sun", "ab" * 32, replace(outcome, **changes))


def _document(problem: Problem = PROBLEM) -> dict:
    return json.loads(json.dumps(plan_document(problem, _stored(_plan(problem)))))


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_schemas_are_schemas_and_strict_everywhere(name):
    schema = json.loads(resource(f"schemas/{name}.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    pending = [schema]
    while pending:
        part = pending.pop()
        if isinstance(part, dict):
            if part.get("type") == "object":
                assert part["additionalProperties"] is False
                assert sorted(part["required"]) == sorted(part["properties"])
            pending += part.values()
        elif isinstance(part, list):
            pending += part


# --- plan -----------------------------------------------------------------------------------------------------


def test_a_plan_document_follows_its_schema_and_is_read_back_equal():
    document = _document()
    validate(document, "plan")
    assert read_plan_document(document, PROBLEM) == _plan()


def test_a_plan_document_says_what_design_asks_of_a_cycle_and_an_order():
    document = _document()
    cycle = next(row for row in document["cycles"] if row["id"] == "C1")
    assert cycle["charge_start"] == "2027-05-17T09:10:00-06:00"
    assert cycle["heat_start"] == "2027-05-17T09:50:00-06:00"
    assert (cycle["unit"], cycle["mold"], cycle["copy"], cycle["clean_down_min"]) == ("U1", "M1", 1, 15)
    assert document["finishing"][0]["step_name"] == "cut"
    first, second, _ = document["orders"]
    assert first["state"] == "unfinished"
    assert first["promised"] == first["due"] == "2027-05-19T00:00:00-06:00"
    assert first["reason"] is None
    assert second["promised"] is None
    assert second["reason"] == {"why": "no_resin", "detail": "PE black"}
    assert document["objective"] == 10**12
    assert document["gap"] == pytest.approx(0.9)
    assert document["risk"] is first["on_time_chance"] is first["p80"] is None


def test_a_plan_document_tells_chances_and_dates():
    rows = (OrderRisk("Y-2", 0.25, 200, None, None), OrderRisk("Y-1", None, None, None, None))
    stored = replace(_stored(_plan()), risk=PlanRisk(20, rows, 0.5, 0.25))
    document = json.loads(json.dumps(plan_document(PROBLEM, stored)))
    validate(document, "plan")
    assert document["risk"] == {"scenarios": 20, "promised_chance": 0.5, "all_chance": 0.25}
    second = document["orders"][1]
    assert (second["on_time_chance"], second["p50"], second["p80"]) == (0.25, "2027-05-17T16:40:00-06:00", None)
    assert document["orders"][0]["on_time_chance"] is None
    assert read_plan_document(document, PROBLEM) == _plan()


def test_orders_with_a_poor_chance_are_named_in_words():
    """Y-3 is on time in the plan, but in 9 of 20 skies only; Y-1 is unfinished anyway."""
    orders = tuple(replace(order, quantity=1) if order.id == "Y-3" else order for order in PROBLEM.orders)
    made = replace(_plan().cycles[1], id="C2", order_id="Y-3", product_id="BIN", charge_slot=111)
    plan = Plan(PROBLEM.grid, (*_plan().cycles, made), (), (FinishJob("F2", "C2", 0, "W1", "P2", 180, 184, 1 / 3),))
    rows = (OrderRisk("Y-1", 0.0, None, None, None), OrderRisk("Y-3", 0.47, 600, None, None))
    stored = replace(_stored(plan), risk=PlanRisk(60, rows, 0.47, 0.47))
    told = [
        line for line in plan_words(stored, orders, PROBLEM.yard).splitlines() if "chance" in line or "skies:" in line
    ]
    assert told == [
        "  60 skies: in 9 of 20 all promised orders that are on time here stay so, in 9 of 20 the others as well",
        "  poor chance: Y-3 BIN, on time in 9 of 20 skies, promised end of Wed 19 May, "
        "in 16 of 20 skies done only after these days",
    ]
    sure = replace(stored, risk=PlanRisk(60, (OrderRisk("Y-3", 0.8, 500, 500, None),), 0.8, 0.8))
    assert "poor chance" not in plan_words(sure, orders, PROBLEM.yard)


def test_a_risk_document_follows_its_schema_and_is_told_with_the_least_chance_first():
    rows = (
        OrderRisk("Y-1", 1.0, 190, 190, 200),
        OrderRisk("Y-2", None, None, None, None),
        OrderRisk("Y-3", 0.47, 600, None, None),
    )
    document = risk_document(
        PROBLEM, _stored(_plan()), PlanRisk(60, rows, 0.47, 0.47), heat_source="hand-made sun", generated_at=at(-3, 15)
    )
    validate(document, "risk")
    told = risk_words(document, PROBLEM.grid).splitlines()
    assert [line.split()[0] for line in told[-3:]] == ["Y-3", "Y-1", "Y-2"]
    assert told[-3].split(maxsplit=1)[1].startswith("9 of 20     end of Wed 19 May")
    assert "not known" in told[-1]


@pytest.mark.parametrize("on", [date(2027, 3, 13), date(2027, 11, 6)])
def test_a_plan_over_a_change_of_the_clocks_is_read_back_equal(on):
    # America/Denver 2027: 14 March and 7 November, IANA time-zone database.
    grid = SlotGrid.of_days(on, 3, TZ)
    base = small_problem()
    cook = hand_made_cook(base.yard, grid)
    power = replace(
        base.power, grid=grid, evening_ix=np.full(grid.n_slots, -1),
        finish_kw=np.zeros((1, grid.n_slots)), charge_kwh=np.zeros((1, grid.n_slots)),
        spans=(), span_kwh=np.zeros((1, 0)),
    )  # fmt: skip
    problem = replace(base, grid=grid, cook=cook, power=power, kept=Plan(grid), now=grid.start_at)
    cycles = tuple(replace(_plan().cycles[-1], id=f"C{slot}", charge_slot=slot) for slot in range(280, 330))
    stored = _stored(Plan(grid, cycles))
    document = plan_document(problem, stored)
    offsets = {row["charge_start"][-6:] for row in document["cycles"]}
    assert offsets == {"-07:00", "-06:00"}
    assert read_plan_document(document, problem) == stored.outcome.plan


@settings(max_examples=60)
@given(data=st.data())
def test_any_plan_of_the_small_yard_is_read_back_equal(data):
    slots = st.integers(-288, PROBLEM.grid.n_slots)
    people = st.lists(st.sampled_from(["P1", "P2", "P3"]), max_size=3).map(tuple)
    copies = st.builds(MoldCopy, st.sampled_from(["M1", "M2"]), st.integers(1, 3))
    ids = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=8)
    cycles = st.builds(
        Cycle, id=ids, order_id=st.just("Y-1"), product_id=st.just("TANK"), color=st.just("sand"), mold=copies,
        chamber_id=st.sampled_from(["1A", "1B"]), pieces=st.integers(1, 9), charge_slot=slots,
        clean_slots=st.integers(0, 20), heat_slot=slots, heat_end_slot=slots, cool_end_slot=slots, demold_slot=slots,
        end_slot=slots, charge_crew=people, demold_crew=people, locked=st.booleans(),
    )  # fmt: skip
    changes = st.builds(
        MoldChange, id=ids, chamber_id=st.just("1A"), mold_out=st.none() | copies, mold_in=copies,
        start_slot=slots, end_slot=slots, crew=people, locked=st.booleans(),
    )  # fmt: skip
    cycle_rows = data.draw(st.lists(cycles, min_size=1, max_size=4, unique_by=lambda row: row.id))
    jobs = st.builds(
        FinishJob, id=ids, cycle_id=st.sampled_from([row.id for row in cycle_rows]), step_ix=st.just(0),
        bench_id=st.just("W1"), operator_id=st.just("P1"), start_slot=slots, end_slot=slots,
        kwh=st.floats(0, 100), locked=st.booleans(),
    )  # fmt: skip
    change_rows = data.draw(st.lists(changes, max_size=3, unique_by=lambda row: row.id))
    job_rows = data.draw(st.lists(jobs, max_size=3, unique_by=lambda row: row.id))
    plan = Plan(PROBLEM.grid, tuple(cycle_rows), tuple(change_rows), tuple(job_rows))
    document = json.loads(json.dumps(plan_document(PROBLEM, _stored(plan))))
    assert read_plan_document(document, PROBLEM) == plan


def _set(*path_and_value):
    *path, last, value = path_and_value

    def change(document: dict) -> None:
        for part in path:
            document = document[part]
        document[last] = value

    return change


def _drop(*path):
    def change(document: dict) -> None:
        *parts, last = path
        for part in parts:
            document = document[part]
        del document[last]

    return change


PLAN_FAULTS = {
    "between two slots": (
        _set("cycles", 1, "heat_start", "2027-05-17T09:51:00-06:00"),
        "$.cycles[1].heat_start: is 2027-05-17T09:51:00-06:00; expected a time on the grid's 5 min slots",
    ),
    "seconds off": (_set("finishing", 0, "end", "2027-05-17T14:30:01-06:00"), "$.finishing[0].end"),
    "after the grid": (
        _set("cycles", 1, "demold_end", "2027-05-20T00:05:00-06:00"),
        "$.cycles[1].demold_end: is 2027-05-20T00:05:00-06:00; expected at most 2027-05-20T00:00:00-06:00",
    ),
    "long before the grid": (_set("mold_changes", 0, "start", "2026-05-17T09:00:00-06:00"), "$.mold_changes[0].start"),
    "31 February": (_set("cycles", 0, "cool_end", "2027-02-31T09:00:00-06:00"), "$.cycles[0].cool_end"),
    "without an offset": (
        _set("cycles", 0, "cool_end", "2027-05-17T09:00:00"),
        "$.cycles[0].cool_end: '2027-05-17T09:00:00' does not match",
    ),
    "unknown field": (
        _set("cycles", 0, "shade", "sand"),
        "$.cycles[0]: Additional properties are not allowed ('shade' was unexpected)",
    ),
    "missing field": (_drop("cycles", 0, "mold"), "$.cycles[0]: 'mold' is a required property"),
    "word for a number": (_set("cycles", 0, "pieces", "1"), "$.cycles[0].pieces: '1' is not of type 'integer'"),
    "no pieces": (_set("cycles", 0, "pieces", 0), "$.cycles[0].pieces"),
    "another schema": (_set("schema", "yardplan/plan/2"), "$.schema: 'yardplan/plan/1' was expected"),
    "unknown status": (_set("status", "perfect"), "$.status"),
    "negative energy": (_set("finishing", 0, "kwh", -1), "$.finishing[0].kwh"),
    "clean-down off the slots": (
        _set("cycles", 0, "clean_down_min", 12),
        "$.cycles[0].clean_down_min: is 12; expected a multiple of 5 min",
    ),
    "chamber of another unit": (
        _set("cycles", 0, "unit", "U2"),
        "$.cycles[0].unit: is 'U2'; expected 'U1', which has 1A",
    ),
    "another step": (
        _set("finishing", 0, "step_name", "paint"),
        "$.finishing[0].step_name: is 'paint'; expected 'cut', step 1",
    ),
    "step zero": (_set("finishing", 0, "step", 0), "$.finishing[0].step: 0 is less than the minimum of 1"),
    "another grid": (_set("grid", "slots", 12), "$.grid: is {'start'"),
    "grid without a start": (_set("grid", "start", "2027-13-17T00:00:00-06:00"), "$.grid"),
    "no cycles": (_drop("cycles"), "$: 'cycles' is a required property"),
}


@pytest.mark.parametrize("fault", PLAN_FAULTS)
def test_each_fault_of_a_plan_document_is_told_with_its_json_path(fault):
    change, told = PLAN_FAULTS[fault]
    document = deepcopy(_document())
    change(document)
    with pytest.raises(BadFile) as caught:
        read_plan_document(document, PROBLEM)
    assert told in str(caught.value)


def test_all_bad_places_of_a_plan_document_are_listed():
    document = _document()
    document["cycles"][0]["heat_start"] = document["finishing"][0]["start"] = "2027-05-17T09:51:00-06:00"
    with pytest.raises(BadFile) as caught:
        read_plan_document(document, PROBLEM)
    assert len(caught.value.problems) == 2


@pytest.mark.parametrize("document", [None, [], {}, "plan", 3, {"schema": "yardplan/heat/1"}])
def test_what_is_no_plan_at_all_is_refused(document):
    with pytest.raises(BadFile, match="plan document: nothing was taken"):
        validate(document, "plan")


# --- heat -----------------------------------------------------------------------------------------------------


def _heat(problem: Problem, n_scenarios: int = 11) -> HeatTable:
    """Scenario k sends k kW in daylight; the sun stands highest at 13:00 and crosses 0 degrees at 07:00 and 19:00."""
    grid = problem.grid
    middles = [grid.local(slot) + timedelta(minutes=grid.slot_min / 2) for slot in range(grid.n_slots)]
    hours = np.array([at.hour + at.minute / 60 + at.second / 3600 for at in middles])
    elevation = 60 * np.cos((hours - 13) / 12 * np.pi)
    kw = np.where(elevation > 0, np.arange(n_scenarios)[:, None, None], 0)
    kw = np.broadcast_to(kw, (n_scenarios, len(problem.yard.units), grid.n_slots))
    sky = np.zeros((n_scenarios, grid.n_slots))
    return HeatTable(grid, problem.cook.unit_ids, kw, sky, sky, sky, sky, elevation, "hand-made sun", None, 0)


def _heat_document(problem: Problem = PROBLEM, **changes: np.ndarray) -> dict:
    heat = replace(_heat(problem), **changes)
    document = heat_document(
        heat, yard_days(problem.yard.site, heat), unit_days(heat), windows(problem.yard, problem.cook, 0.8),
        confidence=0.8, generated_at=problem.now,
    )  # fmt: skip
    validate(json.loads(json.dumps(document)), "heat")
    return document


def test_a_heat_document_follows_its_schema_and_its_figures_can_be_worked_out_by_hand():
    document = _heat_document()
    assert [day["date"] for day in document["days"]] == ["2027-05-17", "2027-05-18", "2027-05-19"]
    day = document["days"][1]
    assert day["start"] == "2027-05-18T00:00:00-06:00"
    # The upper rim shows at -0.8333 degrees: 60 sin(15 degrees/h x t) gives 3.2 min before 07:00 and after 19:00.
    assert (day["sunrise"], day["sunset"]) == ("2027-05-18T06:56-06:00", "2027-05-18T19:03-06:00")
    unit = day["units"][0]
    assert unit["unit"] == "U1"
    assert unit["kwh"] == {"p10": 12.0, "p50": 60.0, "p90": 108.0}
    assert unit["heat_kw"]["p90"][12 * 12] == 9.0
    assert len(unit["heat_kw"]["p10"]) == 288


def test_a_heat_window_runs_from_the_first_to_the_last_start_and_counts_cooks_one_after_another():
    row = _heat_document()["days"][0]["units"][0]["products"][0]
    # Starts from 09:00 to 15:30 by the hand-made table; cooks of ceil(9 (1 + ((h - 12.5) / 4)^2)) five-minute slots:
    # 09:00+80 min, 10:20+60, 11:20+50, 12:10+50, 13:00+50, 13:50+55, 14:45+65, and 15:50 is too late.
    assert (row["product"], row["mold"], row["cooks"]) == ("TANK", "M1", 7)
    assert row["window_start"] == "2027-05-17T09:00:00-06:00"
    assert row["window_end"] == "2027-05-17T15:30:00-06:00"


def test_a_day_without_a_cook_or_a_sunrise_says_so():
    dark = replace(PROBLEM.cook, cook_slots=np.zeros_like(PROBLEM.cook.cook_slots))
    night = np.full(PROBLEM.grid.n_slots, -5.0)
    day = _heat_document(replace(PROBLEM, cook=dark), elevation_deg=night)["days"][0]
    assert (day["sunrise"], day["sunset"], day["units"][0]["products"]) == (None, None, [])


def test_a_mold_that_fits_no_chamber_of_the_unit_opens_no_window():
    yard = small_yard(2)
    tight = tuple(replace(chamber, max_swing_m=1.0) for chamber in yard.units[1].chambers)
    problem = small_problem(yard=replace(yard, units=(yard.units[0], replace(yard.units[1], chambers=tight))))
    first, second = _heat_document(problem)["days"][0]["units"]
    assert [row["product"] for row in first["products"]] == ["TANK", "BIN"]
    assert second["products"] == []


def test_a_heat_document_tells_the_electricity_of_units_and_bays():
    heat, on = _heat(PROBLEM), MONDAY + timedelta(days=1)
    document = heat_document(
        heat, yard_days(PROBLEM.yard.site, heat), unit_days(heat), (),
        power_days=[
            PowerDay(on, "U1", (22.604, 31.2, 34.4), 9.771, 5.2, 23.9),
            PowerDay(MONDAY, "U1", (0, 0, 0), None, None, None),
        ],
        bay_days=[BayDay(on, "cut", ("U1", "U3"), 19.5, 10.0)],
        notes=["unit U1 keeps 1.0 kWh"], confidence=0.8, generated_at=PROBLEM.now,
    )  # fmt: skip
    validate(json.loads(json.dumps(document)), "heat")
    first, second, third = document["days"]
    assert second["units"][0]["power"] == {
        "pv_kwh": {"p10": 22.6, "p50": 31.2, "p90": 34.4},
        "evening_kwh": 9.77,
        "evening_kw": 5.2,
        "sunset_charge_kwh": 23.9,
    }
    assert first["units"][0]["power"]["evening_kwh"] is None
    assert third["units"][0]["power"] is None
    assert second["bays"] == [{"kind": "cut", "units": ["U1", "U3"], "evening_kwh": 19.5, "evening_kw": 10.0}]
    assert (first["bays"], document["notes"]) == ([], ["unit U1 keeps 1.0 kWh"])


# --- check ----------------------------------------------------------------------------------------------------


def test_a_check_document_follows_its_schema():
    found = (Violation(Rule.MOLD_ONCE, ("C1", "C2"), "M1#1 is in two places"),)
    document = check_document(found, generated_at=at(0, 8))
    validate(json.loads(json.dumps(document)), "check")
    assert document["ok"] is False
    assert document["violations"] == [{"rule": "mold_once", "jobs": ["C1", "C2"], "text": "M1#1 is in two places"}]
    assert check_document((), generated_at=at(0, 8))["ok"] is True
    with pytest.raises(BadFile, match=r"\$\.ok: 'yes' is not of type 'boolean'"):
        validate({**document, "ok": "yes"}, "check")


# --- fingerprint ----------------------------------------------------------------------------------------------


def test_equal_questions_have_equal_fingerprints():
    assert fingerprint(small_problem()) == fingerprint(small_problem())
    stored = small_problem(orders=tuple(replace(order, row_version=4) for order in PROBLEM.orders))
    assert fingerprint(stored) == fingerprint(PROBLEM)


def test_a_fingerprint_does_not_depend_on_the_run():
    # Python gives strings other hashes, and sets another order, in each run.
    code = (
        "from tests.small_yard import small_problem; from yardplan.exchange.fingerprint import fingerprint;"
        "print(fingerprint(small_problem()))"
    )
    for seed in ("1", "2"):
        run = subprocess.run(
            [sys.executable, "-c", code], cwd=Path(__file__).parents[2], env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        assert run.stdout.strip() == fingerprint(PROBLEM)


def test_any_change_of_the_question_changes_the_fingerprint():
    cook = PROBLEM.cook.cook_slots.copy()
    cook[0, 0, 0, 120] += 1
    order = PROBLEM.orders[0]
    changed = [
        replace(PROBLEM, cook=replace(PROBLEM.cook, cook_slots=cook)),
        replace(PROBLEM, now=PROBLEM.now + timedelta(minutes=5)),
        replace(PROBLEM, orders=(replace(order, quantity=5), *PROBLEM.orders[1:])),
        replace(PROBLEM, orders=PROBLEM.orders[::-1]),
        replace(PROBLEM, weights=replace(PROBLEM.weights, slack=11)),
        replace(PROBLEM, kept=replace(_plan(), mold_changes=(), finishing=())),
        with_yard(PROBLEM, colors=("sand", "black", "blue")),
        with_yard(PROBLEM, units=(replace(PROBLEM.yard.units[0], washed_on=MONDAY),)),
    ]
    assert len({fingerprint(problem) for problem in [PROBLEM, *changed]}) == len(changed) + 1
