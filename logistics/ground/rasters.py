"""Read cells of a raster (GeoTIFF) about sites and districts; needs rasterio."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from logistics.bringing import unread
from logistics.scenario import DEGREES, quiet

Floats = NDArray[np.float64]

ENDINGS = {".tif", ".tiff"}
BEGINS = (b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+")
"""How a TIFF file begins, and a large one."""
MOST_CELLS = 50_000_000
"""Cells that are read at once."""
HOW_TO = "Install the part for rasters: pip install 'loamhaul[terrain]'"


@dataclass(frozen=True, eq=False)
class RasterCells:
    """
    Cells of a raster.

    Attributes
    ----------
    lon, lat
        Middles. [degrees]
    value
        As the raster has it; NaN where it has none.
    """

    lon: Floats
    lat: Floats
    value: Floats


@contextmanager
def raster_of(path: Path) -> Iterator[Any]:
    """
    Open a GeoTIFF, with no other driver and no file beside it.

    Raises
    ------
    ScenarioError
        If rasterio is not installed, or the file is no GeoTIFF with a place on earth.
    """
    if path.suffix.lower() not in ENDINGS:
        raise unread(path.name, "is no raster that is read", "Give a GeoTIFF (.tif)")
    with path.open("rb") as file:
        if not file.read(4).startswith(BEGINS):
            raise unread(path.name, "is not a TIFF file", "Give a GeoTIFF (.tif)")
    try:
        import rasterio
    except ImportError:
        why = "needs rasterio, which is not installed"
        raise unread(path.name, why, HOW_TO) from None
    with quiet(), rasterio.Env(GDAL_DISABLE_READDIR_ON_OPEN="EMPTY_DIR"):
        try:
            opened = rasterio.open(path.resolve(), driver="GTiff")
        except rasterio.errors.RasterioIOError:
            remedy = "Export it again from the program that made it"
            raise unread(path.name, "cannot be read as GeoTIFF", remedy) from None
        with opened:
            if opened.crs is None or opened.transform.is_identity:
                remedy = "Set its coordinate system in the GIS and export it again"
                raise unread(path.name, "does not say where on earth it lies", remedy)
            yield opened


def cells_within(
    raster: Any, edges: tuple[float, float, float, float], beyond: int = 0
) -> RasterCells:
    """
    Read the cells of the first band whose middle may lie in a box.

    Parameters
    ----------
    raster
        See `raster_of`.
    edges
        West, south, east, north. [degrees]
    beyond
        Cells read around the box as well.

    Raises
    ------
    ScenarioError
        If the box holds more cells than are read at once.
    """
    from pyproj import Transformer
    from rasterio.windows import Window

    name = Path(raster.name).name
    turn = Transformer.from_crs(DEGREES, raster.crs.to_wkt(), always_xy=True)
    west, south, east, north = turn.transform_bounds(*edges)
    xs, ys = [west, east, west, east], [south, south, north, north]
    columns, rows = _pixel(raster, xs, ys)
    left, right = _span(columns, raster.width, beyond)
    top, bottom = _span(rows, raster.height, beyond)
    if (right - left) * (bottom - top) > MOST_CELLS:
        remedy = "Give a coarser raster, or bring a smaller district"
        raise unread(name, f"has more than {MOST_CELLS:,} cells here", remedy)
    if right <= left or bottom <= top:
        none = np.zeros(0)
        return RasterCells(none, none, none)
    window = Window(left, top, right - left, bottom - top)
    band = raster.read(1, window=window, masked=True).astype(float)
    value = np.ma.filled(band, np.nan)
    column, row = np.meshgrid(np.arange(left, right), np.arange(top, bottom))
    x, y = _place(raster, column + 0.5, row + 0.5)
    lon, lat = turn.transform(x.ravel(), y.ravel(), direction="INVERSE")
    return RasterCells(np.asarray(lon), np.asarray(lat), value.ravel())


def _place(raster: Any, column: Any, row: Any) -> tuple[Floats, Floats]:
    """Coordinates of positions counted in cells, in the raster's own system."""
    a, b, c, d, e, f = tuple(raster.transform)[:6]
    return a * column + b * row + c, d * column + e * row + f


def _pixel(raster: Any, xs: list[float], ys: list[float]) -> tuple[Floats, Floats]:
    """Positions counted in cells of coordinates in the raster's own system."""
    a, b, c, d, e, f = tuple(~raster.transform)[:6]
    x, y = np.array(xs), np.array(ys)
    return a * x + b * y + c, d * x + e * y + f


def _span(at: Floats, most: int, beyond: int) -> tuple[int, int]:
    """First and last but one of the cells that a range meets."""
    low, high = math.floor(float(at.min())), math.ceil(float(at.max()))
    return max(low - beyond, 0), min(high + beyond, most)
