"""
Decide once, then let every future take its course: two-stage stochastic programmes.

    minimise  c.x + sum_s p_s Q_s(x)  +  risk * CVaR(c.x + Q_s(x)),   x in X
    Q_s(x) =  min q_s.y   with  below <= T_s x + W_s y <= above,  low <= y <= high

Solved by the L-shaped method with one optimality cut a future and round (Van Slyke and
Wets 1969; multi-cut by Birge and Louveaux 1988). Every Q_s is convex in x, and any
duals of its rows bound it from below by a cut; a master programme over x and these cuts
gives the bound, every x evaluated a plan. First x may be fractional, and cuts are made
at a point between the master's solution and a core point of X (Papadakos 2008;
Ben-Ameur and Neto 2007), then it must be integer where it has to. CVaR is written
as Rockafellar and Uryasev (2000) do: the least over e of
e + sum_s p_s max(0, cost_s - e) / (1 - level).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from scipy import sparse

from logistics.model import Effort, Floats, Matrix, Session, optimum, relative_gap
from logistics.studies.risk import Risk, weighed

INWARD = 0.5
"""Where cuts are made: share of the way from the master's solution to the core."""

STEADY = 1e-4
"""Rise of the bound, as its share, below which fractional solutions teach no more."""


@dataclass(frozen=True, eq=False)
class OptimalityCut:
    """Optimality cut: a bound on the cost of a future, constant + slope . x."""

    constant: float
    slope: Floats

    def at(self, x: Floats) -> float:
        """Value at a point."""
        return self.constant + float(self.slope @ x)


@dataclass(frozen=True, eq=False)
class Recourse:
    """
    The recourse problem of a future: one thing that may happen.

    Attributes
    ----------
    name, weight
        Weights of all futures add up to 1.
    cut
        Returns a cut that holds for every x, close at the one given.
    cost
        True least cost Q of a decision; None if it cannot be run.
    least
        What the whole future, c.x included, costs at least. [money]
    """

    name: str
    weight: float
    cut: Callable[[Floats], OptimalityCut | None]
    cost: Callable[[Floats], float | None]
    least: float = -np.inf


@dataclass(frozen=True, eq=False)
class Decision:
    """
    What to decide now.

    Attributes
    ----------
    x
        The decision.
    value, bound
        Its expected cost plus risk; no decision is better than the bound.
    costs
        Of every future under the decision, c.x included.
    rounds, seconds
        Rounds of cuts, and time. [s]
    """

    x: Floats
    value: float
    bound: float
    costs: Floats
    rounds: int
    seconds: float

    @property
    def gap(self) -> float:
        """Proven relative gap. [1]"""
        return relative_gap(self.value, self.bound)


def linear_recourse(
    name: str,
    weight: float,
    technology: Any,
    recourse: Matrix,
    most: float,
    *,
    vertex: bool = True,
) -> Recourse:
    """
    Make a future of matrices.

    Parameters
    ----------
    name, weight
        As in `Recourse`.
    technology
        T, one row a row of `recourse`, one column an entry of x, sparse.
    recourse
        W and all numbers; its columns are the second stage's y.
    most
        What no column without a limit exceeds in some optimum.
    vertex
        False makes cuts with duals from inside the face of optimal ones: better
        cuts where many duals tie.
    """
    t = technology.tocsr()

    def at(x: Floats) -> Matrix:
        shift = t @ x
        return replace(
            recourse, below=recourse.below - shift, above=recourse.above - shift
        )

    def cut(x: Floats) -> OptimalityCut | None:
        moved = at(x)
        found = optimum(moved, vertex=vertex)
        if found is None:
            return None
        bound = moved.safe_bound(found.duals, most)
        slope = -np.asarray(t.T @ moved.usable(found.duals), dtype=float)
        return OptimalityCut(bound - float(slope @ x), slope)

    def cost(x: Floats) -> float | None:
        found = optimum(at(x))
        return None if found is None else found.value

    return Recourse(name, weight, cut, cost)


@dataclass
class _Master:
    """The master programme, its cuts and the incumbent."""

    first: Matrix
    futures: Sequence[Recourse]
    risk: Risk
    cuts: list[tuple[int, OptimalityCut]] = field(default_factory=list)
    bound: float = -np.inf
    incumbent: tuple[Floats, float, Floats] | None = None
    rounds: int = 0

    @property
    def weights(self) -> Floats:
        return np.array([future.weight for future in self.futures])

    def evaluate(self, x: Floats) -> None:
        """
        Run a decision in every future; the best so far is the incumbent.

        A binary one that fails in some future is cut off (combinatorial Benders cut).
        """
        found = [future.cost(x) for future in self.futures]
        costs = np.array([np.inf if q is None else q for q in found])
        costs = costs + float(self.first.cost @ x) + self.first.constant
        if not np.isfinite(costs).all():
            if self.first.integer.all():
                differ = np.where(x > 0.5, -1.0, 1.0)[None, :]
                least = np.array([1.0 - float((x > 0.5).sum())])
                self.first = self.first.constrain(differ, least, np.array([np.inf]))
            return
        value = weighed(costs, self.weights, self.risk)
        if self.incumbent is None or value < self.incumbent[1]:
            self.incumbent = (x, value, costs)

    def add_cuts(self, x: Floats) -> None:
        """Make an optimality cut for every future."""
        self.rounds += 1
        for s, future in enumerate(self.futures):
            cut = future.cut(x)
            if cut is not None:
                self.cuts.append((s, cut))

    def gap(self) -> float:
        if self.incumbent is None:
            return np.inf
        return relative_gap(self.incumbent[1], self.bound)

    def solve(
        self, session: Session, *, integer: bool, gap: float
    ) -> tuple[float, Floats] | None:
        """Solve for x with the cuts so far, in the time left; its bound, and x."""
        found = _solve(self._matrix(), gap, session, integer=integer)
        if found is None:
            return None
        bound, values = found
        return bound, values[: len(self.first.cost)]

    def _matrix(self) -> Matrix:
        """Columns: x, what each future costs, then e and what is above e."""
        n, s = len(self.first.cost), len(self.futures)
        p, risky = self.weights, self.risk.weight > 0
        above = s + 1 if risky else 0
        rows = sparse.hstack(
            [self.first.rows, sparse.csr_matrix((self.first.rows.shape[0], s + above))]
        )
        low = np.concatenate([[f.least for f in self.futures], np.full(above, 0.0)])
        cost = p.copy()
        if risky:
            low[s] = -np.inf
            extra = self.risk.weight * np.append(1.0, p / (1 - self.risk.level))
            cost = np.append(cost, extra)
        made = Matrix(
            rows=rows.tocsc(),
            cost=np.append(np.zeros(n), cost),
            low=np.append(self.first.low, low),
            high=np.append(self.first.high, np.full(s + above, np.inf)),
            below=self.first.below,
            above=self.first.above,
            constant=0.0,
            integer=np.append(self.first.integer, np.zeros(s + above, dtype=bool)),
        )
        lines, right = [], []
        for k, cut in self.cuts:  # cost_s - (c + slope).x >= constant
            unit = np.zeros(s + above)
            unit[k] = 1.0
            lines.append(np.append(-self.first.cost - cut.slope, unit))
            right.append(cut.constant + self.first.constant)
        for k in range(s if risky else 0):  # e + v_s - cost_s >= 0
            unit = np.zeros(s + above)
            unit[[k, s, s + 1 + k]] = -1.0, 1.0, 1.0
            lines.append(np.append(np.zeros(n), unit))
            right.append(0.0)
        if not lines:
            return made
        rows = sparse.csr_matrix(np.array(lines))
        return made.constrain(rows, np.array(right), np.full(len(right), np.inf))


def _solve(
    matrix: Matrix, gap: float, session: Session, *, integer: bool
) -> tuple[float, Floats] | None:
    if not integer or not matrix.integer.any():
        found = optimum(matrix, session=session, vertex=True)
        return None if found is None else (found.value, found.values)
    found = optimum(matrix, session=session, vertex=True, integer=True, gap=gap)
    return None if found is None else (found.bound, found.values)


def decide(
    first: Matrix,
    futures: Sequence[Recourse],
    risk: Risk | None = None,
    *,
    starts: Sequence[Floats] = (),
    gap: float = 1e-6,
    seconds: float = 600.0,
    report: Callable[[float, float | None, float], None] | None = None,
) -> Decision | None:
    """
    Decide once for all futures, with a proven gap.

    Parameters
    ----------
    first
        The decision's costs, limits and rows.
    futures, risk
        What may happen; how much the worst counts.
    starts
        Decisions worth a trial; the first also begins the core.
    gap, seconds
        When to stop.
    report
        Called with seconds, value of the incumbent and bound after every round.

    Returns
    -------
    Decision or None
        None if no decision was found that can be run in every future.
    """
    session = Session(Effort(seconds=seconds))
    master = _Master(first, futures, risk or Risk())
    for x in starts:
        master.evaluate(x)
    core = _inside(first, starts)
    master.add_cuts(core)
    inward, integer, seen = INWARD, not first.integer.any(), None
    while master.gap() > gap and not session.over:
        found = master.solve(session, integer=integer, gap=gap / 10)
        if found is None:
            break
        risen = found[0] - master.bound
        master.bound = max(master.bound, found[0])
        x = found[1]
        if report is not None:
            value = None if master.incumbent is None else master.incumbent[1]
            report(session.spent, value, master.bound)
        if not first.integer.any() or integer:
            x = np.where(first.integer, np.round(x), x)
            if seen is None or not np.allclose(x, seen, atol=1e-9):
                master.evaluate(x)
                inward = INWARD if first.integer.any() else inward / 2
            else:
                inward /= 4  # the same solution again: make the cut nearer to it
            seen = x
        elif risen < STEADY * max(1.0, abs(master.bound)):
            integer = True
        core = 0.5 * (core + x)
        master.add_cuts((1 - inward) * x + inward * core if inward > 1e-6 else x)
    if master.incumbent is None:
        return None
    x, value, costs = master.incumbent
    bound = min(master.bound, value)
    return Decision(x, value, bound, costs, master.rounds, session.spent)


def _inside(first: Matrix, starts: Sequence[Floats]) -> Floats:
    """Return a point well inside: the mean of starts and the middle of the limits."""
    limited = np.where(np.isfinite(first.high), first.high, first.low + 1.0)
    middle = 0.5 * (first.low + limited)
    return np.mean([middle, *starts], axis=0) if len(starts) else middle
