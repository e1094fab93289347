"""Read the layers of one GeoPackage as text; points become lon and lat, shapes WKT."""

import logging
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from math import isnan
from pathlib import Path
from typing import Any

import pandas as pd

from logistics.scenario.faults import Problem
from logistics.scenario.raw import RawTable, raw_table
from logistics.scenario.schema import columns_of, number_text, plain_name, tables

Layer = tuple[str, str, RawTable | None, list[Problem]]
DEGREES = "EPSG:4326"


def read_gpkg(path: Path) -> tuple[list[Layer], list[str], list[Problem]]:
    """
    Read every layer that bears the name of a table; its row numbers are feature ids.

    Parameters
    ----------
    path
        GeoPackage to read.

    Returns
    -------
    list of (table, label, RawTable or None, list of Problem)
        One entry a layer.
    list of str
        Names of the other layers.
    list of Problem
        Faults of the file as a whole.
    """
    why = "cannot be opened as a GeoPackage"
    remedy = "Export the layers again from the GIS, or save them as CSV"
    broken = Problem(path.name, None, "", None, why, remedy)
    with path.open("rb") as file:
        if not file.read(16).startswith(b"SQLite format 3\x00"):
            return [], [], [broken]
    found: list[Layer] = []
    others = []
    with quiet():
        import pyogrio

        try:
            layers = [str(name) for name, _ in pyogrio.list_layers(path)]
        except Exception:  # the driver raises almost anything on a damaged file
            return [], [], [broken]
        for layer in layers:
            table = plain_name(layer)
            if table not in tables():
                others.append(layer)
                continue
            label = f"{path.name} layer '{layer}'"
            try:
                found.append((table, label, *_read_layer(path, layer, table, label)))
            except Exception:
                bad = Problem(label, None, "", None, "cannot be read", remedy)
                found.append((table, label, None, [bad]))
    return found, others, []


def layer_tables(path: Path) -> list[str]:
    """Return the tables that the layers of a GeoPackage bear the names of."""
    with quiet():
        import pyogrio

        try:
            layers = [str(name) for name, _ in pyogrio.list_layers(path)]
        except Exception:  # the driver raises almost anything on a damaged file
            return []
    return [table for table in map(plain_name, layers) if table in tables()]


@contextmanager
def quiet() -> Iterator[None]:
    """Keep the driver's own warnings away from the planner."""
    log = logging.getLogger("pyogrio")
    before = log.disabled, log.level
    log.setLevel(logging.CRITICAL + 1)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield
    log.disabled, log.level = before


def _read_layer(
    path: Path, layer: str, table: str, label: str
) -> tuple[RawTable | None, list[Problem]]:
    """Turn one layer into a raw table."""
    import pyogrio.raw

    meta, fids, shapes, fields = pyogrio.raw.read(path, layer=layer, return_fids=True)
    names = [str(name) for name in meta["fields"]]
    columns = [[_text(value) for value in values] for values in fields]
    problems: list[Problem] = []
    plain = {plain_name(name) for name in names}
    wanted = {c.name for c in columns_of(table)} & {"lon", "lat", "wkt"}
    if shapes is not None and len(shapes) and wanted - plain:
        more, problems = _places(shapes, meta["crs"], wanted, label)
        for name in sorted(wanted - plain):
            names.append(name)
            columns.append(more[name])
    rows = zip(*columns, strict=True) if columns else ()
    ids = [int(fid) for fid in fids]
    grid = [(0, names), *zip(ids, [list(row) for row in rows], strict=False)]
    as_text = {place for place, field in enumerate(fields) if field.dtype.kind == "O"}
    numbers = frozenset(
        (fid, place)
        for place in range(len(names))
        if place not in as_text
        for fid in ids
    )
    raw, found = raw_table(table, label, grid, numbers=numbers)
    return raw, [*problems, *found]


def _text(value: Any) -> str:
    """Write one attribute value as text; missing values are blank."""
    if value is None or pd.isna(value):
        return ""
    kind = getattr(getattr(value, "dtype", None), "kind", "")
    if isinstance(value, bool) or kind == "b":
        return "yes" if value else "no"
    if isinstance(value, int | float) or kind in {"i", "u", "f"}:
        return number_text(float(value)) if abs(value) < 1e300 else str(value)
    return "" if kind == "M" and str(value) == "NaT" else str(value)


def _places(
    shapes: Any, crs: str | None, wanted: set[str], label: str
) -> tuple[dict[str, list[str]], list[Problem]]:
    """Bring the shapes to degrees and write them as lon and lat or as WKT."""
    import numpy as np
    import shapely

    geometry = shapely.from_wkb(shapes, on_invalid="ignore")
    problems = []
    if crs is None:
        why = "has no coordinate system"
        remedy = "Set the layer's coordinate system in the GIS and export it again"
        problems.append(Problem(label, None, "", None, why, remedy))
    elif crs != DEGREES:
        geometry = _reproject(geometry, crs)
    parts = shapely.get_num_geometries(geometry)
    geometry = np.where(parts == 1, shapely.get_geometry(geometry, 0), geometry)
    if "wkt" in wanted:
        texts = shapely.to_wkt(geometry, rounding_precision=9)
        return {"wkt": [str(text or "") for text in texts]}, problems
    points = np.where(shapely.get_type_id(geometry) == 0, geometry, None)
    return {
        "lon": [_degrees(value) for value in shapely.get_x(points)],
        "lat": [_degrees(value) for value in shapely.get_y(points)],
    }, problems


def _reproject(geometry: Any, crs: str) -> Any:
    """Turn coordinates of another system into longitude and latitude."""
    import numpy as np
    import shapely
    from pyproj import Transformer

    to_degrees = Transformer.from_crs(crs, DEGREES, always_xy=True)

    def turn(xy: Any) -> Any:
        return np.column_stack(to_degrees.transform(xy[:, 0], xy[:, 1]))

    return shapely.transform(geometry, turn)


def _degrees(value: float) -> str:
    return "" if isnan(value) else number_text(round(float(value), 9))
