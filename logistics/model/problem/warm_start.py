"""What an earlier plan leaves behind for the next: a basis, and prices of rows."""

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

        New columns start at nothing, new rows with their slack; the solver mends what
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
    pairs = zip(names, kinds, strict=True)
    return {name: kind for name, kind in pairs if kind != usual}


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
    options
        Names of those that this relaxation opened in whole or in part.
    """

    basis: Basis | None = None
    prices: Mapping[str, float] = field(default_factory=dict)
    options: frozenset[str] = frozenset()
