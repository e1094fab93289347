"""Lanes that a plan could want: those that no other truck beats."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from logistics.costs import Trips
from logistics.model.problem import Backhauls, Floats, Lanes, Trucks

if TYPE_CHECKING:
    from logistics.scenario import Scenario


def lanes_of(
    trips: Trips,
    scenario: Scenario,
    trucks: Trucks,
    backhauls: Backhauls | None = None,
    *,
    inbound: bool,
) -> Lanes:
    """
    Divide trips by their load and drop the lanes no plan would want.

    Parameters
    ----------
    trips, trucks, scenario
        Trips of one direction, the trucks that drive them, and the goal.
    backhauls
        Trips that may be paired: a lane is held against others at what it costs
        with its best backhaul.
    inbound
        Whether trips lead to the yards.
    """
    with np.errstate(invalid="ignore"):
        money, hours = trips.money / trips.load_t, trips.hours / trips.load_t
        co2e = trips.co2(scenario.factors) / trips.load_t
    site, yard = trips.origin, trips.destination
    if not inbound:
        site, yard = yard, site
    lanes = Lanes(
        site=site,
        yard=yard,
        truck=trips.truck,
        load_t=trips.load_t,
        money=money,
        hours=hours,
        co2e=co2e,
        usable=trips.usable,
        km=trips.km,
    )
    wanted = lanes.usable.any(axis=1) & ~dominated(
        lanes, trucks, scenario, saved_per_t(lanes, backhauls, inbound=inbound)
    )
    return lanes.take(wanted)


def saved_per_t(
    lanes: Lanes, backhauls: Backhauls | None, *, inbound: bool
) -> tuple[Floats, Floats] | None:
    """Most that pairing saves on each lane, shape (l, t). [money/t], [kg CO2e/t]"""
    if backhauls is None or not len(backhauls) or not len(lanes):
        return None
    site = backhauls.source if inbound else backhauls.market
    shape = [1 + int(x.max()) for x in (lanes.site, lanes.yard, lanes.truck)]
    lane = np.full(shape, -1)
    lane[lanes.site, lanes.yard, lanes.truck] = np.arange(len(lanes))
    at = lane[site, backhauls.yard, backhauls.truck]
    money, co2e = np.zeros_like(lanes.money), np.zeros_like(lanes.money)
    np.maximum.at(money, at, np.where(backhauls.usable, backhauls.money, 0.0))
    np.maximum.at(co2e, at, np.where(backhauls.usable, backhauls.co2e, 0.0))
    return money / lanes.load_t, co2e / lanes.load_t


def dominated(
    lanes: Lanes,
    trucks: Trucks,
    scenario: Scenario,
    saved: tuple[Floats, Floats] | None = None,
) -> Any:
    """
    Mark lanes for which another truck is never dearer, even when hired.

    Only a type with unlimited hire can take another's place for certain. A lane costs
    no less than it does with all that pairing may save; the other truck goes unpaired.
    """
    least, least_co2e = lanes.money, lanes.co2e
    if saved is not None:
        least, least_co2e = least - saved[0], least_co2e - saved[1]
    way = lanes.site * (lanes.yard.max(initial=0) + 1) + lanes.yard
    found = np.zeros(len(lanes), dtype=bool)
    green = scenario.settings.goal.minimise == "co2e"
    for v in range(len(trucks.codes)):
        if not np.isinf(trucks.hire_hours[v]).all():
            continue
        rows = np.flatnonzero(lanes.truck == v)
        order = rows[np.argsort(way[rows])]
        at = np.searchsorted(way[order], way)
        at = np.minimum(at, max(len(order) - 1, 0))
        if not len(order):
            continue
        other = order[at]
        hired = lanes.money[other] + lanes.hours[other] * trucks.hire_per_hour[v]
        beaten = (hired <= least) & lanes.usable[other] | ~lanes.usable
        if green:
            beaten &= (lanes.co2e[other] <= least_co2e) | ~lanes.usable
        equal_to_self = other == np.arange(len(lanes))
        equal = (hired == least) | ~lanes.usable
        tie = (lanes.truck < v) & equal.all(axis=1)
        found |= beaten.all(axis=1) & (way[other] == way) & ~equal_to_self & ~tie
    return found
