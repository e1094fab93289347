"""
Fewer points and fewer shapes, with every distance to them kept to a tolerance.

If two shapes lie nowhere further apart than t (Hausdorff distance), the distance from
any place to the one differs from that to the other by t at most. What siting rules
measure to is therefore thinned by parts that add up to the tolerance; what is only
drawn may lose more.
"""

from __future__ import annotations

from typing import Any

import networkx
import numpy as np
import shapely
from numpy.typing import NDArray

Shapes = NDArray[Any]
DRAWN_TIMES = 3.0
"""Tolerance of what is only drawn, in tolerances of what rules measure to."""
LEAST_DRAWN_M2 = 10_000.0
"""Woods and built-up land smaller than this are left out. [m2]"""


def thinned(shapes: Shapes, tolerance_m: float) -> Shapes:
    """
    Leave out points of lines and outlines.

    Parameters
    ----------
    shapes
        On a plane. [m]
    tolerance_m
        No place of the new shape lies further from the old one, nor the reverse; a
        shape for which that cannot be had stays as it is. [m]
    """
    if tolerance_m <= 0:
        return shapes
    fewer = shapely.simplify(shapes, tolerance_m, preserve_topology=True)
    whole = ~shapely.is_empty(fewer) & shapely.is_valid(fewer)
    near = shapely.hausdorff_distance(shapes, fewer) <= tolerance_m * (1 + 1e-9)
    return np.asarray(np.where(whole & near, fewer, shapes), dtype=object)


def merged_homes(shapes: Shapes, tolerance_m: float) -> Shapes:
    """
    Make one shape of homes that stand close together.

    Homes inside the residential land drawn around them are left out, which changes no
    distance. Gaps of up to twice the tolerance are closed (dilation, then erosion):
    every place of the closed shape lies within the tolerance of a home, so distances
    become shorter by that at most; they become longer by a fiftieth of it at most,
    because arcs are drawn as chords.

    Parameters
    ----------
    shapes
        Homes on a plane; those given as points or lines stay single. [m]
    tolerance_m
        How much nearer a home may seem. [m]
    """
    shapes = _outermost(shapes)
    area = shapely.get_dimensions(shapes) == 2
    if tolerance_m <= 0 or not area.any():
        return shapes
    single, groups = _near_each_other(shapes[area], 2 * tolerance_m)
    wide = [
        shapely.union_all(shapely.buffer(some, tolerance_m, quad_segs=4))
        for some in groups
    ]
    closed = shapely.buffer(np.array(wide, dtype=object), -tolerance_m, quad_segs=4)
    closed = shapely.get_parts(closed)
    closed = closed[~shapely.is_empty(closed)]
    return np.concatenate([shapes[~area], single, closed])


def _near_each_other(shapes: Shapes, metres: float) -> tuple[Shapes, list[Shapes]]:
    """Tell shapes that stand alone from chains of shapes with gaps up to a distance."""
    i, j = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=metres)
    graph = networkx.Graph(zip(i.tolist(), j.tolist(), strict=True))
    chains = [sorted(chain) for chain in networkx.connected_components(graph)]
    single = sorted(chain[0] for chain in chains if len(chain) == 1)
    return shapes[single], [shapes[chain] for chain in chains if len(chain) > 1]


def by_square(shapes: Shapes, metres: float) -> list[NDArray[np.int64]]:
    """
    Group shapes by the square in which their middle lies, points apart from areas.

    Returns
    -------
    list of ndarray
        Positions of the shapes of a group, squares from south to north.
    """
    middle = shapely.centroid(shapes)
    square = np.column_stack(
        [
            shapely.get_dimensions(shapes),
            np.floor(shapely.get_y(middle) / metres),
            np.floor(shapely.get_x(middle) / metres),
        ]
    )
    number = np.unique(square, axis=0, return_inverse=True)[1].ravel()
    order = np.argsort(number, kind="stable")
    cuts = np.flatnonzero(np.diff(number[order])) + 1
    return np.split(order, cuts) if len(order) else []


def _outermost(shapes: Shapes) -> Shapes:
    """Leave out shapes that lie in another one's area."""
    areas = np.flatnonzero(shapely.get_dimensions(shapes) == 2)
    if not len(areas):
        return shapes
    inner, outer = shapely.STRtree(shapes[areas]).query(shapes, predicate="covered_by")
    outer = areas[outer]
    # of two alike the first stays
    alike = shapely.equals(shapes[inner], shapes[outer])
    gone = inner[(inner != outer) & (~alike | (outer < inner))]
    return np.delete(shapes, gone)


def clipped(shapes: Shapes, area: Any) -> Shapes:
    """
    Cut shapes to an area; shapes outside become empty.

    Of an area's intersection with a shape, only parts of the shape's own dimension
    stay, so that no stray point is left where they touch.
    """
    shapely.prepare(area)
    inside = shapely.covers(area, shapes)
    cut = np.asarray(shapes, dtype=object).copy()
    for n in np.flatnonzero(~inside):
        parts = shapely.get_parts(shapely.intersection(shapes[n], area))
        own = parts[shapely.get_dimensions(parts) == shapely.get_dimensions(shapes[n])]
        cut[n] = shapely.union_all(own) if len(own) > 1 else (
            own[0] if len(own) else shapely.from_wkt("POINT EMPTY"))  # fmt: skip
    return cut
