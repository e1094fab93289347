"""
Linear and mixed-integer programmes as arrays, their safe bounds, and how to solve them.

Columns are chosen, added to and solved without building the programme anew.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import highspy
import numpy as np
from scipy import sparse

from logistics.model.problem import Flags, Floats, Integers
from logistics.model.rules import Programme
from logistics.model.solving.highs import Effort, Session, new_highs

Sparse = Any


INEXACT = 1e-4
"""Relative distance from the optimum at which an inexact relaxation stops."""


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
    integer
        Columns that must be integer.
    """

    rows: Sparse
    cost: Floats
    low: Floats
    high: Floats
    below: Floats
    above: Floats
    constant: float
    integer: Flags

    def take(self, columns: Integers) -> Matrix:
        """Keep some columns only."""
        return replace(
            self,
            rows=self.rows[:, columns],
            cost=self.cost[columns],
            low=self.low[columns],
            high=self.high[columns],
            integer=self.integer[columns],
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
            integer=np.append(self.integer, np.zeros(count, dtype=bool)),
        )

    def constrain(self, rows: Sparse, below: Floats, above: Floats) -> Matrix:
        """Add rows."""
        return replace(
            self,
            rows=sparse.vstack([self.rows, rows]).tocsc(),
            below=np.append(self.below, below),
            above=np.append(self.above, above),
        )

    def limited_to(self, rows: Integers) -> Matrix:
        """Keep some rows only."""
        return replace(
            self,
            rows=self.rows.tocsr()[rows].tocsc(),
            below=self.below[rows],
            above=self.above[rows],
        )

    def reduced_cost(self, duals: Floats) -> Floats:
        """Cost of each column less the duals of its rows. [cost/unit]"""
        return np.asarray(self.cost - self.rows.T @ duals, dtype=float)

    def usable(self, duals: Floats) -> Floats:
        """Set duals of a sign that their row cannot have to 0."""
        y = np.where((duals > 0) & np.isinf(self.below), 0.0, duals)
        return np.where((y < 0) & np.isinf(self.above), 0.0, y)

    def safe_bound(self, duals: Floats, most: float) -> float:
        """
        Bound the optimum from below with any duals, inexact ones too.

        Parameters
        ----------
        duals
            One a row; a sign that its row cannot have is taken as 0.
        most
            A value that no column without a limit of its own exceeds in some
            optimum.

        Notes
        -----
        Weak duality: rows at the side their dual pays for, columns at the end of
        their range where their reduced cost is least. Neumaier and Shcherbina, Safe
        bounds in linear and mixed-integer linear programming, Mathematical
        Programming 99, 2004 (from memory).
        """
        y = self.usable(duals)
        row_value = np.where(y > 0, self.below, np.where(y < 0, self.above, 0.0))
        reduced_cost = self.reduced_cost(y)
        high = np.where(np.isinf(self.high), most, self.high)
        ends = np.where(reduced_cost >= 0, self.low, high)
        return float(y @ row_value + reduced_cost @ ends) + self.constant


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
    by_column = by_row.tocsc()
    by_column.sum_duplicates()
    by_column.eliminate_zeros()
    cost = np.zeros(len(columns))
    np.add.at(
        cost, [x.number for x, _ in programme.goal], [c for _, c in programme.goal]
    )
    highs = [np.inf if x.high is None else x.high for x in columns]
    return Matrix(
        rows=by_column,
        cost=cost,
        low=np.array([x.low for x in columns], dtype=float),
        high=np.array(highs, dtype=float),
        below=np.array([row.below for row in rows.values()], dtype=float),
        above=np.array([row.above for row in rows.values()], dtype=float),
        constant=programme.constant,
        integer=np.array([x.integer for x in columns], dtype=bool),
    )


@dataclass(frozen=True, eq=False)
class LinearSolution:
    """A solved linear programme: its value, the duals of its rows, its columns."""

    value: float
    duals: Floats
    values: Floats


@dataclass(frozen=True, eq=False)
class Optimum:
    """A solved programme: value, bound, the duals of its rows, and its columns."""

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
        problem.integrality_ = [kinds[int(integer)] for integer in matrix.integer]
    highs.passModel(problem)
    return highs


def relax(
    matrix: Matrix, session: Session, *, inexact: bool = False
) -> LinearSolution | None:
    """
    Solve the linear relaxation; None if there is no answer, or not in the time left.

    The interior point method stops before a vertex: its duals make better columns
    enter, and the best some way before the optimum. `inexact` stops there, at a value
    that is right to about a ten-thousandth.
    """
    options: dict[str, Any] = {"ipm_optimality_tolerance": INEXACT} if inexact else {}
    highs = load(
        matrix, session, mip=False, solver="ipm", run_crossover="off", **options
    )
    highs.cbIpmInterrupt.subscribe(lambda e: e.interrupt() if session.over else None)
    highs.run()
    status, kinds = highs.getModelStatus(), highspy.HighsModelStatus
    solution = highs.getSolution()
    there = inexact and status == kinds.kUnknown and solution.dual_valid
    if status != kinds.kOptimal and not there:
        return None
    duals, values = np.array(solution.row_dual), np.array(solution.col_value)
    return LinearSolution(
        float(highs.getInfo().objective_function_value), duals, values
    )


def optimum(
    matrix: Matrix,
    *,
    session: Session | None = None,
    vertex: bool = True,
    integer: bool = False,
    from_nothing: bool = False,
    gap: float = 0.0,
) -> Optimum | None:
    """
    Solve a programme as it is; None if it cannot be solved.

    With integers the best found where the time is over.

    Parameters
    ----------
    matrix, session
        What to solve, and how long; without a session as long as it takes.
    vertex
        False stops inside, where duals are fairer between columns that tie.
    integer
        Keep integer columns integer, within `gap`.
    from_nothing
        All columns at nothing is a plan and few pay: start there, without presolve.
    """
    options: dict[str, Any] = {"mip_rel_gap": gap} if integer else {}
    if from_nothing:
        options |= {"presolve": "off", "simplex_strategy": PRIMAL}
    if not vertex:
        options |= {"solver": "ipm", "run_crossover": "off"}
    session = session or Session(Effort(seconds=1e6))
    highs = load(matrix, session, mip=integer, **options)
    highs.run()
    status, kinds = highs.getModelStatus(), highspy.HighsModelStatus
    info, solution = highs.getInfo(), highs.getSolution()
    late = integer and status == kinds.kTimeLimit and bool(solution.value_valid)
    if status != kinds.kOptimal and not late:
        return None
    value = float(info.objective_function_value)
    return Optimum(
        value,
        float(info.mip_dual_bound) if integer else value,
        np.array(solution.row_dual),
        np.array(solution.col_value),
    )
