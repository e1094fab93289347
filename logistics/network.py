"""
The road network: nodes and edges, and the quickest ways through them.

Two lines join where they share a vertex: an end, or a vertex inside a line. Lines that
only cross do not join (one may be a bridge over the other).
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components, dijkstra

from logistics.roads import DIGITS, Access, Segments, segments

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

SAME_KM = 1e-6
"""Places on a line closer than this are one node. [km]"""

BATCH_CELLS = 4_000_000
"""Cells (terminals x nodes) worked on at a time, to bound the memory."""


@dataclass(frozen=True, eq=False)
class RoadGraph:
    """
    Nodes and edges of the network.

    Attributes
    ----------
    lon, lat
        Nodes, decimal degrees, length n.
    start, end
        Nodes that an edge joins, in drawing direction, length e.
    km
        Length of the edge. [km]
    road
        Row of the table roads.
    road_share
        Length of the edge over that of its road; fares and waits of a road are
        spread over its edges by it. [km/km]
    site_node
        Node of each site that joined, in their order.
    """

    lon: Floats
    lat: Floats
    start: Whole
    end: Whole
    km: Floats
    road: Whole
    road_share: Floats
    site_node: Whole

    def __post_init__(self) -> None:
        """Lock the arrays."""
        for field in fields(self):
            getattr(self, field.name).flags.writeable = False


@dataclass(frozen=True, eq=False)
class _Marks:
    """Places on the lines that may become nodes: vertices, then sites."""

    spot: Whole
    part: Whole
    at_km: Floats
    lon: Floats
    lat: Floats
    road: Whole

    def take(self, index: NDArray[np.bool_] | Whole) -> _Marks:
        return _Marks(*(getattr(self, f.name)[index] for f in fields(self)))

    def followed_by(self, other: _Marks) -> _Marks:
        pairs = ((getattr(self, f.name), getattr(other, f.name)) for f in fields(self))
        return _Marks(*(np.concatenate(pair) for pair in pairs))


def _vertex_marks(s: Segments) -> tuple[_Marks, int]:
    """Line ends and shared vertices; and the number of different vertices."""
    last = np.diff(s.part, append=-1) != 0
    first = np.diff(s.part, prepend=-1) != 0
    lon = np.concatenate([s.lon, s.to_lon[last]])
    lat = np.concatenate([s.lat, s.to_lat[last]])
    position = np.round(np.column_stack([lon, lat]), DIGITS) + 0.0
    _, spot, times = np.unique(
        position, axis=0, return_inverse=True, return_counts=True
    )
    spot = spot.ravel().astype(np.int64)
    is_end = np.concatenate([first, np.ones(last.sum(), dtype=bool)])
    marks = _Marks(
        spot=spot,
        part=np.concatenate([s.part, s.part[last]]),
        at_km=np.concatenate([s.from_km, (s.from_km + s.km)[last]]),
        lon=lon,
        lat=lat,
        road=np.concatenate([s.road, s.road[last]]),
    )
    return marks.take(is_end | (times[spot] > 1)), len(times)


def _site_marks(s: Segments, access: Access, first_spot: int) -> _Marks:
    """Places where sites join, each with a spot of its own."""
    k, along = access.segment, access.along
    return _Marks(
        spot=first_spot + np.arange(len(k), dtype=np.int64),
        part=s.part[k],
        at_km=s.from_km[k] + along * s.km[k],
        lon=s.lon[k] + along * (s.to_lon - s.lon)[k],
        lat=s.lat[k] + along * (s.to_lat - s.lat)[k],
        road=s.road[k],
    )


def road_graph(
    roads: pd.DataFrame, pieces: Segments | None = None, access: Access | None = None
) -> RoadGraph:
    """
    Build the graph: nodes at line ends, at shared vertices and where sites join.

    Parameters
    ----------
    roads
        Table roads.
    pieces
        Its pieces, if they have been cut already.
    access
        Where sites join; None if there are none.

    Returns
    -------
    RoadGraph
        Other vertices carry no node; their lengths add up along the edge.
    """
    s = segments(roads) if pieces is None else pieces
    marks, spots = _vertex_marks(s)
    n_sites = 0 if access is None else len(access.km)
    if access is not None:
        marks = marks.followed_by(_site_marks(s, access, spots))
    marks = marks.take(np.lexsort((marks.at_km, marks.part)))
    follows = marks.part[1:] == marks.part[:-1]
    km = np.diff(marks.at_km)
    # a site exactly at a node would make an edge of no length: the two are one
    twin = follows & (km <= SAME_KM)
    one = csr_matrix(
        (np.ones(twin.sum()), (marks.spot[:-1][twin], marks.spot[1:][twin])),
        shape=(spots + n_sites, spots + n_sites),
    )
    label = connected_components(one, directed=False)[1]
    names, first, node = np.unique(
        label[marks.spot], return_index=True, return_inverse=True
    )
    node = node.ravel().astype(np.int64)
    edge = follows & ~twin
    road = marks.road[:-1][edge]
    total = np.bincount(road, km[edge], minlength=len(roads))
    return RoadGraph(
        lon=marks.lon[first],
        lat=marks.lat[first],
        start=node[:-1][edge],
        end=node[1:][edge],
        km=km[edge],
        road=road,
        road_share=km[edge] / total[road],
        site_node=np.searchsorted(names, label[spots:]).astype(np.int64),
    )


@dataclass(frozen=True, eq=False)
class Arcs:
    """
    Directed edges that may be driven, at most one between two nodes, length a.

    Attributes
    ----------
    nodes
        Number of nodes.
    start, end
        Nodes.
    hours, km, fare
        What driving it takes. [h], [km], [money]
    """

    nodes: int
    start: Whole
    end: Whole
    hours: Floats
    km: Floats
    fare: Floats


def quickest_arcs(
    nodes: int, start: Whole, end: Whole, hours: Floats, km: Floats, fare: Floats
) -> Arcs:
    """
    Keep the quickest of parallel edges, and none from a node to itself.

    Parameters
    ----------
    nodes
        Number of nodes.
    start, end, hours, km, fare
        Directed edges; where two take the same time, the cheaper and then the shorter
        one is kept.
    """
    order = np.lexsort((km, fare, hours, end, start))
    order = order[start[order] != end[order]]
    a, b = start[order], end[order]
    new = np.ones(len(order), dtype=bool)
    new[1:] = (a[1:] != a[:-1]) | (b[1:] != b[:-1])
    keep = order[new]
    return Arcs(nodes, start[keep], end[keep], hours[keep], km[keep], fare[keep])


def _along(tree: Whole, step: Floats) -> Floats:
    """
    Add up `step` from each node to the root of its row's tree.

    Doubling: after k turns every node has looked 2^k nodes back, so the number of
    turns is the logarithm of the longest path. Roots point to themselves with step 0.
    """
    total, jump = step, tree
    while True:
        total = total + np.take_along_axis(total, jump, axis=1)
        further = np.take_along_axis(jump, jump, axis=1)
        if np.array_equal(further, jump):
            return total
        jump = further


def shortest_paths(arcs: Arcs, terminals: Whole) -> tuple[Floats, Floats, Floats]:
    """
    Quickest ways between all terminals; km and fare are those of that same way.

    Parameters
    ----------
    arcs
        Directed edges.
    terminals
        Nodes, length n; a node may occur more than once.

    Returns
    -------
    hours, km, fare
        Shape (n, n), row = from, column = to; infinite where no way leads. [h], [km],
        [money]
    """
    shape = (arcs.nodes, arcs.nodes)
    weights = csr_matrix((arcs.hours, (arcs.start, arcs.end)), shape=shape)
    # position of each arc, to find its km and fare from its two nodes
    key = arcs.start * arcs.nodes + arcs.end
    order = np.argsort(key)
    sorted_key = key[order]
    roots, column = np.unique(terminals, return_inverse=True)
    n = len(roots)
    out = np.full((3, n, n), np.inf)
    batch = max(1, BATCH_CELLS // max(1, arcs.nodes))
    for low in range(0, n, batch):
        rows = roots[low : low + batch]
        hours, before = dijkstra(weights, indices=rows, return_predecessors=True)
        own = np.arange(arcs.nodes)
        moved = before >= 0
        tree = np.where(moved, before, own).astype(np.int64)
        arc = np.zeros(tree.shape, dtype=np.int64)
        arc[moved] = order[
            np.searchsorted(sorted_key, (tree * arcs.nodes + own)[moved])
        ]
        here = slice(low, low + len(rows))
        reached = np.isfinite(hours[:, roots])
        out[0, here] = hours[:, roots]
        for i, values in ((1, arcs.km), (2, arcs.fare)):
            step = np.zeros(tree.shape)
            step[moved] = values[arc[moved]]
            out[i, here] = np.where(reached, _along(tree, step)[:, roots], np.inf)
    hours, km, fare = out[:, column.ravel()][:, :, column.ravel()]
    return hours, km, fare
