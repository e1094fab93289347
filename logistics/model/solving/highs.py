"""
Interface to the solver HiGHS: options, warm start, callbacks for progress and Ctrl-C.

A mixed-integer programme is solved by branch and cut, a linear one by the interior
point or the dual simplex method.
"""

import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any

import highspy
import numpy as np
import pulp

from logistics.model.rules import Programme
from logistics.model.solving.silence import greeted


class NoPlanError(TimeoutError):
    """Nothing was found in the time given."""


@dataclass(frozen=True)
class Progress:
    """How far solving has come: value of the incumbent, and proven bound."""

    phase: str
    seconds: float
    incumbent: float | None
    bound: float | None

    @property
    def gap(self) -> float | None:
        """
        Distance of incumbent and bound, as a share of the incumbent. [1]

        None where there is none to speak of: the first duals may prove next to nothing.
        """
        if self.incumbent is None or self.bound is None:
            return None
        gap = relative_gap(self.incumbent, self.bound)
        return gap if gap <= WORTH_SAYING else None


Watch = Callable[[Progress], None]

WORTH_SAYING = 10.0
"""Widest gap that is told while solving, as a share of the incumbent. [1]"""

ROUNDING = 1e-6
"""Distance of incumbent and bound below which the solver stops in any case. [goal]"""


def relative_gap(value: float, bound: float) -> float:
    """
    Return the proven distance to the optimum as a share of the incumbent's value.

    What the solver does not tell from nothing is none: 0 t left behind is not far
    from a bound of -1e-9 t.
    """
    distance = value - bound
    return 0.0 if distance <= ROUNDING else distance / max(abs(value), ROUNDING)


@dataclass(frozen=True)
class Answer:
    """What the solver said. `incumbent` is None where it found nothing."""

    status: str
    incumbent: float | None
    bound: float
    seconds: float


@dataclass
class StopRequest:
    """Set when the user asked to stop; the incumbent is kept."""

    asked: bool = False


@dataclass(frozen=True)
class Effort:
    """
    How long and how well to solve.

    Attributes
    ----------
    gap, seconds
        Proven relative gap at which to stop [1]; longest time [s].
    threads, seed
        Processor threads and seed of the solver.
    nodes
        Nodes that a tree of yards branches at most; None for no limit.
    enough
        Bound at which a tree of yards ends, whatever the gap. [goal]
    """

    gap: float = 0.005
    seconds: float = 120.0
    threads: int = 2
    seed: int = 1
    nodes: int | None = None
    enough: float = np.inf


def _now() -> float:
    """Read the monotonic clock. [s]"""
    return time.monotonic()


@dataclass(frozen=True)
class Session:
    """
    One job of solving: its effort, its watcher and the wish to stop.

    Attributes
    ----------
    effort, watch, stop
        Limits, progress callback, request to stop.
    begin
        Start on the monotonic clock. [s]
    """

    effort: Effort = field(default_factory=Effort)
    watch: Watch | None = None
    stop: StopRequest = field(default_factory=StopRequest)
    begin: float = field(default_factory=_now)

    @property
    def spent(self) -> float:
        """Time since the start. [s]"""
        return _now() - self.begin

    @property
    def over(self) -> bool:
        """Whether the time is up or the user asked to stop."""
        return self.stop.asked or self.spent >= self.effort.seconds

    @property
    def left(self) -> float:
        """Time left, at least a second. [s]"""
        return max(1.0, self.effort.seconds - self.spent)

    def part(self, share: float = 1.0) -> Effort:
        """
        Return the effort of a step that may take a share of the time left.

        Steps that begin clocks of their own are given it, so that limits do not add up.
        """
        return replace(self.effort, seconds=share * self.left)


@contextmanager
def stop_on_interrupt(stop: StopRequest) -> Iterator[None]:
    """Turn Ctrl-C into a request to stop while solving; a second one insists."""

    def ask(*_: object) -> None:
        if stop.asked:
            raise KeyboardInterrupt
        stop.asked = True

    try:
        before = signal.signal(signal.SIGINT, ask)
    except ValueError:  # not the main thread: nothing to catch here
        yield
        return
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


NO_HEURISTICS: dict[str, Any] = {
    "mip_heuristic_effort": 0.0,
    "mip_heuristic_run_feasibility_jump": False,
    "mip_heuristic_run_rens": False,
    "mip_heuristic_run_rins": False,
    "mip_heuristic_run_root_reduced_cost": False,
}
"""With a good start the solver's own search for plans only delays the proof."""


INTEGER: dict[str, Any] = {"mip_lp_solver": "ipm", "mip_feasibility_tolerance": 1e-9}
"""A millionth of a yard, the solver's own tolerance, is a tonne on a large pad."""


LARGE = 3_000
"""Columns above which a linear programme without a basis is solved from inside."""


def new_highs(**options: Any) -> Any:
    """
    Create a solver, free of an earlier thread count, its options checked.

    Raises
    ------
    ValueError
        If it refuses an option; it would be dropped without a word otherwise.
    """
    greeted()
    highspy.Highs.resetGlobalScheduler(True)
    highs: Any = highspy.Highs()  # type: ignore[no-untyped-call]
    highs.setOptionValue("log_to_console", False)
    for name, value in options.items():
        if highs.setOptionValue(name, value) != highspy.HighsStatus.kOk:
            message = f"the solver refused option {name} = {value}"
            raise ValueError(message)
    return highs


class _Solver(pulp.HiGHS):
    """HiGHS with a start for the yes-or-no decisions and a watch on progress."""

    def __init__(
        self,
        session: Session,
        phase: str,
        start: dict[str, float],
        **options: Any,
    ) -> None:
        super().__init__(msg=False, **options)
        self._session, self._phase, self._start = session, phase, start

    def createAndConfigureSolver(self, lp: pulp.LpProblem) -> None:
        """Create the solver free of an earlier thread count, options checked."""
        greeted()
        highspy.Highs.resetGlobalScheduler(True)
        super().createAndConfigureSolver(lp)
        options, highs = self.optionsDict, _engine(lp)
        for name in options.keys() - {"warmStart", "logPath", "msg"}:
            status, value = highs.getOptionValue(name)
            if status != highspy.HighsStatus.kOk or value != options[name]:
                message = f"the solver refused option {name} = {options[name]}"
                raise ValueError(message)

    def callSolver(self, lp: pulp.LpProblem) -> None:
        """Hand over the start, watch and run."""
        highs = _engine(lp)
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
        watch = self._session.watch
        if watch is None:
            return
        data = event.data_out
        values = (float(data.mip_primal_bound), float(data.mip_dual_bound))
        finite = (x if abs(x) < 1e29 else None for x in values)
        watch(Progress(self._phase, self._session.spent, *finite))

    def _check(self, event: Any) -> None:
        if self._session.stop.asked:
            event.interrupt()


def _engine(lp: pulp.LpProblem) -> Any:
    """Return the solver object behind a PuLP problem."""
    return lp.solverModel


def _options(programme: Programme, *, mip: bool) -> dict[str, Any]:
    """Choose the method: a large linear programme from inside."""
    if mip:
        return dict(INTEGER)
    large = len(programme.columns) > LARGE
    return {"solver": "ipm"} if large else {}


def run_solver(
    programme: Programme,
    session: Session,
    *,
    mip: bool = True,
    phase: str = "",
    seconds: float | None = None,
    start: dict[str, float] | None = None,
    heuristics: bool = True,
) -> Answer:
    """
    Solve a programme with HiGHS; what it finds is the amount of every column.

    Parameters
    ----------
    programme
        What to solve.
    session
        Gap, time, threads, watcher.
    mip
        False treats decisions as quantities: a linear programme.
    phase
        Its name in reports of progress.
    seconds
        Longest time, if not what the session has left. [s]
    start
        Values for some variables by name, usually the yes-or-no decisions.
    heuristics
        False leaves out the solver's own search for plans.

    Returns
    -------
    Answer
        status "optimal", "infeasible", "time_limit" or "stopped".
    """
    begin = time.monotonic()
    effort = session.effort
    options = _options(programme, mip=mip)
    solver = _Solver(
        session,
        phase,
        start or {},
        mip=mip,
        gapRel=effort.gap,
        timeLimit=session.left if seconds is None else seconds,
        threads=effort.threads,
        random_seed=effort.seed,
        **options,
        **({} if heuristics else NO_HEURISTICS),
    )
    problem, variables = programme.in_pulp()
    stats = problem.solve(solver)
    took = time.monotonic() - begin
    kinds = pulp.LpSolveStatus
    if stats.status in (kinds.Infeasible, kinds.Undefined) and not stats.has_solution:
        return Answer("infeasible", None, float("inf"), took)
    if stats.status == kinds.NotSolved:
        message = "the solver did not run"
        raise RuntimeError(message)
    value = stats.objective if stats.has_solution else None
    if value is not None:
        for quantity, variable in zip(programme.columns, variables, strict=True):
            quantity.amount = float(variable.value() or 0.0)
    bound = stats.best_bound if mip and problem.isMIP() else value
    status = "optimal" if stats.status == kinds.Optimal else "time_limit"
    if session.stop.asked and status != "optimal":
        status = "stopped"
    return Answer(status, value, float("-inf") if bound is None else bound, took)
