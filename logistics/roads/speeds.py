"""How fast a road is driven, and when it may be driven at all."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.roads.graph import RoadGraph

Floats = NDArray[np.float64]

SPEED_KMH = {
    "paved_main": 55.0,
    "paved_local": 40.0,
    "gravel": 35.0,
    "earth": 20.0,
    "town": 22.0,
    "ferry": 10.0,
}
"""Mean truck speed by road class, dry: from memory; ferry: judgement. [km/h]"""

UNPAVED = ("gravel", "earth")
"""Classes that are slower in the wet season."""


def edge_hours(
    graph: RoadGraph, roads: pd.DataFrame, speed_factor: float, season_speed: float
) -> Floats:
    """
    Driving time of every edge, with the wait at a ferry.

    Parameters
    ----------
    graph, roads
        Network and the table it was built from.
    speed_factor
        Of the truck; a ferry sails no faster for it.
    season_speed
        Speed on unpaved roads against the dry season. [1]

    Returns
    -------
    ndarray
        Length e. [h]
    """
    kmh = roads["speed_kmh"].fillna(roads["class"].map(SPEED_KMH)).to_numpy(dtype=float)
    unpaved = roads["class"].isin(UNPAVED).to_numpy()
    ferry = (roads["class"] == "ferry").to_numpy()
    kmh = kmh * np.where(unpaved, season_speed, 1.0) * np.where(ferry, 1, speed_factor)
    wait = roads["wait_minutes"].to_numpy(dtype=float) / 60
    return np.asarray(graph.km / kmh[graph.road] + wait[graph.road] * graph.road_share)


def open_roads(roads: pd.DataFrame, gross_t: float, period: str) -> NDArray[np.bool_]:
    """
    Which roads a truck may use in a period, one a row of roads.

    Parameters
    ----------
    roads
        Table roads.
    gross_t
        Mass of the full truck. [t]
    period
        Code of the period.
    """
    limit = roads["max_gross_t"].fillna(np.inf).to_numpy(dtype=float)
    lists = roads["closed_periods"]
    shut = [periods for periods in set(lists) if period in periods]
    return np.asarray(~lists.isin(shut).to_numpy() & (gross_t <= limit))
