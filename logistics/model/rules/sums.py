"""
Sums of flows on lanes: what rules are made of, written once for both ways of solving.

A small programme has a column for every flow; a large one is a frame whose flows are
laid out beside it as arrays, and brought in few at a time. A rule need not know which:
it takes the sums it needs by name (`Variables.sum_of`), and they come as terms either
way. A rule that weighs flows in a way of its own adds a line to `SUMS`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from logistics.model.problem import (
    SUBSTANCES,
    Flags,
    Floats,
    Instance,
    Integers,
    Lanes,
)

Index = NDArray[np.int32]
Key = tuple[int, ...]


@dataclass(frozen=True, eq=False)
class LaneFlowIndex:
    """
    The flows on the lanes of one direction: one a usable lane, period and option.

    Attributes
    ----------
    inst, lanes
        The problem, and its lanes of this direction.
    lane, period, option
        Of each flow, options running fastest. Length x.
    """

    inst: Instance
    lanes: Lanes
    lane: Index
    period: Index
    option: Index

    def __len__(self) -> int:
        """Count the flows."""
        return len(self.lane)

    @property
    def site(self) -> Integers:
        """Source or market of each flow, length x."""
        return self.lanes.site[self.lane]


def inward_flows(inst: Instance) -> LaneFlowIndex:
    """List the flows x[a,o,t] from sources to yards."""
    lanes = inst.inbound
    return _spread(inst, lanes, lanes.usable & arising(inst)[lanes.site])


def outward_flows(inst: Instance) -> LaneFlowIndex:
    """List the flows f[a,o,t] from yards to markets."""
    lanes = inst.outbound
    wanted = (inst.markets.demand > 0)[lanes.site]
    return _spread(inst, lanes, lanes.usable & wanted)


def arising(inst: Instance) -> Flags:
    """Mark when a source has something to fetch, shape (i, t)."""
    supply = inst.supply
    arises = supply.tonnes > 0
    arises |= ((supply.hold_t > 0) & arises.any(axis=1))[:, None]
    return np.asarray(arises, dtype=bool)


def _spread(inst: Instance, lanes: Lanes, usable: Flags) -> LaneFlowIndex:
    """Give every usable lane and period the options of its yard."""
    lane, period = (at.astype(np.int32) for at in np.nonzero(usable))
    order = np.argsort(inst.options.yard, kind="stable").astype(np.int32)
    count = np.bincount(inst.options.yard, minlength=len(inst.yards.codes))
    first = (np.cumsum(count) - count).astype(np.int32)
    yard = lanes.yard[lane]
    times = count[yard]
    begin = (np.cumsum(times) - times).astype(np.int32)
    within = np.arange(int(times.sum()), dtype=np.int32) - np.repeat(begin, times)
    option = order[np.repeat(first[yard], times) + within]
    return LaneFlowIndex(
        inst, lanes, np.repeat(lane, times), np.repeat(period, times), option
    )


@dataclass(frozen=True)
class Side:
    """
    How the flows of one direction enter a sum.

    Attributes
    ----------
    index
        Which sum each flow belongs to: one array of length x for each index.
    weight
        What a tonne of each flow counts, length x; None counts every tonne as one.
    """

    index: Callable[[LaneFlowIndex], tuple[NDArray[np.integer], ...]]
    weight: Callable[[LaneFlowIndex], Floats] | None = None


@dataclass(frozen=True)
class FlowSum:
    """A sum over flows that share an index: inward, outward, or both together."""

    inward: Side | None = None
    outward: Side | None = None


def _source_feedstock(flows: LaneFlowIndex) -> Integers:
    return flows.inst.supply.feedstock[flows.site]


def _hours(flows: LaneFlowIndex) -> Floats:
    return flows.lanes.hours[flows.lane, flows.period]


def _trips(flows: LaneFlowIndex) -> Floats:
    return np.asarray(1.0 / flows.lanes.load_t[flows.lane, flows.period])


def _co2e(flows: LaneFlowIndex) -> Floats:
    return flows.lanes.co2e[flows.lane, flows.period]


def _cost(flows: LaneFlowIndex) -> Floats:
    bought = flows.inst.supply.prices[flows.site, flows.period]
    return np.asarray(flows.lanes.money[flows.lane, flows.period] + bought)


def _net_of_sales(flows: LaneFlowIndex) -> Floats:
    sold = flows.inst.markets.prices[flows.site, flows.period]
    return np.asarray(flows.lanes.money[flows.lane, flows.period] - sold)


def _site_period(flows: LaneFlowIndex) -> tuple[NDArray[np.integer], ...]:
    return flows.site, flows.period


def _site_option(flows: LaneFlowIndex) -> tuple[NDArray[np.integer], ...]:
    return flows.site, flows.option


def _truck_period(flows: LaneFlowIndex) -> tuple[NDArray[np.integer], ...]:
    return flows.lanes.truck[flows.lane], flows.period


def _option_truck_period(flows: LaneFlowIndex) -> tuple[NDArray[np.integer], ...]:
    return flows.option, flows.lanes.truck[flows.lane], flows.period


def _lane_period(flows: LaneFlowIndex) -> tuple[NDArray[np.integer], ...]:
    return flows.lane, flows.period


def _site(flows: LaneFlowIndex) -> tuple[NDArray[np.integer], ...]:
    return (flows.site,)


def _content(key: str, flows: LaneFlowIndex) -> Floats:
    """Most of a substance that a tonne of compost brings. [t/t]"""
    contents = flows.inst.contents
    if contents is None:
        return np.zeros(len(flows))
    return contents.of(key)[flows.lanes.yard[flows.lane], flows.period]


def _all(flows: LaneFlowIndex) -> tuple[NDArray[np.integer], ...]:
    del flows
    return ()


SUMS: dict[str, FlowSum] = {
    "source": FlowSum(inward=Side(_site_period)),
    "intake": FlowSum(
        inward=Side(lambda f: (f.option, _source_feedstock(f), f.period))
    ),
    "source_to_option": FlowSum(inward=Side(_site_option)),
    "market": FlowSum(outward=Side(_site_period)),
    "dispatch": FlowSum(outward=Side(lambda f: (f.option, f.period))),
    "option_to_market": FlowSum(outward=Side(_site_option)),
    "truck_hours": FlowSum(Side(_truck_period, _hours), Side(_truck_period, _hours)),
    "option_hours": FlowSum(
        Side(_option_truck_period, _hours), Side(_option_truck_period, _hours)
    ),
    "trips_in": FlowSum(inward=Side(_lane_period, _trips)),
    "trips_out": FlowSum(outward=Side(_lane_period, _trips)),
    "co2e": FlowSum(Side(_all, _co2e), Side(_all, _co2e)),
    "money": FlowSum(Side(_all, _cost), Side(_all, _net_of_sales)),
    **{
        f"market_{key}": FlowSum(outward=Side(_site, partial(_content, key)))
        for key in SUBSTANCES
    },
}
"""
Sums by name, with their index:

- source [i,t], intake [o,m,t], source_to_option [i,o]: tonnes hauled in;
- market [n,t], dispatch [o,t], option_to_market [n,o]: tonnes of compost delivered;
- truck_hours [v,t], option_hours [o,v,t]: hours of both directions; [h]
- trips_in [a,t], trips_out [a,t]: trips on a lane;
- market_n [n], market_p2o5 [n] and so on: most of a substance that a market gets; [t]
- co2e [], money []: of all haulage, [kg CO2e]; with purchases, less sales. [money]
"""


@dataclass(frozen=True, eq=False)
class Keys:
    """
    The indexes a sum has, as one number each.

    Attributes
    ----------
    shape
        Of the table that all indexes together would fill.
    code
        Number of each flow's index, length x.
    """

    shape: tuple[int, ...]
    code: Integers

    def number(self, key: Key) -> int:
        """Return the number of an index; -1 where only the other side has it."""
        if any(k >= n for k, n in zip(key, self.shape, strict=True)):
            return -1
        return int(np.ravel_multi_index(key, self.shape)) if key else 0

    def each(self) -> list[Key]:
        """Return the index of each flow, length x."""
        return self._keys(self.code)

    def there(self) -> list[Key]:
        """Return the indexes that some flow has, in order."""
        seen = np.zeros(int(np.prod(self.shape, dtype=np.int64)), dtype=bool)
        seen[self.code] = True
        return self._keys(np.flatnonzero(seen))

    def _keys(self, numbers: Integers) -> list[Key]:
        if not self.shape:
            return [()] * len(numbers)
        columns = (c.tolist() for c in np.unravel_index(numbers, self.shape))
        return list(zip(*columns, strict=True))


def keys_of_sum(side: Side, flows: LaneFlowIndex) -> Keys:
    """Give the index that each flow has in a sum as one number."""
    columns = side.index(flows)
    if not columns:
        return Keys((), np.zeros(len(flows), dtype=np.int64))
    shape = tuple(int(c.max(initial=-1)) + 1 for c in columns)
    if not len(flows):
        return Keys(shape, np.zeros(0, dtype=np.int64))
    return Keys(shape, np.ravel_multi_index(columns, shape).astype(np.int64))


def weights(side: Side, flows: LaneFlowIndex) -> Floats:
    """Say what a tonne of each flow counts in a sum, length x."""
    return np.ones(len(flows)) if side.weight is None else side.weight(flows)
