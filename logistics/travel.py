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

from logistics.checks import Problem, ScenarioError
from logistics.network import RoadGraph, quickest_arcs, road_graph, shortest_paths
from logistics.roads import (
    Access,
    Segments,
    circuitous_km,
    geodesic_km,
    nearest_road,
    segments,
)
from logistics.speeds import edge_hours, open_edges

if TYPE_CHECKING:
    from logistics.scenario import Scenario

Floats = NDArray[np.float64]

KINDS = {"source": "sources", "yard": "yards", "market": "markets"}

ROADS, STRAIGHT = "roads", "straight line x circuity"


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
    """

    sites: tuple[str, ...]
    basis: str
    states: tuple[TravelState, ...]
    state_of: Mapping[tuple[str, str], int]

    def pick(self, truck: str, period: str) -> TravelState:
        """Return the matrices that hold for a truck type in a period."""
        return self.states[self.state_of[truck, period]]

    def index(self, kind: str, codes: Iterable[str]) -> NDArray[np.int64]:
        """Return the rows of sites of one kind ("source", "yard" or "market")."""
        place = {site: i for i, site in enumerate(self.sites)}
        return np.array([place[f"{kind}:{code}"] for code in codes], dtype=np.int64)


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


def _join(
    scenario: Scenario, places: pd.DataFrame
) -> tuple[Segments, Access, list[Problem]]:
    """Join the sites to the roads, and name those that are too far from any."""
    pieces = segments(scenario.roads)
    on_land = (scenario.roads["class"] != "ferry").to_numpy()[pieces.road]
    allowed = on_land if on_land.any() else np.ones_like(on_land)
    access = nearest_road(
        pieces, allowed, places["lon"].to_numpy(), places["lat"].to_numpy()
    )
    limit = scenario.settings.travel.access_limit_km
    problems = [
        Problem(
            file=f"{table}.csv",
            row=int(row) + 2,
            column="lon",
            value=float(lon),
            why=f"puts {site.replace(':', ' ')} {km:.1f} km from the nearest road; "
            f"travel.access_limit_km is {limit:g}",
            remedy="Correct lon and lat, draw the road that leads there in roads, or "
            "raise travel.access_limit_km",
        )
        for (site, table, row, lon, _), km in zip(
            places.itertuples(index=False, name=None), access.km, strict=True
        )
        if km > limit
    ]
    return pieces, access, problems


def access_problems(scenario: Scenario) -> list[Problem]:
    """
    Find the sites that are too far from any road to be reached.

    Parameters
    ----------
    scenario
        Tables sources, yards, markets, roads; settings.travel.access_limit_km.

    Returns
    -------
    list of Problem
        One for each such site; none where there are no roads at all.
    """
    if scenario.roads.empty:
        return []
    return _join(scenario, sites(scenario))[2]


def _state(
    graph: RoadGraph,
    roads: pd.DataFrame,
    hours: Floats,
    passable: NDArray[np.bool_],
    access_km: Floats,
    access_hours: Floats,
    same_place: NDArray[np.bool_],
) -> TravelState:
    """Matrices of one state of the roads."""
    fare = roads["fare_per_trip"].to_numpy(dtype=float)[graph.road] * graph.road_share
    back = passable & ~roads["oneway"].to_numpy(dtype=bool)[graph.road]

    def both(values: NDArray[Any], other: NDArray[Any] | None = None) -> NDArray[Any]:
        second = values if other is None else other
        return np.concatenate([values[passable], second[back]])

    arcs = quickest_arcs(
        len(graph.lon),
        start=both(graph.start, graph.end),
        end=both(graph.end, graph.start),
        hours=both(hours),
        km=both(graph.km),
        fare=both(fare),
    )
    h, km, money = shortest_paths(arcs, graph.site_node)
    km = km + access_km[:, None] + access_km[None, :]
    h = h + access_hours[:, None] + access_hours[None, :]
    for matrix in (km, h, money):
        matrix[same_place] = 0.0
    return TravelState(km=km, hours=h, fare=money)


def _by_road(scenario: Scenario, places: pd.DataFrame) -> Travel:
    """Travel on the roads; equal states are worked out once."""
    pieces, access, problems = _join(scenario, places)
    if problems:
        raise ScenarioError(problems)
    roads = scenario.roads
    graph = road_graph(roads, pieces, access)
    lon, lat = places["lon"].to_numpy(), places["lat"].to_numpy()
    same_place = (lon[:, None] == lon) & (lat[:, None] == lat)
    walk = access.km / scenario.settings.travel.access_kmh
    states: list[TravelState] = []
    known: dict[tuple[bytes, bytes, float], int] = {}
    state_of: dict[tuple[str, str], int] = {}
    for _, truck in scenario.trucks.iterrows():
        factor = float(truck["speed_factor"])
        gross = float(truck["tare_t"] + truck["payload_t"])
        for _, period in scenario.periods.iterrows():
            hours = edge_hours(graph, roads, factor, float(period["season_speed"]))
            passable = open_edges(graph, roads, gross, period["period"])
            key = (hours.tobytes(), passable.tobytes(), factor)
            if key not in known:
                known[key] = len(states)
                states.append(
                    _state(
                        graph,
                        roads,
                        hours,
                        passable,
                        access.km,
                        walk / factor,
                        same_place,
                    )
                )
            state_of[truck["truck"], period["period"]] = known[key]
    return Travel(tuple(places["site"]), ROADS, tuple(states), state_of)


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
        leg between a site and its road is driven at travel.access_kmh. Waits and fares
        of a road are spread over its length.

    Raises
    ------
    ScenarioError
        If a site is further than travel.access_limit_km from any road.
    """
    places = sites(scenario)
    if scenario.roads.empty:
        return _straight(scenario, places)
    return _by_road(scenario, places)
