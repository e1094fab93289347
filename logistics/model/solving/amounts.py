"""Solution of a programme: how much of every decision it takes, by index."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logistics.model.problem import Floats, Integers
from logistics.model.rules import Variables


@dataclass(frozen=True, eq=False)
class DecisionAmounts:
    """
    One sort of decision, where it is more than nothing.

    Attributes
    ----------
    index
        Of each, shape (n, indexes).
    value
        Length n. [t], [h] or [trips]
    """

    index: Integers
    value: Floats

    def grid(self, *shape: int) -> Floats:
        """Spread over a grid of this shape; nothing elsewhere."""
        found = np.zeros(shape)
        found[tuple(self.index.T)] = self.value
        return found


@dataclass(frozen=True, eq=False)
class Amounts:
    """Decisions by index; see `Variables` for what each is and its unit."""

    opened: DecisionAmounts
    hauled: DecisionAmounts
    delivered: DecisionAmounts
    left: DecisionAmounts
    held: DecisionAmounts
    arrived: DecisionAmounts
    stock: DecisionAmounts
    charge: DecisionAmounts
    water: DecisionAmounts
    compost: DecisionAmounts
    leftover: DecisionAmounts
    hired: DecisionAmounts
    based: DecisionAmounts
    hired_at: DecisionAmounts
    busy: DecisionAmounts
    saved: DecisionAmounts
    paired: DecisionAmounts


INDEXES = {
    "opened": 1,
    "hauled": 3,
    "delivered": 3,
    "left": 2,
    "held": 2,
    "arrived": 3,
    "stock": 3,
    "charge": 3,
    "water": 2,
    "compost": 2,
    "leftover": 2,
    "hired": 2,
    "based": 2,
    "hired_at": 3,
    "busy": 3,
    "saved": 3,
    "paired": 2,
}
"""How many indexes each sort of decision has."""


def keys_of(table: Iterable[object], indexes: int) -> Integers:
    """Write the keys of a table of decisions as an array, shape (n, indexes)."""
    return np.array(list(table), dtype=np.int64).reshape(-1, indexes)


def decision_amounts(index: NDArray[np.integer], values: Floats) -> DecisionAmounts:
    """Keep what is more than nothing."""
    there = np.flatnonzero(values > 0)
    return DecisionAmounts(index[there].astype(np.int64), values[there])


def amounts_of(variables: Variables) -> Amounts:
    """Read the values of a solved programme's variables."""
    found = {}
    for name, indexes in INDEXES.items():
        table = getattr(variables, name)
        values = np.array([x.amount for x in table.values()], dtype=float)
        found[name] = decision_amounts(keys_of(table, indexes), values)
    return Amounts(**found)
