"""The search for a plan: dispatch rules at once, then improvement until time, work or a person ends it."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from time import perf_counter

from yardplan.domain.outcome import GoalParts, Progress, SolveOutcome, Status
from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.domain.rules import Blocked, Why
from yardplan.solve.check import check
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, Manner, dispatch, without_overtime
from yardplan.solve.goal import Costing
from yardplan.solve.names import named
from yardplan.solve.reasons import blocked_orders
from yardplan.solve.stopping import Stop
from yardplan.solve.upkeep import place_upkeep
from yardplan.solve.warm import still_legal

__all__ = ["Limits", "Stop", "solve"]


@dataclass(frozen=True)
class Limits:
    """How long a search may take.

    Attributes
    ----------
    seconds : float or None
        Wall time [s]; None for no limit of this kind. At 0 only the dispatch rules are asked.
    work : float or None
        Deterministic work of the whole search, in CP-SAT's own units (about a second of one core each). With it,
        and without `seconds`, the same problem and seed give the same plan.
    workers : int
        Searches side by side, each in a process of its own where the problem is not small.
    """

    seconds: float | None
    work: float | None = None
    workers: int = 2
    seed: int = 0


class Search:
    """The best checked plan so far, and whoever wants to know of a better one."""

    def __init__(self, problem: Problem, limits: Limits, stop: Stop, on_better: Callable[[Progress], None]) -> None:
        self.began = perf_counter()
        self.problem, self.limits, self.stop, self.on_better = problem, limits, stop, on_better
        self.costing = Costing(problem)
        self.plan: Plan | None = None
        self.parts: GoalParts | None = None
        self.bound = 0
        self.work = 0.0

    @property
    def seconds(self) -> float:
        """Wall time since the search began [s]."""
        return perf_counter() - self.began

    @property
    def is_over(self) -> bool:
        """Whether time or work is used up, a person asked to stop, or no plan can be better."""
        limits = self.limits
        return (
            self.stop.is_requested
            or (limits.seconds is not None and self.seconds >= limits.seconds)
            or (limits.work is not None and self.work >= limits.work)
            or self.is_proven
        )

    @property
    def is_proven(self) -> bool:
        """Whether no plan can cost less than the best."""
        return self.parts is not None and self.parts.cost <= self.bound

    def raise_bound(self, bound: int) -> None:
        """Take a cost that no plan can go below, if it says more than what is known."""
        self.bound = max(self.bound, bound)

    def offer(self, plan: Plan) -> bool:
        """Take a plan that costs no more than the best and passes the check; tells whether it was taken."""
        parts = self.costing.parts(plan)
        if self.parts is not None and parts.cost > self.parts.cost:
            return False
        fresh = named(plan, self.problem.kept)
        if check(self.problem, fresh):
            return False
        is_better = self.parts is None or parts.cost < self.parts.cost
        self.plan, self.parts = fresh, parts
        if is_better:
            self.on_better(Progress(fresh, parts, min(self.bound, parts.cost), self.seconds))
        return True


def solve(
    problem: Problem,
    limits: Limits,
    stop: Stop,
    on_better: Callable[[Progress], None],
    start: Plan | None = None,
    *,
    alone: bool = False,
) -> SolveOutcome:
    """Search for the plan of least cost and return the best that passes `check`.

    Parameters
    ----------
    problem : Problem
        The question; it is not changed.
    limits : Limits
        When to end; with neither seconds nor work only the dispatch rules are asked.
    stop : Stop
        Ends the search early from another thread.
    on_better : callable
        Told each better checked plan, the first one at once; called in the thread that runs this.
    start : Plan or None
        A plan to begin with, such as that of a question nearly the same; what the problem forbids is dropped.
    alone : bool
        Begin with it alone, not with what the rules would lay anew, unless nothing of it can be used.

    Returns
    -------
    SolveOutcome
        `PROVEN` only if no plan can cost less; `STOPPED` whenever a person ended it; `IMPOSSIBLE` if not one cycle
        of any open order can be planned, with the reasons.
    """
    upkeep = place_upkeep(problem)

    def tell(progress: Progress) -> None:
        on_better(replace(progress, plan=replace(progress.plan, upkeep=upkeep)))

    outcome = _solve(problem.with_upkeep(upkeep), limits, stop, tell, start, alone)
    return replace(outcome, plan=replace(outcome.plan, upkeep=upkeep))


def _solve(
    problem: Problem,
    limits: Limits,
    stop: Stop,
    on_better: Callable[[Progress], None],
    start: Plan | None,
    alone: bool,
) -> SolveOutcome:
    """Search with all upkeep settled as down-times."""
    compiled = Compiled(problem)
    search = Search(problem, limits, stop, on_better)
    plan = _warmed(compiled, search, start) if alone and start is not None else None
    for manner in _manners(compiled) if plan is None else ():
        laid = dispatch(compiled, manner)
        if search.offer(laid):
            plan = laid
        if stop.is_requested:
            break
    if plan is None or search.plan is None or search.parts is None:
        return _nothing(problem, search)
    dispatched = search.parts.cost
    if start is not None and not alone:
        plan = _warmed(compiled, search, start) or plan
    blocked = blocked_orders(compiled, search.plan)
    if blocked and len(plan.cycles) == len(problem.kept.cycles):
        return _outcome(search, Status.IMPOSSIBLE, blocked)
    if limits.seconds is not None or limits.work is not None:
        from yardplan.solve.rounds import improve  # ortools takes half a second to import

        improve(compiled, search, plan, warm=start is not None)
    if stop.is_requested:
        status = Status.STOPPED
    elif search.is_proven:
        status = Status.PROVEN
    else:
        status = Status.GOOD if search.parts.cost < dispatched else Status.FALLBACK
    return _outcome(search, status, blocked_orders(compiled, search.plan))


def _warmed(compiled: Compiled, search: Search, start: Plan) -> Plan | None:
    """Offer what is still legal of a plan, then the same with its gaps filled; returns the better one if it is best."""
    legal = still_legal(search.problem, start)
    if legal is None:
        return None
    filled = (dispatch(compiled, manner, legal, mark="fill.") for manner in _manners(compiled))
    taken = [plan for plan in (legal, *filled) if search.offer(plan)]
    return taken[-1] if taken else None


def _manners(compiled: Compiled) -> tuple[Manner, ...]:
    has_overtime = any(window.overtime for windows in compiled.windows.values() for window in windows)
    return MANNERS + (tuple(without_overtime(manner) for manner in MANNERS) if has_overtime else ())


def _outcome(search: Search, status: Status, blocked: tuple[Blocked, ...]) -> SolveOutcome:
    assert search.plan is not None
    assert search.parts is not None
    bound = min(search.bound, search.parts.cost)
    return SolveOutcome(search.plan, status, search.parts, bound, blocked, search.seconds, search.limits.seed)


def _nothing(problem: Problem, search: Search) -> SolveOutcome:
    """Return the outcome where no plan passes the check: kept work breaks rules that nothing new can mend."""
    broken = check(problem, problem.kept)
    detail = broken[0].text if broken else ""
    blocked = tuple(Blocked(order.id, Why.NO_ROOM, detail) for order in problem.orders)
    search.plan, search.parts = problem.kept, search.costing.parts(problem.kept)
    return _outcome(search, Status.IMPOSSIBLE, blocked)
