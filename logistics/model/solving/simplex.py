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

from logistics.model.problem import BASIC, LOWER, Basis, Floats, Kinds, basis_of
from logistics.model.solving.highs import LARGE, Session
from logistics.model.solving.matrix import Matrix, load

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
    basis
        To start a similar programme from.
    """

    value: float
    values: Floats
    duals: Floats
    basis: Basis


def vertex(
    matrix: Matrix,
    names: tuple[Sequence[str], Sequence[str]],
    session: Session,
    start: Basis | None = None,
) -> Vertex | None:
    """
    Solve a linear programme, as long as it takes; None if it has no solution.

    Parameters
    ----------
    matrix, names, session
        What to solve; its columns and rows by name; threads and seed.
    start
        Of a similar programme; it need not fit, the solver repairs it.
    """
    free = replace(session, effort=replace(session.effort, seconds=1e6))
    large = start is None and len(matrix.cost) > LARGE
    highs = load(matrix, free, mip=False, **({"solver": "ipm"} if large else {}))
    if start is not None:
        highs.setBasis(_basis(*start.fit(*names)))
    highs.run()
    status, kinds = highs.getModelStatus(), highspy.HighsModelStatus
    if status == kinds.kUnknown:  # presolve may hide that nothing fits
        highs.clearSolver()
        highs.setOptionValue("presolve", "off")
        highs.run()
        status = highs.getModelStatus()
    if status in (kinds.kInfeasible, kinds.kUnboundedOrInfeasible):
        return None
    if status != kinds.kOptimal:
        if start is not None:  # the old basis led nowhere
            return vertex(matrix, names, session)
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
        basis=basis_of((names[0], columns), (names[1], rows)),
    )


def _basis(columns: Kinds, rows: Kinds) -> Any:
    found = highspy.HighsBasis()
    found.col_status = [KINDS[kind] for kind in columns.tolist()]
    found.row_status = [KINDS[kind] for kind in rows.tolist()]
    found.valid = found.alien = True
    return found
