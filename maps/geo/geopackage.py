"""Result -> GeoDataFrames -> one GeoPackage that any GIS opens (EPSG:4326)."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import geopandas
import pandas as pd
import pyogrio
import shapely

from maps.shared import named, names, own_trucks_at, period_order, yard_status
from maps.tables import collection, demand_met, paired_on, why_refused

if TYPE_CHECKING:
    from logistics.results import Result

CRS = "EPSG:4326"
FIXED_DATE = "2000-01-01T00:00:00Z"
"""Date written into the file, so that the same plan gives the same bytes."""


def _points(
    table: pd.DataFrame, columns: Mapping[str, object]
) -> geopandas.GeoDataFrame:
    """Table of points from lon and lat [degrees] with the given columns."""
    points = geopandas.points_from_xy(table["lon"], table["lat"])
    return geopandas.GeoDataFrame(pd.DataFrame(dict(columns)), geometry=points, crs=CRS)


def yards(result: Result) -> geopandas.GeoDataFrame:
    """One point a yard or candidate: status, size, own trucks, intake, why refused."""
    table = result.scenario.tables["yards"].reset_index(drop=True)
    code = table["yard"]
    taken = result.lanes[result.lanes["kind"] == "in"]
    intake = taken.groupby("destination")["tonnes"].sum()
    made = result.plan.compost.groupby("yard")["made_t"].sum()
    built = dict(zip(result.plan.yards["yard"], result.plan.yards["size"], strict=True))
    size = code.map(lambda yard: built.get(yard, ""))
    homes = own_trucks_at(result)
    columns = {
        "yard": code,
        "name": named(code, names(result, "yard")),
        "status": code.map(yard_status(result)),
        "size": size,
        "size_name": named(size, names(result, "size")),
        "area_m2": table["area_m2"],
        "own_trucks": code.map(lambda yard: homes.get(yard, "")),
        "intake_t": code.map(intake).fillna(0.0),
        "compost_t": code.map(made).fillna(0.0),
        "reasons": code.map(lambda yard: why_refused(result, yard)),
    }
    return _points(table, columns)


def sources(result: Result) -> geopandas.GeoDataFrame:
    """One point a source: source, name, material, tonnes, collected, uncollected."""
    table = result.scenario.tables["sources"].reset_index(drop=True)
    year = collection(result).groupby("source").sum(numeric_only=True)
    code = table["source"]
    columns = {
        "source": code,
        "name": named(code, names(result, "source")),
        "material": table["material"],
        "material_name": named(table["material"], names(result, "material")),
        "tonnes": code.map(year["supply"]),
        "collected": code.map(year["collected"]),
        "uncollected": code.map(year["uncollected"]),
        "disposal": table["disposal"],
    }
    return _points(table, columns)


def markets(result: Result) -> geopandas.GeoDataFrame:
    """One point a market: market, name, crop, demand and delivered [t/yr]."""
    table = result.scenario.tables["markets"].reset_index(drop=True)
    year = demand_met(result).groupby("market").sum(numeric_only=True)
    code = table["market"]
    columns = {
        "market": code,
        "name": named(code, names(result, "market")),
        "crop": table["crop"],
        "demand": code.map(year["demand"]).fillna(0.0),
        "delivered": code.map(year["tonnes"]).fillna(0.0),
    }
    return _points(table, columns)


def places(result: Result) -> pd.DataFrame:
    """Columns kind, code, lon, lat: every source, yard and market."""
    kinds = {"source": "sources", "yard": "yards", "market": "markets"}
    parts = [
        result.scenario.tables[name][[kind, "lon", "lat"]]
        .rename(columns={kind: "code"})
        .assign(kind=kind)
        for kind, name in kinds.items()
    ]
    return pd.concat(parts, ignore_index=True)


def lanes(result: Result) -> geopandas.GeoDataFrame:
    """
    One straight line a lane, material and truck, with its tonnes by period.

    Returns
    -------
    GeoDataFrame
        kind (in or out), origin, destination, material, truck, km one way [km]
        (mean over the trips of the year), trips, paired (trips of them), hours [h],
        money, total [t] and one
        column ``t_<period>`` [t] each period. The line says who supplies whom; it is
        not the road driven.
    """
    keys = ["kind", "origin", "destination", "material", "truck"]
    table = result.lanes
    driven = table.assign(
        trip_km=table["km"] * table["trips"], paired=paired_on(result)
    )
    year = driven.groupby(keys, sort=False, as_index=False).agg(
        km=("trip_km", "sum"),
        trips=("trips", "sum"),
        paired=("paired", "sum"),
        hours=("hours", "sum"),
        money=("money", "sum"),
        total=("tonnes", "sum"),
    )
    year["km"] = year["km"] / year["trips"]
    months = table.pivot_table(
        index=keys, columns="period", values="tonnes", aggfunc="sum"
    ).reindex(columns=period_order(result))
    months = months.fillna(0.0).rename(columns=lambda code: f"t_{code}")
    year = year.merge(months.reset_index(), on=keys)
    where = places(result).set_index(["kind", "code"])[["lon", "lat"]]
    inward = year["kind"] == "in"
    start = inward.map({True: "source", False: "yard"})
    end = inward.map({True: "yard", False: "market"})
    here = where.loc[list(zip(start, year["origin"], strict=True))]
    there = where.loc[list(zip(end, year["destination"], strict=True))]
    lines = [
        shapely.LineString([a, b])
        for a, b in zip(here.to_numpy(), there.to_numpy(), strict=True)
    ]
    return geopandas.GeoDataFrame(year, geometry=lines, crs=CRS)


def drawn(table: pd.DataFrame) -> geopandas.GeoDataFrame:
    """Land or roads as given, with their WKT turned into geometry."""
    shapes = geopandas.GeoSeries.from_wkt(table["wkt"].tolist(), crs=CRS)
    rest = table.drop(columns="wkt").reset_index(drop=True)
    for column in rest.columns:
        if rest[column].map(lambda cell: isinstance(cell, tuple)).any():
            rest[column] = rest[column].map(" ".join)
    return geopandas.GeoDataFrame(rest, geometry=shapes, crs=CRS)


def layers(result: Result) -> dict[str, geopandas.GeoDataFrame]:
    """Every layer of the GeoPackage; land and roads only where they are given."""
    found = {
        "yards": yards(result),
        "sources": sources(result),
        "lanes": lanes(result),
        "markets": markets(result),
    }
    for name in ("land", "roads"):
        table = result.scenario.tables[name]
        if len(table):
            found[name] = drawn(table)
    return found


def write_geopackage(result: Result, path: Path) -> None:
    """Write every layer into one GeoPackage at `path`, which must not exist."""
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": FIXED_DATE})
    try:
        for name, layer in layers(result).items():
            kind = None if len(layer) else "Point"
            layer.to_file(
                path, layer=name, driver="GPKG", engine="pyogrio", geometry_type=kind
            )
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})
