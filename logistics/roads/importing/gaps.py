"""Find road ends that stop just short of another road, and join them."""

from __future__ import annotations

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from logistics.roads.geometry import DIGITS, geodesic_km
from logistics.roads.importing.repair import (
    Note,
    Place,
    called,
    levels,
    note_of,
    on_plane,
    parts_of,
    place_of,
    with_vertices,
)

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

SHIFT_M = 0.02
"""An end this close to its road is moved there, not lengthened. [m]"""

STUB = 3.0
"""A side road shorter than this many tolerances is not tied back to its own road."""

GAP_COLUMNS = ["row", "at_end", "other", "lon", "lat", "metres"]


def find_gaps(roads: pd.DataFrame, tolerance_m: float) -> pd.DataFrame:
    """
    Find ends that stop just short of another road.

    Parameters
    ----------
    roads
        Columns road, name, class, level, line.
    tolerance_m
        How short. [m]

    Returns
    -------
    DataFrame
        row, at_end (0 start, 1 end), other (row of the other road), lon and lat of the
        place on it (a vertex of its, if one is within the tolerance), metres; smallest
        first. Ends shared with another road are left out, unless the other road belongs
        to another part of the network, and the end is on the ground.
    """
    lines = roads["line"].to_numpy(dtype=object)
    if tolerance_m <= 0 or len(lines) < 2:
        return pd.DataFrame(columns=GAP_COLUMNS)
    flat, scale = on_plane(lines)
    xy, owner = shapely.get_coordinates(lines, return_index=True)
    spot = np.unique(np.round(xy, DIGITS) + 0.0, axis=0, return_inverse=True)[1].ravel()
    times = np.bincount(spot)
    first = np.searchsorted(owner, np.arange(len(lines)))
    last = np.searchsorted(owner, np.arange(len(lines)), side="right") - 1
    vertex = np.concatenate([first, last])
    row = np.tile(np.arange(len(lines)), 2)
    at_end = np.repeat([0, 1], len(lines))
    point = shapely.points(xy[vertex] * scale)
    k, other = shapely.STRtree(flat).query(
        point, predicate="dwithin", distance=tolerance_m
    )
    part = parts_of(lines)
    ferry = (roads["class"] == "ferry").to_numpy()
    keep = (row[k] != other) & ~(ferry[row[k]] & ferry[other])
    level = levels(roads)
    loose = times[spot[vertex[k]]] == 1
    # lengthened beyond the road it lands on, a bridge would pass over it
    keep &= loose | ((part[row[k]] != part[other]) & (level[row[k]] == 0))
    lands = np.zeros(len(lines), dtype=bool)  # the end of a bridge is on the ground
    if "bridge" in roads:
        lands = roads["bridge"].to_numpy(dtype=bool)
    found = []
    for n, o in zip(k[keep].tolist(), other[keep].tolist(), strict=True):
        own, its = int(row[n]), slice(first[o], last[o] + 1)
        meet = level[own] == level[o] or (lands[own] and level[o] == 0)
        inner = bool(meet and not ferry[o])
        goal = _goal(point[n], flat[o], xy[its] * scale, tolerance_m, inner)
        if goal is None or _is_stub(
            xy[first[own] : last[own] + 1] * scale,
            set(spot[first[own] : last[own] + 1]) & set(spot[its]),
            spot[first[own] : last[own] + 1],
            int(at_end[n]),
            STUB * tolerance_m,
        ):
            continue
        lon, lat = goal / scale
        here = xy[vertex[n]]
        metres = 1000 * float(geodesic_km(here[0], here[1], lon, lat))
        found.append((own, int(at_end[n]), o, lon, lat, metres))
    gaps = pd.DataFrame(found, columns=GAP_COLUMNS).sort_values("metres")
    return gaps.drop_duplicates(["row", "at_end"]).reset_index(drop=True)


def _goal(
    end: shapely.Point,
    line: shapely.LineString,
    vertices: Floats,
    tolerance_m: float,
    inner: bool,
) -> Floats | None:
    """Place on a line where an end should join: a vertex if one is near enough."""
    here = shapely.get_coordinates(end)[0]
    able = vertices if inner else vertices[[0, -1]]
    away = np.hypot(*(able - here).T)
    if away.min() <= tolerance_m:
        return np.asarray(able[away.argmin()])
    if not inner:
        return None
    foot = shapely.line_interpolate_point(line, shapely.line_locate_point(line, end))
    return np.asarray(shapely.get_coordinates(foot)[0])


def _is_stub(
    own: Floats, shared: set[int], spots: Integers, at_end: int, limit_m: float
) -> bool:
    """Whether the end is a short way along its own road from a place both share."""
    if not shared:
        return False
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(own, axis=0).T))])
    met = at[np.isin(spots, list(shared))]
    return bool(np.abs(met - (at[-1] if at_end else 0.0)).min() <= limit_m)


def join_gaps(
    roads: pd.DataFrame, tolerance_m: float
) -> tuple[pd.DataFrame, list[Note]]:
    """
    Lengthen ends that stop just short of another road up to that road.

    Parameters
    ----------
    roads
        Columns road, name, class, level, line.
    tolerance_m
        How short. [m]
    """
    lines = roads["line"].to_numpy(dtype=object).copy()
    extra: dict[int, list[Place]] = {}
    tails: list[tuple[int, int, Place, float]] = []
    met: set[tuple[Place, Place]] = set()
    notes = []
    for row, at_end, other, lon, lat, metres in find_gaps(
        roads, tolerance_m
    ).itertuples(index=False, name=None):
        end = place_of(shapely.get_coordinates(lines[row])[-at_end])
        goal = (float(lon), float(lat))
        pair = (end, place_of(np.array(goal)))
        if pair in met or pair[::-1] in met or pair[0] == pair[1]:
            continue
        met.add(pair)
        extra.setdefault(other, []).append(goal)
        tails.append((row, at_end, goal, metres))
        words = f"stops short of {called(roads, other)}; joined"
        notes.append(note_of("gap", roads, row, metres, goal, words))
    for other, points in extra.items():
        lines[other] = with_vertices(lines[other], points)
    for row, at_end, goal, metres in tails:
        xy = shapely.get_coordinates(lines[row])
        if metres <= SHIFT_M:
            xy[-at_end] = goal
        else:
            pieces = [xy, [goal]] if at_end else [[goal], xy]
            xy = np.concatenate(pieces)
        lines[row] = shapely.linestrings(xy)
    return roads.assign(line=lines), notes
