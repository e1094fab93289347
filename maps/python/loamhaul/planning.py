"""Plans: one, several under changes, and a month of one as rounds of trucks."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from typing import Literal

from loamhaul.findings import Comparison, Rounds
from logistics.changes import apply_changes, find_changes, titled
from logistics.diagnosis import checked_travel
from logistics.model import Progress
from logistics.results import AuditError, Result, run
from logistics.rounds import NotDrivenError, drive, plan_as_driven
from logistics.scenario import (
    ChangeFault,
    Problem,
    Scenario,
    ScenarioError,
    period_named,
    with_settings,
)
from logistics.studies import compare as answer
from logistics.studies import with_ranges

Goal = Literal["cost", "uncollected", "co2e"]
Watch = Callable[[Progress], None]


def plan(
    scenario: Scenario,
    *,
    changes: str | Sequence[str] = (),
    gap_pct: float | None = None,
    seconds: float | None = None,
    goal: Goal | None = None,
    settings: Mapping[str, object] | None = None,
    ranges: bool = False,
    estimate: bool = False,
    progress: Watch | None = None,
) -> Result:
    """
    Plan a district: which yards, in which sizes, fed by whom, mixed how, at what cost.

    Parameters
    ----------
    scenario
        The district. It stays as it is.
    changes
        What-ifs made first, in order, as with `--change`: each the name of a file in
        `changes/` of its folder, the path of such a file, or name:argument=value,...
    gap_pct
        Proven gap at which solving stops, 0 to 50. [%]
    seconds
        Longest time of solving. [s]
    goal
        What the plan minimises: net cost, tonnes left behind, or emissions.
    settings
        Any other settings, dotted name to value, in the units of `scenario.toml`; None
        takes a limit away. What is not given is as the scenario has it.
    ranges
        Whether flows are planned anew at both ends of each range of the money, as with
        `--ranges`; without it a straight line does.
    estimate
        Whether haulage stays as estimated, as with `--estimate`; without it the rounds
        of the whole year are made, briefly, and their cost counted.
    progress
        Called now and then while solving, with `phase`, `seconds` [s], `best` [goal]
        and `gap` [1].

    Returns
    -------
    Result
        Its `summary` holds the key figures, among them status (optimal, time_limit,
        stopped, or shortage if the demands cannot be met), total_cost [money/yr], gap
        [1] and yards (code -> size).

    Raises
    ------
    ScenarioError
        If a change or a setting is unknown or cannot be used, or nobody reaches a site
        that must take part.
    NoPlanError
        If time ran out, or Ctrl-C came, before any plan was found.
    AuditError
        If the plan breaks a rule: a bug of Loamhaul's.

    Examples
    --------
    >>> from loamhaul import example_scenario
    >>> district = example_scenario()
    >>> planned = plan(district, changes="scale_fuel:percent=40", gap_pct=1)
    >>> planned.summary["status"], planned.summary["yards_open"]
    ('optimal', 1)
    """
    asked = _asked(scenario, gap_pct, seconds, goal, settings)
    if changes:
        for wanted in find_changes(scenario.path, _listed(changes)):
            asked = apply_changes(asked, wanted)
    found = run(asked, progress, ways=checked_travel(asked))
    if not estimate:
        with suppress(NotDrivenError):
            found = plan_as_driven(found, workers=1)  # a script may have no main guard
    return with_ranges(found, anew=ranges)


def compare(
    scenario: Scenario,
    changes: str | Sequence[str] = (),
    *,
    gap_pct: float | None = None,
    seconds: float | None = None,
    goal: Goal | None = None,
    settings: Mapping[str, object] | None = None,
    progress: Watch | None = None,
) -> Comparison:
    """
    Plan a district as it is and under each of several changes, side by side.

    Parameters
    ----------
    scenario
        The district. It stays as it is.
    changes
        Each is made on its own, see `plan`; by default all of `changes/` of the
        scenario's folder.
    gap_pct, seconds, goal, settings, progress
        See `plan`; gap and time hold for every plan.

    Returns
    -------
    Comparison
        The plan without changes, and two answers to every change.

    Raises
    ------
    ScenarioError
        If there is no change, or one cannot be made.
    NoPlanError, AuditError
        See `plan`.

    Examples
    --------
    >>> from loamhaul import example_scenario
    >>> found = compare(example_scenario(), ["scale_fuel:percent=40"])
    >>> [outcome.change.title for outcome in found.outcomes]
    ['Diesel price +40 %']
    >>> found.outcomes[0].replan.summary["status"]
    'optimal'
    """
    asked = _asked(scenario, gap_pct, seconds, goal, settings)
    wanted = titled(find_changes(scenario.path, _listed(changes)), asked)
    if not wanted:
        why, remedy = "names no change", "Name one, such as scale_fuel:percent=40"
        raise ScenarioError([Problem("changes", None, "", None, why, remedy)])
    for one in wanted:
        apply_changes(asked, one)
    base = run(asked, progress)
    told = None if progress is None else (lambda _, state: progress(state))
    return Comparison(base, tuple(answer(asked, base, wanted, told)))


def rounds(
    result: Result,
    period: str,
    *,
    separate: bool = False,
    seed: int = 1,
    workers: int = 1,
    iterations: int | None = None,
) -> Rounds:
    """
    Turn a period of a plan into rounds of trucks.

    Parameters
    ----------
    result
        A plan.
    period
        The period by code, name or number, such as "m04", "April" or "4".
    separate
        Whether compost out and feedstock back may not share a trip.
    seed
        Of the search; the same seed and iterations give the same rounds.
    workers
        Processes. With more than one, a script must call this below
        ``if __name__ == "__main__":``.
    iterations
        Steps of every search, at least 10; by default `rounds.iterations` of the
        settings.

    Returns
    -------
    Rounds
        The plan and the period as it is driven.

    Raises
    ------
    ScenarioError
        If there is no such period.
    AuditError
        If the rounds break a rule: a bug of Loamhaul's.

    Examples
    --------
    >>> from loamhaul import example_scenario, tables
    >>> found = rounds(plan(example_scenario()), "m01", iterations=10)
    >>> found.driven.period, len(found.driven.left)
    ('m01', 0)
    >>> list(tables(found))
    ['summary', 'by freight', 'fleet', 'trucks', 'stops', 'not driven']
    """
    try:
        chosen = period_named(result.scenario, period)
    except ChangeFault as fault:
        why, remedy = fault.why, fault.remedy
        problem = Problem("periods.csv", None, "period", period, why, remedy)
        raise ScenarioError([problem]) from None
    driven = drive(
        result,
        chosen,
        pair=not separate,
        seed=seed,
        workers=workers,
        iterations=iterations,
    )
    if driven.faults:
        message = f"the rounds broke rules: {'; '.join(driven.faults)}"
        raise AuditError(message)
    return Rounds(result, driven)


def _asked(
    scenario: Scenario,
    gap_pct: float | None,
    seconds: float | None,
    goal: Goal | None,
    settings: Mapping[str, object] | None,
) -> Scenario:
    """Return the scenario with the settings asked for."""
    named = {"solve.gap_pct": gap_pct, "solve.seconds": seconds, "goal.minimise": goal}
    given = {name: value for name, value in named.items() if value is not None}
    return with_settings(scenario, {**(settings or {}), **given})


def _listed(changes: str | Sequence[str]) -> list[str]:
    """Return changes as a list, also if one alone was named."""
    return [changes] if isinstance(changes, str) else list(changes)
