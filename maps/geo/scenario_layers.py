"""
The tables of a scenario as layers: a GeoPackage that holds all, KML that holds places.

Points and shapes are those of the rows, in degrees (EPSG:4326); they stand for the
columns lon, lat and wkt, so that what is moved in a map program has moved.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import geopandas
import pandas as pd
import pyogrio
import shapely

from logistics.scenario import Column, Problem, ScenarioError, columns_of, plain_number
from maps.geo.geopackage import CRS, FIXED_DATE

BOOK, PLACES = "tables.gpkg", "places.kml"
NUMBERS = {"number", "integer", "percent"}


def scenario_layers(found: Mapping[str, pd.DataFrame]) -> dict[str, Any]:
    """
    Turn tables of texts into layers; those with places get geometry.

    Parameters
    ----------
    found
        Table -> texts by column.
    """
    return {table: _layer(table, frame) for table, frame in found.items()}


def _layer(table: str, frame: pd.DataFrame) -> Any:
    known = {c.name: c for c in columns_of(table)}
    columns = {
        name: _typed(texts, known[name]) if name in known else texts
        for name, texts in frame.items()
        if name not in {"lon", "lat", "wkt"}
    }
    rest = pd.DataFrame(columns, index=frame.index)
    if "lon" in known:
        points = shapely.points(frame["lon"].astype(float), frame["lat"].astype(float))
        return geopandas.GeoDataFrame(rest, geometry=points, crs=CRS)
    if "wkt" in known:
        shapes = shapely.from_wkt(frame["wkt"].tolist())
        return geopandas.GeoDataFrame(rest, geometry=shapes, crs=CRS)
    return rest


def _typed(texts: pd.Series, column: Column) -> pd.Series:
    """Return numbers where none of them is lost by that; blanks are missing."""
    if column.kind not in NUMBERS:
        return texts.where(texts != "", None)
    numbers = pd.to_numeric(texts.where(texts != "", None))
    exact = [
        text == "" or float(plain_number(number)) == number
        for text, number in zip(texts, numbers, strict=True)
    ]
    return numbers.astype(float) if all(exact) else texts.where(texts != "", None)


def write_scenario_gpkg(found: Mapping[str, pd.DataFrame], target: Path) -> list[str]:
    """
    Write every table as a layer of one GeoPackage; return its name.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    path = target / BOOK
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": FIXED_DATE})
    try:
        for table, layer in scenario_layers(found).items():
            pyogrio.write_dataframe(layer, path, layer=table, driver="GPKG")
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})
    return [BOOK]


def write_scenario_kml(found: Mapping[str, pd.DataFrame], target: Path) -> list[str]:
    """
    Write the tables that have places as folders of one KML file; return its name.

    Raises
    ------
    ScenarioError
        If no table has a place.
    """
    path = target / PLACES
    placed = {
        table: layer
        for table, layer in scenario_layers(found).items()
        if isinstance(layer, geopandas.GeoDataFrame)
    }
    if not placed:
        why, remedy = "has no places", "Export it as gpkg, xlsx or csv"
        raise ScenarioError([Problem("the scenario", None, "", None, why, remedy)])
    for table, layer in placed.items():
        pyogrio.write_dataframe(layer, path, layer=table, driver="LIBKML")
    return [PLACES]
