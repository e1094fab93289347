"""What trips carry: full loads, or what a round to small places gathers."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from logistics.costs.round_estimate import shared_rounds

if TYPE_CHECKING:
    from logistics.roads import Travel
    from logistics.scenario import Scenario

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class LaneWays:
    """Every start with every end, row by row: out loaded and home empty, (l, t)."""

    start: Integers
    end: Integers
    km: Floats
    km_back: Floats
    out_h: Floats
    back_h: Floats
    fare: Floats
    usable: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Loads:
    """What a trip carries, its stops, the way between them, loading; shape (l, t)."""

    load_t: Floats
    stops: Floats
    local_km: Floats
    local_h: Floats
    loading_h: Floats


def full_loads(truck: dict[str, Any], load_t: Floats) -> Loads:
    """One stop a trip, which takes the minutes of the table."""
    none, one = np.zeros_like(load_t), np.ones_like(load_t)
    return Loads(load_t, one, none, none, one * truck["load_minutes"] / 60)


def calling_loads(
    scenario: Scenario,
    travel: Travel,
    truck: dict[str, Any],
    legs: LaneWays,
    gathered: tuple[Floats, Floats, NDArray[Any]],
    slack_hours: Floats,
) -> Loads:
    """
    Say what trips from sources carry: full loads, and rounds for what cannot wait.

    Parameters
    ----------
    scenario, travel, truck, legs
        What is driven; `legs` holds every source chosen with every yard.
    gathered
        Tonnes at a call, shape (i, t), infinite where a full load is waited for; full
        load, shape (i,); feedstock of every source, shape (i,).
    slack_hours
        What the freight keeps beyond waiting and loading, shape (i,). [h]
    """
    found, full, material = gathered
    most = np.broadcast_to(full[legs.start][:, None], legs.km.shape)
    loads = full_loads(truck, most)
    rows = np.flatnonzero(np.isfinite(found).any(axis=1)[legs.start])
    if not len(rows):
        return loads
    parts = {f.name: getattr(loads, f.name).copy() for f in fields(Loads)}
    places = np.unique(legs.start[rows])
    at = travel.index("source", scenario.sources["source"])[places]
    apart = material[places][:, None] != material[places][None, :]
    shift = scenario.settings.work.hours_per_day
    for t, period in enumerate(scenario.periods["period"]):
        state = travel.pick(truck["truck"], period)
        grid = np.ix_(at, at)
        km, hours = state.km[grid].copy(), state.hours[grid].copy()
        km[apart], hours[apart] = np.inf, np.inf
        ways = tuple(
            x[rows, t].reshape(len(places), -1)
            for x in (legs.km, legs.km_back, legs.out_h, legs.back_h)
        )
        there = found[places, t]
        values = _mean_trips(
            np.where(np.isfinite(there), there, 0.0),
            full[places],
            (km, hours),
            ways,
            (slack_hours[places], shift),
            minutes(scenario, truck),
        )
        some = np.isfinite(there)[:, None] & (values.load_t > 0)
        for name, before in parts.items():
            old = before[rows, t].reshape(some.shape)
            before[rows, t] = np.where(some, getattr(values, name), old).ravel()
    return Loads(**parts)


def minutes(scenario: Scenario, truck: dict[str, Any]) -> tuple[float, float, float]:
    """Papers at a stop, the rest of loading a full load, and all at the yard. [h]"""
    papers = min(scenario.settings.rounds.stop_minutes, truck["load_minutes"])
    at_yard = truck["unload_minutes"] + truck["wash_minutes"]
    return papers / 60, (truck["load_minutes"] - papers) / 60, at_yard / 60


def _mean_trips(
    there: Floats,
    full: Floats,
    between: tuple[Floats, Floats],
    ways: tuple[Floats, ...],
    limits: tuple[Floats, float],
    stop: tuple[float, float, float],
) -> Loads:
    """
    Mean of the trips that what is there calls for: full loads, and a round's share.

    Parameters
    ----------
    there, full
        Tonnes at a call and of a full load, shape (i,). [t]
    between
        Kilometres and hours from place to place, shape (i, i). [km], [h]
    ways
        Kilometres out and back, hours out and back, shape (i, j). [km], [h]
    limits
        Time that freight keeps, shape (i,), and that a truck works a day. [h]
    stop
        See `minutes`.
    """
    (km, km_back, out_h, back_h), (papers, loading, at_yard) = ways, stop
    whole = np.floor(there / full + 1e-9)
    rest = np.maximum(0.0, there - whole * full)
    stop_h = papers + loading * rest / full
    room = np.minimum(
        limits[1] - at_yard - back_h - out_h - stop_h[:, None],
        limits[0][:, None] - out_h,
    )
    made = shared_rounds(rest, full, between, (km + km_back) / 2, room, stop_h)
    share = rest[:, None] / np.maximum(made.load_t, 1e-12)
    trips = whole[:, None] + share
    each = 1 / np.maximum(trips, 1e-12)
    load = there[:, None] * each
    stops = (whole[:, None] + share * made.stops) * each
    return Loads(
        load_t=load,
        stops=stops,
        local_km=share * made.km * each,
        local_h=share * made.hours * each,
        loading_h=papers * stops + loading * load / full[:, None],
    )
