"""The search for a plan: dispatch rules at once, then improvement until time, work or a person ends it."""

from collections.abc import Callable
from dataclasses import dataclass
from threading import Event, Lock
from time import perf_counter
from typing import Protocol

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
        Sub-problems solved at once.
    """

    seconds: float | None
    work: float | None = None
    workers: int = 2
    seed: int = 0


class Stoppable(Protocol):
    """What can be told to end early: a CP-SAT solver."""

    def stop_search(self) -> None:
        """End as soon as possible."""


class Stop:
    """How a person ends a search from another thread; it may be asked for at any time and more than once."""

    def __init__(self) -> None:
        self._requested = Event()
        self._running: set[Stoppable] = set()
        self._lock = Lock()

    @property
    def is_requested(self) -> bool:
        """Whether a stop was asked for."""
        return self._requested.is_set()

    def request(self) -> None:
        """Ask the search to end; it returns its best checked plan."""
        self._requested.set()
        with self._lock:
            for solver in self._running:
                solver.stop_search()

    def watch(self, solver: Stoppable) -> None:
        """Have a solver told of requests from now on."""
        with self._lock:
            self._running.add(solver)

    def release(self, solver: Stoppable) -> None:
        """Forget a solver that has ended."""
        with self._lock:
            self._running.discard(solver)


class Search:
    """The best checked plan so far, and whoever wants to know of a better one."""

    def __init__(self, problem: Problem, on_better: Callable[[Progress], None]) -> None:
        self.began = perf_counter()
        self.problem, self.on_better = problem, on_better
        self.costing = Costing(problem)
        self.plan: Plan | None = None
        self.parts: GoalParts | None = None
        self.bound = 0

    @property
    def seconds(self) -> float:
        """Wall time since the search began [s]."""
        return perf_counter() - self.began

    def offer(self, plan: Plan) -> bool:
        """Take a plan if it costs less than the best and passes the check; tells whether it was taken."""
        parts = self.costing.parts(plan)
        if self.parts is not None and parts.cost >= self.parts.cost:
            return False
        plan = named(plan, self.problem.kept)
        if check(self.problem, plan):
            return False
        self.plan, self.parts = plan, parts
        self.on_better(Progress(plan, parts, min(self.bound, parts.cost), self.seconds))
        return True


def solve(problem: Problem, limits: Limits, stop: Stop, on_better: Callable[[Progress], None]) -> SolveOutcome:
    """Search for the plan of least cost and return the best that passes `check`.

    Parameters
    ----------
    problem : Problem
        The question; it is not changed.
    limits : Limits
        When to end.
    stop : Stop
        Ends the search early from another thread.
    on_better : callable
        Told each better checked plan, the first one at once; called in the thread that runs this.

    Returns
    -------
    SolveOutcome
        `PROVEN` only if no plan can cost less; `STOPPED` whenever a person ended it; `IMPOSSIBLE` if not one cycle
        of any open order can be planned, with the reasons.
    """
    compiled = Compiled(problem)
    search = Search(problem, on_better)
    for manner in _manners(compiled):
        search.offer(dispatch(compiled, manner))
        if stop.is_requested:
            break
    if search.plan is None or search.parts is None:
        return _nothing(problem, search, limits)
    blocked = blocked_orders(compiled, search.plan)
    status = Status.STOPPED if stop.is_requested else Status.FALLBACK
    if blocked and len(search.plan.cycles) == len(problem.kept.cycles):
        status = Status.IMPOSSIBLE
    return SolveOutcome(
        search.plan, status, search.parts, min(search.bound, search.parts.cost), blocked, search.seconds, limits.seed
    )


def _manners(compiled: Compiled) -> tuple[Manner, ...]:
    has_overtime = any(window.overtime for windows in compiled.windows.values() for window in windows)
    return MANNERS + (tuple(without_overtime(manner) for manner in MANNERS) if has_overtime else ())


def _nothing(problem: Problem, search: Search, limits: Limits) -> SolveOutcome:
    """Return the outcome where no plan passes the check: kept work breaks rules that nothing new can mend."""
    broken = check(problem, problem.kept)
    detail = broken[0].text if broken else ""
    blocked = tuple(Blocked(order.id, Why.NO_ROOM, detail) for order in problem.orders)
    parts = search.costing.parts(problem.kept)
    return SolveOutcome(problem.kept, Status.IMPOSSIBLE, parts, 0, blocked, search.seconds, limits.seed)
