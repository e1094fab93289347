"""
Decide once, then let every future take its course: two-stage stochastic programmes.

    minimise  c.x + sum_s p_s Q_s(x)  +  risk * CVaR(c.x + Q_s(x)),   x in X
    Q_s(x) =  min q_s.y   with  below <= T_s x + W_s y <= above,  low <= y <= high

Solved by the L-shaped method with one cut a future and round (Van Slyke and Wets
1969; Birge and Louveaux 1988). Every Q_s is convex in x, and any duals of its rows
bound it from below by a plane; a master programme over x and these planes gives the
bound, every x tried gives a plan. First x may be broken, and planes are laid at a
point between the master's answer and a core of X (Papadakos 2008; Ben-Ameur and Neto
2007), then it must be whole where it has to. CVaR is written as Rockafellar and
Uryasev (2000) do: the least over e of e + sum_s p_s max(0, cost_s - e) / (1 - level).
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from scipy import sparse

from logistics.model import Floats, Matrix, optimum, relative_gap
from logistics.studies.risk import Risk, weighed

INWARD = 0.5
"""Where planes are laid: share of the way from the master's answer to the core."""

STEADY = 1e-4
"""Rise of the bound, as its share, below which broken answers teach no more."""


@dataclass(frozen=True, eq=False)
class Plane:
    """A bound on the cost of a future from below: constant + slope . x."""

    constant: float
    slope: Floats

    def at(self, x: Floats) -> float:
        """Value at a point."""
        return self.constant + float(self.slope @ x)


@dataclass(frozen=True, eq=False)
class Future:
    """
    One thing that may happen.

    Attributes
    ----------
    name, weight
        Weights of all futures add up to 1.
    plane
        Returns a plane that holds for every x, close at the one given.
    cost
        True least cost Q of a decision; None if it cannot be run.
    least
        What the whole future, c.x included, costs at least. [money]
    """

    name: str
    weight: float
    plane: Callable[[Floats], Plane | None]
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
        Rounds of planes, and time. [s]
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


def linear_future(
    name: str,
    weight: float,
    technology: Any,
    recourse: Matrix,
    most: float,
    *,
    vertex: bool = True,
) -> Future:
    """
    Make a future of matrices.

    Parameters
    ----------
    name, weight
        As in `Future`.
    technology
        T, one row a row of `recourse`, one column an entry of x, sparse.
    recourse
        W and all numbers; its columns are the second stage's y.
    most
        What no column without a limit exceeds in some optimum.
    vertex
        False lays planes with duals from inside the face of optimal ones: better
        planes where many duals tie.
    """
    t = technology.tocsr()

    def at(x: Floats) -> Matrix:
        shift = t @ x
        return replace(
            recourse, below=recourse.below - shift, above=recourse.above - shift
        )

    def plane(x: Floats) -> Plane | None:
        moved = at(x)
        found = optimum(moved, vertex=vertex)
        if found is None:
            return None
        bound = moved.safe_bound(found.duals, most)
        slope = -np.asarray(t.T @ moved.usable(found.duals), dtype=float)
        return Plane(bound - float(slope @ x), slope)

    def cost(x: Floats) -> float | None:
        found = optimum(at(x))
        return None if found is None else found.value

    return Future(name, weight, plane, cost)


@dataclass
class _Job:
    """Master and best decision under way."""

    first: Matrix
    futures: Sequence[Future]
    risk: Risk
    planes: list[tuple[int, Plane]] = field(default_factory=list)
    bound: float = -np.inf
    best: tuple[Floats, float, Floats] | None = None
    rounds: int = 0

    @property
    def weights(self) -> Floats:
        return np.array([future.weight for future in self.futures])

    def try_(self, x: Floats) -> None:
        """
        Run a decision in every future and keep it if it is the best.

        One of ones and noughts that fails in some future is ruled out.
        """
        found = [future.cost(x) for future in self.futures]
        costs = np.array([np.inf if q is None else q for q in found])
        costs = costs + float(self.first.cost @ x) + self.first.constant
        if not np.isfinite(costs).all():
            if self.first.whole.all():
                differ = np.where(x > 0.5, -1.0, 1.0)[None, :]
                least = np.array([1.0 - float((x > 0.5).sum())])
                self.first = self.first.constrain(differ, least, np.array([np.inf]))
            return
        value = weighed(costs, self.weights, self.risk)
        if self.best is None or value < self.best[1]:
            self.best = (x, value, costs)

    def lay(self, x: Floats) -> None:
        """Lay a plane in every future."""
        self.rounds += 1
        for s, future in enumerate(self.futures):
            plane = future.plane(x)
            if plane is not None:
                self.planes.append((s, plane))

    def gap(self) -> float:
        return np.inf if self.best is None else relative_gap(self.best[1], self.bound)

    def master(self, *, whole: bool, gap: float) -> tuple[float, Floats] | None:
        """Solve for x with the planes so far; its bound, and x."""
        found = _solve_master(self._master(), gap, whole=whole)
        if found is None:
            return None
        bound, values = found
        return bound, values[: len(self.first.cost)]

    def _master(self) -> Matrix:
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
            whole=np.append(self.first.whole, np.zeros(s + above, dtype=bool)),
        )
        lines, right = [], []
        for k, plane in self.planes:  # cost_s - (c + slope).x >= constant
            unit = np.zeros(s + above)
            unit[k] = 1.0
            lines.append(np.append(-self.first.cost - plane.slope, unit))
            right.append(plane.constant + self.first.constant)
        for k in range(s if risky else 0):  # e + v_s - cost_s >= 0
            unit = np.zeros(s + above)
            unit[[k, s, s + 1 + k]] = -1.0, 1.0, 1.0
            lines.append(np.append(np.zeros(n), unit))
            right.append(0.0)
        if not lines:
            return made
        rows = sparse.csr_matrix(np.array(lines))
        return made.constrain(rows, np.array(right), np.full(len(right), np.inf))


def _solve_master(
    matrix: Matrix, gap: float, *, whole: bool
) -> tuple[float, Floats] | None:
    if not whole or not matrix.whole.any():
        found = optimum(matrix, vertex=True)
        return None if found is None else (found.value, found.values)
    found = optimum(matrix, vertex=True, whole=True, gap=gap)
    return None if found is None else (found.bound, found.values)


def decide(
    first: Matrix,
    futures: Sequence[Future],
    risk: Risk | None = None,
    *,
    starts: Sequence[Floats] = (),
    gap: float = 1e-6,
    seconds: float = 600.0,
    told: Callable[[float, float | None, float], None] | None = None,
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
    told
        Told seconds, best value and bound after every round.

    Returns
    -------
    Decision or None
        None if no decision was found that can be run in every future.
    """
    begin = time.monotonic()
    job = _Job(first, futures, risk or Risk())
    for x in starts:
        job.try_(x)
    core = _inside(first, starts)
    job.lay(core)
    inward, whole, seen = INWARD, not first.whole.any(), None
    while job.gap() > gap and time.monotonic() - begin < seconds:
        found = job.master(whole=whole, gap=gap / 10)
        if found is None:
            break
        risen = found[0] - job.bound
        job.bound = max(job.bound, found[0])
        x = found[1]
        if told is not None:
            best = None if job.best is None else job.best[1]
            told(time.monotonic() - begin, best, job.bound)
        if not first.whole.any() or whole:
            x = np.where(first.whole, np.round(x), x)
            if seen is None or not np.allclose(x, seen, atol=1e-9):
                job.try_(x)
                inward = INWARD if first.whole.any() else inward / 2
            else:
                inward /= 4  # the same answer again: lay the plane nearer to it
            seen = x
        elif risen < STEADY * max(1.0, abs(job.bound)):
            whole = True
        core = 0.5 * (core + x)
        job.lay((1 - inward) * x + inward * core if inward > 1e-6 else x)
    if job.best is None:
        return None
    x, value, costs = job.best
    spent = time.monotonic() - begin
    return Decision(x, value, min(job.bound, value), costs, job.rounds, spent)


def _inside(first: Matrix, starts: Sequence[Floats]) -> Floats:
    """Return a point well inside: the mean of starts and the middle of the limits."""
    limited = np.where(np.isfinite(first.high), first.high, first.low + 1.0)
    middle = 0.5 * (first.low + limited)
    return np.mean([middle, *starts], axis=0) if len(starts) else middle
