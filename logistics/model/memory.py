"""What an earlier plan leaves behind for the next: a basis, and prices of rows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import highspy

from logistics.model.programme import Programme

LOWER = int(highspy.HighsBasisStatus.kLower)
BASIC = int(highspy.HighsBasisStatus.kBasic)


@dataclass(frozen=True, eq=False)
class Basis:
    """
    Which columns and rows of a solved linear programme are basic, by name.

    Attributes
    ----------
    columns, rows
        Name to the solver's status number.
    """

    columns: Mapping[str, int]
    rows: Mapping[str, int]


@dataclass(frozen=True, eq=False)
class Memory:
    """
    What helps to plan the same district again after a change.

    Attributes
    ----------
    basis
        Of the flows with the plan's yards; None if there is none.
    prices
        What each row of the whole programme's relaxation is worth, by name; empty
        where it was small enough to be solved whole. [goal/unit]
    """

    basis: Basis | None = None
    prices: Mapping[str, float] = field(default_factory=dict)


def read_basis(programme: Programme) -> Basis | None:
    """Read the basis of a linear programme just solved; None if it has none."""
    problem: Any = programme.problem
    found = problem.solverModel.getBasis()
    if not found.valid:
        return None
    names = [x.name for x in problem.exported_variables()]
    return Basis(
        dict(zip(names, map(int, found.col_status), strict=True)),
        dict(zip(programme.rows, map(int, found.row_status), strict=True)),
    )


def give_basis(highs: Any, columns: list[str], rows: list[str], basis: Basis) -> None:
    """
    Start a solver from the basis of a similar programme.

    Columns and rows are matched by name. New columns start at nothing, new rows
    with their slack; the solver mends what does not fit ("alien").
    """
    kinds = {int(kind): kind for kind in highspy.HighsBasisStatus.__members__.values()}
    start = highspy.HighsBasis()
    start.col_status = [kinds[basis.columns.get(n, LOWER)] for n in columns]
    start.row_status = [kinds[basis.rows.get(n, BASIC)] for n in rows]
    start.valid = start.alien = True
    highs.setBasis(start)
