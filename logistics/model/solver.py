"""The one place that talks to the solver: options, start, progress, Ctrl-C."""

import os
import signal
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np
import pulp

from logistics.model.programme import Programme


@dataclass(frozen=True)
class Progress:
    """How far solving has come: best plan and proven bound so far."""

    phase: str
    seconds: float
    best: float | None
    bound: float | None

    @property
    def gap(self) -> float | None:
        """Distance of best and bound, as a share of best. [1]"""
        if self.best is None or self.bound is None:
            return None
        return relative_gap(self.best, self.bound)


Watch = Callable[[Progress], None]


def relative_gap(best: float, bound: float) -> float:
    """Return the proven distance to the optimum as a share of the best value."""
    return max(0.0, best - bound) / max(abs(best), 1e-9)


@dataclass(frozen=True)
class Answer:
    """What the solver said. `best` is None where it found nothing."""

    status: str
    best: float | None
    bound: float
    seconds: float


@dataclass
class Stop:
    """Set when the user asked to stop; the best plan so far is kept."""

    asked: bool = False


@contextmanager
def stop_on_interrupt() -> Iterator[Stop]:
    """Turn Ctrl-C into a request to stop while solving."""
    stop = Stop()

    def ask(*_: object) -> None:
        if stop.asked:
            raise KeyboardInterrupt
        stop.asked = True

    try:
        before = signal.signal(signal.SIGINT, ask)
    except ValueError:  # not the main thread: nothing to catch here
        yield stop
        return
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, before)


class _Solver(pulp.HiGHS):  # type: ignore[misc]
    """HiGHS with a start for the yes-or-no decisions and a watch on progress."""

    def __init__(
        self,
        start: dict[str, float],
        phase: str,
        watch: Watch | None,
        stop: Stop,
        **options: Any,
    ) -> None:
        super().__init__(msg=False, **options)
        self._begin, self._start = time.monotonic(), start
        self._phase, self._watch, self._stop = phase, watch, stop

    def createAndConfigureSolver(self, lp: pulp.LpProblem) -> None:  # noqa: N802
        """Create the solver without its banner, free of an earlier thread count."""
        highspy.Highs.resetGlobalScheduler(True)
        with _silent():
            super().createAndConfigureSolver(lp)
        options = self.optionsDict
        for name in options.keys() - {"warmStart", "logPath", "msg"}:
            status, value = lp.solverModel.getOptionValue(name)
            if status != highspy.HighsStatus.kOk or value != options[name]:
                message = f"the solver refused option {name} = {options[name]}"
                raise ValueError(message)

    def callSolver(self, lp: pulp.LpProblem) -> None:  # noqa: N802
        """Hand over the start, watch and run."""
        highs = lp.solverModel
        if self._start:
            column = {x.name: n for n, x in enumerate(lp.exported_variables())}
            index = np.array([column[name] for name in self._start], dtype=np.int32)
            value = np.array(list(self._start.values()), dtype=np.float64)
            highs.setSolution(len(index), index, value)
        if self.mip:
            highs.cbMipLogging.subscribe(self._report)
            highs.cbMipInterrupt.subscribe(self._check)
        highs.run()

    def _report(self, event: Any) -> None:
        if self._watch is None:
            return
        data = event.data_out
        best, bound = float(data.mip_primal_bound), float(data.mip_dual_bound)
        seconds = time.monotonic() - self._begin
        finite = (x if abs(x) < 1e29 else None for x in (best, bound))
        self._watch(Progress(self._phase, seconds, *finite))

    def _check(self, event: Any) -> None:
        if self._stop.asked:
            event.interrupt()


@contextmanager
def _silent() -> Iterator[None]:
    """Send what the process prints to nowhere; HiGHS greets before any option."""
    with suppress(Exception):
        sys.stdout.flush()
    keep, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        os.dup2(keep, 1)
        os.close(keep)
        os.close(nowhere)


def run_solver(
    programme: Programme,
    *,
    mip: bool = True,
    gap: float = 0.0,
    seconds: float | None = None,
    threads: int = 1,
    seed: int = 0,
    start: dict[str, float] | None = None,
    phase: str = "",
    watch: Watch | None = None,
    stop: Stop | None = None,
    **options: Any,
) -> Answer:
    """
    Solve a programme with HiGHS; the values stay in its variables.

    Parameters
    ----------
    programme
        What to solve.
    mip
        False treats decisions as quantities: a linear programme.
    gap
        Proven relative gap at which to stop. [1]
    seconds
        Longest time. [s]
    threads, seed
        Processor threads and seed of the solver.
    start
        Values for some variables by name, usually the yes-or-no decisions.
    phase, watch, stop
        Name of the phase for progress; callback; request to stop.
    options
        Further options of HiGHS.

    Returns
    -------
    Answer
        status "optimal", "infeasible", "time_limit" or "stopped".
    """
    begin = time.monotonic()
    stop = stop or Stop()
    solver = _Solver(
        start or {},
        phase,
        watch,
        stop,
        mip=mip,
        gapRel=gap,
        timeLimit=seconds,
        threads=threads,
        random_seed=seed,
        **options,
    )
    problem = programme.problem
    stats = problem.solve(solver)
    took = time.monotonic() - begin
    kinds = pulp.LpSolveStatus
    if stats.status in (kinds.Infeasible, kinds.Undefined) and not stats.has_solution:
        return Answer("infeasible", None, float("inf"), took)
    if stats.status == kinds.NotSolved:
        message = "the solver did not run"
        raise RuntimeError(message)
    best = float(stats.objective) if stats.has_solution else None
    bound = stats.best_bound if mip and problem.isMIP() else best
    status = "optimal" if stats.status == kinds.Optimal else "time_limit"
    if stop.asked and status != "optimal":
        status = "stopped"
    return Answer(status, best, float("-inf") if bound is None else bound, took)
