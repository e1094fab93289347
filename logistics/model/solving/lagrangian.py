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

GOLDEN, LINE_STEPS = (5**0.5 - 1) / 2, 4
"""Golden section, and steps of a search between two sets of duals."""


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


Proof = tuple[Floats, LagrangianBound]
"""Duals of all rows, and what they prove."""


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


def best_between(
    master: Master, branch: Branch, best: Proof, last: Proof, enough: float
) -> Proof:
    """
    Bound by duals between two: the bound is concave there, often above both ends.

    Duals of restricted masters swing from round to round; what lies between proves
    more (in-out stabilisation: Ben-Ameur and Neto, Networks 49(1), 2007, from memory).
    Golden section; each step costs one pass over the columns, and no programme.

    Parameters
    ----------
    master, branch
        The full master, and its branch.
    best, last
        Two sets of duals of all rows, and what each proves.
    enough
        Bound at which the search may end. [goal]

    Returns
    -------
    tuple
        Duals that prove most, and what they prove.
    """
    tried = [best, last]
    move = last[0] - best[0]

    def at(share: float) -> float:
        duals = best[0] + share * move
        tried.append((duals, lagrangian_bound(master, duals, branch)))
        return tried[-1][1].bound

    def most() -> Proof:
        return max(tried, key=lambda proof: proof[1].bound)

    low, high = 0.0, 1.0
    if most()[1].bound >= enough:
        return most()
    left, right = at(1 - GOLDEN), at(GOLDEN)
    for _ in range(LINE_STEPS):
        if most()[1].bound >= enough:
            break
        width = GOLDEN * (high - low)
        if left >= right:
            high, right = low + width, left
            left = at(high - GOLDEN * (high - low))
        else:
            low, left = high - width, right
            right = at(low + GOLDEN * (high - low))
    return most()
