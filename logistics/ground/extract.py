"""A map brought in: land features and places of a district, thinned, with notes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from logistics.ground.around import district_area, in_degrees, plane_of
from logistics.ground.coastline import land_within
from logistics.ground.extract_files import MapFeatures, read_features
from logistics.ground.recipe import GroundRecipe
from logistics.ground.tag_kinds import DRAWN
from logistics.ground.thinning import (
    DRAWN_TIMES,
    LEAST_DRAWN_M2,
    by_square,
    clipped,
    merged_homes,
    thinned,
)
from logistics.land import RANKS
from logistics.scenario import (
    SETTINGS_NAME,
    WORLD,
    Problem,
    ScenarioError,
    district,
)

if TYPE_CHECKING:
    from logistics.land import Plane
    from logistics.scenario import Scenario

PREFIX = "map_"
"""Codes of rows from a map begin so; the next map takes their place."""
DIGITS = 6
"""Of degrees, about 0.1 m."""
ROUNDING_M = 0.12
"""How far those digits may move a point; part of the tolerance. [m]"""
SQUARE_M = 500.0
"""Side of the squares whose small groups of homes are one row. [m]"""
ASKED = {
    "place": "towns and villages",
    "dwellings": "homes",
    "school": "schools",
    "clinic": "clinics",
    "well": "wells",
    "water": "lakes and ponds",
    "river": "rivers and streams",
    "coast": "the coast",
    "flood": "flood land",
    "protected": "protected land",
    "boundary": "property lines",
    "wood": "woods",
    "built": "built-up land without homes",
    "district": "district borders",
}
"""What a map is asked for."""


@dataclass(frozen=True, eq=False)
class GroundImport:
    """
    A map brought in.

    Attributes
    ----------
    land, places
        Tables, without the rows of an earlier map.
    found
        One row a kind asked for: kind, words, read, rows (written), metres2 and metres
        of what was read in the district [m2] [m].
    left
        Tag or layer -> features of no kind of ours.
    lacking
        What the files do not hold, in words.
    outlines
        District borders as areas and their names, uncut. [degrees]
    """

    land: pd.DataFrame
    places: pd.DataFrame
    found: pd.DataFrame
    left: dict[str, int]
    lacking: tuple[str, ...]
    outlines: pd.DataFrame


def import_ground(
    scenario: Scenario, files: Iterable[Path], recipe: GroundRecipe
) -> GroundImport:
    """
    Read map files for a district, cut them to it and thin them.

    Parameters
    ----------
    scenario
        Its sites and siting rules say how far the map has to go.
    files
        Extracts and GIS files.
    recipe
        Margin, tolerance and kinds; see `GroundRecipe`.

    Raises
    ------
    ScenarioError
        If a file cannot be used, or the scenario has no sites.
    """
    east = scenario.settings.district.east
    if east > WORLD.east:
        why = "is beyond 180, and files of maps are read on one side of it only"
        remedy = "Draw its land in a GIS and put it in as the table land"
        problem = Problem(SETTINGS_NAME, None, "district.east", east, why, remedy)
        raise ScenarioError([problem])
    plane = plane_of(scenario)
    area = district_area(scenario, recipe.margin_km, plane)
    edges = tuple(map(float, shapely.bounds(in_degrees(area, plane))))
    read = [
        read_features(path, edges, recipe.tags, recipe.layers)  # type: ignore[arg-type]
        for path in files
    ]
    whole = _joined(read)
    left = Counter[str]()
    for some in read:
        left.update(some.unknown)
    laid = plane.lay(whole.shape)
    tables, found = [], []
    for kind in ASKED:
        rows = np.flatnonzero(whole.kind == kind)
        shapes = _cut(kind, laid[rows], area)
        inside = ~shapely.is_empty(shapes)
        rows, shapes = rows[inside], shapes[inside]
        made = _rows(kind, whole, rows, shapes, area, recipe.tolerance_m)
        made = _in_box(made, scenario, plane)
        tables.append(made)
        found.append(
            {
                "kind": kind,
                "words": ASKED[kind],
                "read": len(rows),
                "rows": len(made),
                "metres2": float(shapely.area(shapes).sum()),
                "metres": float(shapely.length(shapes[_flat(shapes)]).sum()),
            }
        )
    table = pd.concat(tables, ignore_index=True)
    table = table.assign(code=_codes(table["kind"], table["code"]))
    is_place = table["kind"] == "place"
    borders = np.flatnonzero(
        (whole.kind == "district") & (shapely.get_dimensions(whole.shape) == 2)
    )
    return GroundImport(
        _land(table[~is_place]),
        _places(table[is_place]),
        pd.DataFrame(found),
        dict(left),
        tuple(_lacking(found)),
        pd.DataFrame({"name": whole.name[borders], "shape": whole.shape[borders]}),
    )


def _cut(kind: str, shapes: NDArray[Any], area: Any) -> NDArray[Any]:
    """
    Cut features to the district.

    The coast is cut to a frame around it, and borders are lines before they are cut:
    else the cut would look like a shore or a border.
    """
    if kind == "coast":
        return clipped(shapes, shapely.envelope(area))
    if kind == "district":
        lines = np.where(_flat(shapes), shapes, shapely.boundary(shapes))
        return np.asarray(shapely.line_merge(clipped(lines, area)), dtype=object)
    return clipped(shapes, area)


def _joined(read: list[MapFeatures]) -> MapFeatures:
    """Put the features of all files in one, each code once."""
    kind, rank, name, code, shape = (
        np.concatenate([getattr(some, part) for some in read])
        for part in ("kind", "rank", "name", "code", "shape")
    )
    known = pd.Series(list(zip(code.tolist(), kind.tolist(), strict=True)))
    stay = ~(known.duplicated().to_numpy() & (code != ""))
    return MapFeatures(kind[stay], rank[stay], name[stay], code[stay], shape[stay], {})


def _flat(shapes: NDArray[Any]) -> NDArray[np.bool_]:
    return np.asarray(shapely.get_dimensions(shapes) == 1)


def _rows(
    kind: str,
    whole: MapFeatures,
    rows: NDArray[np.int64],
    shapes: NDArray[Any],
    area: Any,
    tolerance_m: float,
) -> pd.DataFrame:
    """Thin the features of a kind: code, name, rank, kind and shape on the plane."""
    codes, names, ranks = whole.code[rows], whole.name[rows], whole.rank[rows]
    fine = max(tolerance_m - ROUNDING_M, 0.0)
    if kind == "place":
        shapes = shapely.point_on_surface(shapes)
    elif kind == "coast":
        shapes = thinned(land_within(shapes, shapely.envelope(area)), fine)
        codes = names = ranks = np.full(len(shapes), "", dtype=object)
        kind = "land"
    elif kind == "dwellings":
        shapes, codes, names = _homes(shapes, codes, names, fine / 2)
        ranks = np.full(len(shapes), "", dtype=object)
    elif kind in DRAWN:
        large = _flat(shapes) | (shapely.area(shapes) >= LEAST_DRAWN_M2)
        codes, names, ranks = codes[large], names[large], ranks[large]
        shapes = thinned(shapes[large], DRAWN_TIMES * fine)
    else:
        shapes = thinned(shapes, fine)
    table = {"code": codes, "name": names, "rank": ranks, "kind": kind}
    return pd.DataFrame({**table, "shape": shapes})


def _homes(
    shapes: NDArray[Any], codes: Any, names: Any, tolerance_m: float
) -> tuple[NDArray[Any], Any, Any]:
    """
    Join homes to groups and thin these.

    Large groups are rows of their own, with the name and code of named land in them;
    the small ones of a square are one row, so that a table can still be read.
    """
    groups = thinned(merged_homes(shapes, tolerance_m), tolerance_m)
    small = shapely.area(groups) < LEAST_DRAWN_M2
    large, rest = groups[~small], groups[small]
    named = np.flatnonzero(names != "")
    near = np.full(len(large), -1)
    if len(large) and len(named):
        tree = shapely.STRtree(shapes[named])
        group, home = tree.query(large, predicate="intersects")
        near[group[::-1]] = named[home[::-1]]
    told = [(codes[n], names[n]) if n >= 0 else ("", "") for n in near]
    squares = [
        shapely.union_all(rest[some]) if len(some) > 1 else rest[some[0]]
        for some in by_square(rest, SQUARE_M)
    ]
    told += [("", "")] * len(squares)
    found = np.concatenate([large, np.array(squares, dtype=object)])
    code, name = (np.array([t[n] for t in told], dtype=object) for n in (0, 1))
    return found, code, name


def _in_box(table: pd.DataFrame, scenario: Scenario, plane: Plane) -> pd.DataFrame:
    """Bring shapes back to degrees; leave out what misses the district's edges."""
    shapes = shapely.transform(
        table["shape"].to_numpy(dtype=object), plane.degrees, interleaved=False
    )
    shapes = shapely.transform(shapes, lambda xy: np.round(xy, DIGITS) + 0.0)
    box = district(scenario.settings)
    frame = shapely.box(*box)
    keep = np.flatnonzero(shapely.intersects(shapes, frame))
    return table.assign(shape=shapes).iloc[keep]


def _codes(kinds: pd.Series[str], codes: pd.Series[str]) -> list[str]:
    """Codes from the ids of the map; features without one are numbered by kind."""
    number, made, seen = Counter[str](), [], Counter[str]()
    for kind, code in zip(kinds, codes, strict=True):
        number[kind] += not code
        one = PREFIX + (code or f"{kind}_{number[kind]}")
        seen[one] += 1
        made.append(one if seen[one] == 1 else f"{one}_{kind}")
    return made


def _land(table: pd.DataFrame) -> pd.DataFrame:
    wkt = shapely.to_wkt(
        table["shape"].to_numpy(dtype=object), rounding_precision=DIGITS
    )
    made = {"land": table["code"], "name": table["name"], "kind": table["kind"]}
    return pd.DataFrame({**made, "wkt": wkt}).reset_index(drop=True)


def _places(table: pd.DataFrame) -> pd.DataFrame:
    """Named places, the weightiest first."""
    points = table["shape"].to_numpy(dtype=object)
    made = pd.DataFrame(
        {
            "place": table["code"],
            "name": table["name"],
            "rank": table["rank"],
            "lon": shapely.get_x(points),
            "lat": shapely.get_y(points),
        }
    )
    order = made["rank"].map({rank: n for n, rank in enumerate(RANKS)})
    rows = np.argsort(order.to_numpy(dtype=float), kind="stable")
    return made.iloc[rows].reset_index(drop=True)


def _lacking(found: list[dict[str, Any]]) -> Iterable[str]:
    """Say what is not in the files, which proves nothing."""
    for row in found:
        if row["read"]:
            continue
        if row["kind"] == "boundary":
            yield f"{row['words']}: no open map holds them; ask the land office"
        elif row["kind"] not in DRAWN:
            yield f"{row['words']}: not in this file, which does not mean there are none; check on the ground"  # noqa: E501
