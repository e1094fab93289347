"""A programme as arrays: columns chosen, added to and solved without rebuilding."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import highspy
import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from logistics.model.problem import Flags, Floats, Whole
from logistics.model.rules import Programme
from logistics.model.solving.highs import NO_HEURISTICS, Effort, Session, new_highs

Sparse = Any


ROUGH = 1e-4
"""Relative distance from the optimum at which a rough relaxation stops."""


PRIMAL = 4
"""The solver's number for the primal simplex method."""


@dataclass(frozen=True, eq=False)
class Matrix:
    """
    Minimise cost . x with low <= x <= high and below <= rows . x <= above.

    Attributes
    ----------
    rows
        Coefficients, shape (rows, columns), sparse by column.
    cost, low, high
        One a column.
    below, above
        One a row.
    constant
        Added to the cost.
    whole
        Columns that must be whole numbers.
    """

    rows: Sparse
    cost: Floats
    low: Floats
    high: Floats
    below: Floats
    above: Floats
    constant: float
    whole: Flags

    def take(self, columns: Whole) -> Matrix:
        """Keep some columns only."""
        return replace(
            self,
            rows=self.rows[:, columns],
            cost=self.cost[columns],
            low=self.low[columns],
            high=self.high[columns],
            whole=self.whole[columns],
        )

    def extend(self, columns: Sparse, cost: Floats) -> Matrix:
        """Add columns from 0 upwards."""
        count = len(cost)
        return replace(
            self,
            rows=sparse.hstack([self.rows, columns]).tocsc(),
            cost=np.append(self.cost, cost),
            low=np.append(self.low, np.zeros(count)),
            high=np.append(self.high, np.full(count, np.inf)),
            whole=np.append(self.whole, np.zeros(count, dtype=bool)),
        )

    def constrain(self, rows: Sparse, below: Floats, above: Floats) -> Matrix:
        """Add rows."""
        return replace(
            self,
            rows=sparse.vstack([self.rows, rows]).tocsc(),
            below=np.append(self.below, below),
            above=np.append(self.above, above),
        )

    def limited_to(self, rows: Whole) -> Matrix:
        """Keep some rows only."""
        return replace(
            self,
            rows=self.rows.tocsr()[rows].tocsc(),
            below=self.below[rows],
            above=self.above[rows],
        )

    def reduced_cost(self, duals: Floats) -> Floats:
        """Cost of each column less what its rows are worth. [cost/unit]"""
        return np.asarray(self.cost - self.rows.T @ duals, dtype=float)

    def usable(self, duals: Floats) -> Floats:
        """Take a sign that its row cannot have as nothing."""
        y = np.where((duals > 0) & np.isinf(self.below), 0.0, duals)
        return np.where((y < 0) & np.isinf(self.above), 0.0, y)

    def safe_bound(self, duals: Floats, most: float) -> float:
        """
        Bound the optimum from below with any duals, rough ones too.

        Parameters
        ----------
        duals
            One a row; a sign that its row cannot have is taken as nothing.
        most
            A value that no column without a limit of its own exceeds in some
            optimum.

        Notes
        -----
        Weak duality: rows at the side their dual pays for, columns at the end of
        their range where their reduced cost is least.
        """
        y = self.usable(duals)
        paid = np.where(y > 0, self.below, np.where(y < 0, self.above, 0.0))
        left = self.reduced_cost(y)
        high = np.where(np.isinf(self.high), most, self.high)
        ends = np.where(left >= 0, self.low, high)
        return float(y @ paid + left @ ends) + self.constant


def matrix_of(programme: Programme) -> Matrix:
    """
    Read the arrays of a programme, in the order of its columns and rows.

    Raises
    ------
    ValueError
        If a number in it is none, or has no end.
    """
    columns, rows = programme.columns, programme.rows
    start = np.cumsum([0, *(len(row.columns) for row in rows.values())])
    index = [n for row in rows.values() for n in row.columns]
    values = np.array([c for row in rows.values() for c in row.values], dtype=float)
    by_row = sparse.csr_matrix((values, index, start), shape=(len(rows), len(columns)))
    wrong = np.flatnonzero(~np.isfinite(values))
    if len(wrong):
        name = list(rows)[int(np.searchsorted(start, wrong[0], side="right")) - 1]
        message = f"row {name} has a coefficient {values[wrong[0]]}"
        raise ValueError(message)
    whole = by_row.tocsc()
    whole.sum_duplicates()
    whole.eliminate_zeros()
    cost = np.zeros(len(columns))
    np.add.at(
        cost, [x.number for x, _ in programme.goal], [c for _, c in programme.goal]
    )
    highs = [np.inf if x.high is None else x.high for x in columns]
    return Matrix(
        rows=whole,
        cost=cost,
        low=np.array([x.low for x in columns], dtype=float),
        high=np.array(highs, dtype=float),
        below=np.array([row.below for row in rows.values()], dtype=float),
        above=np.array([row.above for row in rows.values()], dtype=float),
        constant=programme.constant,
        whole=np.array([x.whole for x in columns], dtype=bool),
    )


@dataclass(frozen=True, eq=False)
class Relaxed:
    """A solved linear programme: its value, what its rows are worth, its columns."""

    value: float
    duals: Floats
    values: Floats


@dataclass(frozen=True, eq=False)
class Optimum:
    """A solved programme: value, bound, what rows are worth, and its columns."""

    value: float
    bound: float
    duals: Floats
    values: Floats


def load(matrix: Matrix, session: Session, *, mip: bool, **options: Any) -> Any:
    """Give a programme to a solver without solving it."""
    effort = session.effort
    highs = new_highs(
        threads=effort.threads,
        random_seed=effort.seed,
        time_limit=session.left,
        **options,
    )
    problem = highspy.HighsLp()
    rows = matrix.rows.tocsc()
    problem.num_row_, problem.num_col_ = rows.shape
    problem.col_cost_, problem.offset_ = matrix.cost, matrix.constant
    problem.col_lower_, problem.col_upper_ = matrix.low, matrix.high
    problem.row_lower_, problem.row_upper_ = matrix.below, matrix.above
    problem.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    problem.a_matrix_.start_ = rows.indptr
    problem.a_matrix_.index_ = rows.indices
    problem.a_matrix_.value_ = rows.data
    if mip:
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        problem.integrality_ = [kinds[int(whole)] for whole in matrix.whole]
    highs.passModel(problem)
    return highs


def relax(matrix: Matrix, session: Session, *, rough: bool = False) -> Relaxed | None:
    """
    Solve the linear relaxation; None if there is no answer, or not in the time left.

    The interior point method stops before a vertex: its duals price lanes better, and
    best of all some way before the optimum. `rough` stops there, at a value that is
    right to about a ten-thousandth.
    """
    options: dict[str, Any] = {"ipm_optimality_tolerance": ROUGH} if rough else {}
    highs = load(
        matrix, session, mip=False, solver="ipm", run_crossover="off", **options
    )
    highs.cbIpmInterrupt.subscribe(lambda e: e.interrupt() if session.over else None)
    highs.run()
    status, kinds = highs.getModelStatus(), highspy.HighsModelStatus
    solution = highs.getSolution()
    there = rough and status == kinds.kUnknown and solution.dual_valid
    if status != kinds.kOptimal and not there:
        return None
    duals, values = np.array(solution.row_dual), np.array(solution.col_value)
    return Relaxed(float(highs.getInfo().objective_function_value), duals, values)


def optimum(
    matrix: Matrix,
    *,
    session: Session | None = None,
    vertex: bool = True,
    whole: bool = False,
    from_nothing: bool = False,
    gap: float = 0.0,
) -> Optimum | None:
    """
    Solve a programme as it is; None if it cannot be solved.

    Parameters
    ----------
    matrix, session
        What to solve, and how long; without a session as long as it takes.
    vertex
        False stops inside, where duals are fairer between columns that tie.
    whole
        Keep whole numbers whole, within `gap`.
    from_nothing
        All columns at nothing is a plan and few pay: start there, without presolve.
    """
    options: dict[str, Any] = {"mip_rel_gap": gap} if whole else {}
    if from_nothing:
        options |= {"presolve": "off", "simplex_strategy": PRIMAL}
    if not vertex:
        options |= {"solver": "ipm", "run_crossover": "off"}
    session = session or Session(Effort(seconds=1e6))
    highs = load(matrix, session, mip=whole, **options)
    highs.run()
    status, kinds = highs.getModelStatus(), highspy.HighsModelStatus
    if status != kinds.kOptimal:
        return None
    info, solution = highs.getInfo(), highs.getSolution()
    value = float(info.objective_function_value)
    return Optimum(
        value,
        float(info.mip_dual_bound) if whole else value,
        np.array(solution.row_dual),
        np.array(solution.col_value),
    )


def branch(
    matrix: Matrix,
    session: Session,
    start: tuple[Whole, NDArray[np.float64]],
    enough: Callable[[float], bool],
    report: Callable[[float], None],
) -> tuple[float, Floats | None]:
    """
    Prove a bound by branching from a start.

    Parameters
    ----------
    matrix, session
        What to solve and how long.
    start
        Columns and their values.
    enough
        Whether a bound is good enough to stop.
    report
        Told the bound now and then.

    Returns
    -------
    tuple
        The bound, and the best column values found; None if there are none.
    """
    highs = load(
        matrix,
        session,
        mip=True,
        mip_lp_solver="ipm",
        mip_rel_gap=session.effort.gap / 10,
        **NO_HEURISTICS,
    )
    columns, values = start
    highs.setSolution(len(columns), columns.astype(np.int32), values)

    def check(event: Any) -> None:
        if session.stop.asked or enough(float(event.data_out.mip_dual_bound)):
            event.interrupt()

    highs.cbMipLogging.subscribe(lambda e: report(float(e.data_out.mip_dual_bound)))
    highs.cbMipInterrupt.subscribe(check)
    highs.run()
    info = highs.getInfo()
    found = np.isfinite(info.objective_function_value)
    answer = np.array(highs.getSolution().col_value) if found else None
    return float(info.mip_dual_bound), answer
