"""
Simplex method from a warm-start basis: a vertex of a linear programme.

An optimal vertex has a basis, from which a similar programme is solved in few pivots.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import highspy
import numpy as np

from logistics.model.problem import (
    BASIC,
    LOWER,
    Basis,
    Flags,
    Floats,
    Integers,
    Kinds,
    basis_of,
)
from logistics.model.solving.highs import LARGE, Session
from logistics.model.solving.matrix import Matrix, load

KINDS = {int(kind): kind for kind in highspy.HighsBasisStatus.__members__.values()}

FITS, PIVOTS = 0.01, 0.1
"""Large programmes: how much of a basis may lack [share of the rows], and how many
pivots from it are worth the time [per row]; the interior point method takes as long."""


OTHERWISE = (("presolve", "off"), ("solver", "ipm"))
"""What is tried, one after the other, where the solver cannot say what there is."""


@dataclass(frozen=True, eq=False)
class Vertex:
    """
    A solved linear programme.

    Attributes
    ----------
    value
        Of the goal.
    values, duals
        Of the columns; what one unit more of each row costs.
    basis
        To start a similar programme from.
    """

    value: float
    values: Floats
    duals: Floats
    basis: Basis


class GivenUpError(RuntimeError):
    """The solver finds no answer and proves none, however it is asked."""


def vertex(
    matrix: Matrix,
    names: tuple[Sequence[str], Sequence[str]],
    session: Session,
    start: Basis | None = None,
) -> Vertex | None:
    """
    Solve a linear programme, as long as it takes; None if it has no solution.

    Raises `GivenUpError` where the solver cannot say.

    Parameters
    ----------
    matrix, names, session
        What to solve; its columns and rows by name; threads and seed.
    start
        Of a similar programme; it need not fit, the solver repairs it. A large
        programme does without one that is far from it.
    """
    free = replace(session, effort=replace(session.effort, seconds=1e6))
    options: dict[str, Any] = {}
    known = None if start is None else start.fit(*names)
    if len(matrix.cost) > LARGE:
        if known is not None and _short(*known) > FITS * len(matrix.below):
            start = known = None
        few = {"simplex_iteration_limit": int(PIVOTS * len(matrix.below))}
        options = {"solver": "ipm"} if known is None else few
    highs = load(matrix, free, mip=False, **options)
    if known is not None:
        highs.setBasis(_basis(*known))
    highs.run()
    status, kinds = highs.getModelStatus(), highspy.HighsModelStatus
    for name, value in OTHERWISE:  # the usual way may hide that nothing fits
        if status not in (kinds.kUnknown, kinds.kNotset):
            break
        highs.clearSolver()
        highs.setOptionValue(name, value)
        highs.run()
        status = highs.getModelStatus()
    if status in (kinds.kInfeasible, kinds.kUnboundedOrInfeasible):
        return None
    if status != kinds.kOptimal:
        if start is not None:  # the old basis led nowhere, or not soon
            return vertex(matrix, names, session)
        message = f"the solver gave up a linear programme: {status}"
        raise GivenUpError(message)
    solution, basis = highs.getSolution(), highs.getBasis()
    columns, rows = [LOWER] * len(matrix.cost), [BASIC] * len(matrix.below)
    if basis.valid:
        columns = _as_at_lower(basis.col_status, matrix.low == matrix.high)
        rows = [int(kind) for kind in basis.row_status]
    return Vertex(
        value=float(highs.getInfo().objective_function_value),
        values=np.array(solution.col_value),
        duals=np.array(solution.row_dual),
        basis=basis_of((names[0], columns), (names[1], rows)),
    )


def _short(columns: Kinds, rows: Kinds) -> int:
    """Count how many basic columns and rows a basis lacks."""
    return len(rows) - int((columns == BASIC).sum()) - int((rows == BASIC).sum())


def _as_at_lower(kinds: Sequence[Any], fixed: Flags) -> list[int]:
    """Read where columns stand; a fixed one that is not basic is at its lower end."""
    stand = np.array([int(kind) for kind in kinds])
    return np.where(fixed & (stand != BASIC), LOWER, stand).tolist()  # type: ignore[no-any-return]


def _basis(columns: Kinds, rows: Kinds) -> Any:
    found = highspy.HighsBasis()
    found.col_status = [KINDS[kind] for kind in columns.tolist()]
    found.row_status = [KINDS[kind] for kind in rows.tolist()]
    found.valid = found.alien = True
    return found


class HeldRows:
    """
    A linear programme solved again and again, some of its rows held at other values.

    Parameters
    ----------
    matrix, rows
        The programme, and the rows that are held.
    session
        Threads and seed; it takes as long as it takes.
    """

    def __init__(self, matrix: Matrix, rows: Integers, session: Session) -> None:
        free = replace(session, effort=replace(session.effort, seconds=1e6))
        self._rows = rows.astype(np.int32)
        self._highs = load(matrix, free, mip=False)

    def value(self, held: Floats) -> float:
        """Solve with the rows at these values; infinite without a solution. [goal]"""
        self._highs.changeRowsBounds(len(self._rows), self._rows, held, held)
        self._highs.run()
        if self._highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return np.inf
        return float(self._highs.getInfo().objective_function_value)

    def duals(self) -> Floats:
        """Tell what one unit more of each held row costs. [goal/unit]"""
        return np.array(self._highs.getSolution().row_dual)[self._rows]
