"""The way a truck takes from site to site as a line on the map."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from logistics.roads.geometry import Segments, segments
from logistics.roads.paths import legs

if TYPE_CHECKING:
    from logistics.roads.graph import Course
    from logistics.roads.travel_matrices import Travel
    from logistics.scenario import Scenario

Line = list[tuple[float, float]]
Leg = tuple[int, str, str]
"""State of the roads (position in `Travel.states`), site from, site to."""


def lines(scenario: Scenario, travel: Travel, wanted: Sequence[Leg]) -> list[Line]:
    """
    Draw the quickest ways of some legs along their roads.

    Parameters
    ----------
    scenario
        Tables roads, sources, yards, markets.
    travel
        The ways of every truck and period.
    wanted
        Legs: state, and the sites as they are named in `Travel.sites`.

    Returns
    -------
    list
        A line (lon, lat) [degrees] for every leg, from its first site to its last; a
        straight one where there are no roads, or no way.
    """
    spots = _spots(scenario)
    straight: list[Line] = [[spots[a], spots[b]] for _, a, b in wanted]
    driven = travel.driven
    if driven is None:
        return straight
    place = {site: i for i, site in enumerate(travel.sites)}
    pieces = _Pieces(segments(scenario.roads))
    by_state: dict[int, list[int]] = defaultdict(list)
    for n, (state, _, _) in enumerate(wanted):
        by_state[state].append(n)
    found = list(straight)
    for state, rows in by_state.items():
        start = np.array([place[wanted[n][1]] for n in rows], dtype=np.int64)
        end = np.array([place[wanted[n][2]] for n in rows], dtype=np.int64)
        ways = driven.ways[state]
        used = legs(ways, start, end)
        edges: dict[int, list[int]] = defaultdict(list)
        for lane, edge in zip(used.lane.tolist(), used.edge.tolist(), strict=True):
            edges[lane].append(edge)
        for lane, some in edges.items():
            n = rows[lane]
            found[n] = _chain(driven.course, pieces, some, straight[n])
    return found


def _spots(scenario: Scenario) -> dict[str, tuple[float, float]]:
    """Longitude and latitude of every site as named in `Travel.sites`."""
    return {
        f"{kind}:{row[kind]}": (float(row["lon"]), float(row["lat"]))
        for kind in ("source", "yard", "market")
        for row in scenario.table(f"{kind}s")[[kind, "lon", "lat"]].to_dict("records")
    }


def _chain(course: Course, pieces: _Pieces, edges: list[int], ends: Line) -> Line:
    """Put the edges of a way in order, from the site it begins at, and draw them."""
    at: dict[int, list[int]] = defaultdict(list)
    for edge in edges:
        at[int(course.start[edge])].append(edge)
        at[int(course.end[edge])].append(edge)
    tips = [node for node, some in at.items() if len(some) == 1]
    if len(tips) != 2:
        return ends
    away = [_far(course, node, ends[0]) for node in tips]
    node, left = tips[int(np.argmin(away))], set(edges)
    line: Line = [ends[0]]
    while left:
        onward = [e for e in at[node] if e in left]
        if not onward:
            return ends
        edge = onward[0]
        left.remove(edge)
        forward = int(course.start[edge]) == node
        part = int(course.part[edge])
        if part >= 0:
            piece = pieces.between(
                part, float(course.from_km[edge]), float(course.to_km[edge])
            )
            line += piece if forward else piece[::-1]
        node = int(course.end[edge] if forward else course.start[edge])
    return [*line, ends[1]]


def _far(course: Course, node: int, spot: tuple[float, float]) -> float:
    """Distance of a node from a place, in degrees; only to tell two ends apart."""
    return float(np.hypot(course.lon[node] - spot[0], course.lat[node] - spot[1]))


class _Pieces:
    """Straight pieces of road by part, in the order in which they are drawn."""

    def __init__(self, pieces: Segments) -> None:
        self.pieces = pieces
        parts = np.arange(int(pieces.part.max(initial=-1)) + 2)
        self.first = np.searchsorted(pieces.part, parts)

    def between(self, part: int, from_km: float, to_km: float) -> Line:
        """Points of a part from one distance along it to another."""
        s = self.pieces
        rows = slice(int(self.first[part]), int(self.first[part + 1]))
        begin = s.from_km[rows]
        km = np.append(begin, begin[-1] + s.km[rows][-1])
        lon = np.append(s.lon[rows], s.to_lon[rows][-1])
        lat = np.append(s.lat[rows], s.to_lat[rows][-1])
        inner = (km > from_km) & (km < to_km)
        where = np.concatenate([[from_km], km[inner], [to_km]])
        x, y = np.interp(where, km, lon), np.interp(where, km, lat)
        return list(zip(x.tolist(), y.tolist(), strict=True))
