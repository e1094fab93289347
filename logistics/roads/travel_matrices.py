"""
Distance, time and fare between all sites, for every truck type and period.

With roads: the quickest way, and the kilometres and fares of that same way. Without:
the straight line over the ground x circuity. A closed road, or a bridge too weak for
the full truck, is left out; where no way leads, the entries are infinite.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.roads.access import Joins, far_sites, joins
from logistics.roads.geometry import Segments, circuitous_km, geodesic_km, segments
from logistics.roads.graph import Course, RoadGraph, course, road_graph
from logistics.roads.paths import Ways, quickest_arcs, shortest_paths, ways_between
from logistics.roads.speeds import edge_hours, open_roads
from logistics.scenario import Problem, ScenarioError

if TYPE_CHECKING:
    from logistics.scenario import Scenario

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Bools = NDArray[np.bool_]

KINDS = {"source": "sources", "yard": "yards", "market": "markets"}

ROADS, STRAIGHT = "roads", "straight line x circuity"

LEAST_HOURS = 1e-12
"""Of the way between a site and its road, so that no arc takes no time at all. [h]"""


@dataclass(frozen=True, eq=False)
class TravelState:
    """
    Travel while the roads are in one state.

    Attributes
    ----------
    km, hours, fare
        One way, shape (n, n), row = from, column = to; infinite where no way leads.
        [km], [h], [money]
    """

    km: Floats
    hours: Floats
    fare: Floats

    def __post_init__(self) -> None:
        """Check and lock the matrices."""
        for name in ("km", "hours", "fare"):
            matrix = getattr(self, name)
            if matrix.ndim != 2 or matrix.shape != self.km.shape:
                message = f"{name} has shape {matrix.shape}, expected {self.km.shape}"
                raise ValueError(message)
            if (matrix < 0).any() or np.isnan(matrix).any():
                message = f"{name} has negative or missing values"
                raise ValueError(message)
            matrix.flags.writeable = False


@dataclass(frozen=True, eq=False)
class RoadRoutes:
    """
    What is kept of the roads to find afterwards which of them a lane takes.

    Attributes
    ----------
    codes
        Codes of the roads.
    road
        Row in `codes` of each edge; -1 between a site and its road.
    km
        Length of each edge. [km]
    ways
        Arcs of each state, in the order of `Travel.states`.
    course
        Where each edge lies.
    """

    codes: tuple[str, ...]
    road: Integers
    km: Floats
    ways: tuple[Ways, ...]
    course: Course


@dataclass(frozen=True, eq=False)
class Travel:
    """
    Travel between all sites for each truck type and period.

    Attributes
    ----------
    sites
        "source:code", "yard:code", "market:code", in the order of rows and columns.
    basis
        "roads" or "straight line x circuity".
    states
        The different states of the roads.
    state_of
        (truck, period) -> position in `states`.
    driven
        The roads behind it; None for straight lines. See `road_load`.
    """

    sites: tuple[str, ...]
    basis: str
    states: tuple[TravelState, ...]
    state_of: Mapping[tuple[str, str], int]
    driven: RoadRoutes | None = None

    def pick(self, truck: str, period: str) -> TravelState:
        """Return the matrices that hold for a truck type in a period."""
        return self.states[self.state_of[truck, period]]

    def index(self, kind: str, codes: Iterable[str]) -> NDArray[np.int64]:
        """Return the rows of sites of one kind ("source", "yard" or "market")."""
        place = {site: i for i, site in enumerate(self.sites)}
        return np.array([place[f"{kind}:{code}"] for code in codes], dtype=np.int64)

    def shortest_km(
        self, kind: str, codes: Iterable[str], yards: Iterable[str]
    ) -> Floats:
        """Shortest way of the year from sources to yards, or yards to markets. [km]"""
        site, yard = self.index(kind, codes), self.index("yard", yards)
        way = np.ix_(site, yard) if kind == "source" else np.ix_(yard, site)
        found = np.min([state.km[way] for state in self.states], axis=0)
        return np.asarray(found if kind == "source" else found.T)


def sites(scenario: Scenario) -> pd.DataFrame:
    """
    List all sites: sources, then yards, then markets.

    Returns
    -------
    DataFrame
        site ("kind:code"), table, row (position in it), lon, lat.
    """
    parts = []
    for kind, name in KINDS.items():
        table: pd.DataFrame = getattr(scenario, name)
        part = table[["lon", "lat"]].astype(float)
        part.insert(0, "row", np.arange(len(table)))
        part.insert(0, "table", name)
        part.insert(0, "site", kind + ":" + table[kind].astype(object))
        parts.append(part)
    return pd.concat(parts, ignore_index=True)


def _straight(scenario: Scenario, places: pd.DataFrame) -> Travel:
    """Travel without roads; the season does not matter, the truck's speed does."""
    s = scenario.settings.travel
    lon, lat = places["lon"].to_numpy(), places["lat"].to_numpy()
    direct = geodesic_km(lon[:, None], lat[:, None], lon[None, :], lat[None, :])
    direct = np.maximum(direct, direct.T)  # one distance both ways, to the last bit
    km = circuitous_km(direct, s.circuity_near, s.circuity_middle, s.circuity_far)
    factors = scenario.trucks["speed_factor"].astype(float)
    speeds = sorted(set(factors))
    states = [
        TravelState(km.copy(), km / s.straight_kmh / speed, np.zeros_like(km))
        for speed in speeds
    ]
    state_of = {
        (truck, period): speeds.index(speed)
        for truck, speed in zip(scenario.trucks["truck"], factors, strict=True)
        for period in scenario.periods["period"]
    }
    return Travel(tuple(places["site"]), STRAIGHT, tuple(states), state_of)


@dataclass(frozen=True, eq=False)
class _Ground:
    """What all states share: pieces of road, states of the roads, sites and joins."""

    pieces: Segments
    open: Mapping[tuple[str, str], Bools]
    joins: Joins
    problems: list[Problem]


def _ground(scenario: Scenario, places: pd.DataFrame) -> _Ground:
    """See who may drive where, and join the sites to the roads."""
    roads, limit = scenario.roads, scenario.settings.travel.access_limit_km
    usable = {
        (truck["truck"], period): open_roads(
            roads, float(truck["tare_t"] + truck["payload_t"]), period
        )
        for _, truck in scenario.trucks.iterrows()
        for period in scenario.periods["period"]
    }
    pieces = segments(roads)
    found = joins(
        pieces,
        (roads["class"] != "ferry").to_numpy(),
        {state.tobytes(): state for state in usable.values()}.values(),
        places["lon"].to_numpy(),
        places["lat"].to_numpy(),
        limit,
    )
    return _Ground(pieces, usable, found, far_sites(places, found, limit))


def access_problems(scenario: Scenario) -> list[Problem]:
    """
    Find the sites that are too far from any road to be reached.

    Parameters
    ----------
    scenario
        Tables sources, yards, markets, trucks, periods, roads;
        settings.travel.access_limit_km.

    Returns
    -------
    list of Problem
        One for each such site; none where there are no roads at all.
    """
    if scenario.roads.empty:
        return []
    return _ground(scenario, sites(scenario)).problems


def _ways(
    graph: RoadGraph,
    hours: Floats,
    fare: Floats,
    passable: Bools,
    back: Bools,
    links: tuple[Integers, Floats, Floats],
    terminals: Integers,
) -> Ways:
    """
    Arcs of one state of the roads: its open edges, and the way from sites to them.

    Sites are nodes of their own behind those of the graph; the last edges are the
    `links`: site node, km and hours of each join, infinite if its road is closed.
    """
    site, link_km, link_hours = links
    there = np.isfinite(link_hours)
    nodes = len(graph.lon) + int(terminals.max(initial=-1)) + 1
    number = np.arange(len(graph.km))
    link = len(graph.km) + np.flatnonzero(there)
    site, joined = site[there], graph.site_node[there]

    def both(
        values: NDArray[Any], other: NDArray[Any], link: NDArray[Any]
    ) -> NDArray[Any]:
        return np.concatenate([values[passable], other[back], link, link])

    arcs = quickest_arcs(
        nodes,
        start=np.concatenate([graph.start[passable], graph.end[back], site, joined]),
        end=np.concatenate([graph.end[passable], graph.start[back], joined, site]),
        hours=both(hours, hours, link_hours[there]),
        km=both(graph.km, graph.km, link_km[there]),
        fare=both(fare, fare, np.zeros(there.sum())),
        edge=both(number, number, link),
    )
    return ways_between(arcs, len(graph.lon) + terminals)


def _by_road(scenario: Scenario, places: pd.DataFrame) -> Travel:
    """Travel on the roads; equal states are worked out once."""
    ground = _ground(scenario, places)
    if ground.problems:
        raise ScenarioError(ground.problems)
    roads, joined = scenario.roads, ground.joins
    graph = road_graph(roads, ground.pieces, joined.access)
    spots = places[["lon", "lat"]].to_numpy(dtype=float)
    places_at, terminals = np.unique(spots, axis=0, return_inverse=True)
    terminals = terminals.ravel()
    site_node = len(graph.lon) + terminals[joined.site]
    link_road = ground.pieces.road[joined.access.segment]
    link_hours = joined.access.km / scenario.settings.travel.access_kmh
    fare = roads["fare_per_trip"].to_numpy(dtype=float)[graph.road] * graph.road_share
    oneway = roads["oneway"].to_numpy(dtype=bool)[graph.road]
    states: list[TravelState] = []
    ways: list[Ways] = []
    known: dict[tuple[bytes, bytes, float], int] = {}
    state_of: dict[tuple[str, str], int] = {}
    for _, truck in scenario.trucks.iterrows():
        factor = float(truck["speed_factor"])
        for _, period in scenario.periods.iterrows():
            which = truck["truck"], period["period"]
            usable = ground.open[which]
            passable = usable[graph.road]
            hours = edge_hours(graph, roads, factor, float(period["season_speed"]))
            key = (np.where(passable, hours, -1).tobytes(), usable.tobytes(), factor)
            if key not in known:
                known[key] = len(states)
                walk = np.maximum(link_hours / factor, LEAST_HOURS)
                walk = np.where(usable[link_road], walk, np.inf)
                links = site_node, joined.access.km, walk
                back = passable & ~oneway
                ways.append(_ways(graph, hours, fare, passable, back, links, terminals))
                h, km, money = shortest_paths(ways[-1])
                states.append(TravelState(km=km, hours=h, fare=money))
            state_of[which] = known[key]
    driven = RoadRoutes(
        codes=tuple(roads["road"]),
        road=np.append(graph.road, np.full(len(joined.site), -1)),
        km=np.append(graph.km, joined.access.km),
        ways=tuple(ways),
        course=course(graph, site_node, places_at),
    )
    return Travel(tuple(places["site"]), ROADS, tuple(states), state_of, driven)


def travel(scenario: Scenario) -> Travel:
    """
    Work out travel between all sites for every truck type and period.

    Parameters
    ----------
    scenario
        Tables sources, yards, markets, trucks, periods, roads; settings.travel.

    Returns
    -------
    Travel
        One-way matrices. Hours are driving only: no loading. Bridges are checked
        against the full truck (tare + payload) in both directions, which is cautious:
        the same truck may cross empty, and bulky freight never fills the payload. The
        leg between a site and its road is driven at travel.access_kmh; see `access`
        for where it joins. Waits and fares of a road are spread over its length.

    Raises
    ------
    ScenarioError
        If a site is further than travel.access_limit_km from any road that some truck
        may drive in some period.
    """
    places = sites(scenario)
    if scenario.roads.empty:
        return _straight(scenario, places)
    return _by_road(scenario, places)
