"""
What prices of a wide programme's rows prove: no plan within a scope is better.

Every flow is priced, whatever a relaxation carried and however rough its duals are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from logistics.model.problem import Floats
from logistics.model.solving.flow_columns import NONE
from logistics.model.solving.master import Scope, Wide


@dataclass(frozen=True, eq=False)
class Bounded:
    """
    What prices of the rows prove.

    Attributes
    ----------
    bound
        No plan within the scope is better. [goal]
    room
        Reduced cost of each flow, link rows priced at nothing. [goal/t]
    excess
        By how much the bound rises where an option is opened, length o. [goal]
    gain
        What each option seems to gain, below 0, or 0; length o. [goal]
    """

    bound: float
    room: Floats
    excess: Floats
    gain: Floats

    def at_least(self, bound: float) -> Bounded:
        """Take over a better bound; what opening an option costs stays as proven."""
        rise = max(0.0, bound - self.bound)
        return replace(self, bound=self.bound + rise, excess=self.excess - rise)


def bound_of(wide: Wide, prices: Floats, scope: Scope) -> Bounded:
    """
    Bound all plans within a scope from below, with any prices of the rows.

    Weak duality, with two sorts of rows priced in closed form: a link row takes what
    its best flow would gain and no more, and of each yard the option that gains most
    is opened, or none. Every other row is paid at the side its price asks for, and
    every column is at the end of its range where it costs least.
    """
    flows, frame = wide.flows, wide.frame
    may = scope.high > 0
    y = frame.usable(prices)
    y[wide.links] = 0.0
    y[wide.one_size] = 0.0
    room = flows.cost - flows.rows.T @ y
    gains = np.flatnonzero((room < 0) & may[flows.option])
    np.minimum.at(y, flows.link[gains], room[gains])
    left = frame.reduced_cost(y)
    opening = left[wide.opened]
    paid = np.where(y > 0, frame.below, np.where(y < 0, frame.above, 0.0))
    high = np.where(np.isinf(frame.high), wide.most, frame.high)
    ends = np.where(left >= 0, frame.low, high)
    ends[wide.opened] = 0.0
    ends[(wide.option != NONE) & ~may[wide.option]] = 0.0
    least = np.full(len(scope.must), np.inf)
    np.minimum.at(least, wide.yard[may], opening[may])
    must = scope.must.copy()
    must[wide.yard[scope.low > 0]] = True
    share = np.where(must, least, np.minimum(least, 0.0))
    known = np.bincount(wide.yard, minlength=len(must)) > 0
    bound = float(y @ paid + left @ ends) + frame.constant + share[known].sum()
    excess = opening - np.minimum(share, 1e300)[wide.yard]
    return Bounded(bound, room, excess, np.where(may, np.minimum(opening, 0.0), 0.0))
