"""Parts of the road network that do not hang together, and whom they cut off."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from logistics.roads.geometry import nearest_road, segments
from logistics.roads.importing.gaps import find_gaps
from logistics.roads.importing.repair import (
    Note,
    called,
    geodesic_length_km,
    join_crossings,
    parts_of,
)
from logistics.scenario import Problem, in_list

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

NEAR_MISS_M = 10.0
"""Ends that stop this short of another road are reported. [m]"""

MOST_NAMED = 5
"""Sites or roads named in one sentence."""

MOST_WARNED = 20
"""Warnings of one kind; the rest are counted."""

MENDS = "loamhaul roads DIR/roads.csv DIR --replace"


def islands(roads: pd.DataFrame, lon: Floats, lat: Floats) -> pd.DataFrame:
    """
    List the connected parts of the network, the main one first.

    Parameters
    ----------
    roads
        Columns class, line.
    lon, lat
        Sites; each belongs to the part of its nearest road, ferries left out.

    Returns
    -------
    DataFrame
        One row a part: rows (of roads), sites (positions), km. The main part is the one
        with most sites; the longest of several.
    """
    lines = roads["line"].to_numpy(dtype=object)
    part = parts_of(lines)
    pieces = segments(roads.assign(wkt=shapely.to_wkt(lines, rounding_precision=-1)))
    on_land = (roads["class"] != "ferry").to_numpy()[pieces.road]
    home = np.empty(0, dtype=np.int64)
    if on_land.any() and len(lon):
        home = part[pieces.road[nearest_road(pieces, on_land, lon, lat).segment]]
    km = np.bincount(part[pieces.road], pieces.km, minlength=part.max(initial=-1) + 1)
    found = pd.DataFrame(
        {
            "rows": [np.flatnonzero(part == p) for p in range(len(km))],
            "sites": [np.flatnonzero(home == p) for p in range(len(km))],
            "km": km,
        }
    )
    order = np.lexsort((-found["km"], -found["sites"].map(len)))
    return found.iloc[order].reset_index(drop=True)


def drop_islands(
    roads: pd.DataFrame, sites: Sequence[str], lon: Floats, lat: Floats
) -> tuple[pd.DataFrame, list[Note]]:
    """
    Drop the parts of the network that serve nobody; name the sites the others cut off.

    Parameters
    ----------
    roads
        Columns road, name, class, line.
    sites
        Names of the sites.
    lon, lat
        The sites.
    """
    notes, gone = [], [np.empty(0, dtype=np.int64)]
    for rows, served, km in _others(roads, lon, lat):
        first = int(rows[0])
        at = shapely.get_coordinates(roads["line"].iloc[first])[0]
        what, words = "island", f"part of {len(rows)} roads serves no site; dropped"
        if len(served):
            names = _some([sites[s] for s in served])
            what, words = "cut off", f"no road leads from here to the others: {names}"
        else:
            gone.append(rows)
        code, name = roads["road"].iloc[first], roads["name"].iloc[first]
        place = float(at[0]), float(at[1])
        notes.append(Note(what, str(code), str(name), 1000 * km, *place, words))
    stay = np.setdiff1d(np.arange(len(roads)), np.concatenate(gone))
    return roads.iloc[stay].reset_index(drop=True), notes


def _others(
    roads: pd.DataFrame, lon: Floats, lat: Floats
) -> list[tuple[Integers, Integers, float]]:
    """Parts of the network but the main one: roads, sites, km."""
    found = islands(roads, lon, lat).iloc[1:]
    return list(found.itertuples(index=False, name=None))


def _some(names: Sequence[str]) -> str:
    """Name a few, count the rest."""
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return in_list(names[:MOST_NAMED]) + more


def road_warnings(
    roads: pd.DataFrame, sites: Sequence[str], lon: Floats, lat: Floats
) -> list[Problem]:
    """
    Find parts of given roads that hang loose, ends just short, and loose crossings.

    Parameters
    ----------
    roads
        Table roads.
    sites
        Names of the sites.
    lon, lat
        The sites.

    Returns
    -------
    list of Problem
        Warnings: islands, ends that stop just short of another road, and crossings on
        one level without a vertex in common; 20 of a kind at most.
    """
    if roads.empty:
        return []
    drawn = roads.assign(line=shapely.from_wkt(roads["wkt"].to_numpy(dtype=object)))
    problems = []
    for rows, served, km in _others(drawn, lon, lat):
        row = int(rows[0])
        whom = "no site is near it" if not len(served) else "it serves"
        names = _some([sites[s] for s in served])
        problems.append(
            _warning(
                drawn,
                row,
                f"belongs to a part of {len(rows)} roads, {km:.1f} km, that is not "
                f"joined to the rest; "
                f"{whom} {names}".rstrip(),
                "Draw the road that joins it to the others, or delete it",
            )
        )
    simple = drawn[shapely.get_type_id(drawn["line"].to_numpy()) == 1]
    simple = simple.reset_index(names="given")
    loose, told = [], set()
    for row, _, other, lon_, lat_, metres in find_gaps(simple, NEAR_MISS_M).itertuples(
        index=False, name=None
    ):
        why = (
            f"stops {metres:.1f} m short of {called(simple, other)} at "
            f"lon {lon_:.5f}, lat {lat_:.5f} and does not join it"
        )
        remedy = f"Draw both through the same point, or let Loamhaul mend it: {MENDS}"
        told.add((round(lon_, 5), round(lat_, 5)))
        loose.append(_warning(drawn, int(simple["given"].iloc[row]), why, remedy))
    place = dict(zip(drawn["road"], range(len(drawn)), strict=True))
    across = []
    for note in join_crossings(simple)[1]:
        if (round(note.lon, 5), round(note.lat, 5)) in told:
            continue
        why = (
            f"{note.words.partition(';')[0]} at lon {note.lon:.5f}, lat {note.lat:.5f}"
        )
        why += " and does not join it"
        remedy = (
            f"If they meet: {MENDS}; if one is a bridge, say so in the column bridge"
        )
        across.append(_warning(drawn, place[note.road], why, remedy))
    kinds = {"islands": problems, "ends": loose, "crossings": across}
    return [p for what, found in kinds.items() for p in _first(found, what)]


def _first(problems: list[Problem], what: str) -> list[Problem]:
    """Return the first warnings in the order of the table, and a count of the rest."""
    ordered = sorted(problems, key=lambda p: p.row or 0)
    more = len(ordered) - MOST_WARNED
    if more <= 0:
        return ordered
    why, remedy = f"has {more} more such {what}", f"List and mend them all: {MENDS}"
    return [*ordered[:MOST_WARNED], Problem("roads.csv", None, "", None, why, remedy)]


def _warning(roads: pd.DataFrame, row: int, why: str, remedy: str) -> Problem:
    code = str(roads["road"].iloc[row])
    return Problem("roads.csv", row + 2, "wkt", code, why, remedy)


def length_km(roads: pd.DataFrame) -> float:
    """Length of all roads over the ground [km]."""
    return sum(map(geodesic_length_km, roads["line"]))
