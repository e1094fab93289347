"""
From a month's tonnes to visits on working days.

What spoils is fetched every day, or every second day or later if it keeps long enough
(half the time it keeps). What keeps is fetched, and compost brought, when a load is
there: whole loads, evenly spread, moved by at most a quarter of the period so that
each day's trucks are well used and no more are out than own ones stand at the yard.
What keeps a while is fetched at least twice in the time it keeps, in smaller loads if
need be.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.composting import properties, spoils
from logistics.rounds.fleet import homes
from logistics.scenario import records, rows_by

if TYPE_CHECKING:
    from logistics.results import Result

NOISE_T = 0.005
"""Flows under this are rounding noise of the programme, named as not driven. [t]"""
WINDOW = 0.25
"""Loads are moved by at most this share of the period."""
USABLE = 0.92
"""Share of a shift that whole trips usually fill (judgement)."""


@dataclass(frozen=True, slots=True)
class Visit:
    """
    One load, or part of one, at one place on one day.

    Attributes
    ----------
    kind
        "in" (fetched) or "out" (compost brought).
    yard, place, material, truck
        Codes; `truck` is the planned type, others that may carry it may come.
    day
        Working day of the period, from 1.
    tonnes, m3
        Load. [t], [m3]
    hours
        Truck hours of the trip as planned, for this share of a load. [h]
    spoils, ride_h
        Whether the freight spoils, and the longest it may ride. [h]
    """

    kind: str
    yard: str
    place: str
    material: str
    truck: str
    day: int
    tonnes: float
    m3: float
    hours: float
    spoils: bool
    ride_h: float


@dataclass(frozen=True, slots=True)
class _Flow:
    """A planned flow with its full load and what a trip takes."""

    kind: str
    yard: str
    place: str
    material: str
    truck: str
    tonnes: float
    load_t: float
    t_m3: float
    hours: float
    spoils: bool
    ride_h: float
    every: int
    covers: bool


def pickup_interval(keep_h: float) -> int:
    """
    Working days between visits of a source of what spoils.

    Examples
    --------
    >>> [pickup_interval(h) for h in (12, 47, 96, 150)]
    [1, 1, 2, 3]
    """
    return max(1, int(keep_h / 48))


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
    periods = rows_by(result.scenario.periods, "period")
    days = max(1, round(float(periods[period]["working_days"])))
    flows = _flows(result, period, days)
    made = _daily([f for f in flows if f.spoils], days)
    keeping = [f for f in flows if not f.spoils]
    return made + _loads(result, keeping, days, made, homes(result))


def noise(result: Result, period: str) -> pd.DataFrame:
    """List flows too small to be driven: rows of the lane table."""
    lanes = result.lanes
    small = (lanes["period"] == period) & lanes["tonnes"].between(0, NOISE_T)
    return lanes[small & (lanes["tonnes"] > 0)]


def densities(result: Result) -> dict[str, float]:
    """Hauled density of every material and of compost. [t/m3]"""
    table = properties(result.scenario.materials)
    found = dict(
        zip(table["material"], table["hauled_t_m3"].astype(float), strict=True)
    )
    return {**found, "compost": result.scenario.settings.process.product_kg_m3 / 1000}


def _flows(result: Result, period: str, days: int) -> list[_Flow]:
    """Read the lanes; what spoils is one flow a source and yard, whatever the truck."""
    scenario = result.scenario
    materials = properties(scenario.materials)
    keeps = rows_by(materials, "material")
    short = set(materials.loc[spoils(materials), "material"])
    waits = dict(
        zip(scenario.sources["source"], scenario.sources["wait_hours"], strict=True)
    )
    trucks = rows_by(scenario.trucks, "truck")
    dense = densities(result)
    lanes = result.lanes
    lanes = lanes[(lanes["period"] == period) & (lanes["tonnes"] > NOISE_T)]
    found: dict[tuple[str, ...], _Flow] = {}
    for row in records(lanes.sort_values("tonnes", ascending=False)):
        inbound = row["kind"] == "in"
        place = str(row["origin" if inbound else "destination"])
        yard = str(row["destination" if inbound else "origin"])
        material, code = str(row["material"]), str(row["truck"])
        keep = float(keeps[material]["keep_hours"]) if inbound else np.nan
        fresh = inbound and material in short
        every = days if np.isnan(keep) else min(days, pickup_interval(keep))
        truck = trucks[code]
        full = min(truck["payload_t"], truck["body_m3"] * dense[material])
        key = (row["kind"], yard, place, "" if fresh else code)
        tonnes = float(row["tonnes"])
        if key in found:
            tonnes += found[key].tonnes
            code, full = found[key].truck, found[key].load_t
        found[key] = _Flow(
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
            every,
            inbound and not fresh and bool(keeps[material]["structure"]),
        )
    return _covering(list(found.values()), scenario.settings.cover.days)


def _covering(flows: list[_Flow], days: float) -> list[_Flow]:
    """Mark what covers feedstock that spoils at its yard, if `cover.days` asks."""
    wet = {flow.yard for flow in flows if flow.spoils and days > 0}
    return [replace(f, covers=f.covers and f.yard in wet) for f in flows]


def _visit(flow: _Flow, day: int, tonnes: float) -> Visit:
    """One visit of a flow."""
    share = min(1.0, tonnes / flow.load_t)
    return Visit(
        flow.kind,
        flow.yard,
        flow.place,
        flow.material,
        flow.truck,
        day,
        tonnes,
        tonnes / flow.t_m3,
        flow.hours * share,
        flow.spoils,
        flow.ride_h,
    )


def _daily(flows: list[_Flow], days: int) -> list[Visit]:
    """
    Visit what spoils on every day that is due, with the same tonnes each time.

    A source that serves several yards serves them in turns, each time the one that is
    furthest behind its share, so that no truck comes for a few kilograms a day.
    """
    places: dict[str, list[_Flow]] = {}
    for flow in flows:
        places.setdefault(flow.place, []).append(flow)
    made = []
    for n, here in enumerate(places.values()):
        every = here[0].every
        first = 1 + n % every
        due = list(range(first, days + 1, every)) if days >= first else [1]
        for day, row, tonnes in turns([f.tonnes for f in here], due):
            flow = here[row]
            made += [_visit(flow, day, t) for t in parts_of(tonnes, flow.load_t)]
    return made


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


def _loads(
    result: Result,
    flows: list[_Flow],
    days: int,
    fixed: list[Visit],
    own: Mapping[str, Mapping[str, int]],
) -> list[Visit]:
    """
    Choose a day for every load of what keeps.

    Loads are taken in the order of their even place in the period. Each goes to the
    day on which it calls for the fewest further trucks: one that stands idle counts
    1, one to be hired 3; then to the day nearest to its even place. Where cover is to
    be in store, loads of it come no later than their even place.
    """
    trucks = [str(code) for code in result.scenario.trucks["truck"]]
    shift = result.scenario.settings.work.hours_per_day * USABLE
    yards = sorted({f.yard for f in flows} | {v.yard for v in fixed})
    hours = {(y, v): np.zeros(days) for y in yards for v in trucks}
    for visit in fixed:
        hours[visit.yard, visit.truck][visit.day - 1] += visit.hours
    ordered = []
    for n, flow in enumerate(flows):
        count = max(1, ceil(flow.tonnes / flow.load_t - 1e-6), ceil(days / flow.every))
        for k in range(count):
            even = (k + 0.5) / count * days - 0.5
            ordered.append((even, n, flow.tonnes / count))
    made = []
    for even, n, tonnes in sorted(ordered):
        flow = flows[n]
        need = flow.hours * min(1.0, tonnes / flow.load_t)
        here = hours[flow.yard, flow.truck]
        out = np.ceil(here / shift - 1e-9)
        more = np.ceil((here + need) / shift - 1e-9) - out
        idle = own[flow.truck].get(flow.yard, 0) - out
        price = np.where(more <= idle, more, np.maximum(idle, 0) + 3 * more)
        away = np.abs(np.arange(days) - even)
        far = away > max(1, min(WINDOW * days, flow.every / 2))
        price = price + 0.02 * away + np.where(far, 1e3, 0.0)
        if flow.covers:
            price = price + np.where(np.arange(days) > even + 0.5, 1e3, 0.0)
        day = int(np.argmin(price))
        here[day] += need
        made.append(_visit(flow, day + 1, tonnes))
    return made
