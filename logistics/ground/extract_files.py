"""
Read a map extract or a GIS file as features with tags: only by the driver meant for it.

A file is looked at before any driver opens it: how it begins, how large it is, and
that a text defines nothing of its own. It is given by its path on this disk, so that no
address and no other file is ever followed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from logistics.bringing import check_markup, unread
from logistics.ground.tag_kinds import AREAS, kind_of, kind_of_word, tag_keys
from logistics.roads import hstore
from logistics.scenario import DEGREES, quiet

EXTRACTS = {".osm", ".pbf"}
DRIVERS = {
    ".osm": "OSM",
    ".pbf": "OSM",
    ".gpkg": "GPKG",
    ".shp": "ESRI Shapefile",
    ".geojson": "GeoJSON",
}
BEGINS = {
    ".osm": re.compile(rb"(?:\xef\xbb\xbf)?\s*(?:<\?xml[^>]*>)?\s*<osm\b", re.DOTALL),
    ".pbf": re.compile(rb"\x00\x00..\x0a\x09OSMHeader", re.DOTALL),
    ".gpkg": re.compile(rb"SQLite format 3\x00"),
    ".shp": re.compile(rb"\x00\x00\x27\x0a"),
    ".geojson": re.compile(rb"(?:\xef\xbb\xbf)?\s*\{"),
}
"""How a file of a kind begins."""
MOST_BYTES = 300_000_000
"""Of one file. [byte]"""
MOST_FEATURES = 500_000
"""In the district, of one layer."""
LAYERS = ("points", "lines", "multipolygons")
"""Layers of an extract in which places, lines and areas stand."""
COLUMNS = {
    "points": {"place", "man_made"},
    "lines": {"waterway", "man_made"},
    "multipolygons": {
        *("amenity", "boundary", "building", "landuse", "leisure"),
        *("man_made", "natural", "place"),
    },
}
"""Keys that the driver keeps as a column of their own; the others are in other_tags."""
TAGGED = {"other_tags", "fclass", "highway", "waterway", "natural"}
"""A GIS file with one of these columns is a map, not a table."""
LINES = {1, 2, 5}
SMALLER = "Cut the district out of it (an extract of one province is enough)"
AGAIN = "Fetch or export it again from the program that made it"


@dataclass(frozen=True, eq=False)
class MapFeatures:
    """
    MapFeatures of a map in a district.

    Attributes
    ----------
    kind, rank, name, code
        One text a feature; the code is blank where the file gives none.
    shape
        Points, lines and areas. [degrees]
    unknown
        Layer or tag -> how many of its features are of no kind of ours.
    """

    kind: NDArray[np.str_]
    rank: NDArray[np.str_]
    name: NDArray[np.str_]
    code: NDArray[np.str_]
    shape: NDArray[Any]
    unknown: Mapping[str, int]


def is_map(path: Path) -> bool:
    """Whether a file is an extract, or a GIS file with the tags of a map."""
    import pyogrio

    if path.suffix.lower() in EXTRACTS:
        return True
    if path.suffix.lower() not in DRIVERS or not BEGINS[path.suffix.lower()].match(
        _start(path)
    ):
        return False
    with quiet():
        try:
            names = [str(name) for name, _ in pyogrio.list_layers(path.resolve())]
            infos = [pyogrio.read_info(path.resolve(), layer=name) for name in names]
        except Exception:  # `bring` then says why it cannot be read
            return False
    return any(TAGGED & {str(f) for f in info["fields"]} for info in infos)


def check_file(path: Path) -> None:
    """
    Look at a file before any driver does.

    Raises
    ------
    ScenarioError
        If it is too large, is not what its ending says, or defines things of its own.
    """
    kind = path.suffix.lower()
    if kind not in DRIVERS:
        why = "is of no kind that holds a map"
        raise unread(path.name, why, "Give .osm.pbf .osm .gpkg .shp or .geojson")
    size = path.stat().st_size
    if size > MOST_BYTES:
        why = f"has {size / 1e6:,.0f} MB; {MOST_BYTES / 1e6:,.0f} are the most"
        raise unread(path.name, why, SMALLER)
    if not BEGINS[kind].match(_start(path)):
        raise unread(path.name, f"is not a file of the kind {kind}", AGAIN)
    if kind == ".osm":
        check_markup(path.read_bytes(), path.name)


def _start(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(4096)


def read_features(
    path: Path,
    edges: tuple[float, float, float, float],
    tags: Mapping[str, str],
    layers: Mapping[str, str],
) -> MapFeatures:
    """
    Read the features of a map that meet a box.

    Parameters
    ----------
    path
        Extract (.osm.pbf, .osm), GeoPackage, Shapefile or GeoJSON.
    edges
        West, south, east, north. [degrees]
    tags, layers
        "key=value" -> kind and layer -> kind, as a recipe has them; a blank kind leaves
        out.

    Raises
    ------
    ScenarioError
        If it cannot be read, holds too much, or a layer has no coordinate system.
    """
    import pyogrio

    check_file(path)
    source, osm = path.resolve(), path.suffix.lower() in EXTRACTS
    rows: list[tuple[str, str, str, str, Any]] = []
    unknown: dict[str, int] = {}
    with quiet():
        try:
            names = [str(name) for name, _ in pyogrio.list_layers(source)]
            for name in LAYERS if osm else names:
                info = pyogrio.read_info(source, layer=name)
                if info["driver"] != DRIVERS[path.suffix.lower()]:
                    why = f"is read as {info['driver']}, which is not its kind"
                    raise unread(path.name, why, AGAIN)
                if info["geometry_type"] is None:
                    continue
                found = _layer(source, name, edges, osm=osm, crs=info["crs"])
                rows += _kinds(found, name, tags, layers, unknown, osm=osm)
        except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
            why = f"cannot be read ({type(error).__name__})"
            raise unread(path.name, why, AGAIN) from None
    kind, rank, label, code = (
        np.array([row[n] for row in rows], dtype=str) for n in range(4)
    )
    shapes = np.array([row[4] for row in rows], dtype=object)
    return MapFeatures(kind, rank, label, code, shapes, unknown)


def _layer(
    source: Path,
    name: str,
    edges: tuple[float, float, float, float],
    *,
    osm: bool,
    crs: str | None,
) -> list[tuple[dict[str, str], Any]]:
    """Tags and shape [degrees] of the features of a layer that meet the box."""
    import pyogrio.raw
    from pyproj import Transformer

    if crs is None:
        why = f"layer '{name}' has no coordinate system"
        remedy = "Set the layer's coordinate system in the GIS and export it again"
        raise unread(source.name, why, remedy)
    box = edges
    if crs != DEGREES:
        box = Transformer.from_crs(DEGREES, crs, always_xy=True).transform_bounds(*box)
    wanted: dict[str, Any] = {"layer": name, "bbox": box}
    if osm:
        del wanted["layer"]
        wanted |= {"sql": f'SELECT * FROM "{name}" WHERE {_where(name)}'}
    meta, _, shapes, fields = pyogrio.raw.read(
        source, **wanted, force_2d=True, max_features=MOST_FEATURES + 1
    )
    if len(shapes) > MOST_FEATURES:
        why = f"layer '{name}' holds more than {MOST_FEATURES:,} features here"
        raise unread(source.name, why, SMALLER)
    geometry = shapely.from_wkb(shapes, on_invalid="ignore")
    if crs != DEGREES:
        turn = Transformer.from_crs(crs, DEGREES, always_xy=True)
        geometry = shapely.transform(geometry, turn.transform, interleaved=False)
    heads = [str(field).casefold() for field in meta["fields"]]
    found = []
    for values, shape in zip(zip(*fields, strict=True), geometry, strict=True):
        if shape is None or shapely.is_empty(shape):
            continue
        row = {
            head: str(value).strip()
            for head, value in zip(heads, values, strict=True)
            if value is not None and value == value
        }
        found.append(({**row, **hstore(row.pop("other_tags", ""))}, shape))
    return found


def _where(layer: str) -> str:
    """Ask the driver for features with a key of ours only."""
    own = COLUMNS[layer]
    asked = [
        f"{key} IS NOT NULL" if key in own else f"other_tags LIKE '%\"{key}\"=>%'"
        for key in tag_keys()
    ]
    return " OR ".join(asked)


def _kinds(
    found: list[tuple[dict[str, str], Any]],
    layer: str,
    tags: Mapping[str, str],
    layers: Mapping[str, str],
    unknown: dict[str, int],
    *,
    osm: bool,
) -> list[tuple[str, str, str, str, Any]]:
    """Kind, rank, name, code and shape of features; counts those of no kind."""
    said = ("", "")
    if not osm:
        named = layers.get(layer)
        said = kind_of_word(layer) if named is None else (named, "")
        if said[0] == "place" and not said[1]:
            said = ("place", "village")
    rows = []
    for row, shape in found:
        kind, rank = kind_of(row, tags)
        if not kind and layers.get(layer, said[0]):
            kind, rank = said
        if not kind:
            what = _most_telling(row) if osm or "fclass" in row else f"layer {layer}"
            if what:
                unknown[what] = unknown.get(what, 0) + 1
            continue
        if kind in AREAS and shapely.is_closed(shape) and shapely.get_dimensions(
            shape
        ) == 1 and shapely.get_num_coordinates(shape) > 3:  # fmt: skip
            shape = shapely.polygons(shapely.get_coordinates(shape))
        rows.append((kind, rank, row.get("name", ""), _code(row, layer), shape))
    return rows


def _most_telling(row: Mapping[str, str]) -> str:
    """Return the tag of a feature that was looked at and is of no kind of ours."""
    if row.get("fclass"):
        return row["fclass"]
    return next((f"{key}={row[key]}" for key in tag_keys() if row.get(key)), "")


def _code(row: Mapping[str, str], layer: str) -> str:
    """Return a code that stays the same in the next extract; blank without an id."""
    number = row.get("osm_id", "").removesuffix(".0")
    way = row.get("osm_way_id", "").removesuffix(".0")
    if way.isdigit():
        return f"w{way}"
    letter = {"points": "n", "lines": "w", "multipolygons": "r"}.get(layer, "o")
    return f"{letter}{number}" if number.isdigit() else ""


def road_layer(path: Path) -> str | None:
    """
    Return the layer of a map that holds its roads, or None.

    Of an extract it is "lines"; of a GIS file the lines with a column `highway`, or
    whose name says that they are roads.
    """
    import pyogrio

    if path.suffix.lower() in EXTRACTS:
        return "lines"
    with quiet():
        for name, shapes in pyogrio.list_layers(path.resolve()):
            info = pyogrio.read_info(path.resolve(), layer=str(name))
            fields = {str(field).casefold() for field in info["fields"]}
            lined = "Line" in str(shapes) or shapes == "Unknown"
            if lined and ("highway" in fields or "road" in str(name).casefold()):
                return str(name)
    return None
