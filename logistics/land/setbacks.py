"""How far sites lie from land features, in metres on a plane laid on the district."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from pyproj import Transformer

from logistics.land.settlements import with_places
from logistics.scenario import lon_about

if TYPE_CHECKING:
    from logistics.scenario import Scenario

Floats = NDArray[np.float64]
Shapes = NDArray[Any]

PIECE_DEG = 0.02
"""Longest piece of an edge before it is laid on the plane. [degrees]"""


@dataclass(frozen=True, eq=False)
class Features:
    """
    Land features of one kind on the plane.

    Attributes
    ----------
    names
        Name of each; empty where it has none.
    shapes
        Points, lines and polygons. [m]
    """

    names: NDArray[np.str_]
    shapes: Shapes

    def __len__(self) -> int:
        """Count the features."""
        return len(self.shapes)


@dataclass(frozen=True, eq=False)
class Discs:
    """
    Sites as discs: a table gives a yard's middle and its area, not its shape.

    Attributes
    ----------
    points
        Middles on the plane. [m]
    radius
        Of the disc with the area of the site. [m]
    """

    points: Shapes
    radius: Floats


class Plane:
    """
    Azimuthal equidistant plane about the middle of the sites.

    Distances from its middle are true; between points within 100 km of it they are
    off by less than 1 in 10,000.

    Parameters
    ----------
    lon, lat
        Sites, decimal degrees.
    """

    def __init__(self, lon: Floats, lat: Floats) -> None:
        x, y = (float(a.mean()) if len(a) else 0.0 for a in (lon, lat))
        local = f"+proj=aeqd +lat_0={y:.6f} +lon_0={x:.6f} +datum=WGS84 +units=m"
        self._middle = x
        self._to_metres = Transformer.from_crs("EPSG:4326", local, always_xy=True)

    def lay(self, shapes: Shapes) -> Shapes:
        """Mend shapes in degrees, cut their edges into short pieces, lay them down."""
        fine = shapely.segmentize(shapely.make_valid(shapes), PIECE_DEG)
        flat = shapely.transform(fine, self._to_metres.transform, interleaved=False)
        return np.asarray(shapely.make_valid(flat), dtype=object)

    def xy(self, lon: Floats, lat: Floats) -> tuple[Floats, Floats]:
        """Positions on the plane. [m]"""
        x, y = self._to_metres.transform(lon, lat)
        return np.asarray(x, dtype=float), np.asarray(y, dtype=float)

    def degrees(self, x: Floats, y: Floats) -> tuple[Floats, Floats]:
        """Longitude and latitude of positions, on beyond 180 if so. [degrees]"""
        lon, lat = self._to_metres.transform(x, y, direction="INVERSE")
        lon = lon_about(np.asarray(lon, dtype=float), self._middle)
        return np.asarray(lon, dtype=float), np.asarray(lat, dtype=float)

    def discs(self, lon: Floats, lat: Floats, area_m2: Floats) -> Discs:
        """Lay sites on the plane. [m2]"""
        points = np.asarray(shapely.points(*self.xy(lon, lat)), dtype=object)
        return Discs(points, np.sqrt(area_m2 / np.pi))


def ground(scenario: Scenario, plane: Plane) -> dict[str, Features]:
    """
    Lay everything a rule may be measured from on the plane.

    Returns
    -------
    dict
        Kind of land feature, `coast` (where the drawn land ends) or `road` (without
        ferries) -> features. Of a boundary it is the line that counts. Kinds that
        are not drawn have no entry.
    """
    land, roads = with_places(scenario), scenario.roads
    found = {
        str(kind): features_of(rows, plane)
        for kind, rows in land.groupby("kind", sort=False)
    }
    if "land" in found:
        whole = shapely.union_all(found["land"].shapes)
        found["coast"] = Features(np.array([""]), np.array([whole]))
    if "boundary" in found:
        lines = found["boundary"]
        area = shapely.get_dimensions(lines.shapes) == 2
        edges = np.where(area, shapely.boundary(lines.shapes), lines.shapes)
        found["boundary"] = Features(lines.names, edges)
    driven = roads[roads["class"] != "ferry"]
    if len(driven):
        found["road"] = features_of(driven, plane)
    return found


def features_of(table: pd.DataFrame, plane: Plane) -> Features:
    """Lay the shapes of a table of land features or roads on the plane."""
    shapes = shapely.from_wkt(table["wkt"].to_numpy(dtype=object))
    return Features(table["name"].to_numpy(dtype=str), plane.lay(shapes))


def distance_m(kind: str, features: Features, sites: Discs) -> tuple[Floats, Any]:
    """
    Distance from the edge of each site to the nearest feature.

    Parameters
    ----------
    kind
        `coast` measures to where the drawn land ends; all else to the features.
    features
        At least one.
    sites
        Sites as discs.

    Returns
    -------
    tuple
        Distance, 0 where they overlap [m]; name of the feature.
    """
    if kind == "coast":
        whole = features.shapes[0]
        shapely.prepare(whole)
        ashore = shapely.covers(whole, sites.points)
        metres = shapely.distance(shapely.boundary(whole), sites.points)
        metres = np.where(ashore, metres, 0.0)
        names = np.broadcast_to(features.names, len(metres))
    else:
        tree = shapely.STRtree(features.shapes)
        (_, near), metres = tree.query_nearest(
            sites.points, return_distance=True, all_matches=False
        )
        names = features.names[near]
    return np.maximum(metres - sites.radius, 0.0), names


def share_inside(features: Features, sites: Discs) -> tuple[Floats, Any]:
    """
    Share of each site that lies inside the features.

    Returns
    -------
    tuple
        Share of the disc's area [%]; name of the feature with the most of it.
    """
    discs = shapely.buffer(sites.points, sites.radius, quad_segs=16)
    share = np.zeros(len(discs))
    names = np.full(len(discs), "", dtype=object)
    site, feature = shapely.STRtree(features.shapes).query(discs, "intersects")
    parts = shapely.intersection(discs[site], features.shapes[feature])
    for each in np.unique(site):
        mine = np.flatnonzero(site == each)
        whole = shapely.union_all(parts[mine])
        share[each] = 100 * shapely.area(whole) / shapely.area(discs[each])
        most = mine[np.argmax(shapely.area(parts[mine]))]
        names[each] = features.names[feature[most]]
    return share, names
