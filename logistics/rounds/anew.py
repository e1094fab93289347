"""
A driven month planned anew from one day on, after something went wrong.

Days before stay as they were driven. Rounds of the days of the trouble are searched
afresh; what no truck takes then goes to a later day of the month that has time for it,
whose rounds stay as they are otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from time import perf_counter
from typing import TYPE_CHECKING

import pandas as pd

from logistics.rounds.days import Day, with_visits, without
from logistics.rounds.driving import Driven, searched
from logistics.rounds.left_over import left_over
from logistics.rounds.lending import lend
from logistics.rounds.period_check import fleet_faults, period_faults
from logistics.rounds.placing import Placing, place_left
from logistics.rounds.records import RoundsSolution, SearchLimits
from logistics.rounds.trouble import (
    Trouble,
    Turned,
    met,
    turned_away,
    with_fewer_trucks,
)
from logistics.rounds.visit_records import Visit

if TYPE_CHECKING:
    from logistics.results import Result

SECONDS = 30.0
"""For all searches of a new plan of a day: a dispatcher waits for it. [s]"""
FULL = "the yard takes nothing in, and no other yard may have it"
LATE = "the yard takes nothing in until then, and no later day has time for it"
Rounds = tuple[list[Day], list[RoundsSolution]]


@dataclass(frozen=True, eq=False)
class Anew:
    """
    A month planned anew.

    Attributes
    ----------
    before, after
        The rounds as they were, and as they are now.
    trouble
        What went wrong.
    turned
        Loads that go to another yard, or to none.
    missing_t
        What sources do not have of what was planned. [t]
    seconds
        Taken, wall time. [s]
    """

    before: Driven
    after: Driven
    trouble: Trouble
    turned: tuple[Turned, ...]
    missing_t: float
    seconds: float


def plan_anew(
    result: Result,
    driven: Driven,
    trouble: Trouble,
    *,
    today: Result | None = None,
    seconds: float = SECONDS,
    workers: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Anew:
    """
    Plan the rest of a driven month anew.

    Parameters
    ----------
    result, driven
        The plan, and the rounds of one of its periods.
    trouble
        What goes wrong, and on which days.
    today
        The plan with the roads of those days (`travel`); by default those of the plan.
    seconds
        For all searches. [s]
    workers, progress
        As of `drive`.

    Raises
    ------
    ValueError
        If there is no such day or truck.
    """
    started = perf_counter()
    period = driven.period
    _check_days(driven, trouble)
    short = with_fewer_trucks(today or result, trouble)
    earlier, now, later = split(driven, trouble)
    made = [v for day in now[0] for v in day.visits]
    cut = met(made, trouble)
    going, turned = turned_away(short, period, cut, trouble)
    planned: list[Visit] = []
    earlier = numbered(earlier[0], planned), earlier[1]
    later = numbered(later[0], planned), later[1]
    first = len(planned)
    planned += [
        replace(_from_today(visit, trouble), number=n)
        for n, visit in enumerate(going, first)
    ]
    waiting = [v for v in planned[first:] if v.first_day > trouble.last]
    going = [v for v in planned[first:] if v.first_day <= trouble.last]
    steps = result.scenario.settings.rounds.iterations
    effort = SearchLimits(steps, seconds, 1)
    now = searched(short, period, going, effort, workers=workers, progress=progress)
    now = place_left(short, period, *now)
    now = lend(short, period, *now)
    now, later, nowhere = _to_later(result, short, period, now, later, waiting)
    for visit in nowhere:
        before = planned[visit.number]
        planned[visit.number] = replace(before, tonnes=before.tonnes - visit.tonnes)
    days = [*earlier[0], *now[0], *later[0]]
    answers = [*earlier[1], *now[1], *later[1]]
    faults = period_faults(result, period, planned, days, answers)
    faults += fleet_faults(short, *now)
    kept = left_over(result, period, earlier[0] + later[0], earlier[1] + later[1])
    new = left_over(short, period, *now)
    away = [_row(one.visit, FULL) for one in turned if not one.yard]
    away += [_row(visit, LATE) for visit in nowhere]
    tables = [kept, new[new["day"] > 0], pd.DataFrame(away, columns=kept.columns)]
    filled = [table for table in tables if len(table)]
    after = replace(
        driven,
        days=tuple(days),
        answers=tuple(answers),
        left=pd.concat(filled, ignore_index=True) if filled else kept,
        faults=tuple(faults),
        timed_out=any(answer.timed_out for answer in now[1]),
        seconds=perf_counter() - started,
    )
    missing = sum(v.tonnes for v in made) - sum(v.tonnes for v in cut)
    return Anew(driven, after, trouble, tuple(turned), missing, after.seconds)


def _row(visit: Visit, why: str) -> tuple[object, ...]:
    """Write a row of what is not driven, see `left_over`."""
    what = (visit.kind, visit.place, visit.material, visit.tonnes)
    return (visit.yard, visit.day, *what, why)


def _check_days(driven: Driven, trouble: Trouble) -> None:
    last = max((day.day for day in driven.days), default=0)
    if not 1 <= trouble.first <= trouble.last <= last:
        message = f"days {trouble.first} to {trouble.last} are not in 1 to {last}"
        raise ValueError(message)


def split(driven: Driven, trouble: Trouble) -> tuple[Rounds, Rounds, Rounds]:
    """Part the days into those before, those of the trouble and those after."""
    parts: tuple[Rounds, Rounds, Rounds] = ([], []), ([], []), ([], [])
    for day, answer in zip(driven.days, driven.answers, strict=True):
        at = (day.day >= trouble.first) + (day.day > trouble.last)
        parts[at][0].append(day)
        parts[at][1].append(answer)
    return parts


def _from_today(visit: Visit, trouble: Trouble) -> Visit:
    """Let no visit move to a day that has gone."""
    days = visit.days
    first = max(days.start, trouble.first)
    return replace(visit, first_day=first, last_day=max(first, days.stop - 1))


def numbered(days: Sequence[Day], planned: list[Visit]) -> list[Day]:
    """
    Give the loads of days new numbers, and add each as a planned visit of its own.

    Loads that were cut or moved have no common planned visit any more.
    """
    made = []
    for day in days:
        visits = tuple(
            replace(visit, number=n) for n, visit in enumerate(day.visits, len(planned))
        )
        planned += visits
        made.append(replace(day, visits=visits))
    return made


def _to_later(
    result: Result,
    short: Result,
    period: str,
    now: Rounds,
    later: Rounds,
    waiting: Sequence[Visit],
) -> tuple[Rounds, Rounds, list[Visit]]:
    """
    Put what is left, and what waits for its yard, on the days after the trouble.

    Returns what waits and finds no room last.
    """
    days, answers = list(now[0]), list(now[1])
    placing = Placing(result, period, list(later[0]), list(later[1]))
    rest: list[tuple[Visit, int | None]] = [(visit, None) for visit in waiting]
    for n, (day, answer) in enumerate(zip(days, answers, strict=True)):
        if answer.left:
            rest += [(day.visits[s], n) for s in answer.left]
            days[n], answers[n] = without(short, period, day, answer, {*answer.left})
    nowhere: list[Visit] = []
    for visit, at in sorted(rest, key=lambda one: (not one[0].spoils, -one[0].tonnes)):
        over = None if placing.whole(visit) else placing.in_parts(visit)
        if over is None:
            continue
        if at is None:
            nowhere.append(over)
            continue
        days[at] = with_visits(short, period, days[at], [over])
        left = (*answers[at].left, len(days[at].visits) - 1)
        answers[at] = replace(answers[at], left=left)
    return (days, answers), (placing.days, placing.answers), nowhere
