"""
Own trucks that stand idle take over hired rounds, where that is cheaper.

The rounds stay as they are. For those of another yard the truck drives over empty and
home again, which counts as driving, as time out and as money. The greatest saving comes
first; nothing is ever made dearer.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from logistics.rounds.check import tour_faults
from logistics.rounds.days import Day
from logistics.rounds.fleet import homes
from logistics.rounds.leg_times import cost
from logistics.rounds.records import RoundsSolution, Tour
from logistics.rounds.rows_known import rows_of
from logistics.rounds.trucks import way_over

if TYPE_CHECKING:
    from logistics.results import Result

LEAST = 0.01
"""Savings under this are none. [money]"""
Idle = tuple[str, str, int]
"""Type, home and number of an own truck that stands idle on a day."""


def lend(
    result: Result, period: str, days: Sequence[Day], answers: Sequence[RoundsSolution]
) -> tuple[list[Day], list[RoundsSolution]]:
    """Let idle own trucks take over hired rounds; all other rounds stay as they are."""
    days, answers = list(days), list(answers)
    stand = homes(result)
    by_day: dict[int, list[int]] = defaultdict(list)
    for n, day in enumerate(days):
        by_day[day.day].append(n)
    for rows in by_day.values():
        for abroad in (False, True):  # at home first: then numbers there stay clear
            idle = set(_idle(stand, [(days[n], answers[n]) for n in rows]))
            offers = [
                (saved, n, at, truck, offer)
                for n in rows
                for saved, at, truck, offer in _offers(
                    result, period, days[n], answers[n], idle
                )
                if abroad == (truck[1] != days[n].yard)
            ]
            taken: set[tuple[int, int]] = set()
            for _, n, at, truck, offer in sorted(offers, key=_greatest):
                if truck in idle and (n, at) not in taken:
                    idle.discard(truck)
                    taken.add((n, at))
                    days[n], answers[n] = _swapped(days[n], answers[n], at, offer)
    return days, answers


def _greatest(offer: tuple[float, int, int, Idle, Day]) -> tuple[object, ...]:
    """Order offers by what they save, the rest for a fixed order of equals."""
    return -offer[0], *offer[1:4]


def _idle(
    stand: Mapping[str, Mapping[str, int]], found: Sequence[tuple[Day, RoundsSolution]]
) -> Iterator[Idle]:
    """Own trucks that are neither out from their home nor lent on a day."""
    home: Counter[tuple[str, str]] = Counter()
    lent: set[Idle] = set()
    for day, answer in found:
        for tour in answer.tours:
            if (
                day.kinds[tour.truck][1] == "owned"
                and not day.task.trucks[tour.truck].way
            ):
                home[day.kinds[tour.truck][0], day.yard] += 1
        for truck, (code, _) in zip(day.task.trucks, day.kinds, strict=True):
            if truck.way:
                lent.add((code, truck.way.home.code, truck.way.number))
    for code, at in stand.items():
        for yard, count in at.items():
            for number in range(home[code, yard] + 1, count + 1):
                if (code, yard, number) not in lent:
                    yield code, yard, number


def _offers(
    result: Result, period: str, day: Day, answer: RoundsSolution, idle: set[Idle]
) -> Iterator[tuple[float, int, Idle, Day]]:
    """Say what each idle truck would save on each hired round of a yard and day."""
    trucks = rows_of(result.scenario, "trucks")
    for at, tour in enumerate(answer.tours):
        code, whose = day.kinds[tour.truck]
        if whose != "hired":
            continue
        truck, task = day.task.trucks[tour.truck], day.task
        paid = cost(task, RoundsSolution((tour,), ()))
        for one in sorted(idle):
            if one[0] != code:
                continue
            way = None
            if one[1] != day.yard:
                way = way_over(result, period, code, one[1], day.yard, one[2])
                if way is None:
                    continue
            hourly = float(trucks[code]["crew_cost_per_hour"])
            own = replace(truck, code=f"{code}, owned", count=1, way=way)
            own = replace(
                own,
                money_per_h=hourly,
                money_per_day=0.0,
                hire_per_h=0.0,
                hire_least_h=0.0,
            )
            new = replace(task, trucks=(*task.trucks, own))
            swapped = Tour(len(task.trucks), tour.trips)
            saved = paid - cost(new, RoundsSolution((swapped,), ()))
            if saved > LEAST and not tour_faults(new, swapped):
                kinds = (*day.kinds, (code, "owned"))
                yield saved, at, one, replace(day, task=new, kinds=kinds)


def _swapped(
    day: Day, answer: RoundsSolution, at: int, offer: Day
) -> tuple[Day, RoundsSolution]:
    """Put the own truck of an offer behind the day's trucks and give it the round."""
    own, kind = offer.task.trucks[-1], offer.kinds[-1]
    number = len(day.task.trucks)
    task = replace(day.task, trucks=(*day.task.trucks, own))
    tours = list(answer.tours)
    tours[at] = Tour(number, tours[at].trips)
    day = replace(day, task=task, kinds=(*day.kinds, kind))
    return day, replace(answer, tours=tuple(tours))
