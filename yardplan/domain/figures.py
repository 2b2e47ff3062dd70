"""Works out the figures and tables of a review from what was planned, logged and measured."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import isfinite

from yardplan.domain.adherence import Adherence
from yardplan.domain.calibration import Calibrated
from yardplan.domain.heat_use import HeatLedger, HeatTo, PastSun, overlap
from yardplan.domain.made import Cause, InForce, Made, Start
from yardplan.domain.review import CARDS, Figure, Review, Table
from yardplan.domain.slots import zone
from yardplan.domain.verification import LeadScores, Verified
from yardplan.domain.yard import Yard

DAY_AHEAD_H = 24.0
"""The forecast is judged by the span of lead that begins here."""


Row = tuple[str | float, ...]


@dataclass(frozen=True, eq=False)
class Facts:
    """All that a review is worked out from.

    `heat` and `sun` are None where no sun was measured; `adherence` is that of the plan in force, None without one;
    `is_part` where what the log teaches is still to come.
    """

    yard: Yard
    start_at: datetime
    end_at: datetime
    plans: tuple[InForce, ...]
    cycles: tuple[Made, ...]
    starts: tuple[Start, ...]
    sun: PastSun | None
    heat: HeatLedger | None
    calibrated: Calibrated | None
    verified: Verified | None
    adherence: Adherence | None = None
    is_part: bool = False


NO_PLAN, NO_CYCLE, NO_SUN = "no plan was in force", "no cycle was made", "no sun was measured"
NO_DARK_WORK, NO_OUTLOOK, NO_FIT = "no bench worked in the dark", "no outlook was met by measured sun", "nothing to fit"
STILL_FITTED = "still being worked out"


def review(facts: Facts) -> Review:
    """Return figures and tables of a time."""
    out = [one for one in facts.cycles if one.demolded_at and facts.start_at <= one.demolded_at <= facts.end_at]
    figures = (*_plan_figures(facts, out), *_chamber_figures(facts), *_piece_figures(facts, out))
    figures += (*_heat_figures(facts), _evening_figure(facts), *_forecast_figures(facts), _fit_figure(facts))
    tz = zone(facts.yard.site.tz)
    tables = (
        _heat_table(facts),
        _pieces_table(facts, out),
        _shares_table("units", "unit", facts),
        _shares_table("orders", "order", facts),
        _causes_table(facts),
        _losses_table(out),
        _battery_table(facts),
        _forecast_table(facts),
        _molds_table(facts),
    )
    by_id = {figure.card.id: figure for figure in figures}
    return Review(
        facts.yard.site.tz,
        facts.start_at.astimezone(tz).date(),
        facts.start_at,
        facts.end_at,
        tuple(by_id[ident] for ident in CARDS),
        {table.id: table for table in tables},
        facts.calibrated,
        facts.verified,
        facts.is_part,
    )


def _ratio(
    facts: Facts, ident: str, over: tuple[str, float], under: tuple[str, float], missing: str, *more: tuple[str, float]
) -> Figure:
    value = over[1] / under[1] if under[1] else None
    note = "" if under[1] else missing
    return Figure(CARDS[ident], value, (over, under, *more), facts.start_at, facts.end_at, note)


def _hours(spans: Iterable[tuple[datetime, datetime]], start_at: datetime, end_at: datetime) -> float:
    """Return the hours of spans that lie in a time."""
    inside = (min(end, end_at) - max(start, start_at) for start, end in spans)
    return sum((max(length, timedelta(0)) for length in inside), timedelta(0)) / timedelta(hours=1)


# Planned against made


def _plan_figures(facts: Facts, out: Sequence[Made]) -> tuple[Figure, ...]:
    since_at = min((force.from_at for force in facts.plans), default=facts.end_at)
    made = [one for one in out if one.demolded_at and one.demolded_at >= since_at]
    planned_h = sum(
        _hours(
            [(force.plan.grid.at(row.charge_slot), force.plan.grid.at(row.end_slot)) for row in force.plan.cycles],
            force.from_at,
            min(force.until_at, facts.end_at),
        )
        for force in facts.plans
    )
    busy = [(one.charged_at, one.demolded_at or facts.end_at) for one in facts.cycles]
    in_time = ("begun in time", sum(start.cause is None for start in facts.starts))
    causes = [(str(cause), count) for cause, count in _causes(facts).items()]
    good = ("good pieces", sum(one.good for one in made))
    planned = ("planned pieces", sum(sum(day.values()) for day in _planned_pieces(facts).values()))
    busy_h = ("hours busy", _hours(busy, since_at, facts.end_at))
    return (
        _ratio(facts, "starts_in_time", in_time, ("planned starts", len(facts.starts)), NO_PLAN, *causes),
        _ratio(facts, "pieces_made", good, planned, NO_PLAN),
        _ratio(facts, "allocation_efficiency", busy_h, ("planned hours", planned_h), NO_PLAN),
    )


def _causes(facts: Facts) -> dict[Cause, int]:
    counts = Counter(start.cause for start in facts.starts if start.cause is not None)
    return {cause: counts[cause] for cause in Cause if counts[cause]}


def _planned_pieces(facts: Facts) -> dict[date, dict[str, int]]:
    """Return the pieces that the plans in force had demolded, by local day and order."""
    tz = zone(facts.yard.site.tz)
    found: dict[date, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for force in facts.plans:
        for row in force.plan.cycles:
            end_at = force.plan.grid.at(row.end_slot)
            if force.from_at <= end_at < min(force.until_at, facts.end_at):
                found[end_at.astimezone(tz).date()][row.order_id] += row.pieces
    return found


def _chamber_figures(facts: Facts) -> tuple[Figure, ...]:
    begun = [one for one in facts.cycles if one.heats]

    def hours(spans: Callable[[Made], list[tuple[datetime, datetime]]]) -> float:
        return _hours((span for one in begun for span in spans(one)), facts.start_at, facts.end_at)

    def worked(one: Made) -> list[tuple[datetime, datetime]]:
        return [*one.heats, (one.heats[-1][1], one.demolded_at or facts.end_at)]

    charging = {product.id: timedelta(minutes=product.charge_min) for product in facts.yard.products}

    def charged(one: Made) -> list[tuple[datetime, datetime]]:
        return [(one.charged_at, min(one.heats[0][0], one.charged_at + charging.get(one.product_id, timedelta(0))))]

    setup_h = hours(charged)
    working = ("hours of heating and cooling", hours(worked))
    busy = ("hours busy", hours(lambda one: [(one.charged_at, one.demolded_at or facts.end_at)]))
    setup, both = ("hours of charging", setup_h), ("all hours", setup_h + working[1])
    return (
        _ratio(facts, "utilization_efficiency", working, busy, NO_CYCLE),
        _ratio(facts, "setup_ratio", setup, both, NO_CYCLE, working),
    )


# Pieces


def _piece_figures(facts: Facts, out: Sequence[Made]) -> tuple[Figure, ...]:
    good, scrapped, rework = (sum(getattr(one, name) for one in out) for name in ("good", "scrapped", "rework"))
    pieces = ("pieces", good + scrapped + rework)
    return (
        _ratio(facts, "first_pass_yield", ("good pieces", good), pieces, NO_CYCLE),
        _ratio(facts, "scrap_ratio", ("scrapped pieces", scrapped), pieces, NO_CYCLE),
        _ratio(facts, "rework_ratio", ("pieces to rework", rework), pieces, NO_CYCLE),
    )


# Heat and electricity


def _heat_figures(facts: Facts) -> tuple[Figure, ...]:
    if facts.heat is None or facts.sun is None:
        names = ("heat_use", "heat_per_kg")
        return tuple(Figure(CARDS[name], None, (), facts.start_at, facts.end_at, NO_SUN) for name in names)
    shot_kg = {product.id: product.shot_kg for product in facts.yard.products}
    weighed = [one for one in facts.heat.cooks if one.cycle.demolded_at and one.cycle.product_id in shot_kg]
    good, *others = [(f"kWh {to}", facts.heat.total_kwh(to)) for to in HeatTo]
    usable = ("usable kWh", facts.heat.usable_kwh)
    measured = ("share of the light measured", facts.sun.measured_frac)
    absorbed = ("absorbed kWh", sum(one.absorbed_kwh for one in weighed))
    kg = ("good kg", sum(one.cycle.good * shot_kg[one.cycle.product_id] for one in weighed))
    return (
        _ratio(facts, "heat_use", good, usable, NO_SUN, *others, measured),
        _ratio(facts, "heat_per_kg", absorbed, kg, NO_CYCLE, ("cycles", len(weighed))),
    )


def _evenings(facts: Facts) -> dict[tuple[date, str], tuple[float, float]]:
    """Return what benches drew in the dark and what the plans in force had [kWh], by the evening's day and unit."""
    if facts.sun is None:
        return {}
    grid, yard = facts.sun.grid, facts.yard
    benches = {bench.id: bench.unit_id for bench in yard.benches}
    routing = {product.id: product.routing for product in yard.products}
    found: dict[tuple[date, str], list[float]] = defaultdict(lambda: [0.0, 0.0])
    # a night belongs to the day before it: half a day back, its slots lie on that day
    half_day = 12 * 60 // grid.slot_min
    days = [(on, first + half_day, after + half_day) for on, first, after in grid.days]
    dark_h = overlap(grid, facts.start_at, facts.end_at) * facts.sun.is_dark * grid.slot_min / 60

    def add(column: int, unit_id: str, span: tuple[datetime, datetime], kw: float) -> None:
        kwh = overlap(grid, *span) * dark_h * kw
        for on, first, after in days:
            if (drawn := float(kwh[first:after].sum())) > 0:
                found[on, unit_id][column] += drawn

    for one in facts.cycles:
        for step in one.steps:
            steps = routing.get(one.product_id, ())
            if step.bench_id in benches and step.step_ix < len(steps):
                takes = timedelta(minutes=steps[step.step_ix].minutes)  # of one whose end nobody has logged yet
                span = (step.started_at, step.done_at or min(step.started_at + takes, facts.end_at))
                add(0, benches[step.bench_id], span, steps[step.step_ix].power_kw)
    for force in facts.plans:
        for job in force.plan.finishing:
            start_at, end_at = force.plan.grid.at(job.start_slot), force.plan.grid.at(job.end_slot)
            if force.from_at <= start_at < force.until_at and job.bench_id in benches:
                kw = job.kwh / ((end_at - start_at) / timedelta(hours=1))
                add(1, benches[job.bench_id], (start_at, end_at), kw)
    return {key: (drawn, planned) for key, (drawn, planned) in sorted(found.items())}


def _evening_figure(facts: Facts) -> Figure:
    evenings = _evenings(facts)
    room = {unit.id: unit.battery_kwh - unit.reserve_kwh for unit in facts.yard.units}
    drawn = {key: kwh for key, (kwh, _) in evenings.items() if kwh}
    in_dark = ("kWh in the dark", sum(drawn.values()))
    held = ("kWh above the reserve", sum(room[unit_id] for _, unit_id in drawn))
    planned_kwh = ("planned kWh in the dark", sum(planned for _, planned in evenings.values()))
    return _ratio(facts, "evening_energy", in_dark, held, NO_DARK_WORK, planned_kwh)


# What is known of the sky and the molds


def _day_ahead(facts: Facts) -> LeadScores | None:
    leads = facts.verified.scores.leads if facts.verified else ()
    return next((one for one in leads if one.lead_h[0] == DAY_AHEAD_H), None)


def _forecast_figures(facts: Facts) -> tuple[Figure, ...]:
    one = _day_ahead(facts)
    names = ("forecast_in_band", "forecast_skill")
    if one is None:
        return tuple(Figure(CARDS[name], None, (), facts.start_at, facts.end_at, NO_OUTLOOK) for name in names)
    counts = (("hours", float(one.hours)), ("days", float(one.days)))
    note = "" if one.enough else "too few days to judge by"
    values = (one.in_band_frac, one.skill_climate if isfinite(one.skill_climate) else None)
    return tuple(
        Figure(CARDS[name], value, counts, facts.start_at, facts.end_at, note)
        for name, value in zip(names, values, strict=True)
    )


def _fit_figure(facts: Facts) -> Figure:
    found = facts.calibrated
    if found is None:
        note = STILL_FITTED if facts.is_part else NO_FIT
        return Figure(CARDS["fit_error"], None, (), facts.start_at, facts.end_at, note)
    counts = (
        ("cycles", found.n_cycles),
        ("outliers", found.n_outliers),
        ("left out", sum(count for _, count in found.left_out)),
        ("warnings", len(found.drifts)),
    )
    return Figure(CARDS["fit_error"], found.residual_min, counts, facts.start_at, facts.end_at)


# Tables


def _heat_table(facts: Facts) -> Table:
    days = facts.heat.days if facts.heat else {}
    rows: list[Row] = [(str(on), *(round(day[to], 2) for to in HeatTo)) for on, day in sorted(days.items())]
    return Table("heat", ("day", *(f"{to}_kwh" for to in HeatTo)), tuple(rows))


def _pieces_table(facts: Facts, out: Sequence[Made]) -> Table:
    tz = zone(facts.yard.site.tz)
    planned = {on: sum(orders.values()) for on, orders in _planned_pieces(facts).items()}
    made: dict[date, list[int]] = defaultdict(lambda: [0, 0, 0])
    for one in out:
        on = (one.demolded_at or facts.end_at).astimezone(tz).date()
        for ix, count in enumerate((one.good, one.rework, one.scrapped)):
            made[on][ix] += count
    rows: list[Row] = [(str(on), planned.get(on, 0), *made[on]) for on in sorted({*planned, *made})]
    return Table("pieces", ("day", "planned", "good", "rework", "scrapped"), tuple(rows))


def _shares_table(ident: str, column: str, facts: Facts) -> Table:
    shares = getattr(facts.adherence, ident) if facts.adherence else {}
    names = ("planned_cycles", "made_cycles", "as_planned", "planned_pieces", "good", "scrapped", "rework")
    rows: list[Row] = [(name, *(getattr(share, each) for each in names)) for name, share in shares.items()]
    return Table(ident, (column, *names), tuple(rows))


def _causes_table(facts: Facts) -> Table:
    return Table("causes", ("cause", "starts"), tuple((str(cause), count) for cause, count in _causes(facts).items()))


def _losses_table(out: Sequence[Made]) -> Table:
    found: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    for one in out:
        if one.scrapped or one.rework:
            counts = found[one.reason or "no reason told"]
            counts[0] += one.scrapped
            counts[1] += one.rework
    rows = sorted(found.items(), key=lambda row: (-sum(row[1]), row[0]))
    return Table("losses", ("reason", "scrapped", "rework"), tuple((reason, *counts) for reason, counts in rows))


def _battery_table(facts: Facts) -> Table:
    by_day: dict[date, list[float]] = defaultdict(lambda: [0.0, 0.0])
    for (on, _), (drawn, planned) in _evenings(facts).items():
        by_day[on][0] += drawn
        by_day[on][1] += planned
    room_kwh = sum(unit.battery_kwh - unit.reserve_kwh for unit in facts.yard.units)
    rows = tuple(
        (str(on), round(drawn, 2), round(planned, 2), round(room_kwh, 2))
        for on, (drawn, planned) in sorted(by_day.items())
    )
    return Table("battery", ("day", "drawn_kwh", "planned_kwh", "above_reserve_kwh"), rows)


def _forecast_table(facts: Facts) -> Table:
    leads = facts.verified.scores.leads if facts.verified else ()
    columns = ("from_h", "to_h", "days", "in_band_frac", "band_low_frac", "band_high_frac", "skill_frac", "bias_w_m2")
    rows = tuple(
        (
            *one.lead_h,
            one.days,
            round(one.in_band_frac, 4),
            *(round(share, 4) for share in one.in_band_by_chance),
            round(one.skill_climate, 4) if isfinite(one.skill_climate) else "",
            round(one.bias_w_m2, 1),
        )
        for one in leads
    )
    return Table("forecast", columns, rows)


def _molds_table(facts: Facts) -> Table:
    found = facts.calibrated.calibrations if facts.calibrated else ()
    rows = tuple(
        (one.unit_id, one.mold_id, one.heat_factor, one.spread_frac, one.loss_factor, one.n_cycles, one.residual_min)
        for one in found
        if one.n_cycles
    )
    columns = ("unit", "mold", "heat_factor", "spread_frac", "loss_factor", "cycles", "residual_min")
    return Table("molds", columns, rows)
