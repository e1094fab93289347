"""Trucks that nobody has sent out on a day, and that a yard could still have."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from math import isnan
from typing import TYPE_CHECKING

from logistics.rounds.days import Day, with_truck
from logistics.rounds.records import RoundsSolution, Way
from logistics.rounds.rows_known import rows_of
from logistics.rounds.trucks import way_over

if TYPE_CHECKING:
    from logistics.results import Result

Idle = tuple[tuple[str, str], Way | None]
"""Kind of a truck (see `Day.kinds`), and its way if it comes from another yard."""


def idle_trucks(
    result: Result,
    period: str,
    rows: Sequence[tuple[Day, RoundsSolution]],
    day: Day,
    stand: Mapping[str, Mapping[str, int]],
) -> list[Idle]:
    """
    List one idle truck of every type and home.

    `rows` are the days of all yards on the working day of `day`, with their rounds;
    `stand` says how many own trucks stand where at night (`fleet.homes`).
    """
    out: Counter[tuple[str, str]] = Counter()
    hired: Counter[str] = Counter()
    lent: set[tuple[str, str, int]] = set()
    for other, answer in rows:
        for tour in answer.tours:
            code, whose = other.kinds[tour.truck]
            way = other.task.trucks[tour.truck].way
            if whose == "hired":
                hired[code] += 1
            elif way:
                lent.add((code, way.home.code, way.number))
            else:
                out[code, other.yard] += 1
    found: list[tuple[str, str, Way | None]] = []
    for code, row in rows_of(result.scenario, "trucks").items():
        for home, count in stand[code].items():
            free = [
                number
                for number in range(out[code, home] + 1, count + 1)
                if (code, home, number) not in lent
            ]
            if home == day.yard and free and free[0] == out[code, home] + 1:
                found.append((code, "owned", None))
            elif home != day.yard and free:
                over = way_over(result, period, code, home, day.yard, free[-1])
                found += [(code, "owned", over)] if over else []
        limit = row["hire_limit"]
        if limit is None or isnan(limit) or hired[code] < limit:
            found.append((code, "hired", None))
    return [((code, whose), way) for code, whose, way in found]


def with_idle(result: Result, day: Day, idle: Sequence[Idle]) -> Day:
    """Add idle trucks behind those of a day, one of each."""
    for kind, way in idle:
        day = with_truck(result, day, kind, 1, way)
    return day
