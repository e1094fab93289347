"""The part of a map that a district needs: the hull of its sites and a margin."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from logistics.land import Plane
from logistics.scenario import WORLD, Problem, ScenarioError, district, records

if TYPE_CHECKING:
    from logistics.scenario import Scenario

MARGIN_KM = 5.0
"""Around the hull of sources, candidates and markets, unless a recipe says else."""
WIDER = 4.0
"""Edges of the settings count as the district's up to so many times the hull's box."""
SITES = ("sources", "yards", "markets")


def longest_setback_m(scenario: Scenario) -> float:
    """
    Return the longest distance that a siting rule of the scenario asks for. [m]

    Rules about the site itself (slope, water table, area) ask for none.
    """
    asked = [
        float(rule["value"])
        for rule in records(scenario.siting_rules)
        if rule["comparison"] == "at_least"
        and rule["subject"] not in {"slope", "water_table", "area"}
        and not math.isnan(rule["value"])
    ]
    return max(asked, default=0.0)


def plane_of(scenario: Scenario) -> Plane:
    """
    Lay a plane about the middle of sources, candidates and markets.

    Raises
    ------
    ScenarioError
        If there are none.
    """
    return Plane(*_lon_lat(scenario).T)


def district_area(scenario: Scenario, margin_km: float, plane: Plane) -> Any:
    """
    Return the area for which a map is needed, on the plane. [m]

    Parameters
    ----------
    scenario
        Tables sources, yards, markets; siting_rules; land, whose areas of the kind
        `district` belong to it if a site lies in them. The edges of the settings belong
        to it too, unless they are those of a far larger country.
    margin_km
        Around the hull; raised to the longest distance of a siting rule. [km]
    plane
        See `plane_of`.
    """
    x, y = plane.xy(*_lon_lat(scenario).T)
    points = shapely.points(x, y)
    wide = max(1000 * margin_km, longest_setback_m(scenario) + 100.0)
    hull = shapely.buffer(shapely.convex_hull(shapely.multipoints(points)), wide)
    rows = scenario.land[scenario.land["kind"] == "district"]
    outlines = plane.lay(shapely.from_wkt(rows["wkt"].to_numpy(dtype=object)))
    areas = outlines[shapely.get_dimensions(outlines) == 2]
    own = [area for area in areas if shapely.intersects(area, points).any()]
    edges = district(scenario.settings)
    if edges != WORLD:
        frame = plane.lay(np.array([shapely.box(*edges)], dtype=object))[0]
        if shapely.area(frame) <= WIDER * shapely.area(shapely.envelope(hull)):
            own.append(frame)
    return shapely.union_all([hull, *own])


def in_degrees(area: Any, plane: Plane) -> Any:
    """Return an area of the plane [m] in degrees."""
    return shapely.transform(
        shapely.segmentize(area, 5000.0), plane.degrees, interleaved=False
    )


def _lon_lat(scenario: Scenario) -> Any:
    """Longitude and latitude of all sites, shape (n, 2). [degrees]"""
    found = np.concatenate(
        [scenario.tables[t][["lon", "lat"]].to_numpy(dtype=float) for t in SITES]
    )
    if not len(found):
        why = "has no sources, candidates or markets, so a map has no place to be"
        remedy = "Bring these in first"
        raise ScenarioError([Problem("sources.csv", None, "", None, why, remedy)])
    return found
