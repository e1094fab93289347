"""One place at a time, as it is looked for: its rules, neighbours, no-go land."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely

from logistics.land.screening import WORDS, no_screening, screen_on
from logistics.land.setbacks import Features, Plane, distance_m, ground
from logistics.scenario import Row, records, with_table

if TYPE_CHECKING:
    from logistics.scenario import Scenario

NEIGHBOURS = ("dwellings", "village", "school", "clinic", "well", "water", "river")
DETAIL_M = 8.0
"""Detail kept in what is only drawn. [m]"""


@dataclass(frozen=True, eq=False)
class Laid:
    """
    A district's land laid on a plane once, to be asked for many places.

    Attributes
    ----------
    plane
        About the middle of the yards.
    features
        See `ground`.
    """

    plane: Plane
    features: dict[str, Features]


@dataclass(frozen=True, slots=True)
class Near:
    """
    The nearest neighbour of one kind.

    Attributes
    ----------
    kind, name
        Kind of land feature; its name, maybe empty.
    words
        What the kind is called.
    metres
        From the edge of the site, taken as a disc; 0 where they overlap. [m]
    lon, lat
        Its nearest point. [degrees]
    """

    kind: str
    name: str
    words: str
    metres: float
    lon: float
    lat: float


def lay(scenario: Scenario) -> Laid:
    """Lay the land of a district on a plane about the middle of its yards."""
    yards = scenario.yards
    plane = Plane(
        yards["lon"].to_numpy(dtype=float), yards["lat"].to_numpy(dtype=float)
    )
    return Laid(plane, ground(scenario, plane))


def screen_spot(
    scenario: Scenario, laid: Laid, yard: Mapping[str, Any]
) -> pd.DataFrame:
    """
    Hold one place against every siting rule.

    Parameters
    ----------
    scenario
        District.
    laid
        Its land, see `lay`.
    yard
        Cells of the place, as the typed table yards names them; what is left out
        stands as in a candidate of which nothing more is known.

    Returns
    -------
    DataFrame
        As `screen` gives it.
    """
    if scenario.settings.siting.screen == "off" or scenario.yards.empty:
        return no_screening()
    blank: dict[str, Any] = {"existing_size": "", "decision": "free"}
    blank |= {"slope": math.nan, "water_table_m": math.nan}
    row = scenario.yards.iloc[[0]].assign(**{**blank, **yard})
    one = with_table(scenario, "yards", row)
    lon, lat, area = (row[c].to_numpy(dtype=float) for c in ("lon", "lat", "area_m2"))
    return screen_on(one, laid.plane.discs(lon, lat, area), laid.features)


def nearest(laid: Laid, lon: float, lat: float, area_m2: float) -> list[Near]:
    """Nearest homes, wells and waters of a place, the nearest first. [degrees, m2]"""
    sites = laid.plane.discs(*(np.array([v], dtype=float) for v in (lon, lat, area_m2)))
    point, found = sites.points[0], []
    for kind in NEIGHBOURS:
        features = laid.features.get(kind)
        if features is None or not len(features):
            continue
        metres, names = distance_m(kind, features, sites)
        at = int(shapely.STRtree(features.shapes).nearest(point))
        ends = shapely.get_coordinates(
            shapely.shortest_line(features.shapes[at], point)
        )
        x, y = laid.plane.degrees(ends[:1, 0], ends[:1, 1])
        words = WORDS.get(kind, kind)
        found.append(
            Near(kind, str(names[0]), words, float(metres[0]), float(x[0]), float(y[0]))
        )
    return sorted(found, key=lambda near: near.metres)


def no_go(scenario: Scenario, laid: Laid, area_m2: float) -> dict[str, Any]:
    """
    Draw where a yard of an area would be refused, for the eye: the rules decide.

    Parameters
    ----------
    scenario
        District.
    laid
        Its land.
    area_m2
        Area of the yard, taken as a disc. [m2]

    Returns
    -------
    dict
        `refused` (all feedstock) and `partly` (some of it) -> shape in degrees.
        Rules that ask for a road near by and rules on slope are not drawn.
    """
    radius = math.sqrt(max(area_m2, 0.0) / math.pi)
    shapes: dict[str, list[Any]] = {"refused": [], "partly": []}
    if scenario.settings.siting.screen == "refuse":
        for rule in records(scenario.siting_rules):
            if rule["action"] == "refuse":
                kept = shapes["partly" if rule["feedstock"] else "refused"]
                kept += _about(rule, laid.features, radius)
    return {name: _degrees(laid.plane, parts) for name, parts in shapes.items()}


def _about(rule: Row, features: Mapping[str, Features], radius: float) -> Iterator[Any]:
    """Land that a rule keeps the middle of a yard off. [m]"""
    subject, near = rule["subject"], features.get(rule["subject"])
    value = 0.0 if math.isnan(rule["value"]) else float(rule["value"])
    if near is None:
        return
    if rule["comparison"] == "outside":
        yield from shapely.buffer(near.shapes, 0.0 if value else radius)
    elif rule["comparison"] == "at_least":
        edge = shapely.boundary(near.shapes) if subject == "coast" else near.shapes
        yield from shapely.buffer(edge, value + radius)


def _degrees(plane: Plane, parts: list[Any]) -> Any:
    """Join shapes on the plane and lay them back. [degrees]"""
    whole = shapely.simplify(shapely.union_all(parts), DETAIL_M)
    return shapely.transform(whole, plane.degrees, interleaved=False)
