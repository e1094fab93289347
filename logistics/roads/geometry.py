"""Roads as drawn: lengths over the ground, straight pieces, the road nearest a site."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
import shapely
from numpy.typing import ArrayLike, NDArray
from pyproj import Geod

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

DIGITS = 7
"""Vertices that agree to this many decimals of a degree (1 cm) are one."""


@cache
def wgs84() -> Geod:
    """Ellipsoid on which every length is measured."""
    return Geod(ellps="WGS84")


def geodesic_km(
    lon: ArrayLike,
    lat: ArrayLike,
    to_lon: ArrayLike,
    to_lat: ArrayLike,
    ellipsoid: Geod | None = None,
) -> Floats:
    """
    Shortest distance over the ground, without roads [km].

    Parameters
    ----------
    lon, lat, to_lon, to_lat
        Positions in decimal degrees, shapes that fit each other.
    ellipsoid
        None is WGS84.

    Examples
    --------
    >>> geodesic_km(105, 10, 105, 11).round(3)
    np.float64(110.611)
    """
    arrays = [np.asarray(a, dtype=float) for a in (lon, lat, to_lon, to_lat)]
    a, b, c, d = (x.copy() for x in np.broadcast_arrays(*arrays))
    _, _, metres = (ellipsoid or wgs84()).inv(a, b, c, d)
    return np.asarray(metres, dtype=float)[()] / 1000


def circuitous_km(
    straight_km: ArrayLike, near: float, middle: float, far: float
) -> Floats:
    """
    Road distance expected for a straight line [km].

    Parameters
    ----------
    straight_km
        Straight line over the ground. [km]
    near, middle, far
        Road over straight line under 5 km, from 5 to 20 km, and beyond.

    Returns
    -------
    ndarray
        Never less than for a shorter straight line: where the factor drops, the road
        distance waits at what the band before had reached.

    Examples
    --------
    >>> circuitous_km([4.9, 5.0, 10.0, 30.0], 1.6, 1.4, 1.3).round(2)
    array([ 7.84,  8.  , 14.  , 39.  ])
    """
    d = np.asarray(straight_km, dtype=float)
    at_5 = 5 * near
    at_20 = max(at_5, 20 * middle)
    beyond = np.maximum(d * far, at_20)
    between = np.maximum(d * middle, at_5)
    return np.asarray(np.where(d < 5, d * near, np.where(d < 20, between, beyond)))


@dataclass(frozen=True, eq=False)
class Segments:
    """
    Straight pieces of the drawn lines, in drawing order, length s.

    Attributes
    ----------
    road, part
        Row of the table roads; running number of the unbroken line.
    lon, lat, to_lon, to_lat
        Ends, decimal degrees.
    km
        Length. [km]
    from_km
        Length of the line before this piece. [km]
    """

    road: Integers
    part: Integers
    lon: Floats
    lat: Floats
    to_lon: Floats
    to_lat: Floats
    km: Floats
    from_km: Floats


def segments(roads: pd.DataFrame) -> Segments:
    """
    Cut the lines of the table roads into straight pieces; pieces of no length go.

    Parameters
    ----------
    roads
        Column wkt: LINESTRING or MULTILINESTRING, longitude first.
    """
    lines = shapely.from_wkt(roads["wkt"].to_numpy(dtype=object))
    parts, row = shapely.get_parts(lines, return_index=True)
    xy, part = shapely.get_coordinates(parts, return_index=True)
    same = part[:-1] == part[1:]
    start, end, part = xy[:-1][same], xy[1:][same], part[:-1][same]
    km = geodesic_km(start[:, 0], start[:, 1], end[:, 0], end[:, 1])
    keep = (np.round(start, DIGITS) != np.round(end, DIGITS)).any(axis=1)
    start, end, part, km = start[keep], end[keep], part[keep], km[keep]
    total = np.concatenate([[0.0], np.cumsum(km)])
    first = np.searchsorted(part, part, side="left")
    return Segments(
        road=np.asarray(row, dtype=np.int64)[part],
        part=part.astype(np.int64),
        lon=start[:, 0],
        lat=start[:, 1],
        to_lon=end[:, 0],
        to_lat=end[:, 1],
        km=km,
        from_km=total[:-1] - total[first],
    )


@dataclass(frozen=True, eq=False)
class Access:
    """
    Where sites join the roads, length of the sites.

    Attributes
    ----------
    segment
        Nearest piece of road.
    along
        Position on it, 0 at its start and 1 at its end.
    km
        Distance from the site. [km]
    """

    segment: Integers
    along: Floats
    km: Floats


def nearest_road(
    pieces: Segments, allowed: ArrayLike, lon: Floats, lat: Floats
) -> Access:
    """
    Join each site to the nearest point of an allowed piece of road.

    Parameters
    ----------
    pieces
        Pieces of road.
    allowed
        Whether a piece may be joined, length s; nobody boards a ferry at sea.
    lon, lat
        Sites, decimal degrees.

    Notes
    -----
    The nearest piece is found on a local plane (longitude shrunk by the cosine of the
    mean latitude), good for a district; the distance itself is geodesic.
    """
    chosen = np.flatnonzero(np.broadcast_to(np.asarray(allowed), pieces.km.shape))
    shrink = np.cos(np.radians(lat.mean() if len(lat) else 0.0))
    scale = np.array([shrink, 1.0])
    start = np.column_stack([pieces.lon, pieces.lat])[chosen] * scale
    end = np.column_stack([pieces.to_lon, pieces.to_lat])[chosen] * scale
    site = np.column_stack([lon, lat]) * scale
    tree = shapely.STRtree(shapely.linestrings(np.stack([start, end], axis=1)))
    near = tree.nearest(shapely.points(site))
    way = end[near] - start[near]
    along = ((site - start[near]) * way).sum(axis=1) / (way**2).sum(axis=1)
    along = np.clip(along, 0.0, 1.0)
    foot = (start[near] + along[:, None] * way) / scale
    return Access(
        segment=chosen[near].astype(np.int64),
        along=along,
        km=geodesic_km(lon, lat, foot[:, 0], foot[:, 1]),
    )
