"""
A country made coarse: near sources and near markets as one, candidates thinned.

Sources of one feedstock with equal prices, duties and season that lie in one hexagon
become a group; so do markets of equal price and season. A group has the tonnes of its
members; a lane of the group costs what its members' lanes cost on the mean, weighed by
tonnes. That keeps supply, demand and nutrient ceilings whole. It moves only where
things are: for a group that one yard takes whole the mean is exact, for one that
several yards share it is not, since the true plan sends each member to its nearer yard.
So the coarse cost is an estimate, neither a bound nor the cost of a plan.

Each group has lanes to the yards it reaches cheapest, a dozen at most. Of the
candidates in one hexagon the one with the cheapest pad stays; yards that are
built or must open always stay. `country` solves the coarse problem, lets the neighbours
of the opened candidates in again, and then plans the true flows.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy import sparse
from scipy.spatial import cKDTree

from logistics.costs import Trips
from logistics.model import (
    Contents,
    Flags,
    Floats,
    Instance,
    Integers,
    Lanes,
    NoPlanError,
    Trucks,
    dominated,
    prepare,
)
from logistics.roads import (
    STRAIGHT,
    Travel,
    TravelState,
    circuitous_km,
    geodesic_km,
    sites,
    travel,
)
from logistics.studies.clustering import (
    grouped_limits,
    grouped_markets,
    grouped_supply,
    hexagons,
    market_groups,
    source_groups,
)

if TYPE_CHECKING:
    import pandas as pd

    from logistics.scenario import Scenario

BLOCK = 25
"""Candidates whose lanes are laid out at a time."""

NEAR = 9
"""Sources of a material, itself among them, that a source's rounds may share."""

REACH = 12
"""Yards that each group may send to or be served from, cheapest first."""

KNOWN = 0.5
"""Share of a group's tonnes that must reach a yard for the group to reach it."""


@dataclass(frozen=True, eq=False)
class Coarse:
    """
    A coarse problem.

    Attributes
    ----------
    instance
        With groups for sources and markets.
    source_group, market_group
        Group of each true source and market.
    """

    instance: Instance
    source_group: Integers
    market_group: Integers


def thinned(scenario: Scenario, edge: float) -> Integers:
    """Choose the candidates that stay, by row in `yards`: the best of each hexagon."""
    yards = scenario.yards
    fixed = (yards["decision"] == "open") | (yards["existing_size"] != "")
    poor = yards["works_factor"].to_numpy(dtype=float) + 0.1 * (
        yards["area_m2"].max() / yards["area_m2"].clip(lower=1)
    ).to_numpy(dtype=float)
    cell = hexagons(yards, edge)
    order = np.lexsort((poor, cell))
    first = np.append(True, cell[order][1:] != cell[order][:-1])
    stay = np.zeros(len(yards), dtype=bool)
    stay[order[first]] = True
    shut = (yards["decision"] == "closed").to_numpy()
    return np.flatnonzero((stay & ~shut) | fixed.to_numpy())


def with_yards(scenario: Scenario, rows: Integers) -> Scenario:
    """Keep some candidates only, by row."""
    yards = scenario.yards.iloc[rows].reset_index(drop=True)
    return replace(scenario, tables={**scenario.tables, "yards": yards})


def without_pairing(scenario: Scenario) -> Scenario:
    """Switch the pairing of trips off: a coarse plan does not pair."""
    fleet = scenario.settings.fleet.model_copy(update={"pairing": "no"})
    settings = scenario.settings.model_copy(update={"fleet": fleet})
    return replace(scenario, settings=settings)


def yard_travel(scenario: Scenario) -> Travel:
    """
    Travel to and from yards, and to near sources of the same material.

    Without roads nothing else is worked out: all other ways are then infinite.
    """
    if not scenario.roads.empty:
        return travel(scenario)
    places, s = sites(scenario), scenario.settings.travel
    lon, lat = (places[c].to_numpy(dtype=float) for c in ("lon", "lat"))
    yards = np.flatnonzero(places["table"] == "yards")
    km = np.full((len(places), len(places)), np.inf)
    direct = geodesic_km(lon[yards, None], lat[yards, None], lon[None, :], lat[None, :])
    near = circuitous_km(direct, s.circuity_near, s.circuity_middle, s.circuity_far)
    km[yards, :] = near
    km[:, yards] = near.T
    km[np.ix_(yards, yards)] = np.maximum(near[:, yards], near[:, yards].T)
    one, other = _near_sources(scenario, places)
    direct = geodesic_km(lon[one], lat[one], lon[other], lat[other])
    km[one, other] = km[other, one] = circuitous_km(
        direct, s.circuity_near, s.circuity_middle, s.circuity_far
    )
    factors = scenario.trucks["speed_factor"].astype(float)
    speeds = sorted(set(factors))
    fare = np.zeros_like(km)
    states = tuple(TravelState(km, km / s.straight_kmh / f, fare) for f in speeds)
    state_of = {
        (truck, period): speeds.index(speed)
        for truck, speed in zip(scenario.trucks["truck"], factors, strict=True)
        for period in scenario.periods["period"]
    }
    return Travel(tuple(places["site"]), STRAIGHT, states, state_of)


def _near_sources(scenario: Scenario, places: pd.DataFrame) -> tuple[Integers, ...]:
    """Pair each source with the nearest of its material, as rows of the sites."""
    rows = np.flatnonzero(places["table"] == "sources")
    lat = places["lat"].to_numpy(dtype=float)
    flat = np.stack([places["lon"] * np.cos(np.radians(lat)), lat], 1)
    material = scenario.sources["material"].to_numpy()
    pairs = [np.empty((2, 0), dtype=np.int64)]
    for one in np.unique(material):
        here = rows[material == one]
        found = cKDTree(flat[here]).query(flat[here], min(NEAR, len(here)))[1]
        found = here[found.reshape(len(here), -1)]
        pairs.append(np.stack([np.repeat(here, found.shape[1]), found.ravel()]))
    first, second = np.concatenate(pairs, axis=1)
    return first[first != second], second[first != second]


def grouped_lanes(
    trips: Trips, scenario: Scenario, trucks: Trucks, group: Integers, weight: Floats,
    *, inbound: bool,
) -> Lanes:  # fmt: skip
    """
    Lanes of groups: the mean of their members' lanes, weighed by tonnes.

    Parameters
    ----------
    trips, scenario, trucks
        Trips of all members in one direction.
    group, weight
        Of each source or market; weight by period, shape (i, t). [t]
    inbound
        Whether trips lead to the yards.
    """
    member, yard = trips.origin, trips.destination
    if not inbound:
        member, yard = yard, member
    yards, kinds = int(yard.max(initial=0)) + 1, len(trucks.codes)
    key = (group[member] * yards + yard) * kinds + trips.truck
    keys, at = np.unique(key, return_inverse=True)
    add: Any = sparse.csr_matrix(
        (np.ones(len(key)), (at.ravel(), np.arange(len(key)))),
        shape=(len(keys), len(key)),
    )
    whole = weight[member] + 1e-9
    used = np.where(trips.usable, whole, 0.0)
    reached, every = add @ used, add @ whole
    part = np.where(reached > 0, reached, 1.0)

    def mean(values: Floats) -> Floats:
        return np.asarray(add @ (used * values)) / part

    lanes = Lanes(
        site=keys // kinds // yards,
        yard=keys // kinds % yards,
        truck=keys % kinds,
        load_t=mean(trips.load_t),
        money=mean(trips.money / trips.load_t),
        hours=mean(trips.hours / trips.load_t),
        co2e=mean(trips.co2(scenario.factors) / trips.load_t),
        usable=np.asarray(reached >= KNOWN * every),
        km=mean(trips.km),
    )
    wanted = lanes.usable.any(axis=1) & ~dominated(lanes, trucks, scenario)
    return lanes.take(wanted)


def coarse(
    scenario: Scenario, rows: Integers, source_edge: float, market_edge: float
) -> Coarse:
    """
    Make the coarse problem of some candidates (rows of `yards`).

    Lanes are laid out for a few candidates at a time, so that a country fits into
    memory. Trips are not paired.
    """
    scenario = without_pairing(scenario)
    parts: list[Instance] = []
    groups: tuple[Integers, Integers] | None = None
    for begin in range(0, len(rows), BLOCK):
        block = with_yards(scenario, rows[begin : begin + BLOCK])
        made = prepare(block, yard_travel(block))
        inst = made.instance
        if groups is None:
            cells = hexagons(block.sources, source_edge)
            near = hexagons(block.markets, market_edge)
            groups = source_groups(block, inst, cells), market_groups(inst, near)
        of, (into, out) = (block, inst.trucks), groups
        lanes = (
            grouped_lanes(made.inbound, *of, into, inst.supply.tonnes, inbound=True),
            grouped_lanes(made.outbound, *of, out, inst.markets.demand, inbound=False),
        )
        parts.append(replace(inst, inbound=lanes[0], outbound=lanes[1]))
    if groups is None:
        message = "no candidate may be opened; open one in yards.csv, or do not merge"
        raise NoPlanError(message)
    return Coarse(_within_reach(_joined(parts, groups)), *groups)


def _within_reach(inst: Instance) -> Instance:
    """Keep the lanes to the yards that each group reaches cheapest."""
    into, out = inst.inbound, inst.outbound
    return replace(
        inst,
        inbound=into.take(nearest_lanes(into, REACH)),
        outbound=out.take(nearest_lanes(out, REACH)),
    )


def _joined(parts: list[Instance], groups: tuple[Integers, Integers]) -> Instance:
    """Put the candidates of all blocks into one instance of groups."""
    one = parts[0]
    shifts = np.cumsum([0, *(len(p.yards.codes) for p in parts)])[:-1].tolist()

    def shifted(kind: str) -> Any:
        found = [
            replace(record, yard=record.yard + shift)
            for record, shift in zip(
                [getattr(p, kind) for p in parts], shifts, strict=True
            )
        ]
        return _stacked(found)

    source, market = groups
    rules = tuple(
        replace(r, sources=tuple(np.unique(source[list(r.sources)]).tolist()))
        for r in one.policy.least_shares
    )
    return replace(
        one,
        supply=grouped_supply(one.supply, source),
        markets=grouped_markets(one.markets, market),
        yards=_stacked([p.yards for p in parts]),
        options=shifted("options"),
        inbound=shifted("inbound"),
        outbound=shifted("outbound"),
        policy=replace(one.policy, least_shares=rules),
        contents=_contents([p.contents for p in parts], market),
    )


def _contents(parts: list[Contents | None], market: Integers) -> Contents | None:
    """Add up the ceilings of each group of markets, for the yards of all blocks."""
    known = [part for part in parts if part is not None]
    if not known:
        return None
    limits = grouped_limits(known[0].limit_t, market)
    held = np.concatenate([part.held for part in known], axis=1)
    return replace(known[0], limit_t=limits, held=held)


def _stacked(records: list[Any]) -> Any:
    """Join records of one kind, field by field."""
    columns: dict[str, Any] = {}
    for f in fields(records[0]):
        values = [getattr(r, f.name) for r in records]
        if isinstance(values[0], tuple):
            columns[f.name] = tuple(x for v in values for x in v)
        else:
            columns[f.name] = np.concatenate(values)
    return type(records[0])(**columns)


def nearest_lanes(lanes: Lanes, count: int) -> Flags:
    """Mark the lanes to the yards that are cheapest to reach from each site."""
    cost = np.where(lanes.usable, lanes.money, np.inf).min(axis=1)
    yards = int(lanes.yard.max(initial=0)) + 1
    pairs, at = np.unique(lanes.site * yards + lanes.yard, return_inverse=True)
    least = np.full(len(pairs), np.inf)
    np.minimum.at(least, at, cost)
    order = np.lexsort((least, pairs // yards))
    site = (pairs // yards)[order]
    new = np.append(True, site[1:] != site[:-1])
    begin = np.maximum.accumulate(np.where(new, np.arange(len(site)), 0))
    rank = np.empty(len(site), dtype=np.int64)
    rank[order] = np.arange(len(site)) - begin
    return np.asarray(rank[at] < count)
