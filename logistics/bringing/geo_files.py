"""Geodata: each kind through the one driver meant for it, from a file on this disk."""

from __future__ import annotations

import io
import re
import zipfile
from math import isnan
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from logistics.bringing.field_areas import hectares
from logistics.bringing.packed import check_markup, opened
from logistics.bringing.sheets import MOST_BYTES, MOST_ROWS, ReadSheet, unread
from logistics.bringing.words import plain
from logistics.scenario import DEGREES, plain_number, quiet

DRIVERS = {
    ".gpx": {"GPX"},
    ".kml": {"LIBKML", "KML"},
    ".kmz": {"LIBKML", "KML"},
    ".geojson": {"GeoJSON"},
    ".json": {"GeoJSON"},
    ".gpkg": {"GPKG"},
    ".shp": {"ESRI Shapefile"},
}
MARKUP = rb"(?:\xef\xbb\xbf)?\s*(?:<\?xml[^>]*>)?\s*(?:<!--.*?-->\s*)*<"
BEGINS = {
    ".gpx": re.compile(MARKUP + rb"gpx\b", re.DOTALL),
    ".kml": re.compile(MARKUP + rb"kml\b", re.DOTALL),
    ".geojson": re.compile(rb"(?:\xef\xbb\xbf)?\s*\{"),
    ".gpkg": re.compile(rb"SQLite format 3\x00"),
    ".shp": re.compile(rb"\x00\x00\x27\x0a"),
}
"""How a file of a kind begins, looked at before any driver opens it."""
AGAIN = "Export it again from the program that made it"
POINTS, LINES = ("lon", "lat"), "wkt"
AREA = re.compile(r"\b(ha|hectar\w*|acres?|area|m2|sqm|superficie|surface|luas)\b")
"""A heading that gives an area."""
IDLE = {"timestamp", "begin", "end", "altitudemode", "tessellate", "extrude", "icon",
        "visibility", "draworder", "id", "time"}  # fmt: skip
"""Fields that every layer of a kind has, and that say nothing of a place."""


def read_geodata(path: Path) -> list[ReadSheet]:
    """
    Read the layers of a file as tables; places stand in lon and lat, or in wkt.

    Parameters
    ----------
    path
        File on this disk: GPX, KML, KMZ, GeoJSON, GeoPackage or Shapefile.

    Returns
    -------
    list of ReadSheet
        One a layer that has features. Coordinates are in degrees where the layer has a
        system, and else as they stand.

    Raises
    ------
    ScenarioError
        If it is not what its ending says, or cannot be read.
    """
    import pyogrio

    kind = path.suffix.lower()
    if path.stat().st_size > MOST_BYTES:
        why = f"has {path.stat().st_size / 1e6:,.0f} MB; "
        raise unread(path.name, f"{why}{MOST_BYTES / 1e6:,.0f} are the most", AGAIN)
    source = _checked(path, kind)
    said: tuple[str, ...] = ()
    if isinstance(source, bytes) and b"<NetworkLink" in source:
        said = ("has links to other files, which were not followed",)
    found = []
    with quiet():
        try:
            for name, _ in pyogrio.list_layers(source):
                info = pyogrio.read_info(source, layer=str(name))
                if info["driver"] not in DRIVERS[kind]:
                    why = f"is read as {info['driver']}, which is not its kind"
                    raise unread(path.name, why, AGAIN)
                if info["features"]:
                    found.append(_layer(source, path.name, str(name), said))
        except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
            why = f"cannot be read ({type(error).__name__})"
            raise unread(path.name, why, AGAIN) from None
    if kind == ".gpx":
        parts = {"track_points", "route_points"}
        found = [s for s in found if len(s.rows) > 1 and s.name not in parts]
    if not found:
        raise unread(path.name, "holds no features", AGAIN)
    return found


def _checked(path: Path, kind: str) -> bytes | Path:
    """Return what the driver is given, after a look at how the file begins."""
    if kind == ".kmz":
        with opened(path.read_bytes(), path.name) as packed:
            return _document(packed, path.name)
    begins = BEGINS[{".json": ".geojson"}.get(kind, kind)]
    with path.open("rb") as file:
        start = file.read(4096)
    if not begins.match(start):
        raise unread(path.name, f"is not a file of the kind {kind}", AGAIN)
    if kind in {".gpkg", ".shp"}:
        return path.resolve()
    data = path.read_bytes()
    if kind in {".gpx", ".kml"}:
        check_markup(data, path.name)
    return data


def _document(packed: zipfile.ZipFile, file: str) -> bytes:
    """Return the KML file in a KMZ file."""
    names = [n for n in packed.namelist() if n.lower().endswith(".kml")]
    if not names:
        raise unread(file, "holds no KML file", AGAIN)
    data = packed.read(names[0])
    if not BEGINS[".kml"].match(data[:4096]):
        raise unread(file, "holds no KML file", AGAIN)
    return data


def _layer(source: Any, file: str, name: str, said: tuple[str, ...]) -> ReadSheet:
    import pyogrio.raw

    meta, fids, shapes, fields = pyogrio.raw.read(
        io.BytesIO(source) if isinstance(source, bytes) else source,
        layer=name, return_fids=True, force_2d=True, max_features=MOST_ROWS + 1,
    )  # fmt: skip
    if len(fids) > MOST_ROWS:
        why = f"holds more than {MOST_ROWS:,} features"
        raise unread(file, why, "Send those that are needed only")
    columns = {}
    for heading, values in zip(meta["fields"], fields, strict=True):
        texts = [_text(value) for value in values]
        if any(texts) and str(heading).casefold() not in IDLE:
            columns[str(heading)] = (texts, values.dtype.kind in "iuf")
    words = list(said)
    if shapes is not None:
        places, more = _places(shapes, meta["crs"])
        if not any(map(AREA.search, map(plain, columns))):
            places, more = _with_hectares(places, more)
        words += more
        columns = {n: c for n, c in columns.items() if n.casefold() not in places}
        columns |= {n: (texts, True) for n, texts in places.items()}
    rows = [list(columns)]
    rows += [list(row) for row in zip(*(t for t, _ in columns.values()), strict=True)]
    stored = frozenset(
        (position, place)
        for place, (_, number) in enumerate(columns.values())
        if number
        for position in range(1, len(rows))
    )
    return ReadSheet(file, name, rows, [0, *map(int, fids)], stored,
                     said=tuple(words), layer=True)  # fmt: skip


def _places(shapes: Any, crs: str | None) -> tuple[dict[str, list[str]], list[str]]:
    """Points as lon and lat, other shapes as WKT and as the middle they have."""
    geometry = shapely.from_wkb(shapes, on_invalid="ignore")
    said = []
    if crs is None:
        said.append("has no coordinate system")
    elif crs != DEGREES:
        geometry = _in_degrees(geometry, crs)
        said.append(f"was in {crs[:40]} and was brought to degrees")
    points = shapely.get_type_id(geometry) == 0
    if points.all():
        return _lon_lat(geometry), said
    inside = shapely.point_on_surface(geometry)
    said.append("has shapes: lon and lat are a point inside each")
    texts = shapely.to_wkt(geometry, rounding_precision=7)
    return _lon_lat(inside) | {LINES: [str(text or "") for text in texts]}, said


def _with_hectares(
    places: dict[str, list[str]], said: list[str]
) -> tuple[dict[str, list[str]], list[str]]:
    """Measure fields that are drawn, where no column gives an area."""
    if LINES not in places:
        return places, said
    sizes = hectares(shapely.from_wkt(places[LINES]))
    if not (sizes > 0).all():
        return places, said
    texts = [plain_number(round(float(size), 4)) for size in sizes]
    told = "has no column with an area: hectares were measured from the shapes drawn"
    return places | {"hectares": texts}, [*said, told]


def _in_degrees(geometry: Any, crs: str) -> Any:
    from pyproj import Transformer

    turn = Transformer.from_crs(crs, DEGREES, always_xy=True)
    return shapely.transform(
        geometry, lambda xy: np.column_stack(turn.transform(xy[:, 0], xy[:, 1]))
    )


def _lon_lat(points: Any) -> dict[str, list[str]]:
    return {
        "lon": [_degrees(value) for value in shapely.get_x(points)],
        "lat": [_degrees(value) for value in shapely.get_y(points)],
    }


def _degrees(value: float) -> str:
    return "" if isnan(value) else plain_number(round(float(value), 7))


def _text(value: Any) -> str:
    """Write one attribute as text; missing ones are blank."""
    kind = getattr(getattr(value, "dtype", None), "kind", "")
    if value is None or str(value) in {"NaT", "nan", "<NA>"}:
        return ""
    if isinstance(value, bool) or kind == "b":
        return "yes" if value else "no"
    if isinstance(value, int | float) or kind in {"i", "u", "f"}:
        return plain_number(float(value)) if abs(value) < 1e300 else str(value)
    return str(value)[:10] if kind == "M" else str(value).strip()
