"""
Visits of one yard and day, and the trucks that are there, as a task.

A trip carries one feedstock, so that loads stay apart; compost may be taken out and
another feedstock brought back on the same trip ("paired trip") unless it spoils. What
may not share a trip has no leg between. After a trip with what spoils a truck is washed
out; on one day it carries compost before such trips, never after.

Which trucks are at a yard on a day is for `trucks`; loads are cut for those.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import TYPE_CHECKING, Any

import numpy as np

from logistics.costs import may_carry, truck_load_t
from logistics.rounds.fleet import homes
from logistics.rounds.records import (
    Base,
    Legs,
    Limits,
    RoundsSolution,
    Stop,
    Task,
    Truck,
    Way,
)
from logistics.rounds.rows_known import rows_of
from logistics.rounds.trucks import Share, open_hours, sent, share_fleet
from logistics.rounds.visit_list import densities, parts_of
from logistics.rounds.visit_records import Visit

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario

Row = dict[str, Any]


@dataclass(frozen=True, eq=False)
class Day:
    """
    The task of a yard and day with what its positions stand for.

    Attributes
    ----------
    yard, day
        Code of the yard, working day of the period.
    visits
        In the order of the task's stops.
    task
        See `rounds.Task`.
    kinds
        Truck type, and "owned" or "hired", in the order of the task's trucks.
    pair
        Whether compost out and feedstock back may share a trip.
    """

    yard: str
    day: int
    visits: tuple[Visit, ...]
    task: Task
    kinds: tuple[tuple[str, str], ...]
    pair: bool = True


def day_tasks(
    result: Result,
    period: str,
    made: list[Visit],
    *,
    pair: bool = True,
    more: Sequence[tuple[str, int]] = (),
) -> list[Day]:
    """
    Make the tasks of a period, one a yard and day, in order.

    `more` names yards and days that ask for one more truck of every type, in the
    order in which they asked, where those that the planned hours call for did not do.
    """
    grouped: dict[int, dict[str, list[Visit]]] = defaultdict(lambda: defaultdict(list))
    for visit in made:
        grouped[visit.day][visit.yard].append(visit)
    found = []
    stand = homes(result)
    for day, yards in sorted(grouped.items()):
        asked = [y for y, d in more if d == day]
        fleet = share_fleet(result, period, yards, stand, asked)
        for yard, here in sorted(yards.items()):
            found.append(
                _day(result, period, yard, day, tuple(here), fleet[yard], pair)
            )
    return found


def _day(
    result: Result,
    period: str,
    yard: str,
    day: int,
    found: tuple[Visit, ...],
    fleet: dict[str, Share],
    pair: bool,
) -> Day:
    """Make the task of a yard and day."""
    scenario = result.scenario
    here = rows_of(scenario, "yards")[yard]
    base = Base(yard, *open_hours(here))
    rows = [
        (code, *row)
        for code in rows_of(scenario, "trucks")
        for row in sent(fleet[code])
        if row[1]
    ]
    visits = cut(result, found, [row[0] for row in rows])
    task = Task((base,), (), (), (), limits_of(scenario, period))
    empty = Day(yard, day, (), task, (), pair)
    for code, whose, count, way in rows:
        empty = with_truck(result, empty, (code, whose), count, way)
    return with_visits(result, period, empty, visits)


def cut(result: Result, found: Sequence[Visit], codes: Collection[str]) -> list[Visit]:
    """Cut visits into loads of the largest truck that is there and may carry them."""
    dense = densities(result.scenario)
    trucks = rows_of(result.scenario, "trucks")
    parts = []
    for visit in found:
        loads = [
            float(
                truck_load_t(
                    trucks[code]["payload_t"],
                    trucks[code]["body_m3"],
                    dense[visit.material],
                )
            )
            for code in codes
            if may_carry(trucks[code], visit.material)
        ]
        most = max(loads, default=visit.tonnes)
        parts += [visit.part(t) for t in parts_of(visit.tonnes, most)]
    return parts


def with_truck(
    result: Result, day: Day, kind: tuple[str, str], count: int, way: Way | None
) -> Day:
    """Add trucks of a kind; their legs come with the next visits (`with_visits`)."""
    code, whose = kind
    wanted, work = result.scenario.settings.rounds, result.scenario.settings.work
    row = rows_of(result.scenario, "trucks")[code]
    hire = float(row["hire_cost_per_hour"]) if whose == "hired" else 0.0
    truck = Truck(
        f"{code}, {whose}",
        0,
        len(day.kinds),
        count,
        float(row["payload_t"]),
        float(row["body_m3"]),
        starts_h=wanted.starts_h,
        shift_h=work.hours_per_day,
        money_per_h=float(row["crew_cost_per_hour"]) + hire,
        money_per_day=float(row["hire_call_cost"]) if whose == "hired" else 0.0,
        hire_per_h=hire,
        hire_least_h=float(row["hire_least_hours"]) if hire else 0.0,
        most_trips=12,
        way=way,
    )
    task = replace(day.task, trucks=(*day.task.trucks, truck))
    return replace(day, task=task, kinds=(*day.kinds, kind))


def with_visits(result: Result, period: str, day: Day, more: Sequence[Visit]) -> Day:
    """Add visits behind those of a day, and draw the legs of all its trucks anew."""
    scenario = result.scenario
    rows = rows_of(scenario, "trucks")
    visits = (*day.visits, *more)
    drawn: dict[str, int] = {}
    legs: list[Legs] = []
    trucks = []
    for truck, (code, _) in zip(day.task.trucks, day.kinds, strict=True):
        if code not in drawn:
            drawn[code] = len(legs)
            legs.append(
                legs_between(result, period, [day.yard], visits, rows[code], day.pair)
            )
        trucks.append(replace(truck, legs=drawn[code]))
    task = replace(
        day.task,
        stops=(*day.task.stops, *stops_of(scenario, more, len(day.visits))),
        trucks=tuple(trucks),
        legs=tuple(legs),
    )
    return replace(day, visits=visits, task=task)


def without(
    result: Result, period: str, day: Day, answer: RoundsSolution, gone: Collection[int]
) -> tuple[Day, RoundsSolution]:
    """Take visits that nobody makes out of a day; the rounds stay as they are."""
    kept = [s for s in range(len(day.visits)) if s not in gone]
    new = {s: n for n, s in enumerate(kept)}
    visits = [day.visits[s] for s in kept]
    tours = tuple(
        replace(tour, trips=tuple(tuple(new[s] for s in trip) for trip in tour.trips))
        for tour in answer.tours
    )
    left = tuple(new[s] for s in answer.left if s not in gone)
    bare = replace(day, visits=(), task=replace(day.task, stops=(), legs=()))
    return with_visits(result, period, bare, visits), replace(
        answer, tours=tours, left=left
    )


def limits_of(scenario: Scenario, period: str) -> Limits:
    """Driving limits of a day, the week's shared among its working days."""
    wanted = scenario.settings.rounds
    days = rows_of(scenario, "periods")[period]
    week = max(1, ceil(7 * days["working_days"] / days["days"] - 1e-9))
    return Limits(
        min(wanted.driving_day_h, wanted.driving_week_h / week),
        wanted.unbroken_h,
        wanted.break_minutes / 60,
    )


def stops_of(
    scenario: Scenario, found: Sequence[Visit], first: int = 0
) -> tuple[Stop, ...]:
    """Turn visits into stops that may be left out, in order; numbered from `first`."""
    tables = {
        "in": rows_of(scenario, "sources"),
        "out": rows_of(scenario, "markets"),
    }
    return tuple(
        _stop(n, v, tables[v.kind][v.place]) for n, v in enumerate(found, first)
    )


def _stop(n: int, visit: Visit, place: Row) -> Stop:
    """Turn a visit into a stop that may be left out."""
    opens, closes = open_hours(place)
    stop = Stop(
        f"{n} {visit.place}",
        opens_h=opens,
        closes_h=closes,
        ride_h=visit.ride_h,
        required=False,
    )
    if visit.kind == "in":
        return replace(stop, take_t=visit.tonnes, take_m3=visit.m3)
    return replace(stop, bring_t=visit.tonnes, bring_m3=visit.m3)


def legs_between(
    result: Result,
    period: str,
    yards: Sequence[str],
    found: Sequence[Visit],
    truck: Row,
    pair: bool,
) -> Legs:
    """Km, hours, money and handling of one truck type between yards and visits."""
    scenario, ways = result.scenario, result.travel
    state = ways.pick(truck["truck"], period)
    kind = {"in": "source", "out": "market"}
    first = len(yards)
    rows = np.array(
        [
            *ways.index("yard", yards),
            *(ways.index(kind[v.kind], [v.place])[0] for v in found),
        ]
    )
    grid = np.ix_(rows, rows)
    may = np.array([may_carry(truck, v.material) for v in found], dtype=bool)
    material = np.array([v.material for v in found], dtype=object)
    inward = np.array([v.kind == "in" for v in found], dtype=bool)
    spoils = np.array([v.spoils for v in found], dtype=bool)
    allowed = np.ones((len(rows), len(rows)), dtype=bool)
    alike = inward[:, None] & inward[None, :] & (material[:, None] == material[None, :])
    out_out = ~inward[:, None] & ~inward[None, :]
    out_in = ~inward[:, None] & inward[None, :] & ~spoils[None, :] & pair
    allowed[first:, first:] = (alike | out_out | out_in) & may[:, None] & may[None, :]
    allowed[:first, first:], allowed[first:, :first] = may, may[:, None]
    hours = np.where(allowed, state.hours[grid], np.inf)
    reachable = np.isfinite(hours)
    km = np.where(reachable, state.km[grid], 0.0)
    fare = np.where(reachable, state.fare[grid], 0.0)
    loaded = np.zeros_like(allowed)
    loaded[:first, first:], loaded[first:, :first] = ~inward, inward[:, None]
    loaded[first:, first:] = alike | out_out
    full, empty = truck["fuel_l_per_km_loaded"], truck["fuel_l_per_km_empty"]
    per_km = np.asarray(np.where(loaded, full, empty), dtype=float)
    per_km = per_km * scenario.settings.finance.fuel_price_per_l
    money = km * (per_km + truck["repair_cost_per_km"]) + fare
    before, after = _handling(scenario, found, truck, first)
    return Legs(km, hours, money, before, after)


def _handling(
    scenario: Scenario, found: Sequence[Visit], truck: Row, first: int
) -> tuple[Any, Any]:
    """
    Hours before and after each leg; the visits stand behind the `first` yards.

    A stop takes its papers, and of the rest of loading or unloading the share that
    its load is of a full one: a full load takes the minutes of the table.
    """
    load, unload = truck["load_minutes"], truck["unload_minutes"]
    count = first + len(found)
    before, after = np.zeros((count, count)), np.zeros((count, count))
    for n, visit in enumerate(found, start=first):
        share = max(visit.tonnes / truck["payload_t"], visit.m3 / truck["body_m3"])
        minutes = load if visit.kind == "in" else unload
        papers = min(scenario.settings.rounds.stop_minutes, minutes)
        after[:, n] = (papers + (minutes - papers) * min(1.0, share)) / 60
        if visit.kind == "in":
            wash = truck["wash_minutes"] if visit.spoils else 0.0
            after[n, :first] = (unload + wash) / 60
        else:
            before[:first, n] = load / 60
    return before, after
