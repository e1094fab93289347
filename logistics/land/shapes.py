"""Shapes in well-known text as lines of points, as maps draw them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import shapely

DETAIL_DEG = 0.0001
"""Detail kept in roads and land [degrees], about 10 m."""
SHAPES = {"Polygon": "area", "LineString": "line", "LinearRing": "line"}


def parts(wkt: str) -> tuple[str, list[list[tuple[float, float]]]]:
    """
    Split a shape into lines of points (lon, lat) [degrees].

    Returns
    -------
    tuple
        ``area``, ``line`` or ``point``; and the rings, lines or single points.

    Examples
    --------
    >>> parts("LINESTRING (0 0, 1 0, 2 0)")
    ('line', [[(0.0, 0.0), (2.0, 0.0)]])
    >>> parts("POINT (3 4)")
    ('point', [[(3.0, 4.0)]])
    """
    shape = shapely.simplify(shapely.from_wkt(wkt), DETAIL_DEG)
    pieces = [piece for piece in shapely.get_parts(shape) if not piece.is_empty]
    kind = SHAPES.get(pieces[0].geom_type, "point") if pieces else "point"
    return kind, [list(ring.coords) for piece in pieces for ring in _rings(piece)]


def _rings(piece: Any) -> Iterator[Any]:
    """Outer and inner edges of an area; a line or a point is its own."""
    if piece.geom_type == "Polygon":
        yield piece.exterior
        yield from piece.interiors
    else:
        yield piece
