"""The flows on lanes as columns of numbers, laid out all at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from logistics.model.problem import Floats, Instance, Lanes, Whole
from logistics.model.rules import (
    arising,
    most_delivered,
    most_hauled,
    option_names,
    pair_rows,
)

NONE = -1

SMALL = 20_000
"""Columns up to which the whole programme is given to the solver as it is."""

Index = NDArray[np.int32]
Entry = tuple[NDArray[Any], float | Floats]
"""Rows, one a column (-1 for none), and their coefficients."""

Part = tuple[dict[str, Any], tuple[str, ...], list[Entry]]
"""Flows of one direction: attributes of `LaneFlows`, names of links, entries."""


@dataclass(frozen=True, eq=False)
class LaneFlows:
    """
    One column for each lane, period and option of its yard.

    Attributes
    ----------
    lane, option, period
        Outbound lanes are numbered after inbound ones. Length x.
    key, balance
        Row of its supply or its market's demand; number of the yard's arrivals or
        compost that it enters, the same for flows of one sort. Length x.
    cost
        Length x. [goal/t]
    most
        More than that it will not be in its period, length x. [t]
    rows
        Coefficients in the rows given and the link rows, shape (rows, x), sparse by
        column.
    link
        The row that ties the flow to its option, length x. Link rows come last.
    link_names, link_option, link_most
        Of the link rows: names, options, and the year's flow of an open one. [t/yr]
    """

    lane: Index
    option: Index
    period: Index
    key: Index
    balance: Index
    cost: Floats
    most: Floats
    rows: Any
    link: Index
    link_names: tuple[str, ...]
    link_option: Whole
    link_most: Floats

    def __len__(self) -> int:
        """Count the flows."""
        return len(self.cost)


def columns(instance: Instance) -> int:
    """Count the flows on lanes that the whole programme has."""
    sizes = np.bincount(instance.options.yard, minlength=len(instance.yards.codes))
    return sum(
        int((lanes.usable.sum(axis=1) * sizes[lanes.yard]).sum())
        for lanes in (instance.inbound, instance.outbound)
    )


def is_small(instance: Instance) -> bool:
    """Whether the whole programme is small enough to be given as it is."""
    return columns(instance) <= SMALL


def lane_flows(inst: Instance, row: Mapping[str, int]) -> LaneFlows:
    """
    Lay out the flows of an instance.

    Parameters
    ----------
    inst
        The problem.
    row
        Position of each row of its programme but the link rows, by name.
    """
    inward, names_in, entries_in = _inbound(inst, row)
    first = len(row) + len(names_in)
    outward, names_out, entries_out = _outbound(inst, row, first)
    outward["lane"] += np.int32(len(inst.inbound))
    return LaneFlows(
        **{name: np.concatenate([inward[name], outward[name]]) for name in inward},
        rows=_by_column((entries_in, entries_out), first + len(names_out)),
        link_names=names_in + names_out,
    )


def flow_names(inst: Instance, flows: LaneFlows, some: Whole) -> list[str]:
    """Name some of the flows as the programme written in full does."""
    options, periods = option_names(inst), inst.periods
    lanes = [
        f"{label}.{codes[i]}.{inst.trucks.codes[v]}"
        for label, codes, table in (
            ("haul", inst.supply.codes, inst.inbound),
            ("deliver", inst.markets.codes, inst.outbound),
        )
        for i, v in zip(table.site.tolist(), table.truck.tolist(), strict=True)
    ]
    which = (x[some].tolist() for x in (flows.lane, flows.option, flows.period))
    return [
        f"{lanes[a]}.{options[o]}.{periods[t]}" for a, o, t in zip(*which, strict=True)
    ]


def _inbound(inst: Instance, row: Mapping[str, int]) -> Part:
    """Lay out x[a,o,t]."""
    lanes, supply, feed = inst.inbound, inst.supply, inst.feed
    names, periods = option_names(inst), inst.periods
    lane, period, option = _spread(
        inst, lanes, lanes.usable & arising(inst)[lanes.site]
    )
    site = lanes.site[lane]
    arrive = _rows(row, "arrive", names, feed.codes, periods)
    key = _rows(row, "supply", supply.codes, periods)[site, period]
    balance = arrive[option, supply.feedstock[site], period]
    entries: list[Entry] = [
        (key, 1.0),
        (balance, -1.0),
        *_common(inst, row, lanes, lane, period),
    ]
    for rule in inst.policy.least_shares:
        found = np.full(len(supply.codes), NONE)
        found[list(rule.sources)] = row[f"least_share.{rule.code}"]
        entries.append((found[site], 1.0))
    entries += _paired(inst, row, lane, period, inbound=True)
    money = lanes.money[lane, period] + supply.money_per_t[site]
    entries += _budget(row, money)
    held = supply.hold_t * feed.store_periods[supply.feedstock].any(axis=1)
    return _columns(
        row_of=(len(row), key, balance),
        flow=(lane, period, option),
        cost=_cost(inst, money, lanes.co2e[lane, period]),
        most=(supply.tonnes + held[:, None])[site, period],
        link=("link_in", supply.codes, site, most_hauled(inst), names),
        entries=entries,
    )


def _outbound(inst: Instance, row: Mapping[str, int], first: int) -> Part:
    """Lay out f[a,o,t]."""
    lanes, markets = inst.outbound, inst.markets
    names, periods = option_names(inst), inst.periods
    wanted = (markets.demand > 0)[lanes.site]
    lane, period, option = _spread(inst, lanes, lanes.usable & wanted)
    site = lanes.site[lane]
    key = _rows(row, "demand", markets.codes, periods)[site, period]
    balance = _rows(row, "compost", names, periods)[option, period]
    money = lanes.money[lane, period] - markets.price_per_t[site]
    entries: list[Entry] = [
        (key, 1.0),
        (balance, 1.0),
        (_rows(row, "nutrients", markets.codes)[site], 1.0),
        *_common(inst, row, lanes, lane, period),
        *_paired(inst, row, lane, period, inbound=False),
        *_budget(row, money),
    ]
    return _columns(
        row_of=(first, key, balance),
        flow=(lane, period, option),
        cost=_cost(inst, money, lanes.co2e[lane, period]),
        most=markets.demand[site, period],
        link=("link_out", markets.codes, site, most_delivered(inst), names),
        entries=entries,
    )


def _cost(inst: Instance, money: Floats, co2e: Floats) -> Floats:
    """Cost of the flows under the goal."""
    return {"cost": money, "co2e": co2e}.get(inst.goal, np.zeros(len(money)))


def _common(
    inst: Instance, row: Mapping[str, int], lanes: Lanes, lane: Index, period: Index
) -> list[Entry]:
    """Rows of both directions: truck hours and emissions."""
    trucks = _rows(row, "trucks", inst.trucks.codes, inst.periods)
    found: list[Entry] = [
        (trucks[lanes.truck[lane], period], lanes.hours[lane, period])
    ]
    if "emissions" in row:
        rows = np.full(len(lane), row["emissions"])
        found.append((rows, lanes.co2e[lane, period]))
    return found


def _paired(
    inst: Instance, row: Mapping[str, int], lane: Index, period: Index, *, inbound: bool
) -> list[Entry]:
    """Rows of paired trips, which no more than the trips of a lane can be."""
    if inst.pairs is None:
        return []
    lanes = inst.inbound if inbound else inst.outbound
    rows = pair_rows(inst, row, inbound=inbound)[lane, period]
    return [(rows, -1.0 / lanes.load_t[lane, period])]


def _budget(row: Mapping[str, int], money: Floats) -> list[Entry]:
    if "budget" not in row:
        return []
    return [(np.full(len(money), row["budget"]), money)]


def _spread(
    inst: Instance, lanes: Lanes, usable: NDArray[np.bool_]
) -> tuple[Index, Index, Index]:
    """Return lane, period and option of every flow, options running fastest."""
    lane, period = (at.astype(np.int32) for at in np.nonzero(usable))
    order = np.argsort(inst.options.yard, kind="stable").astype(np.int32)
    count = np.bincount(inst.options.yard, minlength=len(inst.yards.codes))
    first = (np.cumsum(count) - count).astype(np.int32)
    yard = lanes.yard[lane]
    times = count[yard]
    begin = (np.cumsum(times) - times).astype(np.int32)
    within = np.arange(int(times.sum()), dtype=np.int32) - np.repeat(begin, times)
    option = order[np.repeat(first[yard], times) + within]
    return np.repeat(lane, times), np.repeat(period, times), option


def _rows(row: Mapping[str, int], label: str, *codes: Sequence[str]) -> Index:
    """Positions of the rows called label.a.b..., shape as the codes; -1 for none."""
    shape = tuple(len(c) for c in codes)
    found = np.full(shape, NONE, dtype=np.int32)
    for at in np.ndindex(shape):
        name = ".".join([label, *(c[n] for c, n in zip(codes, at, strict=True))])
        found[at] = row.get(name, NONE)
    return found


def _columns(
    row_of: tuple[int, Index, Index],
    flow: tuple[Index, Index, Index],
    cost: Floats,
    most: Floats,
    link: tuple[str, Sequence[str], Whole, Floats, Sequence[str]],
    entries: Sequence[Entry],
) -> Part:
    """Put together what is known of each column, its link row last."""
    first, key, balance = row_of
    lane, period, option = flow
    label, sites, site, limit, names = link
    pairs, at = np.unique(site * len(names) + option, return_inverse=True)
    site_of, option_of = np.divmod(pairs, len(names))
    tied = (first + at).astype(np.int32)
    known = {
        "lane": lane,
        "option": option,
        "period": period,
        "key": key,
        "balance": balance,
        "cost": cost,
        "most": most,
        "link": tied,
        "link_option": option_of,
        "link_most": limit[site_of, option_of],
    }
    link_names = tuple(
        f"{label}.{sites[i]}.{names[o]}"
        for i, o in zip(site_of.tolist(), option_of.tolist(), strict=True)
    )
    return known, link_names, [*entries, (tied, 1.0)]


def _by_column(parts: Sequence[Sequence[Entry]], height: int) -> Any:
    """Write entries straight into their columns: there may be millions."""
    size = np.concatenate(
        [np.sum([rows >= 0 for rows, _ in part], axis=0) for part in parts]
    )
    start = np.append(0, np.cumsum(size)).astype(np.int32)
    index = np.empty(start[-1], dtype=np.int32)
    value = np.empty(start[-1])
    places = np.split(start[:-1].copy(), [len(parts[0][0][0])])
    for place, part in zip(places, parts, strict=True):
        for rows, coefficient in part:
            there = rows >= 0
            at = place[there]
            index[at] = rows[there]
            value[at] = np.broadcast_to(coefficient, rows.shape)[there]
            place += there
    return sparse.csc_matrix((value, index, start), shape=(height, len(size)))
