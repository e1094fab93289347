"""Where people live, and how far from yards and roads."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from logistics.land.setbacks import Floats, Plane, Shapes, features_of

if TYPE_CHECKING:
    from logistics.scenario import Scenario

LIVED_IN = ("village", "dwellings")
"""Kinds of land features that may say how many people live there."""


@dataclass(frozen=True, eq=False)
class PeopledPlaces:
    """
    Places with people, on a plane laid on the yards.

    Attributes
    ----------
    table
        place, name, lon, lat [degrees], heads; one row a place.
    metres
        From the edge of every yard (a disc of its area), shape (p, j). [m]
    """

    table: pd.DataFrame
    metres: Floats

    def __len__(self) -> int:
        """Count the places."""
        return len(self.table)


def peopled_places(scenario: Scenario) -> PeopledPlaces:
    """
    Find where people live, and measure to every yard.

    Parameters
    ----------
    scenario
        Its table people; where that has no rows, villages and dwellings of the table
        land that give heads. Of a shape its nearest point counts.

    Returns
    -------
    PeopledPlaces
        Places with at least one head, in the order of their table.
    """
    yards = scenario.yards
    lon, lat, area = (yards[c].to_numpy(dtype=float) for c in ("lon", "lat", "area_m2"))
    plane = Plane(lon, lat)
    table, shapes = _places(scenario, plane)
    sites = plane.discs(lon, lat, area)
    metres = np.zeros((len(table), len(yards)))
    for j, (point, radius) in enumerate(zip(sites.points, sites.radius, strict=True)):
        metres[:, j] = np.maximum(shapely.distance(shapes, point) - radius, 0.0)
    return PeopledPlaces(table, metres)


def near_roads(
    scenario: Scenario, found: PeopledPlaces, codes: Collection[str], metres: float
) -> dict[str, list[int]]:
    """
    Find the places within a distance of roads.

    Parameters
    ----------
    scenario, found
        Its roads; the places of `peopled_places`.
    codes
        Of the roads that matter.
    metres
        Distance. [m]

    Returns
    -------
    dict
        Road -> rows of `found.table`; roads with nobody near have no entry.
    """
    table = scenario.roads
    rows = table[table["road"].isin(list(codes))]
    if rows.empty or not len(found):
        return {}
    yards = scenario.yards
    plane = Plane(*(yards[c].to_numpy(dtype=float) for c in ("lon", "lat")))
    _, shapes = _places(scenario, plane)
    lines = features_of(rows, plane).shapes
    tree = shapely.STRtree(shapes)
    line, place = tree.query(lines, predicate="dwithin", distance=metres)
    near: dict[str, list[int]] = {}
    for n, p in zip(line.tolist(), place.tolist(), strict=True):
        near.setdefault(str(rows["road"].iloc[n]), []).append(int(p))
    return {road: sorted(some) for road, some in near.items()}


def _places(scenario: Scenario, plane: Plane) -> tuple[pd.DataFrame, Shapes]:
    """Places with people, and their shapes on the plane. [m]"""
    columns = ["place", "name", "lon", "lat", "heads"]
    people = scenario.people
    if len(people):
        table = people[people["heads"] > 0][columns].reset_index(drop=True)
        xy = plane.xy(*(table[c].to_numpy(dtype=float) for c in ("lon", "lat")))
        return table, np.asarray(shapely.points(*xy), dtype=object)
    land = scenario.land
    if "heads" in land:
        land = land[land["kind"].isin(LIVED_IN) & (land["heads"] > 0)]
    if "heads" not in land or land.empty:
        return pd.DataFrame(columns=columns), np.zeros(0, dtype=object)
    shapes = shapely.from_wkt(land["wkt"].to_numpy(dtype=object))
    middle = shapely.point_on_surface(shapes)
    table = pd.DataFrame(
        {
            "place": land["land"].to_numpy(),
            "name": land["name"].to_numpy(),
            "lon": shapely.get_x(middle),
            "lat": shapely.get_y(middle),
            "heads": land["heads"].to_numpy(dtype=float),
        }
    )
    return table, features_of(land, plane).shapes
