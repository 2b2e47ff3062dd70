"""Workers of a search: in processes or not they find the same, and none is left behind."""

from multiprocessing import active_children
from threading import Timer
from time import perf_counter

import pytest

from tests.bench.weeks import week
from yardplan.solve.compiled import Compiled
from yardplan.solve.dispatch import MANNERS, dispatch
from yardplan.solve.stopping import Stop
from yardplan.solve.team import Team, Turn


@pytest.fixture(scope="module")
def compiled() -> Compiled:
    return Compiled(week(1, n_units=2, days=2))


def test_workers_in_processes_find_what_they_find_one_after_the_other(compiled):
    plan = dispatch(compiled, MANNERS[0])
    found = []
    for apart in (False, True):
        with Team(compiled.problem, compiled, Stop(), 7, 2, timed=False, apart=apart) as team:
            first = team.turn(Turn(plan, True, None, 0.3))
            apart_again = team.turn(Turn(plan, False, None, 0.3))
            found.append((first, apart_again, team.turn(Turn(first[1].plan, True, None, 0.3))))
    assert found[0] == found[1]
    assert found[0][0][0] != found[0][0][1]  # each worker has its own seed
    assert not active_children()


@pytest.mark.parametrize("delay_s", [0.0, 0.4, 1.5])
def test_a_stop_ends_a_turn_at_once_and_leaves_no_process(compiled, delay_s):
    stop = Stop()
    timer = Timer(delay_s, stop.request)
    timer.start()
    with Team(compiled.problem, compiled, stop, 1, 2, timed=True, apart=True) as team:
        began = perf_counter()
        team.turn(Turn(dispatch(compiled, MANNERS[0]), True, 60.0, 60.0))
        assert perf_counter() - began < 30  # far from the minute that was asked for
    timer.join()
    assert not active_children()


def test_the_search_goes_on_when_its_processes_are_ended_from_outside(compiled):
    plan = dispatch(compiled, MANNERS[0])
    with Team(compiled.problem, compiled, Stop(), 1, 2, timed=False, apart=True) as team:
        for process in team.far.values():
            process.terminate()
            process.join()
        assert team.turn(Turn(plan, True, None, 0.1)) == []
        assert len(team.turn(Turn(plan, True, None, 0.1))) == 1
    assert not active_children()
