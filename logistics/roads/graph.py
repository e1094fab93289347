"""
The road network: nodes and edges.

Two lines join where they share a vertex: an end, or a vertex inside a line. Lines that
only cross do not join (one may be a bridge over the other); `road_mending` gives them a
vertex in common.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

from logistics.roads.geometry import DIGITS, Access, Segments, segments

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

SAME_KM = 1e-6
"""Places on a line closer than this are one node. [km]"""


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
        Node of each place where a site joins, in the order of `Access`.
    part, from_km, to_km
        Where the edge lies: part of `roads.Segments`, and from where to where on it.
        [km]
    """

    lon: Floats
    lat: Floats
    start: Integers
    end: Integers
    km: Floats
    road: Integers
    road_share: Floats
    site_node: Integers
    part: Integers
    from_km: Floats
    to_km: Floats

    def __post_init__(self) -> None:
        """Lock the arrays."""
        for field in fields(self):
            getattr(self, field.name).flags.writeable = False


@dataclass(frozen=True, eq=False)
class _Marks:
    """Places on the lines that may become nodes: vertices, then sites."""

    spot: Integers
    part: Integers
    at_km: Floats
    lon: Floats
    lat: Floats
    road: Integers

    def take(self, index: NDArray[np.bool_] | Integers) -> _Marks:
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
        part=marks.part[:-1][edge],
        from_km=marks.at_km[:-1][edge],
        to_km=marks.at_km[1:][edge],
    )


@dataclass(frozen=True, eq=False)
class Course:
    """
    Where edges lie: those of the roads, then those between sites and their roads.

    Attributes
    ----------
    start, end
        Nodes that each edge joins; sites are nodes behind those of the roads.
    part, from_km, to_km
        See `RoadGraph`; part is -1 between a site and its road.
    lon, lat
        Nodes, decimal degrees.
    """

    start: Integers
    end: Integers
    part: Integers
    from_km: Floats
    to_km: Floats
    lon: Floats
    lat: Floats


def course(graph: RoadGraph, site_node: Integers, spots: Floats) -> Course:
    """
    Put the edges of the roads and those to the sites behind each other.

    Parameters
    ----------
    graph
        The roads.
    site_node
        Node of the site at each join, behind those of the roads.
    spots
        Longitude and latitude of the sites' nodes, shape (n, 2).
    """
    nothing = np.zeros(len(site_node))
    return Course(
        start=np.append(graph.start, site_node),
        end=np.append(graph.end, graph.site_node),
        part=np.append(graph.part, np.full(len(site_node), -1)),
        from_km=np.append(graph.from_km, nothing),
        to_km=np.append(graph.to_km, nothing),
        lon=np.append(graph.lon, spots[:, 0]),
        lat=np.append(graph.lat, spots[:, 1]),
    )
