"""Tasks made narrower, so that the search keeps rules that it does not know."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, isfinite

import numpy as np

from logistics.rounds.records import Legs, Task, Truck

NOISE = 1e-7
"""Rounding noise of hours."""


def as_it_is(task: Task) -> Task:
    """Leave the task alone."""
    return task


def with_breaks(task: Task) -> Task:
    """Take the breaks that a full shift of driving calls for off every shift."""
    limits = task.limits
    trucks = []
    for truck in task.trucks:
        shift = min(truck.shift_h, truck.ends_h - truck.starts_h)
        driving = min(shift, limits.day_h)
        breaks = max(0, ceil(driving / limits.unbroken_h - NOISE) - 1)
        trucks.append(replace(truck, shift_h=max(0.0, shift - breaks * limits.break_h)))
    return replace(task, trucks=tuple(trucks))


def with_single_trips(task: Task) -> Task:
    """
    Let every truck make one trip, no longer than the freight may ride.

    The way out and the unloading are then no part of the trip's time, only of its cost;
    the trucks start when the farthest of them has arrived.
    """
    task = with_breaks(task)
    rides = [s.ride_h for s in task.stops if s.take_t > 0 and isfinite(s.ride_h)]
    trucks, legs = [], list(task.legs)
    for truck in task.trucks:
        ways, out = _without_way_out(task, truck)
        legs.append(ways)
        shift = min(truck.shift_h, task.limits.day_h) - out
        trucks.append(
            replace(
                truck,
                legs=len(legs) - 1,
                starts_h=truck.starts_h + out,
                shift_h=max(0.0, min(shift, *rides) if rides else shift),
                most_trips=1,
            )
        )
    return replace(task, trucks=tuple(trucks), legs=tuple(legs))


def _without_way_out(task: Task, truck: Truck) -> tuple[Legs, float]:
    """Turn the hours of way out and unloading into money; and the longest of them."""
    ways = task.legs[truck.legs]
    hours, before = ways.hours.copy(), ways.before.copy()
    money = ways.money.copy()
    row = truck.base
    may = np.isfinite(hours[row])
    out = np.where(may, hours[row] + before[row], 0.0)
    money[row] += out * truck.money_per_h
    hours[row, may], before[row] = 0.0, 0.0
    after = ways.after.copy()
    unload = float(after[:, row].max())
    money[:, row] += after[:, row] * truck.money_per_h
    after[:, row] = 0.0
    legs = Legs(ways.km, hours, money, before, after)
    return legs, float(out.max()) + unload
