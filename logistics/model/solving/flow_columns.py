"""Flow columns of the full master, one a lane, period and option, made all at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from logistics.model.problem import Floats, Instance, Integers
from logistics.model.rules import (
    SUMS,
    Index,
    Key,
    LaneFlowIndex,
    Programme,
    Side,
    Variables,
    flow_labels,
    keys_of_sum,
    most_delivered,
    most_hauled,
    option_names,
    weights,
)

NONE = -1

SMALL = 20_000
"""Columns up to which the full programme is given to the solver as it is."""

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
    link_option: Integers
    link_most: Floats

    def __len__(self) -> int:
        """Count the flows."""
        return len(self.cost)


def columns(instance: Instance) -> int:
    """Count the flow columns that the full programme has."""
    sizes = np.bincount(instance.options.yard, minlength=len(instance.yards.codes))
    return sum(
        int((lanes.usable.sum(axis=1) * sizes[lanes.yard]).sum())
        for lanes in (instance.inbound, instance.outbound)
    )


def is_small(instance: Instance) -> bool:
    """Whether the full programme is small enough to be given as it is."""
    return columns(instance) <= SMALL


def lane_flows(inst: Instance, programme: Programme, variables: Variables) -> LaneFlows:
    """
    Lay out the flows of an instance beside the frame of its programme.

    Every row and the goal say by their sums of flows what a flow counts in them, so a
    rule is written once, in `rules`.

    Parameters
    ----------
    inst
        The problem.
    programme, variables
        Its frame, as `build` writes it without lanes and links.
    """
    row = {name: n for n, name in enumerate(programme.rows)}
    sides = (
        _side(inst, programme, variables.inward, inward=True),
        _side(inst, programme, variables.outward, inward=False),
    )
    inward = _inward(inst, row, variables.inward, sides[0], len(row))
    first = len(row) + len(inward[1])
    outward = _outward(inst, row, variables.outward, sides[1], first)
    outward[0]["lane"] = outward[0]["lane"] + np.int32(len(inst.inbound))
    return LaneFlows(
        **{
            name: np.concatenate([inward[0][name], outward[0][name]])
            for name in inward[0]
        },
        rows=_by_column((inward[2], outward[2]), first + len(outward[1])),
        link_names=inward[1] + outward[1],
    )


def flow_names(inst: Instance, flows: LaneFlows, some: Integers) -> list[str]:
    """Name some of the flows as the programme written in full does."""
    options, periods = option_names(inst), inst.periods
    inward, outward = flow_labels(inst)
    lanes = inward + outward
    which = (x[some].tolist() for x in (flows.lane, flows.option, flows.period))
    return [
        f"{lanes[a]}.{options[o]}.{periods[t]}" for a, o, t in zip(*which, strict=True)
    ]


@dataclass(frozen=True, eq=False)
class _Side:
    """Cost of the flows of one direction, and their entries in the frame's rows."""

    cost: Floats
    entries: list[Entry]


def _side(
    inst: Instance, programme: Programme, flows: LaneFlowIndex, *, inward: bool
) -> _Side:
    """Read from the rows and the goal what the flows of one direction count in them."""
    used: dict[str, list[tuple[Key, int, float]]] = defaultdict(list)
    for number, row in enumerate(programme.rows.values()):
        for x, c in row.sums:
            used[x.name].append((x.key, number, c))
    cost = np.zeros(len(flows))
    for x, c in programme.goal_sums:
        if (side := _of(x.name, inward=inward)) is not None:
            cost += c * weights(side, flows)
    entries: list[Entry] = []
    for name, found in used.items():
        if (side := _of(name, inward=inward)) is not None:
            entries += _entries(side, flows, found)
    entries.sort(key=_first_row)
    return _Side(cost, entries)


def _first_row(entry: Entry) -> int:
    """Return the first row that flows enter by an entry, to keep rows in order."""
    return int(np.min(entry[0][entry[0] >= 0], initial=np.iinfo(np.int32).max))


def _of(name: str, *, inward: bool) -> Side | None:
    """Return how flows of one direction enter a sum."""
    return SUMS[name].inward if inward else SUMS[name].outward


def _entries(
    side: Side, flows: LaneFlowIndex, found: Sequence[tuple[Key, int, float]]
) -> Iterator[Entry]:
    """
    Yield entries of all flows in the rows that hold their sum, one a row.

    Parameters
    ----------
    side, flows
        How the flows enter the sum.
    found
        Index of a sum, row and coefficient, rows ascending.
    """
    keys = keys_of_sum(side, flows)
    size = int(np.prod(keys.shape, dtype=np.int64))
    layers: list[tuple[Index, Floats]] = []
    depth: dict[int, int] = defaultdict(int)
    for key, row, coefficient in found:
        number = keys.number(key)
        if number < 0:
            continue
        level = depth[number]
        depth[number] += 1
        if level == len(layers):
            layers.append((np.full(size, NONE, dtype=np.int32), np.zeros(size)))
        layers[level][0][number], layers[level][1][number] = row, coefficient
    for rows, coefficients in layers:
        used = np.unique(coefficients[rows >= 0])
        if side.weight is None and len(used) == 1:
            yield rows[keys.code], float(used[0])
        else:
            yield rows[keys.code], coefficients[keys.code] * weights(side, flows)


def _inward(
    inst: Instance,
    row: Mapping[str, int],
    flows: LaneFlowIndex,
    side: _Side,
    first: int,
) -> Part:
    """Lay out x[a,o,t]."""
    supply, feed = inst.supply, inst.feed
    names, periods = option_names(inst), inst.periods
    site, period = flows.site, flows.period
    arrive = _rows(row, "arrive", names, feed.codes, periods)
    held = supply.hold_t * feed.store_periods[supply.feedstock].any(axis=1)
    return _columns(
        row_of=(
            first,
            _rows(row, "supply", supply.codes, periods)[site, period],
            arrive[flows.option, supply.feedstock[site], period],
        ),
        flow=(flows.lane, period, flows.option),
        cost=side.cost,
        most=(supply.tonnes + held[:, None])[site, period],
        link=("link_in", supply.codes, site, most_hauled(inst), names),
        entries=side.entries,
    )


def _outward(
    inst: Instance,
    row: Mapping[str, int],
    flows: LaneFlowIndex,
    side: _Side,
    first: int,
) -> Part:
    """Lay out f[a,o,t]."""
    markets, names, periods = inst.markets, option_names(inst), inst.periods
    site, period = flows.site, flows.period
    return _columns(
        row_of=(
            first,
            _rows(row, "demand", markets.codes, periods)[site, period],
            _rows(row, "compost", names, periods)[flows.option, period],
        ),
        flow=(flows.lane, period, flows.option),
        cost=side.cost,
        most=markets.demand[site, period],
        link=("link_out", markets.codes, site, most_delivered(inst), names),
        entries=side.entries,
    )


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
    link: tuple[str, Sequence[str], Integers, Floats, Sequence[str]],
    entries: Sequence[Entry],
) -> Part:
    """Put together what is known of each column, its link row last."""
    first, key, balance = row_of
    lane, period, option = flow
    label, sites, site, limit, names = link
    tie, at = np.unique(site * len(names) + option, return_inverse=True)
    site_of, option_of = np.divmod(tie, len(names))
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
