"""
Driven rounds as tables: every call, every tour, planned against driven, by feedstock.

Money is counted from the timetable: fuel, repair, tolls of every leg, crew for every
hour out, hire for every hour of a hired truck and at least for its least time. The
plan's side is its own lane table, with its hired hours shared out by truck hours.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from logistics.costs import hire_rate
from logistics.rounds.leg_times import (
    Call,
    hire_cost,
    hours_out,
    timetable,
    tour_cost,
)
from logistics.rounds.period_check import named_tours
from logistics.scenario import records, rows_by

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds.days import Day
    from logistics.rounds.driving import Driven
    from logistics.rounds.records import Tour

EMPTY_T = 1e-9
CALLS = [
    "yard",
    "home",
    "day",
    "truck",
    "type",
    "whose",
    "trip",
    "call",
    "kind",
    "place",
    "material",
    "tonnes",
    "m3",
    "begins_h",
    "leaves_h",
    "arrives_h",
    "starts_h",
    "ends_h",
    "drive_h",
    "break_h",
    "km",
    "load_t",
    "load_m3",
    "money",
]
TOURS = [
    "yard",
    "day",
    "truck",
    "type",
    "whose",
    "trips",
    "calls",
    "tonnes",
    "starts_h",
    "ends_h",
    "hours",
    "driving_h",
    "km",
    "empty_km",
    "money",
]


def calls(driven: Driven) -> pd.DataFrame:
    """
    List every call, in the order in which it is driven.

    Returns
    -------
    DataFrame
        yard, home (yard at which the truck starts and ends), day, truck (name), type,
        whose ("owned", "hired"), trip and call (from 1), kind ("in", "out", "yard", or
        "way": arrived empty from or at its home), place, material, tonnes, m3 handled
        there [t], [m3]; begins_h (loading for it at the place before), leaves_h,
        arrives_h, starts_h, ends_h [h after midnight]; drive_h, break_h [h],
        km, load_t, load_m3 on board on the way there, money of the leg.
    """
    rows = []
    for day, answer in zip(driven.days, driven.answers, strict=True):
        for name, tour in named_tours(day, answer):
            code, whose = day.kinds[tour.truck]
            head = [day.yard, _home(day, tour), day.day, name, code, whose]
            for n, call in enumerate(timetable(day.task, tour), start=1):
                rows.append(
                    [*head, call.trip + 1, n, *_what(day, tour, call), *_when(call)]
                )
    return pd.DataFrame(rows, columns=CALLS)


def _home(day: Day, tour: Tour) -> str:
    """Yard at which the truck of a tour starts and ends."""
    way = day.task.trucks[tour.truck].way
    return way.home.code if way else day.yard


def _what(day: Day, tour: Tour, call: Call) -> list[Any]:
    """Kind, place, material, tonnes and m3 of a call; at the yard what comes in."""
    if call.way:
        home = _home(day, tour)
        return ["way", day.yard if call.way == "out" else home, "", 0.0, 0.0]
    if call.stop is None:
        return ["yard", day.yard, "", call.load_t, call.load_m3]
    visit = day.visits[call.stop]
    return [visit.kind, visit.place, visit.material, visit.tonnes, visit.m3]


def _when(call: Call) -> list[float]:
    """List times, driving, load and money of a call."""
    before = call.handled_h - (call.ends_h - call.starts_h)
    return [
        call.leaves_h - before,
        call.leaves_h,
        call.arrives_h,
        call.starts_h,
        call.ends_h,
        call.drive_h,
        call.break_h,
        call.km,
        call.load_t,
        call.load_m3,
        call.money,
    ]


def tours(driven: Driven) -> pd.DataFrame:
    """
    One row a truck and day.

    Returns
    -------
    DataFrame
        yard, day, truck, type, whose, trips, calls, tonnes handled [t], starts_h,
        ends_h [h after midnight], hours out, driving_h [h], km, empty_km [km], money.
    """
    rows = []
    for day, answer in zip(driven.days, driven.answers, strict=True):
        for name, tour in named_tours(day, answer):
            code, whose = day.kinds[tour.truck]
            times = timetable(day.task, tour)
            hours = hours_out(day.task, tour, times)
            rows.append(
                [
                    day.yard,
                    day.day,
                    name,
                    code,
                    whose,
                    len(tour.trips),
                    len(tour.stops),
                    sum(day.visits[s].tonnes for s in tour.stops),
                    times[-1].ends_h - hours,
                    times[-1].ends_h,
                    hours,
                    sum(c.drive_h for c in times),
                    sum(c.km for c in times),
                    sum(c.km for c in times if c.load_t <= EMPTY_T),
                    tour_cost(day.task, tour),
                ]
            )
    return pd.DataFrame(rows, columns=TOURS)


def by_freight(result: Result, driven: Driven) -> pd.DataFrame:
    """
    Planned against driven, by feedstock and compost.

    A tour's hours and money go to its calls by the hours that a trip there and back
    would take alone; so a shared trip is cheaper for all on it.

    Returns
    -------
    DataFrame
        material, planned_t, driven_t, left_t [t], planned_h, driven_h [h],
        planned_money, driven_money, planned_per_t, driven_per_t [money/t].
    """
    lanes = result.driven[result.driven["period"] == driven.period]
    hire = hire_per_hour(result, driven.period)
    lanes = lanes.assign(
        money=lanes["money"] + lanes["hours"] * lanes["truck"].map(hire)
    )
    planned = lanes.groupby("material")[["tonnes", "hours", "money"]].sum()
    spent = pd.DataFrame(
        _shares(driven), columns=["material", "tonnes", "hours", "money"]
    )
    real = spent.groupby("material")[["tonnes", "hours", "money"]].sum()
    real = real.reindex(planned.index).fillna(0.0)
    left = driven.left.groupby("material")["tonnes"].sum().reindex(planned.index)
    table = pd.DataFrame(
        {
            "planned_t": planned["tonnes"],
            "driven_t": real["tonnes"],
            "left_t": left.astype(float).fillna(0.0),
            "planned_h": planned["hours"],
            "driven_h": real["hours"],
            "planned_money": planned["money"],
            "driven_money": real["money"],
        }
    )
    return with_costs_per_t(table).reset_index()


def with_costs_per_t(table: pd.DataFrame) -> pd.DataFrame:
    """Reckon planned_per_t and driven_per_t, not a number where there are none."""
    costs = {
        f"{side}_per_t": table[f"{side}_money"]
        / table[f"{side}_t"].where(table[f"{side}_t"] > 0)
        for side in ("planned", "driven")
    }
    return table.assign(**costs)


def hire_per_hour(result: Result, period: str) -> dict[str, float]:
    """Planned cost of hire of a truck type, spread over all of its hours. [money/h]"""
    trucks = rows_by(result.scenario.trucks, "truck")
    day = result.scenario.settings.work.hours_per_day
    lanes = result.driven[result.driven["period"] == period]
    used = lanes.groupby("truck")["hours"].sum()
    found = dict.fromkeys(trucks, 0.0)
    hired = result.plan.hired[result.plan.hired["period"] == period]
    for row in records(hired):
        code = str(row["truck"])
        if used.get(code, 0.0) > 0:
            rate = hire_rate(trucks[code], day)
            found[code] += float(rate * row["hours"] / used[code])
    return found


def _shares(driven: Driven) -> list[tuple[str, float, float, float]]:
    """Share each tour's hours and money among its calls."""
    rows = []
    for day, answer in zip(driven.days, driven.answers, strict=True):
        for tour in answer.tours:
            legs = day.task.legs[day.task.trucks[tour.truck].legs]
            hours = hours_out(day.task, tour, timetable(day.task, tour))
            money = tour_cost(day.task, tour)
            whole = legs.before + legs.hours + legs.after
            places = {s: day.task.place(s) for s in tour.stops}
            alone = {s: float(whole[0, p] + whole[p, 0]) for s, p in places.items()}
            total = sum(alone.values())
            for s, part in alone.items():
                visit, share = day.visits[s], part / total
                rows.append(
                    (visit.material, visit.tonnes, hours * share, money * share)
                )
    return rows


def summary(result: Result, driven: Driven) -> dict[str, Any]:
    """Key figures of a driven period, planned beside driven."""
    freight, done = by_freight(result, driven), tours(driven)
    lanes = result.driven[result.driven["period"] == driven.period]
    return {
        "period": driven.period,
        "planned_t": float(freight["planned_t"].sum()),
        "driven_t": float(freight["driven_t"].sum()),
        "left_t": float(driven.left["tonnes"].sum()),
        "planned_hours": float(freight["planned_h"].sum()),
        "driven_hours": float(done["hours"].sum()),
        "planned_money": float(freight["planned_money"].sum()),
        "driven_money": float(done["money"].sum()),
        "planned_km": float(lanes["vehicle_km"].sum()),
        "driven_km": float(done["km"].sum()),
        "empty_km": float(done["empty_km"].sum()),
        "tours": len(done),
        "trips": int(done["trips"].sum()),
        "most_trucks_out": int(done.groupby("day").size().max()) if len(done) else 0,
        "timed_out": driven.timed_out,
        "faults": list(driven.faults),
        "seconds": driven.seconds,
    }


def shares_by_place(
    result: Result, driven: Driven
) -> dict[tuple[str, str], tuple[float, float, float]]:
    """Tonnes, hours and money without hire of every place: kind and code to sums."""
    found: dict[tuple[str, str], tuple[float, float, float]] = {}
    for day, answer in zip(driven.days, driven.answers, strict=True):
        for tour in answer.tours:
            truck = day.task.trucks[tour.truck]
            legs = day.task.legs[truck.legs]
            hours = hours_out(day.task, tour, timetable(day.task, tour))
            money = tour_cost(day.task, tour) - hire_cost(truck, hours)
            whole = legs.before + legs.hours + legs.after
            places = {s: day.task.place(s) for s in tour.stops}
            alone = {s: float(whole[0, p] + whole[p, 0]) for s, p in places.items()}
            total = sum(alone.values())
            for s, part in alone.items():
                visit, share = day.visits[s], part / total
                t, h, m = found.get((visit.kind, visit.place), (0.0, 0.0, 0.0))
                found[visit.kind, visit.place] = (
                    t + visit.tonnes,
                    h + hours * share,
                    m + money * share,
                )
    return found
