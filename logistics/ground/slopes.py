"""
Slope of candidate sites from an elevation raster.

Open elevation rasters are surface models: they tell the height of roofs and trees where
there are any, with errors of metres. What comes of it says which sites to look at, and
never replaces a survey with a level.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from logistics.ground.rasters import RasterCells, cells_within, raster_of
from logistics.land import Plane

Floats = NDArray[np.float64]

LEAST_CELLS = 6
"""With fewer cells that have a height the slope stays unknown."""
METRES_A_DEGREE = 111_000.0


def plane_slope_pct(x: Floats, y: Floats, height: Floats) -> float:
    """
    Slope of the plane that fits some heights best (least squares). [%]

    Parameters
    ----------
    x, y
        Places, shape (n,). [m]
    height
        Heights, shape (n,); those that are NaN are left out. [m]

    Returns
    -------
    float
        NaN if fewer than six heights are known, or all lie on one line. [%]

    Examples
    --------
    >>> x, y = np.meshgrid(np.arange(3) * 30.0, np.arange(3) * 30.0)
    >>> round(plane_slope_pct(x.ravel(), y.ravel(), 7 + 0.03 * x.ravel()), 6)
    3.0
    """
    known = np.isfinite(height)
    if known.sum() < LEAST_CELLS:
        return math.nan
    x, y, height = x[known], y[known], height[known]
    sides = np.column_stack([x - x.mean(), y - y.mean(), np.ones(len(x))])
    fit, _, rank, _ = np.linalg.lstsq(sides, height - height.mean(), rcond=None)
    return 100 * float(np.hypot(fit[0], fit[1])) if rank == 3 else math.nan


def site_slopes_pct(path: Path, lon: Floats, lat: Floats, area_m2: Floats) -> Floats:
    """
    Slope of sites from an elevation raster (GeoTIFF, heights in metres). [%]

    A site is taken as a disc of its area; its cells are those whose middle lies in the
    disc, and at least the nine nearest to its middle, so a small site on a coarse
    raster gets the slope of the land around it.

    Parameters
    ----------
    path
        The raster.
    lon, lat
        Middles of the sites, shape (n,). [degrees]
    area_m2
        Areas, shape (n,). [m2]

    Returns
    -------
    ndarray
        NaN where the raster has no height, shape (n,). [%]

    Raises
    ------
    ScenarioError
        See `raster_of`.
    """
    found = np.full(len(lon), np.nan)
    with raster_of(path) as raster:
        for n, (x, y, area) in enumerate(zip(lon, lat, area_m2, strict=True)):
            radius = math.sqrt(area / math.pi)
            high = radius / METRES_A_DEGREE
            wide = high / max(math.cos(math.radians(y)), 0.01)
            edges = (x - wide, y - high, x + wide, y + high)
            found[n] = _slope(cells_within(raster, edges, 2), x, y, radius)
    return found


def _slope(cells: RasterCells, lon: float, lat: float, radius_m: float) -> float:
    plane = Plane(np.array([lon]), np.array([lat]))
    x, y = plane.xy(cells.lon, cells.lat)
    away = np.hypot(x, y)
    if not len(away):
        return math.nan
    inside = away <= max(radius_m, float(np.sort(away)[min(8, len(away) - 1)]))
    return plane_slope_pct(x[inside], y[inside], cells.value[inside])
