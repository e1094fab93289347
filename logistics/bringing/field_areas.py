"""Hectares of drawn fields, over the ellipsoid of the earth."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import Geod

EARTH = Geod(ellps="WGS84")


def hectares(shapes: NDArray[Any]) -> NDArray[np.float64]:
    """
    Areas of polygons, holes left out, by the geodesics between their corners. [ha]

    Parameters
    ----------
    shapes
        Polygons, several or one a field; all else has no area. [degrees]

    Returns
    -------
    ndarray
        Shape (n,). [ha]

    Notes
    -----
    Karney, C. F. F., Algorithms for geodesics, Journal of Geodesy 87, 2013, section 6,
    as pyproj has it (from memory).

    Examples
    --------
    A tenth of a degree square at the equator:

    >>> float(hectares(np.array([shapely.box(0, 0, 0.1, 0.1)]))[0].round(1))
    12309.1
    """
    found = np.zeros(len(shapes))
    parts, owner = shapely.get_parts(shapes, return_index=True)
    for part, row in zip(parts, owner, strict=True):
        if part.geom_type != "Polygon":
            continue
        rings = [part.exterior, *part.interiors]
        areas = [abs(EARTH.polygon_area_perimeter(*r.coords.xy)[0]) for r in rings]
        found[row] += (areas[0] - sum(areas[1:])) / 10_000
    return found
