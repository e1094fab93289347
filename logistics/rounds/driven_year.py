"""
All rounds of a plan's year, searched briefly, so that its haulage is as driven.

A search of a few steps comes within a few tenths of a percent of a long one
(`tests/benchmarks/RESULTS.md`), which is enough for a budget; what a driver gets is
searched for longer (`driving.drive`). Periods are driven side by side.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from logistics.rounds.driven_money import as_driven
from logistics.rounds.driving import Driven, drive, processes
from logistics.rounds.visit_list import visits

if TYPE_CHECKING:
    from logistics.results import Result

STEPS = 20
"""Steps of each search."""
ALONE = 1_500
"""Visits up to which one process is quicker than starting others."""
MOST = 60_000
"""Visits a year above which a plan is not driven: it would take many minutes."""
Watch = Callable[[int, int], None]


class NotDrivenError(Exception):
    """Why a plan is shown with its haulage as planned."""


def plan_as_driven(
    result: Result, watch: Watch | None = None, *, workers: int | None = None
) -> Result:
    """
    Drive the year of a plan and put what its rounds cost into its money.

    Parameters
    ----------
    result
        A plan.
    watch
        Called with how many periods are driven and how many there are.
    workers
        Processes; by default one a core.

    Returns
    -------
    Result
        See `as_driven`.

    Raises
    ------
    NotDrivenError
        If there is nothing to drive or too much, or if the rounds broke a rule.
    """
    return as_driven(result, drive_year(result, watch, workers=workers))


def drive_year(
    result: Result,
    watch: Watch | None = None,
    *,
    workers: int | None = None,
    steps: int = STEPS,
    pair: bool = True,
) -> list[Driven]:
    """
    Drive all periods of a plan, in order.

    The same plan gives the same rounds on any number of processes, unless a search
    runs out of time.

    Parameters
    ----------
    result, watch, workers
        See `plan_as_driven`, for what is raised too.
    steps
        Of each search.
    pair
        Whether compost out and feedstock back may share a trip.
    """
    periods = [str(code) for code in result.scenario.periods["period"]]
    calls = {period: len(visits(result, period)) for period in periods}
    total = sum(calls.values())
    if not total:
        message = "nothing is hauled"
        raise NotDrivenError(message)
    if total > MOST:
        message = f"its {total:,} calls a year are more than are driven with a plan"
        raise NotDrivenError(message)
    count = min(workers or os.cpu_count() or 1, len(periods))
    if total <= ALONE:
        count = 1
    found: dict[str, Driven] = {}
    longest = sorted(periods, key=lambda period: -calls[period])
    how = {"iterations": steps, "pair": pair}
    for driven in _driven(result, longest, count, how):
        found[driven.period] = driven
        if watch:
            watch(len(found), len(periods))
    done = [found[period] for period in periods]
    faults = [fault for one in done for fault in one.faults]
    if faults:
        message = f"the check of its rounds found: {faults[0]}"
        raise NotDrivenError(message)
    return done


def _driven(
    result: Result, periods: list[str], count: int, how: dict[str, Any]
) -> Iterator[Driven]:
    """Drive periods on one process or more, and give each as it is done."""
    if count == 1:
        for period in periods:
            yield drive(result, period, workers=1, **how)
        return
    with processes(count, _keep, result, how) as pool:
        yield from pool.map(_drive_kept, periods)


_kept: list[tuple[Result, dict[str, Any]]] = []


def _keep(result: Result, how: dict[str, Any]) -> None:
    """Keep the plan in a process, so that it is sent there once."""
    _kept[:] = [(result, how)]


def _drive_kept(period: str) -> Driven:
    """Drive a period of the plan that the process keeps."""
    result, how = _kept[0]
    return drive(result, period, workers=1, **how)
