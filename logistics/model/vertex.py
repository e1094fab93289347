"""A vertex of a linear programme, found from that of a similar one if there was one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import highspy
import numpy as np

from logistics.model.matrix import Matrix, load
from logistics.model.memory import BASIC, LOWER, Kinds
from logistics.model.parts import Floats
from logistics.model.solver import LARGE, Session

KINDS = {int(kind): kind for kind in highspy.HighsBasisStatus.__members__.values()}


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
    columns, rows
        Which are basic, as the solver's numbers.
    """

    value: float
    values: Floats
    duals: Floats
    columns: Kinds
    rows: Kinds


def vertex(
    matrix: Matrix, session: Session, start: tuple[Kinds, Kinds] | None = None
) -> Vertex | None:
    """
    Solve a linear programme, as long as it takes; None if it has no solution.

    Parameters
    ----------
    matrix, session
        What to solve; threads and seed.
    start
        Columns and rows of a basis, which need not fit: the solver mends it.
    """
    free = replace(session, effort=replace(session.effort, seconds=1e6))
    large = start is None and len(matrix.cost) > LARGE
    highs = load(matrix, free, mip=False, **({"solver": "ipm"} if large else {}))
    if start is not None:
        highs.setBasis(_basis(*start))
    highs.run()
    status, kinds = highs.getModelStatus(), highspy.HighsModelStatus
    if status in (kinds.kInfeasible, kinds.kUnboundedOrInfeasible):
        return None
    if status != kinds.kOptimal:
        if start is not None:  # the old basis led nowhere
            return vertex(matrix, session)
        message = f"the solver gave up a linear programme: {status}"
        raise RuntimeError(message)
    solution, basis = highs.getSolution(), highs.getBasis()
    columns, rows = [LOWER] * len(matrix.cost), [BASIC] * len(matrix.below)
    if basis.valid:
        columns = [int(kind) for kind in basis.col_status]
        rows = [int(kind) for kind in basis.row_status]
    return Vertex(
        value=float(highs.getInfo().objective_function_value),
        values=np.array(solution.col_value),
        duals=np.array(solution.row_dual),
        columns=np.array(columns, dtype=np.int8),
        rows=np.array(rows, dtype=np.int8),
    )


def _basis(columns: Kinds, rows: Kinds) -> Any:
    found = highspy.HighsBasis()
    found.col_status = [KINDS[kind] for kind in columns.tolist()]
    found.row_status = [KINDS[kind] for kind in rows.tolist()]
    found.valid = found.alien = True
    return found
