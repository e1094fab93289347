"""
Branching rules on a fractional solution, and the rounding heuristic.

Branching is on aggregated decisions first: whether a yard opens in any size, then in
which of its sizes. Candidates are ranked by how fractional they are, weighed by cost.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from logistics.model.problem import Flags, Floats
from logistics.model.solving.master import Branch, Master

INTEGRALITY_TOLERANCE, INEXACT_TOLERANCE = 1e-6, 0.02
"""Distance from 0 and 1 taken for integer, in exact and in inexact relaxations. [1]"""


def rounding_heuristic(opened: Floats, master: Master) -> Flags:
    """Open every yard that is half open or more, in the size it has most of."""
    openness = np.bincount(master.yard, opened)
    most = np.zeros(len(openness))
    np.maximum.at(most, master.yard, opened)
    largest = (openness[master.yard] >= 0.5) & (opened >= most[master.yard])
    first = np.zeros(len(opened), dtype=bool)
    places = np.flatnonzero(largest)
    first[places[np.unique(master.yard[places], return_index=True)[1]]] = True
    return first


def branching_candidates(
    opened: Floats,
    based: Floats,
    branch: Branch,
    master: Master,
    tolerance: float = INTEGRALITY_TOLERANCE,
) -> list[tuple[Branch, Branch]]:
    """
    Both children for each fractional yard and number of own trucks at a yard.

    If there is none, for each fractional size. What costs most and is most fractional
    comes first.

    Parameters
    ----------
    opened, based
        Fractional solution: how far each option is open, length o; own trucks of each
        pair of type and yard, length h.
    branch, master
        The node's branch, and the full master.
    tolerance
        Distance from 0 and 1 up to which a decision counts as integer. [1]
    """
    openness = np.bincount(master.yard, opened)
    cost = 1.0 + np.maximum(master.frame.cost[master.opened], 0.0)
    yard_cost = np.bincount(master.yard, opened * cost)
    fraction = np.minimum(openness, 1 - openness)
    order = np.argsort(-fraction * yard_cost, kind="stable")
    yards = [j for j in order.tolist() if fraction[j] > tolerance]
    homes = homes_to_branch(based, branch, master, tolerance)
    if yards or homes:
        found = [
            (fraction[j] * yard_cost[j], _on_yard(j, branch, master)) for j in yards
        ]
        ranked = sorted([*found, *homes], key=lambda pair: -pair[0])
        return [children for _, children in ranked]
    fraction = np.minimum(opened, 1 - opened)
    order = np.argsort(-fraction * cost, kind="stable")
    sizes = [o for o in order.tolist() if fraction[o] > tolerance]
    return [_on_size(o, branch, master) for o in sizes]


def homes_to_branch(
    based: Floats,
    branch: Branch,
    master: Master,
    tolerance: float = INTEGRALITY_TOLERANCE,
) -> list[tuple[float, tuple[Branch, Branch]]]:
    """Weight and both children for each number of own trucks that is no integer."""
    fraction = np.abs(based - np.round(based))
    order = np.argsort(-fraction * master.homes.worth, kind="stable")
    return [
        (
            float(fraction[h] * master.homes.worth[h]),
            _on_home(h, float(np.floor(based[h])), branch, master),
        )
        for h in order.tolist()
        if fraction[h] > tolerance
    ]


def _on_yard(yard: int, branch: Branch, master: Master) -> tuple[Branch, Branch]:
    """Close a yard, or open it in some size."""
    must = branch.must.copy()
    must[yard] = True
    closed = np.where(master.yard == yard, 0.0, branch.high)
    return replace(branch, high=closed), replace(branch, must=must)


def _on_size(option: int, branch: Branch, master: Master) -> tuple[Branch, Branch]:
    """Leave a size out, or take it."""
    this = np.arange(len(branch.high)) == option
    others = (master.yard == master.yard[option]) & ~this
    without = np.where(this, 0.0, branch.high)
    low, high = np.where(this, 1.0, branch.low), np.where(others, 0.0, branch.high)
    return replace(branch, high=without), replace(branch, low=low, high=high)


def _on_home(
    pair: int, most: float, branch: Branch, master: Master
) -> tuple[Branch, Branch]:
    """Keep at most so many own trucks at home at a yard, or one more at least."""
    this = np.arange(len(branch.most)) == pair
    must = branch.must.copy()
    must[master.homes.yard[pair]] = True
    return (
        replace(branch, most=np.where(this, most, branch.most)),
        replace(branch, fewest=np.where(this, most + 1, branch.fewest), must=must),
    )
