"""The rounds of a search: workers improve the best plan side by side, a bound is raised beside them."""

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

from yardplan.domain.plan import Plan
from yardplan.solve.bound import lower_bound
from yardplan.solve.compiled import Compiled
from yardplan.solve.improve import merged
from yardplan.solve.pools import Pools
from yardplan.solve.team import Team, Turn
from yardplan.solve.whole import is_small, solve_whole

if TYPE_CHECKING:  # it asks for the rounds
    from yardplan.solve.run import Limits, Search

OPENING_SHARE = 0.15
"""Share of its time or work that each worker lays plans all anew for before it improves the best of them."""

ROUND_SECONDS, ROUND_WORK = 2.0, 1.0
"""How long the workers search before they tell what they found, by the clock or by work."""

ROUNDS_APART = 8
"""After so many rounds the workers go on together from the best plan; meanwhile each follows its own."""

BOUND_SHARE = 0.2
"""Share of the time after which no more is done for a higher bound; it takes a part of one core meanwhile."""

WARM_UP_ROUNDS = 1
"""Rounds in parts before a small problem is solved as a whole."""

WHOLE_SHARE = 0.7
"""Share of the time or work left that solving as a whole may take."""


def improve(compiled: Compiled, search: "Search", plan: Plan, *, warm: bool) -> None:
    """Search on until the search is over: a small problem as a whole once some rounds in parts have helped it along."""
    limits, pools, small = search.limits, Pools(compiled), is_small(compiled)
    bound = _Bound(compiled, search, aside=limits.seconds is not None and not small)
    # To start a process takes about as long as a few rounds on a small problem.
    team = Team(
        search.problem, compiled, search.stop, limits.seed, limits.workers, timed=limits.seconds is not None,
        apart=not small and limits.workers > 1, opening=0.0 if small or warm else _opening(limits),
    )  # fmt: skip
    rounds = 0
    with team, bound:
        while not search.is_over:
            if small and rounds == WARM_UP_ROUNDS:
                plan = _whole(compiled, pools, search, plan)
            together = small or rounds % ROUNDS_APART == 0
            plan = _round(team, pools, search, plan, together=together)
            rounds += 1
            bound.look()


def _opening(limits: "Limits") -> float:
    if limits.seconds is not None:
        return OPENING_SHARE * limits.seconds
    return OPENING_SHARE * (limits.work or 0.0) / limits.workers


class _Bound:
    """The lower bound, worked out beside the search where the time is measured; else before it, as it may end it."""

    def __init__(self, compiled: Compiled, search: "Search", *, aside: bool) -> None:
        self.search, self.aside, self.is_over = search, aside, False
        self.until = 0.0 if search.limits.seconds is None else search.seconds + BOUND_SHARE * search.limits.seconds
        self.executor = ThreadPoolExecutor(1)
        self.future = self.executor.submit(lower_bound, compiled, self._ends)
        if not aside:
            search.raise_bound(self.future.result())

    def look(self) -> None:
        """Take the bound if it is there."""
        if self.future.done():
            self.search.raise_bound(self.future.result())

    def __enter__(self) -> "_Bound":
        return self

    def __exit__(self, *_: object) -> None:
        self.is_over = True
        self.search.raise_bound(self.future.result())
        self.executor.shutdown()

    def _ends(self) -> bool:
        late = self.aside and (self.is_over or self.search.seconds > self.until)
        return late or self.search.stop.is_requested


def _round(team: Team, pools: Pools, search: "Search", plan: Plan, *, together: bool) -> Plan:
    """Let the workers search on, each from where it was or together from one plan; returns the best plan.

    Where they began together, what the others found is added to the best as far as it fits in.
    """
    limits = search.limits
    seconds = None if limits.seconds is None else min(ROUND_SECONDS, limits.seconds - search.seconds)
    work = ROUND_WORK if limits.work is None else min(ROUND_WORK, (limits.work - search.work) / limits.workers)
    stints = sorted(team.turn(Turn(plan, together, seconds, work)), key=lambda stint: stint.cost)
    search.work += sum(stint.work for stint in stints)
    now = plan
    for stint in stints:
        if now is plan and stint.plan is not plan and search.offer(stint.plan):
            now = stint.plan
        elif now is not plan and together:
            both = merged(pools, plan, now, stint.plan)
            if both is not None and search.offer(both):
                now = both
    return now


def _whole(compiled: Compiled, pools: Pools, search: "Search", plan: Plan) -> Plan:
    """Give the solver the whole problem for a good part of what time or work is left."""
    limits = search.limits
    with ThreadPoolExecutor(1) as executor:
        running = executor.submit(
            solve_whole,
            compiled,
            pools,
            plan,
            search.stop,
            seconds=None if limits.seconds is None else WHOLE_SHARE * (limits.seconds - search.seconds),
            work=None if limits.work is None else WHOLE_SHARE * (limits.work - search.work),
            workers=limits.workers,
            seed=limits.seed,
        )
        search.stop.wait([running])
        result = running.result()
    search.work += result.work
    better = result.plan is not None and search.offer(result.plan)
    if not compiled.rests.is_on:  # the model asks for a little more rest than the rule does
        search.raise_bound(result.bound)
    return result.plan if better and result.plan is not None else plan
