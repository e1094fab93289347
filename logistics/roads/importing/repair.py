"""
Mend drawn roads, so that what meets on the ground meets in the network.

Every step takes and returns a table like roads with shapely lines in the column `line`
(longitude before latitude), and tells what it did. Lines keep their shape: a step only
adds vertices, or adds a short straight piece to an end. Searches run on a local plane
(longitude shrunk by the cosine of the mean latitude); lengths told are geodesic.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

from logistics.roads.geometry import DIGITS, geodesic_km

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Place = tuple[float, float]

DEGREE_M = 111_195.0
"""Length of a degree of latitude on a sphere of the earth's mean radius. [m]"""

SAME_M = 0.1
"""A crossing this close to a vertex takes the vertex. [m]"""


@dataclass(frozen=True)
class Note:
    """
    One thing that was mended or found.

    Attributes
    ----------
    what
        Kind of mending.
    road, name
        The road.
    metres
        How far or how long; what it means depends on the kind. [m]
    lon, lat
        Where, decimal degrees.
    words
        The rest, in words.
    """

    what: str
    road: str
    name: str
    metres: float
    lon: float
    lat: float
    words: str


def on_plane(lines: NDArray[np.object_]) -> tuple[NDArray[np.object_], Floats]:
    """Lines in metres on a local plane, and metres per degree of lon and lat."""
    bounds = shapely.total_bounds(lines)
    middle = 0.0 if np.isnan(bounds).any() else (bounds[1] + bounds[3]) / 2
    scale = DEGREE_M * np.array([np.cos(np.radians(middle)), 1.0])
    return shapely.transform(lines, lambda xy: xy * scale), scale


def called(roads: pd.DataFrame, row: int) -> str:
    """Name a road as messages do."""
    name, code = roads["name"].iloc[row], roads["road"].iloc[row]
    return f"{name} ({code})" if name else str(code)


def place_of(xy: Sequence[float] | Floats) -> Place:
    """Position at the precision at which vertices count as one."""
    return round(float(xy[0]), DIGITS) + 0.0, round(float(xy[1]), DIGITS) + 0.0


def levels(roads: pd.DataFrame) -> Integers:
    """Level at which each road crosses others; a bridge without a level is above."""
    level = roads["level"].fillna(0).to_numpy(dtype=np.int64)
    if "bridge" not in roads:
        return level
    return np.where(roads["bridge"].to_numpy(dtype=bool) & (level == 0), 1, level)


def with_vertices(line: shapely.LineString, points: list[Place]) -> shapely.LineString:
    """Add vertices to a line, each in the piece it is nearest to."""
    xy = shapely.get_coordinates(line)
    have = {place_of(v) for v in xy}
    new = [p for p in dict.fromkeys(points) if place_of(np.array(p)) not in have]
    if not new:
        return line
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))])
    where = shapely.line_locate_point(line, shapely.points(new))
    order = np.argsort(np.concatenate([at, where]), kind="stable")
    return shapely.linestrings(np.concatenate([xy, np.array(new)])[order])


def _crossing_places(
    lines: NDArray[np.object_], i: Integers, j: Integers, scale: Floats
) -> tuple[Integers, Floats]:
    """Where pairs of lines meet: number of the pair, and lon and lat."""
    met = shapely.intersection(lines[i], lines[j])
    parts, pair = shapely.get_parts(met, return_index=True)
    xy, part = shapely.get_coordinates(parts, return_index=True)
    pair = pair[part]
    # an existing vertex close by is the crossing, so that the lines agree to the digit
    for side in (i, j):
        own, line = shapely.get_coordinates(lines[side], return_index=True)
        tree = shapely.STRtree(shapely.points(own * scale))
        spot = shapely.points(xy * scale)
        k, vertex = tree.query(spot, predicate="dwithin", distance=SAME_M)
        same = line[vertex] == pair[k]
        xy[k[same]] = own[vertex[same]]
    return pair.astype(np.int64), xy


def join_crossings(roads: pd.DataFrame) -> tuple[pd.DataFrame, list[Note]]:
    """
    Give roads that cross on the same level a vertex in common.

    Parameters
    ----------
    roads
        Columns road, name, class, level, bridge, line. Ferries join at their ends
        alone.
    """
    lines = roads["line"].to_numpy(dtype=object)
    level = levels(roads)
    ferry = (roads["class"] == "ferry").to_numpy()
    i, j = shapely.STRtree(lines).query(lines, predicate="intersects")
    keep = (i < j) & (level[i] == level[j]) & ~ferry[i] & ~ferry[j]
    i, j = i[keep], j[keep]
    pair, xy = _crossing_places(lines, i, j, on_plane(lines)[1])
    vertices = [{place_of(v) for v in shapely.get_coordinates(line)} for line in lines]
    extra: dict[int, list[Place]] = {}
    notes = []
    for k, spot in zip(pair.tolist(), map(tuple, xy.tolist()), strict=True):
        place = place_of(spot)
        lacking = [r for r in (int(i[k]), int(j[k])) if place not in vertices[r]]
        for row in lacking:
            extra.setdefault(row, []).append(spot)
            vertices[row].add(place)
        if lacking:
            a, b = (int(i[k]), int(j[k]))
            words = f"crosses {called(roads, b)}; joined there"
            notes.append(note_of("crossing", roads, a, 0.0, spot, words))
    mended = lines.copy()
    for row, points in extra.items():
        mended[row] = with_vertices(lines[row], points)
    return roads.assign(line=mended), notes


def note_of(
    what: str, roads: pd.DataFrame, row: int, metres: float, at: Place, words: str
) -> Note:
    """Tell of one road."""
    code, name = roads["road"].iloc[row], roads["name"].iloc[row]
    return Note(what, str(code), str(name), metres, at[0], at[1], words)


def parts_of(lines: NDArray[np.object_]) -> Integers:
    """Return the number of the connected part to which each line belongs."""
    xy, line = shapely.get_coordinates(lines, return_index=True)
    if not len(xy):
        return np.zeros(len(lines), dtype=np.int64)
    position = np.round(xy, DIGITS) + 0.0
    spot = np.unique(position, axis=0, return_inverse=True)[1].ravel()
    size = len(lines) + int(spot.max()) + 1
    ties = csr_matrix((np.ones(len(spot)), (line, len(lines) + spot)), (size, size))
    label = connected_components(ties, directed=False)[1][: len(lines)]
    return np.unique(label, return_inverse=True)[1].ravel().astype(np.int64)


def drop_twins(
    roads: pd.DataFrame, tolerance_m: float
) -> tuple[pd.DataFrame, list[Note]]:
    """
    Drop roads drawn twice: same ends, same level, nowhere further apart than allowed.

    Parameters
    ----------
    roads
        Columns road, name, class, level, oneway, line. Of two the first stays. One-way
        roads drawn against each other are the two sides of one road and both stay.
    tolerance_m
        How far apart. [m]
    """
    lines = roads["line"].to_numpy(dtype=object)
    flat = on_plane(lines)[0]
    groups: dict[tuple[object, ...], list[int]] = {}
    gone: set[int] = set()
    notes = []
    kind = zip(levels(roads), roads["class"] == "ferry", roads["oneway"], strict=True)
    for row, (level, ferry, oneway) in enumerate(kind):
        ends = [place_of(v) for v in shapely.get_coordinates(lines[row])[[0, -1]]]
        key = (level, ferry, oneway, *(ends if oneway else sorted(ends)))
        for other in groups.get(key, []):
            apart = shapely.hausdorff_distance(flat[row], flat[other])
            if apart <= max(tolerance_m, SAME_M):
                gone.add(row)
                words = f"is drawn twice, also as {called(roads, other)}; dropped"
                km = geodesic_length_km(lines[row])
                notes.append(note_of("twin", roads, row, 1000 * km, ends[0], words))
                break
        else:
            groups.setdefault(key, []).append(row)
    stay = [row for row in range(len(roads)) if row not in gone]
    return roads.iloc[stay].reset_index(drop=True), notes


def geodesic_length_km(line: shapely.LineString) -> float:
    """Length of a line over the ground [km]."""
    xy = shapely.get_coordinates(line)
    return float(np.sum(geodesic_km(*xy[:-1].T, *xy[1:].T)))
