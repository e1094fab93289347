"""Who lives and learns near a yard: homes, schools and clinics within a distance."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

import numpy as np
import shapely

from logistics.land.setbacks import Plane, features_of
from logistics.land.settlements import with_places

if TYPE_CHECKING:
    from logistics.scenario import Scenario

HOMES = ("village", "dwellings", "school", "clinic")
"""Kinds of land features where people are."""


def homes_near(
    scenario: Scenario, yards: Collection[str], metres: float
) -> dict[str, int]:
    """
    Count the land features with people within a distance of any of some yards.

    Parameters
    ----------
    scenario
        Its land table says where villages, dwellings, schools and clinics are.
    yards
        Codes of yards.
    metres
        From the edge of a yard, taken as a disc of its area. [m]

    Returns
    -------
    dict
        Kind -> number of features near; kinds that are not drawn have no entry.
    """
    table = scenario.yards
    lon, lat, area = (table[c].to_numpy(dtype=float) for c in ("lon", "lat", "area_m2"))
    plane = Plane(lon, lat)
    chosen = table["yard"].isin(list(yards)).to_numpy()
    sites = plane.discs(lon[chosen], lat[chosen], area[chosen])
    found, land = {}, with_places(scenario)
    for kind in HOMES:
        rows = land[land["kind"] == kind]
        if not len(rows):
            continue
        shapes = features_of(rows, plane).shapes
        near = np.zeros(len(rows), dtype=bool)
        for point, radius in zip(sites.points, sites.radius, strict=True):
            near |= shapely.distance(shapes, point) <= radius + metres
        found[kind] = int(near.sum())
    return found
