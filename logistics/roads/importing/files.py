"""Read the lines of road files: OpenStreetMap extracts and the files of a GIS."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import shapely

from logistics.roads.geometry import DIGITS
from logistics.roads.importing.tags import hstore
from logistics.scenario import DEGREES, Problem, ScenarioError, in_list, quiet

OSM = (".osm", ".pbf")

NO_LINE = "without a line"
"""Number of rows of a road file whose shape is blank, broken or no line."""
KINDS = ".osm.pbf, .osm, .gpkg, .geojson, .shp or .csv"

WANTED = "highway IS NOT NULL OR other_tags LIKE '%ferry%'"
"""Lines of an OpenStreetMap extract that may be roads; reading only these is quick."""

NAMES = {"fclass": "highway", "maxweight_": "maxweight", "ref_name": "ref"}
"""Other names of columns, as extracts in Shapefile use them."""


def road_fault(path: Path, why: str, remedy: str) -> ScenarioError:
    """Make the error for a road file."""
    return ScenarioError([Problem(path.name, None, "", None, why, remedy)])


def _no_lines(path: Path) -> ScenarioError:
    remedy = "Give a file with lines; in a .csv, a column wkt"
    return road_fault(path, "holds no lines", remedy)


def read_lines(path: Path, layer: str | None = None) -> pd.DataFrame:
    """
    Read the lines of a road file in degrees.

    Parameters
    ----------
    path
        OpenStreetMap extract (.osm.pbf, .osm), GeoPackage, GeoJSON, Shapefile, or a
        CSV file like roads.csv with a column wkt in degrees.
    layer
        Layer to read; needed if there are several with lines.

    Returns
    -------
    DataFrame
        tags (dictionary of texts) and line (one LineString a row); `attrs[NO_LINE]`
        counts the rows whose shape is blank, broken or no line.
    """
    import pyogrio

    osm = path.suffix.lower() in OSM
    with quiet():
        try:
            layers = [(str(n), str(k)) for n, k in pyogrio.list_layers(path)]
        except Exception as error:  # the driver raises almost anything
            raise road_fault(
                path,
                f"cannot be opened as road data ({type(error).__name__})",
                f"Give a file of one of the kinds {KINDS}",
            ) from None
        layer = "lines" if osm else _layer(path, layers, layer)
        sql = f'SELECT * FROM "{layer}" WHERE {WANTED}' if osm else None
        wanted: dict[str, Any] = {"sql": sql} if osm else {"layer": layer}
        try:
            frame = pyogrio.read_dataframe(path, **wanted)
            plain = not hasattr(frame, "crs")
            if path.suffix.lower() == ".csv" and not plain:
                frame = frame.set_crs(DEGREES, allow_override=True)
            if not plain and frame.crs is not None:
                frame = frame.to_crs(DEGREES)
        except Exception as error:
            why = f"layer '{layer}' cannot be read ({error})"
            raise road_fault(path, why, "Export it again from the GIS") from None
    if plain:
        raise _no_lines(path)
    if frame.crs is None:
        why = "has no coordinate system"
        remedy = "Set the layer's coordinate system in the GIS and export it again"
        raise road_fault(path, why, remedy)
    lines = shapely.force_2d(frame.geometry.to_numpy())
    parts, row = shapely.get_parts(lines, return_index=True)
    parts = shapely.transform(parts, lambda xy: np.round(xy, DIGITS) + 0.0)
    keep = (shapely.get_type_id(parts) == 1) & (shapely.length(parts) > 0)
    tags = _tags(frame.drop(columns=frame.geometry.name))
    found = pd.DataFrame({"tags": [tags[r] for r in row[keep]], "line": parts[keep]})
    found.attrs[NO_LINE] = len(frame) - len(set(row[keep].tolist()))
    return found


def _layer(path: Path, layers: list[tuple[str, str]], wanted: str | None) -> str:
    """Choose the layer: the one asked for, one called roads, or the only one."""
    lined = [name for name, kind in layers if "Line" in kind or kind == "Unknown"]
    names = [name for name, _ in layers]
    if wanted is not None and wanted in names:
        return wanted
    if not lined:
        raise _no_lines(path)
    choice = f"Choose with --layer: {in_list(lined)}"
    if wanted is not None:
        raise road_fault(path, f"has no layer '{wanted}'", choice)
    if "roads" in names:
        return "roads"
    if len(lined) != 1:
        raise road_fault(path, f"has {len(lined)} layers with lines", choice)
    return lined[0]


def _tags(frame: pd.DataFrame) -> list[dict[str, str]]:
    """Attributes as texts, those in other_tags unpacked; blanks are left out."""
    names = [str(name).casefold() for name in frame.columns]
    names = [NAMES.get(name, name) for name in names]
    if not names:
        return [{} for _ in range(len(frame))]  # pandas 3.0 has no tuples of nothing
    found = []
    for values in frame.itertuples(index=False, name=None):
        row = {n: _text(v) for n, v in zip(names, values, strict=True)}
        more = hstore(row.pop("other_tags", ""))
        found.append({n: v for n, v in {**row, **more}.items() if v})
    return found


def _text(value: Any) -> str:
    if isinstance(value, list | tuple | np.ndarray):
        return " ".join(_text(one) for one in value)
    if value is None or pd.isna(value):
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value).strip()
