"""
A period of a plan, driven: visits, tasks, search by yard on processes, and the check.

The same seed and iterations give the same rounds on any number of processes, unless
the time limit ends a search; the answer says so then.
"""

from __future__ import annotations

import os
from collections import Counter, defaultdict
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor, as_completed
from contextlib import ExitStack
from dataclasses import dataclass, replace
from math import isfinite
from multiprocessing import get_context
from signal import SIG_IGN, SIGINT, signal
from time import perf_counter
from typing import TYPE_CHECKING

import pandas as pd

from logistics.costs import may_carry
from logistics.rounds.check import faults, place_faults, tour_faults, week_faults
from logistics.rounds.days import Day, day_tasks
from logistics.rounds.fleet import homes
from logistics.rounds.leg_times import timetable
from logistics.rounds.lending import lend
from logistics.rounds.records import RoundsSolution, SearchLimits, Task, Tour
from logistics.rounds.visit_list import noise, visits
from logistics.scenario import rows_by

if TYPE_CHECKING:
    from logistics.results import Result

TIMES_MORE = 3
"""Times that a yard and day with visits left over is tried again with more trucks."""


@dataclass(frozen=True, eq=False)
class Driven:
    """
    The rounds of a period.

    Attributes
    ----------
    period
        Its code.
    days, answers
        One a yard and day.
    left
        yard, day, kind, place, material, tonnes [t], reason: what is planned and not
        driven.
    faults
        What the check found wrong; empty on every answer that is shown.
    timed_out
        Whether the time limit ended a search.
    seconds
        Taken by the searches, wall time. [s]
    """

    period: str
    days: tuple[Day, ...]
    answers: tuple[RoundsSolution, ...]
    left: pd.DataFrame
    faults: tuple[str, ...]
    timed_out: bool
    seconds: float


def drive(
    result: Result,
    period: str,
    *,
    pair: bool = True,
    seed: int = 1,
    workers: int | None = None,
    iterations: int | None = None,
    progress: Callable[[int, int], None] | None = None,
    pool: Executor | None = None,
) -> Driven:
    """
    Search the rounds of a period of a plan.

    Parameters
    ----------
    result
        A planned scenario.
    period
        Code of the period.
    pair
        Whether compost out and feedstock back may share a trip.
    seed
        Of the search.
    workers
        Processes; by default one a core, 1 for this one alone.
    iterations
        Steps of each search; by default those of the settings.
    progress
        Called with the yards done and all yards.
    pool
        Processes that are there already, see `processes`.
    """
    started = perf_counter()
    wanted = result.scenario.settings.rounds
    steps = wanted.iterations if iterations is None else iterations
    made = visits(result, period)
    days = day_tasks(result, period, made, pair=pair)
    found: dict[int, RoundsSolution] = {}
    more: list[tuple[str, int]] = []
    again = set(range(len(days)))
    for _ in range(1 + TIMES_MORE):
        spent = perf_counter() - started
        effort = SearchLimits(steps, max(1.0, wanted.seconds - spent), seed)
        richer = day_tasks(result, period, made, pair=pair, more=more)
        if more:
            again = {n for n in again if _trucks(richer[n]) > _trucks(days[n])}
        days = [richer[n] if n in again else day for n, day in enumerate(days)]
        found.update(_search(days, again, effort, workers, progress, pool))
        again = {n for n in again if found[n].left}
        if not again:
            break
        more += [(days[n].yard, days[n].day) for n in sorted(again)]
    days, answers = lend(result, period, days, [found[n] for n in range(len(days))])
    return Driven(
        period=period,
        days=tuple(days),
        answers=tuple(answers),
        left=_left(result, period, days, answers),
        faults=tuple(_faults(days, answers, result)),
        timed_out=any(a.timed_out for a in answers),
        seconds=perf_counter() - started,
    )


def _trucks(day: Day) -> int:
    """Trucks at a yard on a day."""
    return sum(truck.count for truck in day.task.trucks)


def _search(
    days: list[Day],
    wanted: set[int],
    effort: SearchLimits,
    workers: int | None,
    progress: Callable[[int, int], None] | None,
    pool: Executor | None,
) -> dict[int, RoundsSolution]:
    """Search some of the days, yard by yard."""
    by_yard: dict[str, list[int]] = defaultdict(list)
    for n in sorted(wanted):
        by_yard[days[n].yard].append(n)
    jobs = {y: [days[n].task for n in rows] for y, rows in by_yard.items()}
    found: dict[int, RoundsSolution] = {}
    for yard, answers in _searched(jobs, effort, workers, progress, pool):
        found.update(zip(by_yard[yard], answers, strict=True))
    return found


def _searched(
    jobs: dict[str, list[Task]],
    effort: SearchLimits,
    workers: int | None,
    progress: Callable[[int, int], None] | None,
    pool: Executor | None,
) -> list[tuple[str, list[RoundsSolution]]]:
    """Search the tasks of every yard, on processes if more than one is wanted."""
    count = min(workers or os.cpu_count() or 1, max(1, len(jobs)))
    done: list[tuple[str, list[RoundsSolution]]] = []
    share = replace(effort, seconds=effort.seconds * count / max(1, len(jobs)))
    if count == 1:
        for yard, tasks in jobs.items():
            done.append((yard, solve_yard(tasks, share)))
            if progress:
                progress(len(done), len(jobs))
        return done
    with ExitStack() as stack:
        pool = pool or stack.enter_context(processes(count))
        order = sorted(jobs, key=lambda y: -sum(len(t.stops) for t in jobs[y]))
        waiting = {pool.submit(solve_yard, jobs[y], share): y for y in order}
        for job in as_completed(waiting):
            done.append((waiting[job], job.result()))
            if progress:
                progress(len(done), len(jobs))
    return done


def processes(workers: int) -> ProcessPoolExecutor:
    """Start processes that search; Ctrl-C is for their parent alone."""
    context = get_context("spawn")
    return ProcessPoolExecutor(workers, context, signal, (SIGINT, SIG_IGN))


def solve_yard(tasks: list[Task], effort: SearchLimits) -> list[RoundsSolution]:
    """
    Search the days of one yard within the seconds for all of them.

    A day may take twice its even share of what is left. Days that are alike in
    everything are searched once.
    """
    from logistics.rounds.search import solve_task

    end = perf_counter() + effort.seconds
    answers: list[RoundsSolution] = []
    known: dict[object, RoundsSolution] = {}
    for n, task in enumerate(tasks):
        same = task.content()
        if same not in known:
            rest = max(0.05, 2 * (end - perf_counter()) / (len(tasks) - n))
            known[same] = solve_task(task, replace(effort, seconds=rest))
        answers.append(known[same])
    return answers


def named_tours(day: Day, answer: RoundsSolution) -> list[tuple[str, Tour]]:
    """
    Name the trucks of a yard and day: yard, type, owned or hired, number.

    A lent truck keeps the name that it has at home.
    """
    counts: dict[tuple[str, str], int] = defaultdict(int)
    named = []
    for tour in sorted(answer.tours, key=lambda t: (t.truck, t.trips)):
        code, whose, _ = day.kinds[tour.truck]
        way = day.task.trucks[tour.truck].way
        if way:
            named.append((f"{way.home.code} {code} {whose} {way.number}", tour))
            continue
        counts[code, whose] += 1
        named.append((f"{day.yard} {code} {whose} {counts[code, whose]}", tour))
    return named


def _faults(
    days: list[Day], answers: list[RoundsSolution], result: Result
) -> list[str]:
    """Check every day, and the driving of every truck week by week."""
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
    found += _fleet_faults(result, days, answers)
    for number, driving in week.items():
        over = week_faults(driving, wanted.driving_day_h, wanted.driving_week_h)
        found += [f"week {number + 1}: {fault}" for fault in over]
    return found


def _fleet_faults(
    result: Result, days: list[Day], answers: list[RoundsSolution]
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
        out.update((day.day, *day.kinds[tour.truck][:2]) for tour in answer.tours)
        for name, tour in named_tours(day, answer):
            names.append((name, day.day))
            code, whose, _ = day.kinds[tour.truck]
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


def _left(
    result: Result, period: str, days: list[Day], answers: list[RoundsSolution]
) -> pd.DataFrame:
    """List what is planned and not driven, each with its reason."""
    rows = []
    for day, answer in zip(days, answers, strict=True):
        for s in answer.left:
            visit = day.visits[s]
            rows.append(
                {
                    "yard": day.yard,
                    "day": day.day,
                    "kind": visit.kind,
                    "place": visit.place,
                    "material": visit.material,
                    "tonnes": visit.tonnes,
                    "reason": reason(result, day, s),
                }
            )
    for row in noise(result, period).to_dict("records"):
        inward = row["kind"] == "in"
        rows.append(
            {
                "yard": row["destination" if inward else "origin"],
                "day": 0,
                "kind": row["kind"],
                "place": row["origin" if inward else "destination"],
                "material": row["material"],
                "tonnes": row["tonnes"],
                "reason": "less than 5 kg in the period",
            }
        )
    columns = ["yard", "day", "kind", "place", "material", "tonnes", "reason"]
    return pd.DataFrame(rows, columns=columns)


def reason(result: Result, day: Day, stop: int) -> str:
    """Say why a visit is not driven: try it alone with every truck of the day."""
    visit, task = day.visits[stop], day.task
    carriers = [
        code
        for code, truck in rows_by(result.scenario.trucks, "truck").items()
        if may_carry(truck, visit.material)
    ]
    here = [v for v, kind in enumerate(day.kinds) if kind[0] in carriers]
    if not carriers:
        return f"no truck type may carry {visit.material}"
    if not here:
        return "all trucks that may carry it are at other yards"
    place = task.place(stop)
    roads = [
        v for v in here if isfinite(task.legs[task.trucks[v].legs].hours[0, place])
    ]
    if not roads:
        return "no road open to a truck that may carry it"
    why = [tour_faults(task, Tour(v, ((stop,),))) for v in roads]
    if all(why):
        return f"no truck can make this trip alone: {why[0][0]}"
    return "no truck has the time left that day"
