"""Warm start: what an earlier plan leaves to the next, a basis and duals of rows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import highspy
import numpy as np
from numpy.typing import NDArray

Kinds = NDArray[np.int8]
"""The solver's numbers for basic, at its lower end and so on."""

LOWER = int(highspy.HighsBasisStatus.kLower)
BASIC = int(highspy.HighsBasisStatus.kBasic)


@dataclass(frozen=True, eq=False)
class Basis:
    """
    Which columns and rows of a solved linear programme are basic, by name.

    Attributes
    ----------
    columns, rows
        The solver's number for each column that is not at its lower end, and for each
        row that is not basic.
    """

    columns: Mapping[str, int]
    rows: Mapping[str, int]

    def fit(self, columns: Sequence[str], rows: Sequence[str]) -> tuple[Kinds, Kinds]:
        """
        Give the columns and rows of a similar programme their numbers.

        New columns start at 0, new rows with their slack basic; the solver repairs what
        does not fit.
        """
        return (
            np.array([self.columns.get(n, LOWER) for n in columns], dtype=np.int8),
            np.array([self.rows.get(n, BASIC) for n in rows], dtype=np.int8),
        )


def basis_of(
    columns: tuple[Iterable[str], list[int]], rows: tuple[Iterable[str], list[int]]
) -> Basis:
    """Keep a basis by name: of columns and of rows, names and the solver's numbers."""
    return Basis(_unusual(*columns, LOWER), _unusual(*rows, BASIC))


def _unusual(names: Iterable[str], kinds: list[int], usual: int) -> dict[str, int]:
    named = zip(names, kinds, strict=True)
    return {name: kind for name, kind in named if kind != usual}


@dataclass(frozen=True, eq=False)
class WarmStart:
    """
    What helps to plan the same district again after a change.

    Attributes
    ----------
    basis
        Of the flows with the plan's yards; None if there is none.
    duals
        Of each row of the root relaxation, by name; empty where the problem was small
        enough to be given to the solver as it is. [goal/unit]
    options
        Names of those that this relaxation opened, fractional ones too.
    bases
        Homes of own trucks: type, yard, how many.
    """

    basis: Basis | None = None
    duals: Mapping[str, float] = field(default_factory=dict)
    options: frozenset[str] = frozenset()
    bases: tuple[tuple[str, str, int], ...] = ()
