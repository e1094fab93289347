"""The timetable of a tour, and its cost: reckoned here, not by the solver of rounds."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil, isfinite

from logistics.rounds.records import Limits, RoundsSolution, Task, Tour, Truck

TINY = 1e-9
"""Rounding noise of sums of hours. [h]"""


@dataclass(frozen=True, slots=True)
class Call:
    """
    One line of a timetable: a leg and what is done where it ends.

    Attributes
    ----------
    trip
        Number of the trip, from 0.
    stop
        Position of the stop; None for the yard.
    leaves_h, arrives_h, starts_h, ends_h
        Leaving the last place; arriving; handling there from and to. [h]
    drive_h, break_h, handled_h
        Driving and breaks of the leg; handling before it and behind it. [h]
    km, money
        Of the leg. [km], [money]
    load_t, load_m3
        On board during the leg. [t], [m3]
    way
        "out" or "back" on the empty way from or to the truck's own yard.
    """

    trip: int
    stop: int | None
    leaves_h: float
    arrives_h: float
    starts_h: float
    ends_h: float
    drive_h: float
    break_h: float
    handled_h: float
    km: float
    money: float
    load_t: float
    load_m3: float
    way: str = ""


def loads(task: Task, trip: tuple[int, ...]) -> list[tuple[float, float]]:
    """
    Tonnes and cubic metres on board on every leg of a trip.

    All that is brought is loaded at the yard; what is taken stays on until the yard.

    Examples
    --------
    >>> from logistics.rounds.records import Base, Stop
    >>> farm = Stop("farm", bring_t=3, bring_m3=6)
    >>> mill = Stop("mill", take_t=2, take_m3=16)
    >>> loads(Task((Base("y"),), (farm, mill), (), ()), (0, 1))
    [(3.0, 6.0), (0.0, 0.0), (2.0, 16.0)]
    """
    stops = [task.stops[s] for s in trip]
    tonnes, volume = sum(s.bring_t for s in stops), sum(s.bring_m3 for s in stops)
    found = [(tonnes, volume)]
    for stop in stops:
        tonnes += stop.take_t - stop.bring_t
        volume += stop.take_m3 - stop.bring_m3
        found.append((tonnes, volume))
    return found


def timetable(task: Task, tour: Tour) -> list[Call]:
    """
    Reckon the times of a tour, leaving as late as costs no time at the end.

    A break is taken before a leg that would go over the driving allowed without one
    (and on the way in a leg that is longer than that). Opening hours are waited for;
    whether they were met in time is for `rounds_check`.
    """
    truck = task.trucks[tour.truck]
    home = truck.way.home if truck.way else task.bases[truck.base]
    first = max(truck.starts_h, home.opens_h)
    early = _forward(task, tour, first)
    late = _latest_start(task, tour, early[-1].ends_h) if early else first
    if late <= first + TINY:
        return early
    better = _forward(task, tour, late)
    return better if better[-1].ends_h <= early[-1].ends_h + TINY else early


def _forward(task: Task, tour: Tour, start: float) -> list[Call]:
    """Drive the tour from a starting time on."""
    truck = task.trucks[tour.truck]
    legs, limits = task.legs[truck.legs], task.limits
    now, unbroken = start, 0.0
    calls = []
    way = truck.way
    if way:
        opens = task.bases[truck.base].opens_h
        leg = (way.out_h, way.out_km, way.out_money)
        call, unbroken = _over("out", 0, now, unbroken, leg, opens, limits)
        calls.append(call)
        now = call.ends_h
    for number, trip in enumerate(tour.trips):
        ways = [truck.base, *(task.place(s) for s in trip), truck.base]
        carried = loads(task, trip)
        for k, (a, b) in enumerate(pairwise(ways)):
            stop = trip[k] if k < len(trip) else None
            drive = float(legs.hours[a, b])
            breaks, unbroken = breaks_on(drive, unbroken, limits.unbroken_h)
            rest = breaks * limits.break_h
            before, after = float(legs.before[a, b]), float(legs.after[a, b])
            leaves = now + before
            arrives = leaves + rest + drive
            opens = task.bases[b].opens_h if stop is None else task.stops[stop].opens_h
            starts = max(arrives, opens)
            calls.append(
                Call(
                    number,
                    stop,
                    leaves,
                    arrives,
                    starts,
                    starts + after,
                    drive,
                    rest,
                    before + after,
                    float(legs.km[a, b]),
                    float(legs.money[a, b]),
                    *carried[k],
                )
            )
            now = starts + after
    if way:
        leg = (way.back_h, way.back_km, way.back_money)
        last = len(tour.trips) - 1
        call, _ = _over("back", last, now, unbroken, leg, 0.0, limits)
        calls.append(call)
    return calls


def _over(
    way: str,
    trip: int,
    now: float,
    unbroken: float,
    leg: tuple[float, float, float],
    opens: float,
    limits: Limits,
) -> tuple[Call, float]:
    """Drive empty between two yards (hours, km, money); driving since a break."""
    drive, km, money = leg
    breaks, unbroken = breaks_on(drive, unbroken, limits.unbroken_h)
    rest = breaks * limits.break_h
    arrives = now + rest + drive
    ready = max(arrives, opens)
    times = (now, arrives, ready, ready, drive, rest, 0.0)
    return Call(trip, None, *times, km, money, 0.0, 0.0, way), unbroken


def breaks_on(drive_h: float, unbroken_h: float, most_h: float) -> tuple[int, float]:
    """
    Count breaks due on a leg, and the driving since the last of them when it ends.

    Parameters
    ----------
    drive_h, unbroken_h
        Driving of the leg, and since the last break before it. [h]
    most_h
        Most driving without a break. [h]

    Examples
    --------
    >>> breaks_on(1.0, 2.0, 4.0)
    (0, 3.0)
    >>> breaks_on(1.5, 3.0, 4.0)
    (1, 1.5)
    >>> breaks_on(9.0, 0.0, 4.0)
    (2, 1.0)
    """
    if unbroken_h + drive_h <= most_h + TINY:
        return 0, unbroken_h + drive_h
    ahead = 1 if unbroken_h > TINY else 0
    if not isfinite(drive_h):
        return ahead, drive_h
    inside = max(0, ceil(drive_h / most_h - TINY) - 1)
    return ahead + inside, drive_h - inside * most_h


def _latest_start(task: Task, tour: Tour, end: float) -> float:
    """Find the latest start that ends at the same time, breaks left aside."""
    truck = task.trucks[tour.truck]
    legs = task.legs[truck.legs]
    latest = end - (truck.way.back_h if truck.way else 0.0)
    for trip in reversed(tour.trips):
        ways = [truck.base, *(task.place(s) for s in trip), truck.base]
        for k in range(len(ways) - 1, 0, -1):
            a, b = ways[k - 1], ways[k]
            if k <= len(trip):
                latest = min(latest, task.stops[trip[k - 1]].closes_h)
            leg = legs.before[a, b] + legs.hours[a, b] + legs.after[a, b]
            latest -= float(leg)
    return latest - (truck.way.out_h if truck.way else 0.0)


def cost(task: Task, answer: RoundsSolution) -> float:
    """Money of all tours: legs, hours out, days out. [money]"""
    return sum(tour_cost(task, tour) for tour in answer.tours)


def tour_cost(task: Task, tour: Tour) -> float:
    """Money of a tour: its legs, its hours out, hire for its least time. [money]"""
    truck, calls = task.trucks[tour.truck], timetable(task, tour)
    hours = hours_out(task, tour, calls)
    crew = (truck.money_per_h - truck.hire_per_h) * hours
    return sum(c.money for c in calls) + crew + hire_cost(truck, hours)


def hire_cost(truck: Truck, hours: float) -> float:
    """
    Hire of a truck that is out some hours, with what calling it out costs. [money]

    >>> hired = Truck("light", 0, 0, 1, 4.0, hire_per_h=6, hire_least_h=2)
    >>> hire_cost(hired, 0.25), hire_cost(hired, 3.0)
    (12.0, 18.0)
    """
    paid = truck.hire_per_h * max(hours, truck.hire_least_h)
    return float(paid + truck.money_per_day)


def hours_out(task: Task, tour: Tour, calls: list[Call]) -> float:
    """Hours from the first handling at the yard, or leaving home, to the end. [h]"""
    if not calls:
        return 0.0
    truck = task.trucks[tour.truck]
    if truck.way:
        return calls[-1].ends_h - calls[0].leaves_h
    first = task.place(tour.trips[0][0])
    before = float(task.legs[truck.legs].before[truck.base, first])
    return calls[-1].ends_h - (calls[0].leaves_h - before)
