"""Workers that search side by side: each in a process of its own, or one in this thread where that is not worth it."""

import contextlib
import pickle
from collections.abc import Sequence
from dataclasses import dataclass, replace
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from yardplan.domain.plan import Plan
from yardplan.domain.problem import Problem
from yardplan.solve.compiled import Compiled
from yardplan.solve.improve import Improver, Stint
from yardplan.solve.stopping import Stop


@dataclass(frozen=True)
class Turn:
    """What each worker does next: search on for so long, by the clock or by deterministic work.

    Together all go on from `plan`, else each from where it was.
    """

    plan: Plan
    together: bool
    seconds: float | None
    work: float


class Team:
    """The workers of a search; leave it as a context manager, so that no process stays behind.

    Parameters
    ----------
    workers : int
        How many; their seeds follow from `seed`, so that the same team finds the same plans where time is not measured.
    apart : bool
        Whether each has a process; else they work one after the other in the thread that asks.
    opening : float
        Work that each spends on laying plans all anew to begin with; see `Improver`.
    """

    def __init__(
        self,
        problem: Problem,
        compiled: Compiled,
        stop: Stop,
        seed: int,
        workers: int,
        *,
        timed: bool,
        apart: bool,
        opening: float = 0.0,
    ) -> None:
        self.compiled, self.stop, self.seed, self.timed = compiled, stop, seed, timed
        self.near: list[Improver] = []
        self.far: dict[Connection, BaseProcess] = {}
        self.folder: TemporaryDirectory[str] | None = None
        seeds = [seed * workers + number for number in range(workers)]
        if not apart:
            self.near = [Improver(compiled, stop, each, timed=timed, opening=opening) for each in seeds]
            return
        # A process takes some seconds to come up and read; what it is given in a file does not make us wait for that.
        self.folder = TemporaryDirectory(prefix="yardplan-")
        question = Path(self.folder.name) / "problem.pickle"
        question.write_bytes(pickle.dumps(problem))
        context = get_context("spawn")
        for each in seeds:
            ours, theirs = context.Pipe()
            process = context.Process(target=_work, args=(theirs, question, each, timed, opening), daemon=True)
            process.start()
            theirs.close()
            self.far[ours] = process

    def __enter__(self) -> "Team":
        return self

    def __exit__(self, *_: object) -> None:
        for pipe in list(self.far):
            self._dismiss(pipe)
        if self.folder is not None:
            self.folder.cleanup()

    def turn(self, turn: Turn) -> Sequence[Stint]:
        """Let all workers search; returns what each found, or less if a person asked to stop meanwhile."""
        if not self.far and not self.near:  # all were ended from outside
            self.near = [Improver(self.compiled, self.stop, self.seed, timed=self.timed, opening=0)]
        if self.near:
            share = None if turn.seconds is None else turn.seconds / len(self.near)
            return [_stint(improver, replace(turn, seconds=share)) for improver in self.near]
        found: dict[Connection, Stint] = {}
        while len(found) < len(self.far) and not self.stop.is_requested:
            for ready in wait([pipe for pipe in self.far if pipe not in found], timeout=0.05):
                assert isinstance(ready, Connection)
                try:
                    told = ready.recv()
                    if told is None:
                        ready.send(turn)
                    else:
                        found[ready] = told
                except (EOFError, OSError):
                    self._dismiss(ready)
        return [found[pipe] for pipe in self.far if pipe in found]

    def _dismiss(self, pipe: Connection) -> None:
        process = self.far.pop(pipe)
        pipe.close()
        process.terminate()
        process.join()
        process.close()


def _stint(improver: Improver, turn: Turn) -> Stint:
    began, seconds = perf_counter(), turn.seconds
    plan = turn.plan if turn.together or improver.plan is None else improver.plan
    if seconds is None:
        return improver.stint(plan, lambda work: work >= turn.work)
    return improver.stint(plan, lambda work: perf_counter() - began >= seconds)


def _work(pipe: Connection, question: Path, seed: int, timed: bool, opening: float) -> None:
    """Search whenever told to, until the other side is gone; None says that the next turn may come."""
    with contextlib.suppress(EOFError, OSError, KeyboardInterrupt):
        improver = Improver(Compiled(pickle.loads(question.read_bytes())), Stop(), seed, timed=timed, opening=opening)
        while True:
            pipe.send(None)
            pipe.send(_stint(improver, pipe.recv()))
