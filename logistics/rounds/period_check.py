"""The rounds of a whole period, checked: days, loads, trucks and weeks together."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING

from logistics.rounds.check import faults, part_faults, place_faults, week_faults
from logistics.rounds.days import Day
from logistics.rounds.fleet import homes
from logistics.rounds.leg_times import timetable
from logistics.rounds.records import RoundsSolution, Tour
from logistics.rounds.visit_records import Visit
from logistics.rounds.windrow_calendar import period_day
from logistics.scenario import rows_by

if TYPE_CHECKING:
    from logistics.results import Result


def named_tours(day: Day, answer: RoundsSolution) -> list[tuple[str, Tour]]:
    """
    Name the trucks of a yard and day: yard, type, owned or hired, number.

    A lent truck keeps the name that it has at home.
    """
    counts: dict[tuple[str, str], int] = defaultdict(int)
    named = []
    for tour in sorted(answer.tours, key=lambda t: (t.truck, t.trips)):
        code, whose = day.kinds[tour.truck]
        way = day.task.trucks[tour.truck].way
        if way:
            named.append((f"{way.home.code} {code} {whose} {way.number}", tour))
            continue
        counts[code, whose] += 1
        named.append((f"{day.yard} {code} {whose} {counts[code, whose]}", tour))
    return named


def period_faults(
    result: Result,
    period: str,
    planned: Sequence[Visit],
    days: Sequence[Day],
    answers: Sequence[RoundsSolution],
) -> list[str]:
    """Check every day, every load, and the driving of every truck week by week."""
    found: list[str] = []
    week: dict[int, dict[tuple[str, int], float]] = defaultdict(dict)
    wanted = result.scenario.settings.rounds
    periods = result.scenario.periods
    length = max(1, round(float((7 * periods["working_days"] / periods["days"]).max())))
    for day, answer in zip(days, answers, strict=True):
        where = f"{day.yard}, day {day.day}"
        found += [f"{where}: {fault}" for fault in faults(day.task, answer)]
        for name, tour in named_tours(day, answer):
            hours = sum(c.drive_h for c in timetable(day.task, tour))
            week[(day.day - 1) // length][name, day.day] = hours
    found += fleet_faults(result, days, answers)
    found += _part_faults(result, period, planned, days, answers)
    for number, driving in week.items():
        over = week_faults(driving, wanted.driving_day_h, wanted.driving_week_h)
        found += [f"week {number + 1}: {fault}" for fault in over]
    return found


def fleet_faults(
    result: Result, days: Sequence[Day], answers: Sequence[RoundsSolution]
) -> list[str]:
    """
    No truck is in two places on a day, nor an own one where none stands at night.

    No day may use more trucks than are owned, or may be hired, in all yards.
    """
    out: Counter[tuple[int, str, str]] = Counter()
    names: list[tuple[str, int]] = []
    own: dict[str, int] = {}
    stand: dict[str, int] = {}
    based = homes(result)
    for day, answer in zip(days, answers, strict=True):
        out.update((day.day, *day.kinds[tour.truck]) for tour in answer.tours)
        for name, tour in named_tours(day, answer):
            names.append((name, day.day))
            code, whose = day.kinds[tour.truck]
            if whose == "owned":
                way = day.task.trucks[tour.truck].way
                own[name] = int(name.rsplit(" ", 1)[1])
                stand[name] = based[code].get(way.home.code if way else day.yard, 0)
    trucks = rows_by(result.scenario.trucks, "truck")
    found = place_faults(names, own, stand)
    for (day_number, code, whose), count in out.items():
        limit = trucks[code]["owned" if whose == "owned" else "hire_limit"]
        if limit is not None and count > limit:
            found.append(f"day {day_number}: {count} {code} {whose}, limit {limit:g}")
    return found


def _part_faults(
    result: Result,
    period: str,
    planned: Sequence[Visit],
    days: Sequence[Day],
    answers: Sequence[RoundsSolution],
) -> list[str]:
    """Hold all loads, driven and left over, against the visits planned."""
    driven: list[Visit] = []
    left: list[Visit] = []
    for day, answer in zip(days, answers, strict=True):
        gone = set(answer.left)
        for s, visit in enumerate(day.visits):
            (left if s in gone else driven).append(visit)
    return part_faults(
        planned, driven, left, lambda day: period_day(result.scenario, period, day)
    )
