"""
The working day of every load of what keeps.

Whole loads, evenly spread, moved by at most a quarter of the period so that each day's
trucks are well used and no more are out than are there.
"""

from __future__ import annotations

from math import ceil, isnan
from typing import TYPE_CHECKING, Any

import numpy as np

from logistics.rounds.fleet import homes
from logistics.rounds.visit_records import USABLE, WINDOW, Flow, Visit
from logistics.scenario import rows_by

if TYPE_CHECKING:
    from logistics.results import Result


def visit_of(
    flow: Flow, day: int, tonnes: float, span: tuple[int, int] = (0, 0)
) -> Visit:
    """Make a visit of a flow; `span` is the first and last day that will do."""
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
        first_day=span[0],
        last_day=span[1],
    )


def loads_on_days(
    result: Result, flows: list[Flow], days: int, fixed: list[Visit], rest: float
) -> list[Visit]:
    """
    Choose a day for every load of what keeps.

    Loads are taken in the order of their even place in the period. Each goes to the
    day on which it calls for the fewest further trucks: one that stands idle counts
    1, one to be hired 3, one that is not to be had at all 50; then to the day nearest
    to its even place. Where cover is to be in store, loads of it come no later than
    their even place.

    Parameters
    ----------
    result, flows
        A planned scenario, and its flows of the period that keep.
    days, rest
        Working days of the period, and days of the period for each of them.
    fixed
        Visits whose day is not to be chosen.
    """
    trucks = rows_by(result.scenario.trucks, "truck")
    own = homes(result)
    shift = result.scenario.settings.work.hours_per_day * USABLE
    yards = sorted({f.yard for f in flows} | {v.yard for v in fixed})
    hours = {v: np.zeros((len(yards), days)) for v in trucks}
    for visit in fixed:
        hours[visit.truck][yards.index(visit.yard), visit.day - 1] += visit.hours
    made = []
    for even, n, tonnes, made_from in _in_order(flows, days):
        flow = flows[n]
        need = flow.hours * min(1.0, tonnes / flow.load_t)
        busy, at = hours[flow.truck], yards.index(flow.yard)
        calls = np.ceil(busy / shift - 1e-9)
        out = calls[at]
        more = np.ceil((busy[at] + need) / shift - 1e-9) - out
        idle = own[flow.truck].get(flow.yard, 0) - out
        price = np.where(more <= idle, more, np.maximum(idle, 0) + 3 * more)
        spare = _trucks_at_all(trucks[flow.truck]) - calls.sum(axis=0)
        price = price + np.where(more > np.maximum(spare, 0), 50.0, 0.0)
        away = np.abs(np.arange(days) - even)
        window = max(1, min(WINDOW * days, flow.every / 2))
        price = price + 0.02 * away + np.where(away > window, 1e3, 0.0)
        if flow.covers:
            price = price + np.where(np.arange(days) > even + 0.5, 1e3, 0.0)
        day = int(np.argmin(price))
        busy[at, day] += need
        first = max(0, ceil(even - window))
        last = (
            days - 1 if flow.kind == "out" else _last(flow, days, even, made_from, rest)
        )
        span = min(first, day) + 1, max(last, day) + 1
        made.append(visit_of(flow, day + 1, tonnes, span))
    return made


def _in_order(flows: list[Flow], days: int) -> list[tuple[float, int, float, float]]:
    """List the loads: even place, flow, tonnes, and when the load begins to be made."""
    found = []
    for n, flow in enumerate(flows):
        calls = days / flow.every
        if not isnan(flow.keep_days):
            calls *= min(1.0, flow.tonnes / max(flow.made_t, 1e-9))
        count = max(1, ceil(flow.tonnes / flow.load_t - 1e-6), ceil(calls - 1e-9))
        for k in range(count):
            even = (k + 0.5) / count * days - 0.5
            made_from = max(k / count * days, even + 0.5 - flow.every / 2)
            found.append((even, n, flow.tonnes / count, made_from))
    return sorted(found)


def _trucks_at_all(truck: dict[str, Any]) -> float:
    """Trucks of a type that can be out on a day, own and hired."""
    limit = truck["hire_limit"]
    return float(truck["owned"]) + (np.inf if limit is None or isnan(limit) else limit)


def _last(flow: Flow, days: int, even: float, made_from: float, rest: float) -> int:
    """
    Last working day, from 0, on which a load may be fetched.

    What covers is never late; what keeps some days is fetched within them, from the
    first of it on; all else within the period.
    """
    if flow.covers:
        return int(even + 0.5)
    if isnan(flow.keep_days):
        return days - 1
    return min(days - 1, int(made_from + flow.keep_days / rest - 1e-9))
