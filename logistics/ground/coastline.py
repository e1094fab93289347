"""
From coastlines to land: a map draws the coast as lines with the land on their left.

That is how OpenStreetMap draws it (its wiki, page *Tag:natural=coastline*; from
memory).
"""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

ASIDE_M = 0.5
"""How far beside the coast it is asked which face lies there. [m]"""


def land_within(lines: NDArray[Any], frame: Any) -> NDArray[Any]:
    """
    Make areas of land from coastlines.

    Parameters
    ----------
    lines
        Coastlines, with the land on their left, on a plane; rings of islands may be
        areas, whose ring is taken as it runs. [m]
    frame
        Area to fill, which cuts the lines. [m]

    Returns
    -------
    ndarray
        Areas of land in the frame; none if no coastline enters it, as then nothing
        says whether all is land or sea. [m]
    """
    area = shapely.get_dimensions(lines) == 2
    rings = np.where(area, shapely.boundary(lines), lines)
    coast = shapely.get_parts(shapely.line_merge(shapely.intersection(rings, frame)))
    coast = coast[(shapely.get_type_id(coast) == 1) & (shapely.length(coast) > 0)]
    if not len(coast):
        return np.zeros(0, dtype=object)
    cut = shapely.union_all([*coast, shapely.boundary(frame)])
    faces = shapely.get_parts(shapely.polygonize([cut]))
    left, right, length = _sides(coast)
    tree = shapely.STRtree(faces)
    votes = np.zeros(len(faces))
    for points, sign in ((left, 1.0), (right, -1.0)):
        piece, face = tree.query(points, predicate="within")
        np.add.at(votes, face, sign * length[piece])
    return np.asarray(faces[votes > 0], dtype=object)


def _sides(coast: NDArray[Any]) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Points just left and right of each piece of the coast, and its length. [m]"""
    xy, line = shapely.get_coordinates(coast, return_index=True)
    same = line[1:] == line[:-1]
    step = (xy[1:] - xy[:-1])[same]
    middle = (xy[1:] + xy[:-1])[same] / 2
    length = np.hypot(*step.T)
    some = length > 0
    step, middle, length = step[some], middle[some], length[some]
    aside = ASIDE_M * np.column_stack([-step[:, 1], step[:, 0]]) / length[:, None]
    aside *= np.minimum(1.0, length / (4 * ASIDE_M))[:, None]
    return shapely.points(middle + aside), shapely.points(middle - aside), length
