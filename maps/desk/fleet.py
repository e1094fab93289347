"""
How many trucks to own: the yards of a plan with other numbers of trucks.

Every answer is a plan of the same yards with its own proof, so what a truck more or
less is worth is known between two bounds; the page shows where the proof is too wide.
The best is the cheapest that was found: of all numbers decided together, of each truck
more or fewer, and of those that save, taken together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from maps.desk.telling import Counter, Tell

if TYPE_CHECKING:
    from logistics.changes import Step
    from logistics.results import Result
    from logistics.scenario import Scenario

FINEST = 0.1
"""Proven gap that is enough for each answer. [%]"""
LONGEST = 60.0
"""Time in which each answer must be found. [s]"""
DECIDE = {"fleet.decide": "yes", "solve.seconds": 240.0}
"""Settings of the run that decides all numbers together; it may take longer."""


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
    now = {str(row["truck"]): int(row["owned"]) for row in trucks}
    singles = numbers_tried(trucks)
    counted = Counter(told, "planning the same yards with other trucks", "answers")
    base = _run(scenario, result)
    if base.plan.status == "shortage":
        message = "The yards of this plan do not meet all demands. Mend that first"
        raise NoFleetAnswerError(message)
    counted(1, len(singles) + 3)
    single: dict[tuple[str, int], Result] = {}
    for done, (truck, number) in enumerate(singles, start=2):
        single[truck, number] = _run(with_owned(scenario, {truck: number}), base)
        counted(done, len(singles) + 3)
    saving = improving(base, single)
    both = _run(with_owned(scenario, saving), base) if len(saving) > 1 else base
    counted(len(singles) + 2, len(singles) + 3)
    decided = _run(with_settings(scenario, DECIDE), base)
    best = cheapest([base, decided, both, *single.values()])
    counts = best.scenario.trucks.set_index("truck")["owned"]
    hired = base.plan.hired.groupby("truck")["hours"].sum()

    def change(truck: str, number: int) -> dict[str, Any] | None:
        other = single.get((truck, number))
        return None if other is None else change_between(base, other)

    return {
        "currency": scenario.settings.currency,
        "net": float(base.plan.objective),
        "best": change_between(base, best),
        "rows": [
            {
                "code": truck,
                "name": str(row["name"] or truck),
                "owned": now[truck],
                "standing": float(row["fixed_cost_per_year"]),
                "hired": float(hired.get(truck, 0.0)),
                "best": int(counts[truck]),
                "fewer": change(truck, now[truck] - 1),
                "more": change(truck, now[truck] + 1),
            }
            for row, truck in zip(trucks, now, strict=True)
        ],
    }


def numbers_tried(trucks: Sequence[Mapping[str, Any]]) -> list[tuple[str, int]]:
    """
    Return one fewer and one more of each truck type, where so many may be owned.

    >>> light = {"truck": "light", "owned": 0, "own_least": 0, "own_most": float("nan")}
    >>> heavy = {"truck": "heavy", "owned": 2, "own_least": 1, "own_most": 2}
    >>> numbers_tried([light, heavy])
    [('light', 1), ('heavy', 1)]
    """
    return [
        (str(row["truck"]), number)
        for row in trucks
        for number in (int(row["owned"]) - 1, int(row["owned"]) + 1)
        if number >= max(0, row["own_least"]) and not number > row["own_most"]
    ]


def improving(base: Result, single: Mapping[tuple[str, int], Result]) -> dict[str, int]:
    """Return the number of each truck type that alone saves most, where one does."""
    found: dict[str, tuple[float, int]] = {}
    for (truck, number), other in single.items():
        cost = other.plan.objective
        if other.plan.status != "shortage" and cost < base.plan.objective:
            found[truck] = min(found.get(truck, (cost, number)), (cost, number))
    return {truck: number for truck, (_, number) in found.items()}


def cheapest(results: Sequence[Result]) -> Result:
    """Return the cheapest plan that meets all demands; of equal ones the first."""
    met = [one for one in results if one.plan.status != "shortage"]
    return min(met, key=lambda one: one.plan.objective)


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


def with_owned(scenario: Scenario, owned: Mapping[str, int]) -> Scenario:
    """Return the scenario with other numbers of own trucks, by type."""
    from logistics.changes import ChangeSet, apply_changes

    return apply_changes(scenario, ChangeSet("fleet", "fleet", "", _steps(owned)))


def _steps(owned: Mapping[str, int]) -> tuple[Step, ...]:
    """Return steps that set numbers of own trucks."""
    from logistics.changes import Step

    return tuple(
        Step("set_fleet", {"truck": truck, "owned": number}, "fleet")
        for truck, number in owned.items()
    )


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
    from logistics.changes import ChangeSet, change_text
    from logistics.scenario import in_list

    other = [row for row in facts["rows"] if row["best"] != row["owned"]]
    if not other:
        return "", ""
    steps = _steps({row["code"]: row["best"] for row in other})
    title = "Own " + in_list(f"{row['best']} × {row['name']}" for row in other)
    story = "Own trucks, as reckoned on the page of the money."
    return title, change_text(ChangeSet("fleet", title, story, steps))
