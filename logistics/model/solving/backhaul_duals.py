"""Duals of the backhaul rows, which tie paired trips to flows, set in closed form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from logistics.model.problem import Flags, Floats, Instance, Integers
from logistics.model.rules import Variables, lanes_of_backhauls, rows_of_backhauls
from logistics.model.solving.matrix import Matrix


@dataclass(frozen=True, eq=False)
class BackhaulRows:
    """
    Where backhauls stand in a programme as arrays.

    Attributes
    ----------
    columns, inward, outward
        Column of each beta, and its rows of the lanes in and out. Length b.
    yard
        Of each beta. Length b.
    """

    columns: Integers
    inward: Integers
    outward: Integers
    yard: Integers

    def outwards(self, frame: Matrix, duals: Floats, shut: Flags) -> Floats:
        """
        Charge backhauls of shut yards (mask, length j) to the way out alone.

        Any duals of their rows are feasible; trips with compost are the fewer.
        """
        y = duals.copy()
        y[self.outward[shut[self.yard]]] = -1e12
        return self.fitted(frame, y)

    def fitted(self, frame: Matrix, duals: Floats) -> Floats:
        """
        Set the duals of backhaul rows so that no beta has a reduced cost below 0.

        Duals of the other rows stay. These rows raise the reduced cost of the flows,
        so the nearer to 0 their duals are the better the bound.
        """
        if not len(self.columns):
            return duals
        y = frame.usable(duals)
        takes = np.maximum(-y, 0.0)
        y[self.inward] = y[self.outward] = 0.0
        need = -frame.take(self.columns).reduced_cost(y)  # both rows together
        takes[self.outward] = np.minimum(takes, _most(self.outward, need, takes))[
            self.outward
        ]
        for this, other in (
            (self.inward, self.outward),
            (self.outward, self.inward),
        ):
            takes[this] = _most(this, need - takes[other], takes)[this]
        y[self.inward], y[self.outward] = -takes[self.inward], -takes[self.outward]
        return y


def _most(rows: Integers, values: Floats, like: Floats) -> Floats:
    """Greatest value above 0 at each row; one value a beta."""
    found = np.zeros_like(like)
    np.maximum.at(found, rows, values)
    return found


def backhaul_rows(
    var: Variables, inst: Instance, row: Mapping[str, int]
) -> BackhaulRows:
    """
    Find the columns and rows of backhauls.

    Parameters
    ----------
    var, inst
        The decisions and the problem.
    row
        Position of each row by its name.
    """
    nothing = np.zeros(0, dtype=np.int64)
    if not var.paired:
        return BackhaulRows(nothing, nothing, nothing, nothing)
    found = lanes_of_backhauls(inst)
    into = rows_of_backhauls(inst, row, inbound=True)
    out = rows_of_backhauls(inst, row, inbound=False)
    n, t = np.array(list(var.paired), dtype=np.int64).T
    columns = np.array([b.number for b in var.paired.values()], dtype=np.int64)
    return BackhaulRows(
        columns=columns,
        inward=into[found.inbound[n], t],
        outward=out[found.outbound[n], t],
        yard=found.backhauls.yard[n],
    )
