"""What lies beneath the places of a small map: coast, water, rivers and roads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from maps.desk.small_map import LINES, Ground, Place, frame_of, pixel_of

if TYPE_CHECKING:
    from logistics.scenario import RawTable

DRAWN = (
    *("land", "water", "river", "paved_main", "paved_local"),
    *("gravel", "town", "earth"),
)
"""Kinds of land, then classes of roads: the last are left out first."""
AREAS = 2
"""So many of them are areas."""
LINE = 1
"""Type of a line in shapely's numbers."""
MOST_POINTS = 350
"""Corners of areas, and of lines, that are drawn: a picture stays small."""
FINE, COARSE = 0.6, 2.5
"""Detail that is drawn at first, and at which small roads rather stay away. [px]"""


def ground_of(tables: Mapping[str, RawTable], places: Sequence[Place]) -> Ground:
    """
    Gather the shapes beneath places, no finer than a small map shows.

    Parameters
    ----------
    tables
        Tables as they stand in the files.
    places
        What the map is drawn around.

    Returns
    -------
    tuple
        Kind ("land", "water", "river" or "road") and corners [degree] of each shape;
        those that cannot be read are left out.
    """
    if not places:
        return ()
    shapes = _cut(_shapes(tables), frame_of(places))
    pixel = pixel_of(places)
    areas = [one for one in shapes if one[0] in DRAWN[:AREAS]]
    kinds = [kind for kind in DRAWN[AREAS:] if any(kind == one[0] for one in shapes)]
    while True:
        lines = [one for one in shapes if one[0] in kinds]
        detail, drawn = _coarse(lines, pixel)
        if detail <= COARSE or len(kinds) < 2:
            break
        del kinds[-1]
    named = [(kind if kind in LINES else "road", line) for kind, line in drawn]
    return (*_coarse(areas, pixel)[1], *named)


def _shapes(tables: Mapping[str, RawTable]) -> list[tuple[str, Any]]:
    """Return kind and shape of land and roads."""
    import numpy as np
    import shapely

    found: list[tuple[str, str]] = []
    for table, column in (("land", "kind"), ("roads", "class")):
        raw = tables.get(table)
        texts = raw.cells.get("wkt", []) if raw else []
        usual = ["gravel" if table == "roads" else ""] * len(texts)
        kinds = raw.cells.get(column, usual) if raw else []
        found += zip(kinds, texts, strict=False)
    wanted = [(kind or "gravel", text) for kind, text in found if kind in (*DRAWN, "")]
    written = np.array([text for _, text in wanted], dtype=object)
    shapes = shapely.from_wkt(written, on_invalid="ignore")
    return [
        (kind, shape)
        for (kind, _), shape in zip(wanted, shapes, strict=True)
        if shape is not None and not shape.is_empty and np.isfinite(shape.bounds).all()
    ]


def _cut(
    shapes: Sequence[tuple[str, Any]], frame: tuple[float, float, float, float]
) -> list[tuple[str, Any]]:
    """Cut shapes at the frame of the picture, and join those of one kind."""
    import shapely

    cut = []
    for kind in dict.fromkeys(kind for kind, _ in shapes):
        here = [shape for found, shape in shapes if found == kind]
        if kind in DRAWN[:AREAS]:
            sound = shapely.make_valid(here)
            joined = shapely.union_all(shapely.clip_by_rect(sound, *frame))
        else:
            parts = shapely.get_parts(shapely.clip_by_rect(here, *frame))
            lines = parts[shapely.get_type_id(parts) == LINE]
            joined = shapely.line_merge(shapely.multilinestrings(lines))
        cut += [(kind, part) for part in shapely.get_parts(joined)]
    return cut


def _coarse(shapes: Sequence[tuple[str, Any]], pixel: float) -> tuple[float, Ground]:
    """
    Simplify shapes until they have few enough corners, the smallest left out.

    Returns
    -------
    float, tuple
        Detail that was left [px]; kind and corners of each shape.
    """
    import numpy as np
    import shapely

    kinds, lines = [], []
    for kind, shape in shapes:
        area = shape.geom_type == "Polygon"
        edges = [shape.exterior, *shape.interiors] if area else [shape]
        lines += edges
        kinds += [kind] * len(edges)
    whole, detail = np.array(lines, dtype=object), FINE
    while True:
        plain = shapely.simplify(whole, detail * pixel)
        seen = shapely.length(plain) > 2 * detail * pixel
        if int(shapely.get_num_coordinates(plain[seen]).sum()) <= MOST_POINTS:
            break
        detail *= 1.5
    return detail, tuple(
        (kind, tuple((float(x), float(y)) for x, y in shapely.get_coordinates(line)))
        for kind, line, shown in zip(kinds, plain, seen, strict=True)
        if shown
    )
