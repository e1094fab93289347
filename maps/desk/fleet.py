"""
How many trucks to own: the yards of a plan with other numbers of trucks.

Every answer is a plan of the same yards with its own proof, so what a truck more or
less is worth is known between two bounds; the page shows where the proof is too wide.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from maps.desk.telling import Counter, Tell

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario

FINEST = 0.1
"""Proven gap that is enough for each answer. [%]"""
LONGEST = 60.0
"""Time in which each answer must be found. [s]"""


class NoFleetAnswerError(ValueError):
    """The question has no answer for this plan; says why."""


def fleet_facts(result: Result, told: Tell) -> dict[str, Any]:
    """
    Reckon the yards of a plan with one truck fewer and more of each type, and the best.

    Parameters
    ----------
    result
        The plan, its goal least cost.
    told
        Adds an event.

    Returns
    -------
    dict
        currency; net of the plan's yards as they are [money/yr]; best: the change with
        the best trucks; rows by truck: code, name, owned, standing [money/truck/yr],
        hired [h/yr], best (how many); fewer and more, or None. Changes are as
        `change_between` tells them.

    Raises
    ------
    NoFleetAnswerError
        If the plan was made for another goal than cost, or falls short of demands.
    """
    from logistics.scenario import records, with_settings

    if result.scenario.settings.goal.minimise != "cost":
        message = "This plan does not look for least cost, so no truck is worth money"
        raise NoFleetAnswerError(message)
    scenario = quick(result.scenario)
    trucks = list(records(scenario.trucks))
    counted = Counter(told, "planning the same yards with other trucks", "answers")
    whole, done = 2 + sum(2 if row["owned"] > 0 else 1 for row in trucks), 0
    base = _run(scenario, result)
    if base.plan.status == "shortage":
        message = "The yards of this plan do not meet all demands. Mend that first"
        raise NoFleetAnswerError(message)
    counted(done := done + 1, whole)
    best = _run(with_settings(scenario, {"fleet.decide": "yes"}), base)
    counted(done := done + 1, whole)
    counts = best.scenario.trucks.set_index("truck")["owned"]
    hired = base.plan.hired.groupby("truck")["hours"].sum()
    rows = []
    for row in trucks:
        code, owned = str(row["truck"]), int(row["owned"])
        found: dict[str, Any] = {"fewer": None, "more": None}
        for which, number in (("fewer", owned - 1), ("more", owned + 1)):
            if number >= 0:
                other = _run(with_owned(scenario, code, number), base)
                found[which] = change_between(base, other)
                counted(done := done + 1, whole)
        rows.append(
            {
                "code": code,
                "name": str(row["name"] or code),
                "owned": owned,
                "standing": float(row["fixed_cost_per_year"]),
                "hired": float(hired.get(code, 0.0)),
                "best": int(counts[code]),
                **found,
            }
        )
    return {
        "currency": scenario.settings.currency,
        "net": float(base.plan.objective),
        "best": change_between(base, best),
        "rows": rows,
    }


def quick(scenario: Scenario) -> Scenario:
    """Return the scenario with its trucks as they are, and a limit of time and gap."""
    from logistics.scenario import with_settings

    solve = scenario.settings.solve
    limits = {
        "fleet.decide": "no",
        "solve.gap_pct": min(FINEST, solve.gap * 100),
        "solve.seconds": min(LONGEST, solve.seconds),
    }
    return with_settings(scenario, limits)


def with_owned(scenario: Scenario, truck: str, owned: int) -> Scenario:
    """Return the scenario with another number of own trucks of a type."""
    from logistics.changes import ChangeSet, Step, apply_changes

    step = Step("set_fleet", {"truck": truck, "owned": owned}, "fleet")
    return apply_changes(scenario, ChangeSet("fleet", "fleet", "", (step,)))


def _run(scenario: Scenario, base: Result) -> Result:
    """Plan the yards of a plan; the ways are the same whoever owns the trucks."""
    from logistics.results import run

    return run(
        scenario,
        yards=base.plan.yard_sizes,
        warm_start=base.plan.warm_start,
        ways=base.travel,
    )


def change_between(base: Result, other: Result) -> dict[str, Any]:
    """
    Say by how much the net cost of a year changes, as far as it is proven.

    Returns
    -------
    dict
        amount, low, high [money/yr]; short: whether demands are missed, so that the
        amount says nothing.
    """
    low, high = bounds_of(other), bounds_of(base)
    return {
        "amount": other.plan.objective - base.plan.objective,
        "low": low[0] - high[1],
        "high": low[1] - high[0],
        "short": other.plan.status == "shortage",
    }


def bounds_of(result: Result) -> tuple[float, float]:
    """Least and greatest that the cheapest plan of its yards may cost. [money/yr]"""
    plan = result.plan
    least = plan.bound if plan.any_bound is None else plan.any_bound
    return min(least, plan.objective), plan.objective


def fleet_change(facts: Mapping[str, Any]) -> tuple[str, str]:
    """
    Write the best trucks as a change of the tables.

    Returns
    -------
    str, str
        Title and text of a file of changes; both empty if the plan has these trucks.
    """
    from logistics.changes import ChangeSet, Step, change_text
    from logistics.scenario import in_list

    other = [row for row in facts["rows"] if row["best"] != row["owned"]]
    if not other:
        return "", ""
    steps = tuple(
        Step("set_fleet", {"truck": row["code"], "owned": row["best"]}, "fleet")
        for row in other
    )
    title = "Own " + in_list(f"{row['best']} × {row['name']}" for row in other)
    story = "Own trucks, as reckoned on the page of the money."
    return title, change_text(ChangeSet("fleet", title, story, steps))
