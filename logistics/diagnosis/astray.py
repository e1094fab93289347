"""Points far from all others, swapped or at 0, 0, also where no outline is given."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from logistics.diagnosis.finding import Finding, finding, of_row
from logistics.scenario import Problem, plain_number

if TYPE_CHECKING:
    from logistics.scenario import Scenario

Floats = NDArray[np.float64]

CHECK = "point_astray"
TABLES = ("sources", "yards", "markets", "people")
EARTH_KM = 6371.0
NO_FIX = 0.001
"""How near 0, 0 a point must be to be that of a phone without a fix. [degrees]"""
LEAST_KM, SPREADS = 100.0, 8.0
"""
How far from the middle a point may always lie, and how many spreads of the others.

Judgement: trucks of a district drive no farther; the spread is the distance from the
middle within which three quarters of the points lie.
"""
FEWEST = 4
"""Points of a district: with fewer there is no bulk."""
ONE_BY_ONE = 3
"""Points of one table that are named one by one; more are one finding."""


def points_astray(scenario: Scenario) -> list[Finding]:
    """
    Doubt points at 0, 0 and those outside the bulk of the others.

    Returns
    -------
    list of Finding
        One a point; one a table where more than three are astray.
    """
    lon, lat, of, at = _points(scenario)
    if len(lon) < FEWEST:
        return []
    xyz = _on_sphere(lon, lat)
    middle = np.median(xyz, axis=0)
    if not np.linalg.norm(middle) > 0:
        return []
    middle /= np.linalg.norm(middle)
    far = _km(xyz, middle)
    limit = max(LEAST_KM, SPREADS * float(np.percentile(far, 75)))
    unset = (np.abs(lon) < NO_FIX) & (np.abs(lat) < NO_FIX)
    doubted = unset | (far > limit)
    found: list[Finding] = []
    for number, table in enumerate(TABLES):
        mine = np.flatnonzero(doubted & (of == number))
        said = [
            (int(at[n]), *_words(float(lon[n]), float(lat[n]), float(far[n]),
                                 bool(unset[n]), middle, limit))
            for n in mine
        ]  # fmt: skip
        if len(said) > ONE_BY_ONE:
            found.append(_together(scenario, table, said))
            continue
        found += [
            of_row(CHECK, scenario, table, place, "lon", (value, why, remedy))
            for place, value, why, remedy in said
        ]
    return found


def _points(scenario: Scenario) -> tuple[Floats, Floats, NDArray[np.int64], Floats]:
    """All points: lon and lat [degrees], number of the table, position in it."""
    frames = [scenario.tables[table] for table in TABLES]
    lon, lat = (
        np.concatenate([frame[x].to_numpy(dtype=float) for frame in frames])
        for x in ("lon", "lat")
    )
    of = np.repeat(np.arange(len(frames)), [len(frame) for frame in frames])
    at = np.concatenate([np.arange(len(frame)) for frame in frames])
    return lon, lat, of, at


def _on_sphere(lon: Floats, lat: Floats) -> Floats:
    """Return unit vectors of points, shape (n, 3): 180 degrees is no edge."""
    x, y = np.radians(lon), np.radians(lat)
    return np.column_stack([np.cos(y) * np.cos(x), np.cos(y) * np.sin(x), np.sin(y)])


def _km(xyz: Floats, middle: Floats) -> Floats:
    """Distance of points from the middle on a sphere. [km]"""
    chord = np.linalg.norm(xyz - middle, axis=1)
    return np.asarray(2 * EARTH_KM * np.arcsin(np.minimum(chord / 2, 1.0)))


def _words(
    lon: float, lat: float, far: float, unset: bool, middle: Floats, limit: float
) -> tuple[float, str, str]:
    """Return the longitude, what is odd about the point, and the remedy."""
    b = plain_number(lat)
    if unset:
        why = f"and lat {b} are where phones without a fix put a point"
        return lon, why, "Write the coordinates of the place"
    why = f"with lat {b} lies {far:,.0f} km from the middle of the others"
    tries = [(lat, lon), (-lon, lat), (lon, -lat), (-lon, -lat), (-lat, -lon)]
    tries += [(lon * 10, lat), (lon, lat * 10), (lon / 10, lat), (lon, lat / 10)]
    for x, y in tries:
        if abs(x) > 180 or abs(y) > 90:
            continue
        near = _km(_on_sphere(np.array([x]), np.array([y])), middle)[0] <= limit
        if near:
            meant = f"lon {x:.9g} and lat {y:.9g}"
            return lon, why, f"Write {meant}, which lie among them, if that is meant"
    return lon, why, "Correct the point"


def _together(
    scenario: Scenario, table: str, said: list[tuple[int, float, str, str]]
) -> Finding:
    """Make one finding of many points of a table."""
    place, value, why, remedy = said[0]
    count = (
        f"{len(said)} of {len(scenario.tables[table])} points are astray; the first "
    )
    problem = Problem(f"{table}.csv", place + 2, "lon", value, why, remedy)
    problem = Problem(
        problem.file, problem.row, "lon", value, f"{why} ({count}is this one)", remedy
    )
    return finding(CHECK, (table,), problem)
