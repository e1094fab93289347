"""Where own trucks may be at home: pairs of a truck type and a yard in a master."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from logistics.model.problem import Floats, Instance, Integers
from logistics.model.rules import Variables
from logistics.model.solving.amounts import keys_of


@dataclass(frozen=True, eq=False)
class Homes:
    """
    Pairs of a truck type that is owned and a yard where such trucks may be at home.

    Attributes
    ----------
    truck, yard
        Of each pair, length h.
    rows
        Row that limits how many are at home there, in any size of yard, length h.
    columns, at
        Columns of the frame that count them, and the pair of each.
    own, worth
        Trucks owned of the pair's type, and what hire for a year of one would cost,
        length h. [money]
    shape
        How many types and yards there are.
    """

    truck: Integers
    yard: Integers
    rows: Integers
    columns: Integers
    at: Integers
    own: Floats
    worth: Floats
    shape: tuple[int, int]

    def __len__(self) -> int:
        """Count the pairs."""
        return len(self.rows)

    def table(self, counts: Floats) -> Integers:
        """Lay counts of the pairs out by type and yard, shape (v, j), as integers."""
        found = np.zeros(self.shape, dtype=np.int64)
        found[self.truck, self.yard] = np.round(counts).astype(np.int64)
        return found


def homes_of(inst: Instance, var: Variables, row: Mapping[str, int]) -> Homes:
    """Find the pairs of type and yard, in an order that a plan of the year shares."""
    free = inst.trucks.homes is None  # held ones leave nothing to decide
    keys = keys_of(var.based if free else {}, 2)
    yard, truck = inst.options.yard[keys[:, 0]], keys[:, 1]
    pairs, at = np.unique(np.stack([truck, yard], 1), axis=0, return_inverse=True)
    codes, yards = inst.trucks.codes, inst.yards.codes
    names = [f"home.{codes[v]}.{yards[j]}" for v, j in pairs.tolist()]
    own = np.zeros(len(codes)) if inst.trucks.own is None else inst.trucks.own
    worth = inst.trucks.hours_of_one.sum(axis=1) * inst.trucks.hire_per_hour
    return Homes(
        truck=pairs[:, 0],
        yard=pairs[:, 1],
        rows=np.array([row[name] for name in names], dtype=np.int64),
        columns=np.array(
            [x.number for x in var.based.values() if free], dtype=np.int64
        ),
        at=at.reshape(-1),
        own=own[pairs[:, 0]].astype(float),
        worth=worth[pairs[:, 0]],
        shape=(len(codes), len(yards)),
    )
