"""
Who lives near the yards and the busy roads of a plan.

A planning measure: people counted by distance. It is no study of odour, dust or noise,
which depend on wind, ground, weather and how a yard is run; local codes and a licensed
assessor decide.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.land import near_roads, peopled_places
from logistics.results import once_a_result
from logistics.roads import load_on_roads, shifted_by_paired_trips

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from logistics.results import Result

    Floats = NDArray[np.float64]
    Integers = NDArray[np.intp]

YEAR = "year"
"""Row of the whole year in `exposure_table`."""


def heads_within(heads: Floats, metres: Floats, limit: float) -> float:
    """
    Count the people within a distance, each place once.

    Examples
    --------
    >>> heads_within(np.array([40.0, 60.0]), np.array([500.0, 900.0]), 500)
    40.0
    """
    return float(heads[metres <= limit].sum())


def nearness(metres: Floats, far: float) -> Floats:
    """
    Weigh a distance: 1 at the edge of a yard, evenly down to 0 at `far`.

    w = max(0, 1 - d / D), a convention of this account, no law of odour.

    Examples
    --------
    >>> nearness(np.array([0.0, 500.0, 3000.0]), 2000).tolist()
    [1.0, 0.75, 0.0]
    """
    return np.asarray(np.clip(1 - metres / far, 0.0, 1.0), dtype=float)


@once_a_result
def exposed_places(result: Result) -> pd.DataFrame:
    """
    Measure every place with people against the open yards and the loaded roads.

    Returns
    -------
    DataFrame
        One row a place: place, name, lon, lat [degrees], heads, yard (nearest open
        one), metres (to its edge; infinite if none is open), weight (see `nearness`),
        passes (trucks on a working day in the busiest period, loaded and empty, on the
        busiest road within people.road_m).
    """
    found = peopled_places(result.scenario)
    codes = result.scenario.yards["yard"].to_numpy()
    metres, nearest = _nearest(found.metres, np.isin(codes, result.plan.yards["yard"]))
    names = np.append(codes, "")
    far = result.scenario.settings.people.far_m
    return found.table.assign(
        yard=names[nearest],
        metres=metres,
        weight=nearness(metres, far),
        passes=_passes_by_place(result).max(axis=1, initial=0.0),
    )


@once_a_result
def exposure_table(result: Result) -> pd.DataFrame:
    """
    Count the people near the yards at work, and near busy roads, by period.

    Returns
    -------
    DataFrame
        The year (every open yard; a road that is busy in some period), then one row a
        period (yards that make windrows in it): period, near, middle, far (heads
        within people.near_m and so on of a yard, a place once), weighted (heads times
        `nearness`), road (heads within people.road_m of a busy road), worst (place
        with the most weighted heads, empty if nobody is within people.far_m). No rows
        where nothing is known of people.

    Notes
    -----
    weighted = sum over places p of heads[p] * max(0, 1 - d[p] / D), with d the distance
    to the nearest yard at work and D people.far_m.
    """
    columns = ["period", "near", "middle", "far", "weighted", "road", "worst"]
    found, wanted = peopled_places(result.scenario), result.scenario.settings.people
    if not len(found):
        return pd.DataFrame(columns=columns)
    codes = result.scenario.yards["yard"].to_numpy()
    heads = found.table["heads"].to_numpy(dtype=float)
    names = found.table["name"].where(found.table["name"] != "", found.table["place"])
    busy = _passes_by_place(result) >= max(wanted.trucks_per_day, 1e-9)
    charges = result.plan.charges
    charges = charges[charges["tonnes"] > 0]
    rows = []
    periods = [str(code) for code in result.scenario.periods["period"]]
    for number, period in enumerate([YEAR, *periods]):
        yards = result.plan.yards["yard"]
        on_road = busy.any(axis=1)
        if number:
            yards = charges.loc[charges["period"] == period, "yard"]
            on_road = busy[:, number - 1]
        metres, _ = _nearest(found.metres, np.isin(codes, yards))
        weighted = heads * nearness(metres, wanted.far_m)
        worst = str(names.iloc[int(np.argmax(weighted))]) if weighted.any() else ""
        each = (
            heads_within(heads, metres, limit)
            for limit in (wanted.near_m, wanted.middle_m, wanted.far_m)
        )
        road = float(heads[on_road].sum())
        rows.append((period, *each, float(weighted.sum()), road, worst))
    return pd.DataFrame(rows, columns=columns)


def _nearest(metres: Floats, chosen: NDArray[np.bool_]) -> tuple[Floats, Integers]:
    """Distance of each place to the nearest yard chosen [m], and which; -1 for none."""
    if not chosen.any():
        return np.full(len(metres), np.inf), np.full(len(metres), -1)
    open_ = np.where(chosen, metres, np.inf)
    return open_.min(axis=1), open_.argmin(axis=1)


@once_a_result
def _passes_by_place(result: Result) -> Floats:
    """Trucks on a working day on the busiest road near, shape (place, period)."""
    scenario = result.scenario
    found = peopled_places(scenario)
    table = scenario.periods.set_index("period")
    passes = np.zeros((len(found), len(table)))
    if result.travel.driven is None or not len(found):
        return passes
    laid = [load_on_roads(result.travel, result.lanes)]
    laid.append(shifted_by_paired_trips(result.travel, result.paired_trips))
    load = pd.concat([t for t in laid if len(t)] or laid, ignore_index=True)
    load = load.assign(trips=load["trips"] + load["empty_trips"])
    wide = load.pivot_table(
        index="road", columns="period", values="trips", aggfunc="sum", fill_value=0.0
    ).reindex(columns=table.index, fill_value=0.0)
    days = np.maximum(table["working_days"].to_numpy(dtype=float), 1e-9)
    near = near_roads(
        scenario, found, list(wide.index), scenario.settings.people.road_m
    )
    for road, rows in near.items():
        each = wide.loc[road].to_numpy(dtype=float) / days
        passes[rows] = np.maximum(passes[rows], each)
    return passes
