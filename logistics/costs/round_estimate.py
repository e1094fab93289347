"""
What a round to small places takes, before any round is driven.

A truck that finds less than its load at a place goes on to places nearby. How far, is
estimated by continuous approximation: a load's share of the way out and home, and a
local detour from stop to stop (Daganzo, C., The Distance Traveled to Visit N Points
with a Maximum of C Stops per Vehicle, Transportation Science 18, 1984, pp. 331-350;
Figliozzi, M., Planning Approximations to the Average Length of Vehicle Routing Problems
with Varying Customer Demands and Routing Constraints, Transportation Research Record
2089, 2008, pp. 1-8). The detour is measured on the district's own roads, from each
place to its neighbours, in place of an area and a density.

Neighbours share a round only if they send their freight to the same yard on that day,
which nobody knows before the plan is made. The nearer they are to each other against
the way to the yard, the likelier: `TOGETHER` and `REACH` are fitted on rounds driven
for random districts (`tests/benchmarks/bench_haulage.py`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

TOGETHER = 0.5
"""Chance that a neighbour next door is on the same round. [1]"""
REACH = 0.7
"""Detour over way to the yard from which a neighbour is never on the round. [km/km]"""
NEIGHBOURS = 8
"""Neighbours of a place that are looked at: its nearest ones."""


@dataclass(frozen=True, eq=False)
class SharedRounds:
    """
    Rounds through every place to every yard, shape (i, j).

    Attributes
    ----------
    load_t
        On board when the truck comes home. [t]
    stops
        Places called.
    km, hours
        From stop to stop. [km], [h]
    """

    load_t: Floats
    stops: Floats
    km: Floats
    hours: Floats


def shared_rounds(
    rest_t: Floats,
    full_t: Floats,
    between: tuple[Floats, Floats],
    way_km: Floats,
    room_h: Floats,
    stop_h: Floats,
) -> SharedRounds:
    """
    Estimate the rounds of one day by one truck type.

    Parameters
    ----------
    rest_t
        What is to be fetched from each place beside full loads, shape (i,). [t]
    full_t
        Full load, shape (i,). [t]
    between
        Kilometres and hours from place to place, shape (i, i); infinite where no way
        leads or the freight of the two does not mix.
    way_km
        Between every place and every yard, mean of both ways, shape (i, j). [km]
    room_h
        What the shift or the keeping of the freight leaves for further stops, shape
        (i, j). [h]
    stop_h
        Papers and loading of a stop, shape (i,). [h]
    """
    i, j = way_km.shape
    asked, more, km, hours, stopped = (np.zeros((i, j)) for _ in range(5))
    reach = np.maximum(REACH * way_km, 1e-9)
    rows = np.arange(i)
    for k in nearest(between[0]).T:
        apart, time = between[0][rows, k], between[1][rows, k]
        fits = np.isfinite(apart) & (k != rows) & (rest_t[k] > 0)
        fits &= rest_t + rest_t[k] <= full_t * (1 + 1e-9)
        apart, time = np.where(fits, apart, 0.0), np.where(fits, time, 0.0)
        chance = TOGETHER * np.maximum(0.0, 1 - apart[:, None] / reach)
        chance = np.where(fits[:, None], chance, 0.0)
        asked += chance * rest_t[k][:, None]
        more += chance
        km += chance * apart[:, None]
        hours += chance * time[:, None]
        stopped += chance * stop_h[k][:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        room = np.maximum(full_t - rest_t, 0.0)[:, None]
        most = np.floor(room * more / asked + 1e-9)
        part = np.where(more > 0, np.fmin(1.0, most / more), 0.0)
        whole = hours + stopped
        part = np.fmin(part, np.where(whole > 0, np.maximum(room_h, 0) / whole, 1.0))
    load = rest_t[:, None] + part * asked
    return SharedRounds(load, 1 + part * more, part * km, part * hours)


def nearest(km: Floats) -> NDArray[np.int64]:
    """Nearest other places of every place, the nearest first, shape (i, k)."""
    others = km.copy()
    np.fill_diagonal(others, np.inf)
    count = min(NEIGHBOURS, max(0, len(km) - 1))
    return np.argsort(others, axis=1, kind="stable")[:, :count]
