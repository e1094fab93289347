"""
From a month's tonnes to visits on working days.

What spoils is fetched every day, or every second day or later if it keeps long enough
(half the time it keeps, see `costs.calls`). What keeps is fetched, and compost brought,
when a load is there (`load_days`). What keeps a while is fetched at least twice in the
time it keeps, in smaller loads if need be.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.composting import properties, spoils
from logistics.costs import days_called, pickup_interval, truck_load_t, whole_days
from logistics.rounds.load_days import loads_on_days, visit_of
from logistics.rounds.visit_records import NOISE_T, Flow, Visit
from logistics.scenario import records, rows_by

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario


def visits(result: Result, period: str) -> list[Visit]:
    """
    Turn the planned tonnes of a period into visits.

    Parameters
    ----------
    result
        A planned scenario.
    period
        Code of the period.

    Returns
    -------
    list of Visit
        Tonnes add up to the plan's, but for flows under 5 kg.
    """
    days = whole_days(
        rows_by(result.scenario.periods, "period")[period]["working_days"]
    )
    return visits_of(result, period, planned_flows(result, period), days)


def planned_flows(result: Result, period: str) -> list[Flow]:
    """List what the plan hauls in a period, but for flows under 5 kg."""
    periods = rows_by(result.scenario.periods, "period")
    return _flows(result, period, whole_days(periods[period]["working_days"]))


def visits_of(
    result: Result,
    period: str,
    flows: list[Flow],
    days: int,
    due: Mapping[str, int] | None = None,
) -> list[Visit]:
    """
    Turn flows into visits on working days from 1 on.

    Parameters
    ----------
    result, period
        A planned scenario, and code of the period.
    flows
        Tonnes of those days.
    days
        Working days.
    due
        Day on which what spoils is first due, by source; by default in turns.
    """
    row = rows_by(result.scenario.periods, "period")[period]
    rest = float(row["days"]) / whole_days(row["working_days"])
    made = _daily([f for f in flows if f.spoils], days, rest, due or {})
    keeping = [f for f in flows if not f.spoils]
    made += loads_on_days(result, keeping, days, made, rest)
    return [replace(visit, number=n) for n, visit in enumerate(made)]


def noise(result: Result, period: str) -> pd.DataFrame:
    """List flows too small to be driven: rows of the lane table."""
    lanes = result.lanes
    small = (lanes["period"] == period) & lanes["tonnes"].between(0, NOISE_T)
    return lanes[small & (lanes["tonnes"] > 0)]


@lru_cache(maxsize=8)
def densities(scenario: Scenario) -> dict[str, float]:
    """Hauled density of every material and of compost; not to be changed. [t/m3]"""
    table = properties(scenario.materials)
    found = dict(
        zip(table["material"], table["hauled_t_m3"].astype(float), strict=True)
    )
    return {**found, "compost": scenario.settings.process.product_kg_m3 / 1000}


def _flows(result: Result, period: str, days: int) -> list[Flow]:
    """Read the lanes; what spoils is one flow a source and yard, whatever the truck."""
    scenario = result.scenario
    materials = properties(scenario.materials)
    keeps = rows_by(materials, "material")
    short = set(materials.loc[spoils(materials), "material"])
    waits = dict(
        zip(scenario.sources["source"], scenario.sources["wait_hours"], strict=True)
    )
    trucks = rows_by(scenario.trucks, "truck")
    made = _made(result, period)
    dense = densities(scenario)
    lanes = result.lanes
    lanes = lanes[(lanes["period"] == period) & (lanes["tonnes"] > NOISE_T)]
    found: dict[tuple[str, ...], Flow] = {}
    for row in records(lanes.sort_values("tonnes", ascending=False)):
        inbound = row["kind"] == "in"
        place = str(row["origin" if inbound else "destination"])
        yard = str(row["destination" if inbound else "origin"])
        material, code = str(row["material"]), str(row["truck"])
        keep = float(keeps[material]["keep_hours"]) if inbound else np.nan
        fresh = inbound and material in short
        every = days if np.isnan(keep) else min(days, pickup_interval(keep))
        truck = trucks[code]
        full = float(
            truck_load_t(truck["payload_t"], truck["body_m3"], dense[material])
        )
        key = (row["kind"], yard, place, "" if fresh else code)
        tonnes = float(row["tonnes"])
        if key in found:
            tonnes += found[key].tonnes
            code, full = found[key].truck, found[key].load_t
        found[key] = Flow(
            row["kind"],
            yard,
            place,
            material,
            code,
            tonnes,
            full,
            dense[material],
            float(row["hours"] / row["trips"]),
            fresh,
            keep - float(waits[place]) - 24 * (every - 1) if fresh else np.inf,
            keep / 24,
            every,
            made[place] if inbound else np.inf,
            inbound and not fresh and bool(keeps[material]["structure"]),
        )
    return _covering(list(found.values()), scenario.settings.cover.days)


def _made(result: Result, period: str) -> dict[str, float]:
    """Look up what every source makes in a period. [t]"""
    supply = result.instance.supply
    t = list(result.scenario.periods["period"]).index(period)
    return dict(zip(supply.codes, supply.tonnes[:, t].tolist(), strict=True))


def _covering(flows: list[Flow], days: float) -> list[Flow]:
    """Mark what covers feedstock that spoils at its yard, if `cover.days` asks."""
    wet = {flow.yard for flow in flows if flow.spoils and days > 0}
    return [replace(f, covers=f.covers and f.yard in wet) for f in flows]


def _daily(
    flows: list[Flow], days: int, rest: float, first_due: Mapping[str, int]
) -> list[Visit]:
    """
    Visit what spoils on every day that is due, with the same tonnes each time.

    Of a source that is not to be fetched whole, days are left out (`days_called`).

    A source that serves several yards serves them in turns, each time the one that is
    furthest behind its share, so that no truck comes for a few kilograms a day.
    """
    places: dict[str, list[Flow]] = {}
    for flow in flows:
        places.setdefault(flow.place, []).append(flow)
    made = []
    for n, (place, here) in enumerate(places.items()):
        every = here[0].every
        first = first_due.get(place, 1 + n % every)
        due = list(range(first, days + 1, every)) if days >= first else [1]
        fetched = sum(f.tonnes for f in here)
        due = days_called(fetched, here[0].made_t, here[0].load_t, due)
        for day, row, tonnes in turns([f.tonnes for f in here], due):
            flow = here[row]
            last = min(days, day + days_later(flow.ride_h, rest))
            for part in parts_of(tonnes, flow.load_t):
                made.append(visit_of(flow, day, part, (day, last)))
    return made


def hours_later(days: int, rest: float) -> float:
    """
    Longest that so many working days later can be, over rest days in a row. [h]

    Parameters
    ----------
    days
        Working days.
    rest
        Days of the period for a working day: 7/6 where one day a week is free.

    Examples
    --------
    >>> [hours_later(n, 30 / 25) for n in (0, 1, 2, 7)]
    [0.0, 72.0, 96.0, 264.0]
    >>> hours_later(3, 1.0)
    72.0
    """
    if days <= 0:
        return 0.0
    free = ceil(7 * (1 - 1 / rest) - 1e-9)
    weeks = 1 + (days - 1) // max(1, 7 - free)
    return 24.0 * (days + free * weeks)


def days_later(ride_h: float, rest: float) -> int:
    """
    Most working days that freight may wait on beyond its day and still be in time.

    Examples
    --------
    >>> days_later(11, 1.2), days_later(72, 1.2), days_later(73, 1.2)
    (0, 0, 1)
    """
    later = 0
    while hours_later(later + 1, rest) < ride_h and later < 31:
        later += 1
    return later


def turns(shares: list[float], due: list[int]) -> list[tuple[int, int, float]]:
    """
    Give each day's tonnes to one taker, or where its share runs out to two.

    Parameters
    ----------
    shares
        What every taker gets in all. [t]
    due
        Days; each brings the same.

    Returns
    -------
    list
        Day, position of the taker, tonnes.

    Examples
    --------
    >>> turns([4.0, 2.0], [1, 2, 3])
    [(1, 0, 2.0), (2, 1, 2.0), (3, 0, 2.0)]
    """
    whole = sum(shares)
    each, tiny = whole / len(due), 1e-9 * whole
    given = [0.0] * len(shares)
    found = []
    for n, day in enumerate(due, start=1):
        need = each
        while need > tiny:
            open_ = [k for k, share in enumerate(shares) if share - given[k] > tiny]
            if not open_:
                break
            behind = [(shares[k] * n / len(due) - given[k], -k) for k in open_]
            taker = -max(behind)[1]
            tonnes = min(need, shares[taker] - given[taker])
            given[taker] += tonnes
            need -= tonnes
            found.append((day, taker, tonnes))
    return found


def parts_of(tonnes: float, load_t: float) -> list[float]:
    """
    Cut a day's tonnes into full loads and a rest, which a round takes along.

    Examples
    --------
    >>> parts_of(9.5, 4.0)
    [4.0, 4.0, 1.5]
    >>> parts_of(4.0, 4.0)
    [4.0]
    """
    full = int(tonnes / load_t + 1e-9)
    rest = tonnes - full * load_t
    loads = [load_t] * full
    return [*loads, rest] if rest > 1e-9 * load_t or not loads else loads
