"""What is planned and not driven, each with a reason that a foreman understands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf, isfinite, isnan
from typing import TYPE_CHECKING, Any

import pandas as pd

from logistics.costs import may_carry, truck_load_t
from logistics.rounds.check import RULES, TimedTour
from logistics.rounds.days import Day, with_truck, with_visits
from logistics.rounds.leg_times import hours_out, timetable
from logistics.rounds.records import RoundsSolution, Tour
from logistics.rounds.rows_known import rows_of
from logistics.rounds.visit_list import densities, noise

if TYPE_CHECKING:
    from logistics.results import Result

COLUMNS = ["yard", "day", "kind", "place", "material", "tonnes", "reason"]
PLAIN = {
    "shift": "the trip there and back takes longer than a shift",
    "leaving once the truck may and its yard is open": (
        "the truck would have to leave before the yard opens"
    ),
    "the yard served before it closes": "the yard is closed before the truck is back",
    "home before the truck must and its yard closes": (
        "the yard is closed before the truck is back"
    ),
    "driving in a day": "the trip there and back exceeds a day's driving limit",
    "opening hours of stops": "the place is closed whenever a truck could get there",
    "age of what spoils on arrival": "it would spoil before it reached the yard",
}
"""Why a truck cannot make a trip even alone, by the rule that it would break."""


def left_over(
    result: Result, period: str, days: Sequence[Day], answers: Sequence[RoundsSolution]
) -> pd.DataFrame:
    """
    List what is planned and not driven.

    Returns
    -------
    DataFrame
        yard, day (0 where there is none), kind, place, material, tonnes [t], reason.
    """
    rows: list[tuple[object, ...]] = []
    for day, answer in zip(days, answers, strict=True):
        for s in answer.left:
            visit = day.visits[s]
            why = reason(result, period, day, answer, s)
            rows.append(
                (
                    day.yard,
                    day.day,
                    visit.kind,
                    visit.place,
                    visit.material,
                    visit.tonnes,
                    why,
                )
            )
    for row in noise(result, period).to_dict("records"):
        ends = row["destination"], row["origin"]
        yard, place = ends if row["kind"] == "in" else ends[::-1]
        small = row["tonnes"], "less than 5 kg in the period"
        rows.append((yard, 0, row["kind"], place, row["material"], *small))
    return pd.DataFrame(rows, columns=COLUMNS)


def reason(
    result: Result, period: str, day: Day, answer: RoundsSolution, stop: int
) -> str:
    """
    Say why a visit is not driven.

    It is tried alone with a truck of every type; then with what the trucks that are
    there have left of their day.
    """
    visit = day.visits[stop]
    trucks = rows_of(result.scenario, "trucks")
    carriers = [c for c, row in trucks.items() if may_carry(row, visit.material)]
    if not carriers:
        return "no truck type may carry it"
    carriers = [code for code in carriers if _at_hand(trucks[code]) > 0]
    if not carriers:
        return "no truck that may carry it is available, owned or hired"
    alone = {code: _alone(result, period, day, stop, code) for code in carriers}
    if all(alone.values()):
        return next(iter(dict.fromkeys(map(str, alone.values()))))
    able = {code for code, fault in alone.items() if fault is None}
    there = {
        code: max(hours, default=0.0)
        for code in able
        for hours in [_hours_free(day, answer, code)]
        if hours
    }
    moves = len(visit.days) > 1
    when = "on every day before it spoils" if moves else "that day"
    if not there:
        return f"every truck that may carry it was out elsewhere or too far away {when}"
    free = {code: hours for code, hours in there.items() if hours > 0.25}
    dense = densities(result.scenario)[visit.material]
    largest = max(
        (
            float(truck_load_t(trucks[c]["payload_t"], trucks[c]["body_m3"], dense))
            for c in free
        ),
        default=0.0,
    )
    if 0 < largest < visit.tonnes - 1e-6:
        return (
            f"the load is {visit.tonnes:.2g} t; the largest truck free takes "
            f"{largest:.2g} t and had no time for enough trips"
        )
    return f"every truck that may carry it was busy {when}"


def _at_hand(truck: dict[str, Any]) -> float:
    """Trucks of a type, own and for hire."""
    limit = truck["hire_limit"]
    return float(truck["owned"]) + (inf if limit is None or isnan(limit) else limit)


def _hours_free(day: Day, answer: RoundsSolution, code: str) -> list[float]:
    """Hours that each truck of a type at a yard has left on a day. [h]"""
    found = []
    out = [0] * len(day.kinds)
    for tour in answer.tours:
        if day.kinds[tour.truck][0] == code:
            used = hours_out(day.task, tour, timetable(day.task, tour))
            found.append(day.task.trucks[tour.truck].shift_h - used)
            out[tour.truck] += 1
    for v, kind in enumerate(day.kinds):
        if kind[0] == code:
            truck = day.task.trucks[v]
            found += [truck.shift_h] * (truck.count - out[v])
    return found


def _alone(result: Result, period: str, day: Day, stop: int, code: str) -> str | None:
    """Say why a truck that stands at the yard could not make a visit alone, if so."""
    visit = day.visits[stop]
    truck = rows_of(result.scenario, "trucks")[code]
    dense = densities(result.scenario)[visit.material]
    load = float(truck_load_t(truck["payload_t"], truck["body_m3"], dense))
    kind = code, "owned"
    task = replace(day.task, stops=(), trucks=(), legs=())
    bare = replace(day, visits=(), task=task, kinds=())
    one = with_truck(result, bare, kind, 1, None)
    one = with_visits(result, period, one, [visit.part(min(load, visit.tonnes))])
    tour = Tour(0, ((0,),))
    calls = timetable(one.task, tour)
    if not all(isfinite(c.drive_h) for c in calls):
        return "no road is open to a truck that may carry it"
    driven = TimedTour(one.task, tour, calls)
    for name, rule in RULES.items():
        for fault in rule(driven):
            return PLAIN.get(name, fault)
    return None
