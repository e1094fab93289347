"""Faults of places: points and shapes that cannot lie where the tables put them."""

from collections.abc import Mapping
from math import isnan
from typing import Any, NamedTuple

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
TWICE = Box(-180, -90, 360, 90)
"""Where longitudes may lie if a district's eastern edge is beyond 180 degrees."""
TURN = np.array([360.0, 0.0])
"""Once round, as lon and lat. [degrees]"""
FAR = 170.0
"""Longitude from which on a district may lie across the 180th meridian. [degrees]"""


def lon_about(lon: Any, middle: float) -> Any:
    """
    Write longitudes within half a turn of a middle. [degrees]

    What lies there already stays as it is, to the last digit.

    Examples
    --------
    >>> [float(round(lon_about(x, 180.5), 6)) for x in (-179.9, 179.9, 180.1)]
    [180.1, 179.9, 180.1]
    >>> float(round(lon_about(180.1, 0.0), 6)), float(lon_about(-30.52, -30.5))
    (-179.9, -30.52)
    """
    return lon + 360.0 * np.rint((middle - lon) / 360.0)


def order_remedy(setting: str, low: float, high: float) -> str:
    """Say what to write where the lower of two settings is not below the higher."""
    if setting == "district.west" and low > 0 > high:
        beyond = number_text(high + 360)
        return (
            f"Write east = {beyond} if the district lies across the 180th meridian, "
            "and count on beyond 180 in the tables too; else correct one of the two"
        )
    return "Correct one of the two"


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
    problems: list[Problem] = []
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
    if box.east > WORLD.east and box.holds(lon + 360, lat):
        beyond = number_text(round(lon + 360, 9))
        return column, "is written from the other side of 180", f"Write lon {beyond}"
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


def check_across(tables: Mapping[str, Cells], box: Box) -> list[Problem]:
    """
    Find a district on both sides of the 180th meridian whose edges do not say so.

    Parameters
    ----------
    tables
        Tables with lon. [degrees]
    box
        Edges of the district.

    Returns
    -------
    list of Problem
        One for all points, at the first that is to be written beyond 180.
    """
    if box.east > WORLD.east:
        return []
    found = [
        (float(cells.frame["lon"].tolist()[place]), cells, place)
        for cells in tables.values()
        for place in cells.good("lon")
    ]
    west = [one for one in found if one[0] < 0]
    if not west or len(west) == len(found) or min(abs(x) for x, *_ in found) < FAR:
        return []
    lon, cells, place = west[0]
    most = number_text(max(np.ceil(x) for x, *_ in west) + 360)
    remedy = (
        f"Write {number_text(round(lon + 360, 9))} for it, all others west of "
        f"-{FAR:g} in the same way, and the district's edges in scenario.toml, with "
        f"east = {most}"
    )
    why = "lies across the 180th meridian from others"
    return [cells.problem(place, "lon", why, remedy, lon)]


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
    whole = WORLD if box.east <= WORLD.east else TWICE
    placed = whole.holds(*low) and whole.holds(*high)
    if placed and spread.east - spread.west > WORLD.east:
        why = "reaches half round the earth: it crosses the 180th meridian"
        return why, "Write longitudes beyond it on from 180, such as 180.1 for -179.9"
    if placed and spread.meets(box):
        return None
    if whole is TWICE and Box(*low + TURN, *high + TURN).meets(box):
        why = "is written from the other side of 180"
        return why, "Add 360 to its longitudes"
    turned = Box(spread.south, spread.west, spread.north, spread.east)
    if turned.meets(box) and WORLD.holds(*low[::-1]) and WORLD.holds(*high[::-1]):
        return "has longitude and latitude swapped", "Write longitude before latitude"
    if not placed:
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
