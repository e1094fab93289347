"""Faults of places: points and shapes that cannot lie where the tables put them."""

from math import isnan
from typing import NamedTuple

import numpy as np

from logistics.scenario.cells import Cells
from logistics.scenario.faults import Problem
from logistics.scenario.schema import number_text
from logistics.scenario.settings import Settings

SHAPES = {
    "line": ("a LINESTRING", {1}),
    "shape": ("a point, a line or a polygon", {0, 1, 3, 4, 5, 6}),
}
KINDS = ("Point", "LineString", "LinearRing", "Polygon", "MultiPoint",
         "MultiLineString", "MultiPolygon", "GeometryCollection")  # fmt: skip


class Box(NamedTuple):
    """Edges of an area, in degrees."""

    west: float
    south: float
    east: float
    north: float

    def holds(self, lon: float, lat: float) -> bool:
        """Whether a point lies inside."""
        return self.west <= lon <= self.east and self.south <= lat <= self.north

    def meets(self, other: "Box") -> bool:
        """Whether two areas overlap."""
        return (
            self.west <= other.east
            and other.west <= self.east
            and self.south <= other.north
            and other.south <= self.north
        )

    def __str__(self) -> str:
        """Return the edges in words."""
        west, south, east, north = map(number_text, self)
        return f"lon {west} to {east}, lat {south} to {north}"


FIGURES = ("slope", "water_table", "area")
"""Subjects of a siting rule that are figures of the yard, not places."""

WORLD = Box(-180, -90, 180, 90)


def district(settings: Settings | None) -> Box:
    """Return the district's edges; the world if they are unusable or not given."""
    if settings is None:
        return WORLD
    d = settings.district
    box = Box(d.west, d.south, d.east, d.north)
    return box if box.west < box.east and box.south < box.north else WORLD


def check_points(cells: Cells, box: Box) -> list[Problem]:
    """
    Find points outside the district, swapped ones and lost minus signs first.

    Parameters
    ----------
    cells
        Table with lon and lat [degrees].
    box
        Edges of the district.

    Returns
    -------
    list of Problem
        One fault a point.
    """
    problems = []
    lons, lats = cells.frame["lon"].tolist(), cells.frame["lat"].tolist()
    for position in cells.good("lon", "lat"):
        lon, lat = lons[position], lats[position]
        if box.holds(lon, lat):
            continue
        column, why, remedy = _astray(lon, lat, box)
        value = lon if column == "lon" else lat
        problems.append(cells.problem(position, column, why, remedy, value))
    return problems


def _astray(lon: float, lat: float, box: Box) -> tuple[str, str, str]:
    """Say which coordinate is wrong, why, and what it may have been."""
    a, b = number_text(lon), number_text(lat)
    if box.holds(lat, lon):
        return "lon", f"and lat {b} look swapped", f"Write lon {b} and lat {a}"
    column = "lat" if box.west <= lon <= box.east else "lon"
    for x, y in ((-lon, lat), (lon, -lat), (-lon, -lat)):
        if box.holds(x, y):
            remedy = f"Write lon {number_text(x)} and lat {number_text(y)}"
            return (
                column,
                "has the wrong sign",
                f"{remedy}; west and south are negative",
            )
    if not WORLD.holds(lon, lat):
        return column, "is not a place on earth", "Write decimal degrees (EPSG:4326)"
    remedy = "Correct the point, or widen the district in its settings (scenario.toml)"
    return column, f"lies outside the district ({box})", remedy


def check_shapes(cells: Cells, kind: str, box: Box) -> list[Problem]:
    """
    Find WKT that does not parse, is of the wrong kind or lies elsewhere.

    Parameters
    ----------
    cells
        Table with a column wkt.
    kind
        line or shape.
    box
        Edges of the district.

    Returns
    -------
    list of Problem
        One fault a shape.
    """
    import shapely

    positions = cells.good("wkt")
    texts = cells.frame["wkt"].tolist()
    problems = []
    wanted, allowed = SHAPES[kind]
    safe = [_safe(texts[p]) for p in positions]
    with np.errstate(invalid="ignore"):
        shapes = shapely.from_wkt(np.array(safe, dtype=object), on_invalid="ignore")
    for position, shape in zip(positions, shapes, strict=True):
        fault = None
        if shape is None:
            fault = ("cannot be read as WKT", f"Write {wanted} in WKT")
        elif shapely.is_empty(shape):
            fault = ("is an empty shape", "Draw it, or delete the row")
        elif shapely.get_type_id(shape) not in allowed:
            found = KINDS[shapely.get_type_id(shape)]
            fault = (
                f"is a {found}",
                f"Write {wanted}; split any shape with several parts",
            )
        else:
            fault = _elsewhere(shapely.get_coordinates(shape), box)
            if fault is None and kind == "line" and shapely.length(shape) == 0:
                fault = ("is a line without length", "Draw it, or delete the row")
        if fault:
            problems.append(cells.problem(position, "wkt", *fault, texts[position]))
    return problems


def _safe(text: str) -> str:
    """Blank nested collections, which could exhaust the parser."""
    return "" if text.upper().count("GEOMETRYCOLLECTION") > 1 else text


def _elsewhere(xy: np.ndarray, box: Box) -> tuple[str, str] | None:
    """Say if coordinates are no degrees or all lie outside the district."""
    remedy = "Write longitude before latitude in decimal degrees (EPSG:4326)"
    if not np.isfinite(xy).all():
        return "has a coordinate that is not a finite number", remedy
    low, high = xy.min(axis=0), xy.max(axis=0)
    spread = Box(*map(float, (*low, *high)))
    if spread.meets(box) and WORLD.holds(*low) and WORLD.holds(*high):
        return None
    turned = Box(spread.south, spread.west, spread.north, spread.east)
    if turned.meets(box) and WORLD.holds(*low[::-1]) and WORLD.holds(*high[::-1]):
        return "has longitude and latitude swapped", "Write longitude before latitude"
    if not (WORLD.holds(*low) and WORLD.holds(*high)):
        return "has coordinates that are not degrees", remedy
    return f"lies outside the district ({box})", remedy


def check_rules(rules: Cells) -> list[Problem]:
    """
    Find rules of the land screening that lack a value or cannot be measured.

    Parameters
    ----------
    rules
        Table siting_rules.

    Returns
    -------
    list of Problem
        One fault a rule.
    """
    subjects, comparisons, values = (
        rules.frame[name].tolist() for name in ("subject", "comparison", "value")
    )
    problems = []
    for position in rules.good("subject", "comparison", "value"):
        subject, comparison = subjects[position], comparisons[position]
        value = values[position]
        blank = isnan(value)
        if comparison == "outside" and subject in {*FIGURES, "coast", "road"}:
            why, remedy = f"does not go with {subject}", "Write at_least or at_most"
            problems.append(
                rules.problem(position, "comparison", why, remedy, comparison)
            )
        elif comparison == "outside" and value > 100:
            why, remedy = "is more than the whole site", "Write 0 to 100 % of the site"
            problems.append(rules.problem(position, "value", why, remedy, value))
        elif blank and comparison != "outside" and subject != "area":
            why, remedy = "is blank", "Write the distance or figure to keep"
            problems.append(rules.problem(position, "value", why, remedy))
    return problems
