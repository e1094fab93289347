"""
Lagrangian bound of a node: weak duality over every column of the full master.

Any duals of the rows bound the optimum from below (Geoffrion 1974), so the bound holds
for all columns, whichever ones a restricted master had and however inexact its duals
(safe bounds as in Neumaier and Shcherbina 2004).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from logistics.model.problem import Floats
from logistics.model.solving.flow_columns import NONE
from logistics.model.solving.master import Branch, Master


@dataclass(frozen=True, eq=False)
class LagrangianBound:
    """
    What duals of the full master prove.

    Attributes
    ----------
    bound
        No plan within the branch is better. [goal]
    reduced_cost
        Of each flow column, with link rows at a dual of 0. [goal/t]
    excess
        By how much the bound rises where an option is opened, length o: the reduced
        cost by which options are fixed. [goal]
    gain
        Reduced cost of each option where it is below 0, else 0; length o. [goal]
    """

    bound: float
    reduced_cost: Floats
    excess: Floats
    gain: Floats

    def at_least(self, bound: float) -> LagrangianBound:
        """Take over a better bound; what opening an option costs stays as proven."""
        rise = max(0.0, bound - self.bound)
        return replace(self, bound=self.bound + rise, excess=self.excess - rise)


def lagrangian_bound(master: Master, duals: Floats, branch: Branch) -> LagrangianBound:
    """
    Bound all plans of a branch from below, with any duals of the rows.

    Weak duality, with two sorts of duals set in closed form: that of a link row to the
    least reduced cost of its flow columns, or 0; and of each yard the option of least
    reduced cost is opened, or none. Every other row counts at the side that the sign of
    its dual asks for, every column at the end of its range where it costs least.
    """
    flows, frame = master.flows, master.frame
    may = branch.high > 0
    y = frame.usable(duals)
    y[master.links] = 0.0
    y[master.one_size] = 0.0
    flow_cost = flows.cost - flows.rows.T @ y
    gains = np.flatnonzero((flow_cost < 0) & may[flows.option])
    np.minimum.at(y, flows.link[gains], flow_cost[gains])
    column_cost = frame.reduced_cost(y)
    opening = column_cost[master.opened]
    below, above = master.sides(branch)
    row_value = np.where(y > 0, below, np.where(y < 0, above, 0.0))
    high = np.where(np.isinf(frame.high), master.most, frame.high)
    ends = np.where(column_cost >= 0, frame.low, high)
    ends[master.opened] = 0.0
    ends[(master.option != NONE) & ~may[master.option]] = 0.0
    least = np.full(len(branch.must), np.inf)
    np.minimum.at(least, master.yard[may], opening[may])
    must = branch.must.copy()
    must[master.yard[branch.low > 0]] = True
    share = np.where(must, least, np.minimum(least, 0.0))
    known = np.bincount(master.yard, minlength=len(must)) > 0
    bound = float(y @ row_value + column_cost @ ends) + frame.constant
    bound += share[known].sum()
    excess = opening - np.minimum(share, 1e300)[master.yard]
    gain = np.where(may, np.minimum(opening, 0.0), 0.0)
    return LagrangianBound(bound, flow_cost, excess, gain)
