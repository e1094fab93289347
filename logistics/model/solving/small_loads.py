"""
Leave out small loads of a plan, with its yards as they are.

Least tonnes on a lane that is used at all are semi-continuous: in the programme every
lane would need a yes-or-no decision of its own. Instead the lanes and periods that
carry less are barred after the proof, and the flows of the same yards solved again from
their basis. The bound is that of the plan without the rule, so it holds with the rule
as well.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from logistics.model.problem import (
    Flags,
    Instance,
    Integers,
    Lanes,
    LeastLoads,
    SmallLoads,
)
from logistics.model.solving.amounts import DecisionAmounts
from logistics.model.solving.fixed_yards import Flows, flows_without
from logistics.model.solving.highs import Session

TURNS = 5
"""How often loads are barred: a flow that moves may be small elsewhere."""

NOTHING_T = 1e-6
"""Tonnes that count as none: rounding of the solver. [t]"""


@dataclass(frozen=True, eq=False)
class LaneLoads:
    """
    Small loads on the lanes of one kind.

    Attributes
    ----------
    lanes
        All lanes of the kind, length l.
    carried
        Where a lane carries something that is small, shape (l, t).
    barred
        What has to be barred so that it carries nothing, shape (l, t): lanes of other
        trucks between the same places as well, where all of them together are small.
    tonnes
        What lanes carry, shape (l, t). [t]
    """

    lanes: Lanes
    carried: Flags
    barred: Flags
    tonnes: np.ndarray

    def of_sites(self, sites: Flags) -> LaneLoads:
        """Keep those of some sources (mask, length i)."""
        mask = sites[self.lanes.site][:, None]
        return replace(self, carried=self.carried & mask, barred=self.barred & mask)

    def __len__(self) -> int:
        """Count places and periods between which something small goes."""
        lane, period = np.nonzero(self.carried)
        ends = np.stack([self.lanes.site[lane], self.lanes.yard[lane], period], axis=1)
        return len(np.unique(ends, axis=0))

    @property
    def sum_t(self) -> float:
        """What they carry together. [t]"""
        return float(self.tonnes[self.carried].sum())

    def left_out(self) -> Lanes:
        """Return the lanes without them."""
        return replace(self.lanes, usable=self.lanes.usable & ~self.barred)


def without_small_loads(flows: Flows, session: Session) -> tuple[Flows, SmallLoads]:
    """
    Solve flows again without loads below the least, as far as demands allow.

    Parameters
    ----------
    flows
        Flows of some yards, as cheap as can be.
    session
        Threads and seed.

    Returns
    -------
    Flows, SmallLoads
        The flows given if nothing is small. A goal other than cost is kept as it is:
        what it gains by a small load is what the board asks for.
    """
    least = flows.instance.least_loads
    if least is None or flows.instance.goal != "cost":
        return flows, SmallLoads()
    first, count, tonnes = flows.value, 0, 0.0
    for _ in range(TURNS):
        found = _small_loads(flows, least)
        again = None
        for loads in (found, _not_demanded(flows.instance, found)):
            if sum(map(len, loads)) and again is None:
                again, chosen = _solve_without(flows, loads, session), loads
        if again is None:
            break
        count += sum(map(len, chosen))
        tonnes += sum(part.sum_t for part in chosen)
        flows = again
    kept = sum(map(len, _small_loads(flows, least)))
    return flows, SmallLoads(count, kept, tonnes, flows.value - first)


def _small_loads(flows: Flows, least: LeastLoads) -> tuple[LaneLoads, LaneLoads]:
    """Find loads below the least, inbound and outbound."""
    instance, found = flows.instance, flows.found
    outbound = instance.outbound
    compost = np.zeros(len(outbound), dtype=np.int64)
    feedstock = instance.supply.feedstock[instance.inbound.site]
    return (
        _small_on(instance.inbound, found.hauled, feedstock, least),
        _small_on(outbound, found.delivered, compost, least),
    )


def _small_on(
    lanes: Lanes, flow: DecisionAmounts, freight: Integers, least: LeastLoads
) -> LaneLoads:
    """
    Mark what a lane carries below the least.

    All trucks between two places count together against the least of a period. A truck
    that never loads the least of a trip makes do with the most that it does load of the
    freight (a number of the lane's feedstock or compost, length l).
    """
    tonnes = np.zeros(lanes.usable.shape)
    lane, _, period = flow.index.T
    np.add.at(tonnes, (lane, period), flow.value)
    carries = tonnes > NOTHING_T
    between = _pairs(lanes)
    together = np.zeros((int(between.max(initial=-1)) + 1, tonnes.shape[1]))
    np.add.at(together, between, tonnes)
    few = (together > NOTHING_T) & (together < least.lane_t * (1 - 1e-9))
    of_truck = (lanes.truck, freight)
    fullest = np.zeros([int(n.max(initial=-1)) + 1 for n in of_truck])
    np.maximum.at(fullest, of_truck, lanes.load_t.max(axis=1, initial=0.0))
    most = np.minimum(least.trip_t, fullest[of_truck])[:, None]
    light = carries & (lanes.load_t < most * (1 - 1e-9))
    return LaneLoads(
        lanes=lanes,
        carried=carries & (few[between] | light),
        barred=few[between] | light,
        tonnes=tonnes,
    )


def _pairs(lanes: Lanes) -> Integers:
    """Give each lane the number of the places that it joins, length l."""
    ends = np.stack([lanes.site, lanes.yard], axis=1)
    numbers = np.unique(ends, axis=0, return_inverse=True)[1]
    return np.asarray(numbers, dtype=np.int64).reshape(-1)


def _not_demanded(
    instance: Instance, loads: tuple[LaneLoads, LaneLoads]
) -> tuple[LaneLoads, LaneLoads]:
    """Leave alone sources and markets that the board demands be served."""
    free = ~instance.supply.must_collect
    for rule in instance.policy.least_shares:
        free[list(rule.sources)] = False
    wanted = np.ones(len(instance.markets.codes), dtype=bool)
    for one in (one for one in instance.policy.whole if one.per_t is None):
        (free if one.kind == "source" else wanted)[one.site] = False
    return loads[0].of_sites(free), loads[1].of_sites(wanted)


def _solve_without(
    flows: Flows, loads: tuple[LaneLoads, LaneLoads], session: Session
) -> Flows | None:
    """Solve the flows of the same yards without some loads; None if demands forbid."""
    inbound, outbound = (part.left_out() for part in loads)
    fewer = replace(flows.instance, inbound=inbound, outbound=outbound)
    return flows_without(flows, fewer, session)
