"""
Where people live, from an open population raster, as rows of the table people.

Such rasters spread a census over cells by what satellites see. They are estimates: fair
for thousands of people, poor for a single hamlet.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import shapely

from logistics.bringing import unread
from logistics.ground.rasters import cells_within, raster_of
from logistics.land import Plane

BLOCK_M = 500.0
"""Side of the squares in which heads are added up. [m]"""
MOST_HEADS = 1_000_000.0
"""In one cell; more is a sign that the raster counts something else."""


def heads_within(
    path: Path, area: Any, plane: Plane, block_m: float = BLOCK_M
) -> pd.DataFrame:
    """
    Add up the heads of a raster in squares.

    Parameters
    ----------
    path
        Population raster (GeoTIFF), heads in each cell, not heads in a km2.
    area
        Cells count whose middle lies in it, on the plane. [m]
    plane
        On which the squares lie.
    block_m
        Side of a square; a row's place is the middle of its heads, so nobody is moved
        further than its diagonal. [m]

    Returns
    -------
    DataFrame
        One row a square with heads: place (code), lon, lat [degrees], heads.

    Raises
    ------
    ScenarioError
        See `raster_of`; also if a cell holds more than a million, or less than none.
    """
    west, south, east, north = shapely.bounds(area)
    xs, ys = np.array([west, west, east, east]), np.array([south, north, south, north])
    lon, lat = plane.degrees(xs, ys)
    edges = (float(lon.min()), float(lat.min()), float(lon.max()), float(lat.max()))
    with raster_of(path) as raster:
        cells = cells_within(raster, edges, 1)
    x, y = plane.xy(cells.lon, cells.lat)
    shapely.prepare(area)
    inside = shapely.contains_xy(area, x, y) & (cells.value != 0)
    inside &= np.isfinite(cells.value)
    heads = cells.value[inside]
    if len(heads) and (heads.min() < 0 or heads.max() > MOST_HEADS):
        why = f"has cells of {heads.min():g} to {heads.max():g} heads"
        remedy = "Give a raster that counts heads in each cell"
        raise unread(path.name, why, remedy)
    table = pd.DataFrame(
        {
            "column": np.floor(x[inside] / block_m).astype(int),
            "row": np.floor(y[inside] / block_m).astype(int),
            "x": x[inside] * heads,
            "y": y[inside] * heads,
            "heads": heads,
        }
    )
    sums = table.groupby(["row", "column"], as_index=False).sum()
    lon, lat = plane.degrees(
        (sums["x"] / sums["heads"]).to_numpy(), (sums["y"] / sums["heads"]).to_numpy()
    )
    codes = [f"heads_{n}" for n in range(1, len(sums) + 1)]
    return pd.DataFrame(
        {"place": codes, "lon": lon, "lat": lat, "heads": sums["heads"]}
    )
