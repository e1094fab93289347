"""Whether rounds can be driven: every rule checked afresh, without the solver."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from math import isfinite

from logistics.rounds.leg_times import Call, hours_out, timetable
from logistics.rounds.records import Answer, Task, Tour

SLACK = 1e-6
"""Rounding noise allowed in tonnes, cubic metres and hours."""


def faults(task: Task, answer: Answer) -> list[str]:
    """
    List all that is wrong with an answer, in sentences; empty if it can be driven.

    Checked: each visit exactly once or named as left out, required ones never left
    out, trucks at hand, trips a day, both limits of the load on every leg, ways that
    may be driven, opening hours, shift, driving in a day and without a break, age of
    what spoils on arrival.
    """
    found = _visits(task, answer)
    used = Counter(tour.truck for tour in answer.tours)
    found += [
        f"{task.trucks[v].code}: {n} tours, {task.trucks[v].count} trucks"
        for v, n in used.items()
        if n > task.trucks[v].count
    ]
    for tour in answer.tours:
        code = task.trucks[tour.truck].code
        found += [f"{code}: {fault}" for fault in tour_faults(task, tour)]
    return found


def _visits(task: Task, answer: Answer) -> list[str]:
    """Each visit exactly once, or left out if it may be."""
    times = Counter(stop for tour in answer.tours for stop in tour.stops)
    times.update(answer.left)
    found = [
        f"{stop.code}: visited or left out {times[s]} times"
        for s, stop in enumerate(task.stops)
        if times[s] != 1
    ]
    found += [f"no stop {s}" for s in times if not 0 <= s < len(task.stops)]
    found += [
        f"{task.stops[s].code}: left out" for s in answer.left if task.stops[s].required
    ]
    return found


def tour_faults(task: Task, tour: Tour) -> list[str]:
    """List what is wrong with one tour, apart from which stops it visits."""
    truck, limits = task.trucks[tour.truck], task.limits
    found = []
    if not tour.trips or any(not trip for trip in tour.trips):
        return ["a trip without a stop"]
    if len(tour.trips) > truck.most_trips:
        found.append(f"{len(tour.trips)} trips, {truck.most_trips} allowed")
    calls = timetable(task, tour)
    if not all(isfinite(c.drive_h) for c in calls):
        return [*found, "a leg that this truck may not drive"]
    for call in calls:
        if call.load_t > truck.payload_t + SLACK:
            found.append(f"carries {call.load_t:.6g} t of {truck.payload_t:.6g}")
        if call.load_m3 > truck.body_m3 + SLACK:
            found.append(f"carries {call.load_m3:.6g} m3 of {truck.body_m3:.6g}")
    base = task.bases[truck.base]
    home = truck.way.home if truck.way else base
    served = max(c.ends_h for c in calls if not c.way)
    out = hours_out(task, tour, calls)
    start, end = calls[-1].ends_h - out, calls[-1].ends_h
    if out > truck.shift_h + SLACK:
        found.append(f"is out {out:.4g} h of {truck.shift_h:.4g}")
    if start < max(truck.starts_h, home.opens_h) - SLACK:
        found.append(f"leaves at {start:.4g} h, too early")
    if served > base.closes_h + SLACK:
        found.append(f"is done at {served:.4g} h, the yard is closed by then")
    if end > min(truck.ends_h, home.closes_h) + SLACK:
        found.append(f"is back at {end:.4g} h, too late")
    driven = sum(c.drive_h for c in calls)
    if driven > limits.day_h + SLACK:
        found.append(f"drives {driven:.4g} h of {limits.day_h:.4g}")
    rests = [(c.drive_h, round(c.break_h / limits.break_h)) for c in calls]
    found += unbroken_faults(rests, limits.unbroken_h)
    for call in calls:
        if call.stop is not None:
            stop = task.stops[call.stop]
            if call.starts_h < stop.opens_h - SLACK:
                found.append(f"{stop.code} is not open yet")
            if call.ends_h > stop.closes_h + SLACK:
                found.append(f"{stop.code} is closed by then")
    return found + _ages(task, tour, calls)


def unbroken_faults(legs: Iterable[tuple[float, int]], most_h: float) -> list[str]:
    """
    Name stretches of driving longer than allowed, from (driving, breaks) of each leg.

    The first break is taken before the leg if there was driving before it; every
    further one after as much driving as is allowed.

    Examples
    --------
    >>> unbroken_faults([(2, 0), (2.5, 0)], 4)
    ['drives 4.5 h without a break, 4 h allowed']
    >>> unbroken_faults([(2, 0), (2.5, 1)], 4)
    []
    """
    found, since = [], 0.0
    for drive, breaks in legs:
        inside = breaks - 1 if breaks and since > 0 else breaks
        since = max(0.0, drive - inside * most_h) if breaks else since + drive
        if since > most_h + SLACK:
            found.append(
                f"drives {since:.4g} h without a break, {most_h:.4g} h allowed"
            )
    return found


def _ages(task: Task, tour: Tour, calls: list[Call]) -> list[str]:
    """Freight that spoils must reach the yard in time."""
    arrives = {c.trip: c.arrives_h for c in calls if c.stop is None and not c.way}
    found = []
    for call in calls:
        if call.stop is None:
            continue
        stop = task.stops[call.stop]
        ride = arrives[call.trip] - call.starts_h
        if stop.take_t > 0 and ride > stop.ride_h + SLACK:
            found.append(f"{stop.code} rides {ride:.4g} h of {stop.ride_h:.4g}")
    return found


def place_faults(
    out: Iterable[tuple[str, int]], own: Mapping[str, int], homes: Mapping[str, int]
) -> list[str]:
    """
    Find trucks in two places at once, and more own trucks out than stand at a yard.

    Parameters
    ----------
    out
        Name of the truck and day of every tour.
    own
        Names of own trucks to their number at their yard, from 1.
    homes
        Names of own trucks to how many of their type stand at that yard at night.

    Examples
    --------
    >>> place_faults([("a 1", 1), ("a 1", 2), ("a 2", 1)], {"a 2": 2}, {"a 2": 1})
    ['a 2 is out, and only 1 stand there at night']
    >>> place_faults([("a 1", 1), ("a 1", 1)], {}, {})
    ['a 1 is out 2 times on day 1']
    """
    times = Counter(out)
    found = [f"{t} is out {n} times on day {d}" for (t, d), n in times.items() if n > 1]
    return found + [
        f"{truck} is out, and only {homes.get(truck, 0)} stand there at night"
        for truck, number in own.items()
        if number > homes.get(truck, 0)
    ]


def week_faults(
    driving: Mapping[tuple[str, int], float], day_h: float, week_h: float
) -> list[str]:
    """
    Driving over the limits of days and weeks, one driver a truck.

    Parameters
    ----------
    driving
        Driving of each truck and working day of one week. [h]
    day_h, week_h
        Most driving in a day and a week. [h]

    Examples
    --------
    >>> week_faults({("heavy", d): 8.5 for d in range(6)}, 9, 48)
    ['heavy drives 51 h in the week, 48 h allowed']
    >>> week_faults({("heavy", d): 9.0 for d in range(5)}, 9, 48)
    []
    """
    found = [
        f"{truck} drives {h:.4g} h on day {day}, {day_h:.4g} h allowed"
        for (truck, day), h in driving.items()
        if h > day_h + SLACK
    ]
    weeks: dict[str, float] = defaultdict(float)
    for (truck, _), hours in driving.items():
        weeks[truck] += hours
    found += [
        f"{truck} drives {h:.4g} h in the week, {week_h:.4g} h allowed"
        for truck, h in weeks.items()
        if h > week_h + SLACK
    ]
    return found
