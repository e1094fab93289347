"""
Propose places for yards: scan the district, drop what the rules drop, keep the best.

A proposal is a place on the map from which much feedstock is near and against which no
siting rule speaks as far as land is drawn. Nobody has seen it: owner, ground, water
and way in are for a visit to find out.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from logistics.composting import yearly_supply
from logistics.land.screening import barred, refused, screen
from logistics.land.setbacks import Plane, ground
from logistics.roads import access_problems, geodesic_km, travel
from logistics.scenario import (
    WORLD,
    Box,
    cell_text,
    change_setting,
    columns_of,
    district,
    replace_file,
)

if TYPE_CHECKING:
    from pathlib import Path

    from logistics.scenario import Scenario

Floats = NDArray[np.float64]

FILE = "proposed_yards.csv"
REACH_KM = 20.0
"""Feedstock further away than this counts for nothing (judgement). [km]"""

MOST_POINTS = 40_000
SHORTLIST = 150
"""Places, best by straight line, whose ways are worked out by road."""


class GridError(ValueError):
    """The grid would have too many points; says which mesh will do."""


def propose(
    scenario: Scenario, count: int = 6, spacing_km: float = 1.0
) -> pd.DataFrame:
    """
    Propose candidates where feedstock is near and no rule refuses a yard.

    Parameters
    ----------
    scenario
        Tables sources, yards, yard_sizes, land, roads, siting_rules.
    count
        Most proposals.
    spacing_km
        Mesh of the grid; no proposal stands nearer than this to a yard or candidate
        that may be used. [km]

    Returns
    -------
    DataFrame
        One row a proposal, best first: yard, name, lon, lat, district, area_m2,
        within_reach_t (by way not longer than `REACH_KM`), mean_km (of that
        feedstock), gain_t_km, warnings (rules that only warn, in words).

    Raises
    ------
    GridError
        If the grid would have more than `MOST_POINTS` points.

    Notes
    -----
    Places are chosen one by one. Each feedstock within reach counts with its tonnes
    times the km by which its nearest yard, candidate or earlier proposal comes nearer
    (`REACH_KM` where there is none): so proposals do not crowd about one mill. Lanes
    that a rule for one feedstock bars do not count. Ways are by the first truck in
    the first period, by road where roads are given.
    """
    usable = _usable(scenario)
    settings = change_setting(scenario.settings, "siting.screen", "refuse")
    scenario = replace(scenario, settings=settings)
    grid = _grid(scenario, spacing_km)
    trial = _with_yards(scenario, _apart(scenario, usable, grid, spacing_km))
    screening = screen(trial)
    kept = ~trial.yards["yard"].isin(list(refused(screening)))
    trial = _with_yards(scenario, trial.yards[kept])
    trial = _with_yards(scenario, trial.yards[~_far_from_roads(trial)])
    tonnes = _tonnes(scenario)
    have = _nearest_km(_straight_km(_with_yards(scenario, usable)))
    km = _straight_km(trial)
    chosen, _ = _choose(km, tonnes, have, max(SHORTLIST, count))
    trial = _with_yards(scenario, trial.yards.iloc[chosen])
    have = _nearest_km(_way_km(_with_yards(scenario, usable)))
    km = _way_km(trial)
    chosen, gain = _choose(km, tonnes, have, count)
    return _described(trial, chosen, gain, km[:, chosen], tonnes, screening)


def _usable(scenario: Scenario) -> pd.DataFrame:
    """Yards and candidates that a plan may use already."""
    yards = scenario.yards
    out = yards["yard"].isin(list(refused(screen(scenario))))
    return yards[~out & (yards["decision"] != "closed")]


def _with_yards(scenario: Scenario, yards: pd.DataFrame) -> Scenario:
    """Scenario with other yards, one truck and one period: enough to measure ways."""
    tables = {
        **scenario.tables,
        "yards": yards.reset_index(drop=True),
        "trucks": scenario.trucks.head(1),
        "periods": scenario.periods.head(1),
        "markets": scenario.markets.head(0),
    }
    return replace(scenario, tables=tables)


def _extent(scenario: Scenario) -> Box:
    """Edges of the district; of all sources and yards where none are set."""
    box = district(scenario.settings)
    if box != WORLD:
        return box
    lon = pd.concat([scenario.sources["lon"], scenario.yards["lon"]])
    lat = pd.concat([scenario.sources["lat"], scenario.yards["lat"]])
    return Box(*map(float, (lon.min(), lat.min(), lon.max(), lat.max())))


def _grid(scenario: Scenario, spacing_km: float) -> pd.DataFrame:
    """Lay a grid of sites over the district, on dry land where land is drawn."""
    box = _extent(scenario)
    corners = np.array([box.west, box.east]), np.array([box.south, box.north])
    plane = Plane(*corners)
    x, y = plane.xy(*corners)
    step = spacing_km * 1000
    across, up = (max(1, int((b - a) / step)) for a, b in (x, y))
    if across * up > MOST_POINTS:
        least = spacing_km * (across * up / MOST_POINTS) ** 0.5
        message = f"the grid would have {across * up:,} points; "
        message += f"use a spacing of at least {least:.1f} km"
        raise GridError(message)
    xs = x[0] + (np.arange(across) + 0.5) * (x[1] - x[0]) / across
    ys = y[0] + (np.arange(up) + 0.5) * (y[1] - y[0]) / up
    east, north = (a.ravel() for a in np.meshgrid(xs, ys))
    lon, lat = (a.round(5) for a in plane.degrees(east, north))
    land = ground(scenario, plane)
    if "land" in land:
        whole = shapely.union_all(land["land"].shapes)
        shapely.prepare(whole)
        dry = shapely.contains_xy(whole, east, north)
        lon, lat = lon[dry], lat[dry]
    rows = scenario.yards.head(0).reindex(range(len(lon)))
    return rows.assign(
        yard=[f"proposal_{k + 1}" for k in range(len(lon))],
        lon=lon,
        lat=lat,
        existing_size="",
        only_size="",
        decision="free",
        area_m2=float(scenario.yard_sizes["site_m2"].max()),
    )


def _apart(
    scenario: Scenario, usable: pd.DataFrame, grid: pd.DataFrame, spacing_km: float
) -> pd.DataFrame:
    """Sites of the grid no nearer than the spacing to a yard that may be used."""
    km = _km(usable, grid)
    return grid[(km >= spacing_km).all(axis=0)]


def _far_from_roads(trial: Scenario) -> NDArray[np.bool_]:
    """Mark sites from which no road can be reached."""
    far = {
        problem.row - 2
        for problem in access_problems(trial)
        if problem.file == "yards.csv" and problem.row is not None
    }
    return np.isin(np.arange(len(trial.yards)), list(far))


def _km(a: pd.DataFrame, b: pd.DataFrame) -> Floats:
    """Straight line from every row of a to every row of b. [km]"""
    x, y, u, v = (t[c].to_numpy() for t in (a, b) for c in ("lon", "lat"))
    return np.asarray(geodesic_km(x[:, None], y[:, None], u[None, :], v[None, :]))


def _open_km(trial: Scenario, km: Floats) -> Floats:
    """Ways, infinite where a rule bars the feedstock. [km]"""
    return np.where(barred(trial, screen(trial)), np.inf, km)


def _straight_km(trial: Scenario) -> Floats:
    return _open_km(trial, _km(trial.sources, trial.yards))


def _way_km(trial: Scenario) -> Floats:
    """Ways from sources to yards, shape (i, j). [km]"""
    ways = travel(trial)
    sources = ways.index("source", trial.sources["source"])
    yards = ways.index("yard", trial.yards["yard"])
    return _open_km(trial, ways.states[0].km[np.ix_(sources, yards)])


def _nearest_km(km: Floats) -> Floats:
    """Way from each source to its nearest yard, not more than the reach. [km]"""
    return np.minimum(km.min(axis=1, initial=np.inf), REACH_KM)


def _tonnes(scenario: Scenario) -> Floats:
    """Yearly tonnes of each source, in the order of the table. [t/yr]"""
    year = yearly_supply(scenario).set_index("source")["tonnes_per_year"]
    return year.reindex(scenario.sources["source"]).to_numpy(dtype=float)


def _choose(
    km: Floats, tonnes: Floats, have: Floats, count: int
) -> tuple[list[int], list[float]]:
    """
    Choose sites one by one, each that brings tonnes nearer by the most t·km.

    Examples
    --------
    >>> km = np.array([[1.0, 2.0, 30.0], [9.0, 8.0, 1.0]])
    >>> _choose(km, np.array([10.0, 10.0]), np.array([20.0, 20.0]), 5)
    ([0, 2], [300.0, 80.0])
    """
    chosen: list[int] = []
    gains: list[float] = []
    for _ in range(min(count, km.shape[1])):
        gain = tonnes @ np.clip(have[:, None] - km, 0.0, None)
        best = int(np.argmax(gain))
        if gain[best] <= 0:
            break
        chosen.append(best)
        gains.append(float(gain[best]))
        have = np.minimum(have, km[:, best])
    return chosen, gains


def _described(
    trial: Scenario,
    chosen: list[int],
    gain: list[float],
    km: Floats,
    tonnes: Floats,
    screening: pd.DataFrame,
) -> pd.DataFrame:
    """Table of the proposals."""
    near = km <= REACH_KM
    reach = tonnes @ near
    haul = tonnes @ np.where(near, km, 0.0)
    rows = trial.yards.iloc[chosen].reset_index(drop=True)
    told: dict[str, list[str]] = {}
    for yard, reason in zip(screening["yard"], screening["reason"], strict=True):
        told.setdefault(yard, []).append(reason)
    number = [str(k + 1) for k in range(len(rows))]
    return pd.DataFrame(
        {
            "yard": [f"proposal_{n}" for n in number],
            "name": [f"proposal {n}" for n in number],
            "lon": rows["lon"],
            "lat": rows["lat"],
            "district": _districts(trial, rows),
            "area_m2": rows["area_m2"],
            "within_reach_t": reach,
            "mean_km": haul / np.maximum(reach, 1e-9),
            "gain_t_km": np.array(gain, dtype=float),
            "warnings": ["; ".join(told.get(yard, [])) for yard in rows["yard"]],
        }
    )


def _districts(scenario: Scenario, rows: pd.DataFrame) -> list[str]:
    """Code of the drawn district that each site lies in; blank where none does."""
    drawn = scenario.land[scenario.land["kind"] == "district"]
    points = np.asarray(shapely.points(rows["lon"], rows["lat"]), dtype=object)
    found = [""] * len(rows)
    for code, wkt in zip(drawn["land"], drawn["wkt"], strict=True):
        for k in np.flatnonzero(shapely.contains(shapely.from_wkt(wkt), points)):
            found[k] = str(code)
    return found


def write_proposals(proposals: pd.DataFrame, folder: Path) -> Path:
    """
    Write proposals as rows for `yards.csv`; what only a visit can tell stays blank.

    Returns
    -------
    Path
        The file; `yards.csv` itself is never touched.
    """
    rows = proposals.assign(status="proposal", decision="free")
    texts = {
        c.name: [cell_text(v) for v in rows[c.name]] if c.name in rows else ""
        for c in columns_of("yards")
    }
    target = folder / FILE
    table = pd.DataFrame(texts, index=rows.index, dtype="str")
    replace_file(target, table.to_csv(index=False, lineterminator="\n"))
    return target
