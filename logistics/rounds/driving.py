"""
A period of a plan, driven: visits, tasks, search by yard on processes, and the check.

The same seed and iterations give the same rounds on any number of processes, unless
the time limit ends a search; the answer says so then.
"""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor, as_completed
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from multiprocessing import get_context, parent_process
from signal import SIG_IGN, SIGINT, getsignal, signal
from threading import Thread, current_thread, main_thread
from time import perf_counter
from typing import TYPE_CHECKING, Any

import pandas as pd

from logistics.rounds.days import Day, day_tasks
from logistics.rounds.left_over import left_over
from logistics.rounds.lending import lend
from logistics.rounds.period_check import period_faults
from logistics.rounds.placing import place_left
from logistics.rounds.records import RoundsSolution, SearchLimits, Task
from logistics.rounds.visit_list import visits
from logistics.rounds.visit_records import Visit

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
    days, answers = searched(
        result,
        period,
        made,
        SearchLimits(steps, wanted.seconds, seed),
        pair=pair,
        workers=workers,
        progress=progress,
        pool=pool,
    )
    days, answers = place_left(result, period, days, answers)
    days, answers = lend(result, period, days, answers)
    return Driven(
        period=period,
        days=tuple(days),
        answers=tuple(answers),
        left=left_over(result, period, days, answers),
        faults=tuple(period_faults(result, period, made, days, answers)),
        timed_out=any(a.timed_out for a in answers),
        seconds=perf_counter() - started,
    )


def searched(
    result: Result,
    period: str,
    made: list[Visit],
    effort: SearchLimits,
    *,
    pair: bool = True,
    workers: int | None = None,
    progress: Callable[[int, int], None] | None = None,
    pool: Executor | None = None,
) -> tuple[list[Day], list[RoundsSolution]]:
    """
    Search the rounds of visits, each on its day, with more trucks where they ask.

    Parameters
    ----------
    made
        The visits; every yard and day that has one becomes a task.
    effort
        Steps and seed of each search, seconds for all of them.
    result, period, pair, workers, progress, pool
        As of `drive`.
    """
    started = perf_counter()
    days = day_tasks(result, period, made, pair=pair)
    found: dict[int, RoundsSolution] = {}
    more: list[tuple[str, int]] = []
    again = set(range(len(days)))
    for _ in range(1 + TIMES_MORE):
        spent = perf_counter() - started
        left = replace(effort, seconds=max(1.0, effort.seconds - spent))
        richer = day_tasks(result, period, made, pair=pair, more=more)
        if more:
            again = {
                n for n, day in enumerate(days) if _trucks(richer[n]) != _trucks(day)
            }
        days = [richer[n] if n in again else day for n, day in enumerate(days)]
        found.update(_search(days, again, left, workers, progress, pool))
        again = {n for n in again if found[n].left}
        if not again:
            break
        more += [(days[n].yard, days[n].day) for n in sorted(again)]
    return days, [found[n] for n in range(len(days))]


def _trucks(day: Day) -> list[tuple[object, ...]]:
    """Kinds and numbers of trucks at a yard on a day."""
    rows = zip(day.task.trucks, day.kinds, strict=True)
    return [(kind, truck.count, truck.way) for truck, kind in rows]


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


@contextmanager
def processes(
    workers: int, begin: Callable[..., None] | None = None, *given: object
) -> Iterator[ProcessPoolExecutor]:
    """
    Start processes that search; Ctrl-C is for their parent, and ends them at once.

    Parameters
    ----------
    workers, begin, given
        How many; what each does first, with these arguments.
    """
    first: Any = _begin
    context = get_context("spawn")
    pool = ProcessPoolExecutor(workers, context, first, (begin, *given))
    try:
        with _later():
            pool.submit(int)  # starts them all
        yield pool
    except BaseException:
        alive = list((getattr(pool, "_processes", None) or {}).values())
        pool.shutdown(wait=False, cancel_futures=True)
        for process in alive:
            process.terminate()
        raise
    pool.shutdown()


@contextmanager
def _later() -> Iterator[None]:
    """Put Ctrl-C off: a process stopped while it is started says so at length."""
    before, pressed = getsignal(SIGINT), []

    def note(number: int, _: object) -> None:
        pressed.append(number)

    note.waits = True  # type: ignore[attr-defined]
    if not callable(before) or current_thread() is not main_thread():
        yield
        return
    signal(SIGINT, note)
    try:
        yield
    finally:
        signal(SIGINT, before)
    if pressed:
        before(SIGINT, None)


def _begin(more: Callable[..., None] | None, *given: object) -> None:
    """Leave Ctrl-C to the parent, and watch for its end."""
    signal(SIGINT, SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()
    if more is not None:
        more(*given)


def _end_with_parent() -> None:
    """End this process at once when its parent is gone, however it went."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


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
