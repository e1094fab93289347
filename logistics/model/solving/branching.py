"""How a scope of the tree is divided, and what its relaxation is rounded to."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from logistics.model.problem import Flags, Floats
from logistics.model.solving.master import Scope, Wide

WHOLE, UNSURE = 1e-6, 0.02
"""Distance from shut and open up to which there is no doubt, exact and rough."""


def rounded(opened: Floats, wide: Wide) -> Flags:
    """Open every yard that is half open or more, in the size it has most of."""
    whole = np.bincount(wide.yard, opened)
    most = np.zeros(len(whole))
    np.maximum.at(most, wide.yard, opened)
    chosen = (whole[wide.yard] >= 0.5) & (opened >= most[wide.yard])
    first = np.zeros(len(opened), dtype=bool)
    places = np.flatnonzero(chosen)
    first[places[np.unique(wide.yard[places], return_index=True)[1]]] = True
    return first


def sides(
    opened: Floats, scope: Scope, wide: Wide, least: float = WHOLE
) -> list[tuple[Scope, Scope]]:
    """
    Ways to divide a scope: at yards in doubt, the dearest doubt first, or at sizes.

    Parameters
    ----------
    opened
        How far each option is open, length o.
    scope, wide
        What is divided.
    least
        Distance from open and shut up to which there is no doubt.
    """
    whole = np.bincount(wide.yard, opened)
    cost = 1.0 + np.maximum(wide.frame.cost[wide.opened], 0.0)
    dear = np.bincount(wide.yard, opened * cost)
    doubt = np.minimum(whole, 1 - whole)
    order = np.argsort(-doubt * dear, kind="stable")
    yards = [j for j in order.tolist() if doubt[j] > least]
    if yards:
        return [_at_yard(j, scope, wide) for j in yards]
    doubt = np.minimum(opened, 1 - opened)
    order = np.argsort(-doubt * cost, kind="stable")
    return [_at_size(o, scope, wide) for o in order.tolist() if doubt[o] > least]


def _at_yard(yard: int, scope: Scope, wide: Wide) -> tuple[Scope, Scope]:
    """Close a yard, or open it in some size."""
    must = scope.must.copy()
    must[yard] = True
    closed = np.where(wide.yard == yard, 0.0, scope.high)
    return replace(scope, high=closed), replace(scope, must=must)


def _at_size(option: int, scope: Scope, wide: Wide) -> tuple[Scope, Scope]:
    """Leave a size out, or take it."""
    this = np.arange(len(scope.high)) == option
    others = (wide.yard == wide.yard[option]) & ~this
    without = np.where(this, 0.0, scope.high)
    low, high = np.where(this, 1.0, scope.low), np.where(others, 0.0, scope.high)
    return replace(scope, high=without), replace(scope, low=low, high=high)
