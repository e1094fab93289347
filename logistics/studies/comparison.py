"""And if? One scenario under many changes, side by side, with three answers each."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from logistics.changes import ChangeSet, apply_changes
from logistics.model import Plan, Progress, prepare, relative_gap
from logistics.results import Result, amounts, budget, cannot_stay, emissions, run
from logistics.scenario import Scenario

Watch = Callable[[str, Progress], None]
EXACT = 1e-6
"""Share of its objective to which a plan is solved. [1]"""
NO_ANSWER = "none"
"""Status of the answer `operate` where the old yards cannot stay."""


@dataclass(frozen=True, eq=False)
class Outcome:
    """
    What a change does to a plan.

    Attributes
    ----------
    change
        What happened.
    operate
        The yards stay as the base plan has them; all else is planned afresh. None
        where they cannot stay.
    replan
        Everything is planned afresh.
    obstacles
        A sentence for everything that keeps the old yards from staying.
    """

    change: ChangeSet
    operate: Result | None
    replan: Result
    obstacles: tuple[str, ...] = ()

    @property
    def regret(self) -> float | None:
        """
        What it costs to have built the base plan's yards; never negative.

        Cost with them less cost with the best yards found; the true regret may be
        larger by at most the re-plan's proven gap. None where one of the two is
        missing or leaves a demand unmet, as they then do not answer the same question,
        and where the plans minimise something other than cost. [money/yr]
        """
        if self.operate is None or self.replan.instance.goal != "cost":
            return None
        if not meets(self.operate) or not meets(self.replan):
            return None
        return max(0.0, self.operate.plan.objective - self.replan.plan.objective)


def compare(
    scenario: Scenario,
    base: Result,
    changes: Sequence[ChangeSet],
    watch: Watch | None = None,
) -> list[Outcome]:
    """
    Answer every change, from the base plan's yards.

    Parameters
    ----------
    scenario, base
        The scenario without changes, and its plan.
    changes
        Each is applied to the scenario on its own.
    watch
        Told the change's title and the progress of its solving.

    Returns
    -------
    list of Outcome
        In the order of the changes.
    """
    outcomes = []
    for wanted in changes:
        changed = apply_changes(scenario, wanted)

        def told(progress: Progress, title: str = wanted.title) -> None:
            if watch is not None:
                watch(title, progress)

        known = base.plan.warm_start
        made, old = prepare(changed), base.plan.yard_sizes
        ways, obstacles = made.travel, cannot_stay(changed, made.instance, old)
        operate = None
        if not obstacles:
            operate = run(changed, told, yards=old, warm_start=known, ways=ways)
        replan = run(changed, told, start=old, warm_start=known, ways=ways)
        if (
            operate is not None
            and meets(operate)
            and operate.plan.objective < replan.plan.objective
        ):
            replan = _proven_by(operate, replan)  # the old yards are the better find
        outcomes.append(Outcome(wanted, operate, replan, tuple(obstacles)))
    return outcomes


def _proven_by(found: Result, proof: Result) -> Result:
    """Keep the plan found, with what was proven for any yards."""
    value = found.plan.objective
    bound = min(proof.plan.floor, value)
    gap, status = relative_gap(value, bound), proof.plan.status
    told_of = replace(found.plan, any_bound=None, homes_held=False)
    plan = replace(told_of, bound=bound, gap=gap, status=status)
    told = {"bound": bound, "gap": gap, "gap_money": value - bound, "status": status}
    return replace(found, plan=plan, summary={**found.summary, **told})


def meets(result: Result) -> bool:
    """Say whether a plan meets all demands."""
    return result.plan.status != "shortage"


def proven_difference(one: Plan, other: Plan) -> tuple[float, float] | None:
    """
    Return the least and most by which the best of the other is above the best of one.

    The best there is lies between a plan's bound and its objective. None where a plan
    leaves demands unmet or nothing is proven of it. [unit of the goal]
    """
    ends = (one.floor, one.objective, other.floor, other.objective)
    if "shortage" in {one.status, other.status} or not all(map(math.isfinite, ends)):
        return None
    return other.floor - one.objective, other.objective - one.floor


def as_good_as_equal(one: Plan, other: Plan) -> bool:
    """Say whether the proven gaps leave open which of two plans' best is dearer."""
    proven = proven_difference(one, other)
    if proven is None:
        return False
    slack = EXACT * max(1.0, abs(one.objective), abs(other.objective))
    return proven[0] <= slack and proven[1] >= -slack


def left_open(plan: Plan) -> float | None:
    """
    Return the most by which any plan may be better than this one.

    Zero where it is proven to be as good as the best; None where nothing is proven.
    [unit of the goal]
    """
    proven = proven_difference(plan, plan)
    if proven is None:
        return None
    slack = EXACT * max(1.0, abs(plan.objective))
    return proven[1] if proven[1] > slack else 0.0


def equals_base(base: Result, after: Result) -> bool:
    """Say whether a plan is as good as equal to the base, by one and the same goal."""
    same = base.instance.goal == after.instance.goal
    return same and as_good_as_equal(base.plan, after.plan)


def overview(base: Result, outcomes: Sequence[Outcome]) -> pd.DataFrame:
    """
    One row a plan: the base, and two answers to every change.

    Returns
    -------
    DataFrame
        change (title), answer ("base", "operate" or "re-plan"), cost, against_base
        [money/yr], yards, opened, closed, resized (codes against the base),
        collected, compost [t/yr], share of each material collected (column
        share_<material>), haul_cost [money/yr], vehicle_km, crew_hours [h/yr], co2e
        [t CO2e/yr] (of haulage, composting and what is left), gap, status, regret
        [money/yr] (on re-plan rows), equal (whether a re-plan is as good as equal to
        the base). Where the old yards cannot stay, "operate" has no figures and the
        status "none".
    """
    rows = [_row("Base", "base", base, base)]
    for outcome in outcomes:
        title = outcome.change.title
        if outcome.operate is None:
            rows.append(_no_row(title))
        else:
            rows.append(_row(title, "operate", outcome.operate, base))
        rows.append(
            {
                **_row(title, "re-plan", outcome.replan, base),
                "regret": outcome.regret,
                "equal": equals_base(base, outcome.replan),
            }
        )
    table = pd.DataFrame(rows)
    return table.astype({"yards": "Int64"})


def _no_row(title: str) -> dict[str, Any]:
    """Row of old yards that cannot stay: no figures."""
    codes = dict.fromkeys(["opened", "closed", "resized"], "")
    told = {"change": title, "answer": "operate", "status": NO_ANSWER}
    return {**told, "equal": False, **codes}


def _row(title: str, answer: str, result: Result, base: Result) -> dict[str, Any]:
    summary = result.summary
    opened, closed, resized = yard_changes(base.plan, result.plan)
    shares = {
        f"share_{name}": value for name, value in summary["collected_share"].items()
    }
    return {
        "change": title,
        "answer": answer,
        "status": result.plan.status,
        "cost": summary["total_cost"],
        "against_base": summary["total_cost"] - base.summary["total_cost"],
        "regret": None,
        "equal": False,
        "yards": len(result.plan.yards),
        "opened": " ".join(opened),
        "closed": " ".join(closed),
        "resized": " ".join(resized),
        "collected": summary["collected_t"]["all"],
        "compost": summary["compost_t"],
        **shares,
        "haul_cost": summary["haul_cost"],
        "vehicle_km": summary["vehicle_km"],
        "empty_km": summary["empty_km"],
        "paired_trips": summary["paired_trips"],
        "crew_hours": float(result.driven["hours"].sum()),
        "co2e": co2e(result),
        "gap": result.plan.gap,
    }


def co2e(result: Result) -> float:
    """Emissions of haulage, composting and what is left behind. [t CO2e/yr]"""
    return emissions(result.instance, amounts(result.instance, result.plan)) / 1000


def yard_changes(before: Plan, after: Plan) -> tuple[list[str], list[str], list[str]]:
    """Yards opened, closed and resized between two plans, by code."""
    old, new = dict(before.yard_sizes), dict(after.yard_sizes)
    opened = sorted(new.keys() - old.keys())
    closed = sorted(old.keys() - new.keys())
    resized = sorted(y for y in old.keys() & new.keys() if old[y] != new[y])
    return opened, closed, resized


def by_line(base: Result, outcomes: Sequence[Outcome]) -> pd.DataFrame:
    """
    Money of the year by account and line, one column a plan.

    Returns
    -------
    DataFrame
        account, line, then the base and every re-plan by its change's title; the
        columns add up to the net costs. [money/yr]
    """
    plans = {"Base": base, **{o.change.title: o.replan for o in outcomes}}
    columns = {
        title: budget(result.ledger).set_index(["account", "line"])["amount"]
        for title, result in plans.items()
    }
    return pd.DataFrame(columns).fillna(0.0).reset_index()


def winners(base: Result, outcome: Outcome) -> pd.DataFrame:
    """
    Who gains and who loses by a change, as re-planned.

    Returns
    -------
    DataFrame
        source, district, material, before, after, difference: tonnes collected a
        year. [t/yr]
    """
    tonnes = {
        name: result.plan.hauls.groupby("source")["tonnes"].sum()
        for name, result in (("before", base), ("after", outcome.replan))
    }
    both = pd.concat(
        [r.scenario.sources for r in (base, outcome.replan)], ignore_index=True
    ).drop_duplicates("source")
    table = both[["source", "district", "material"]].reset_index(drop=True)
    for name, column in tonnes.items():
        table[name] = table["source"].map(column).fillna(0.0)
    table["difference"] = table["after"] - table["before"]
    return table


def by_district(base: Result, outcome: Outcome) -> pd.DataFrame:
    """
    Who gains and who loses by a change, district by district, as re-planned.

    Returns
    -------
    DataFrame
        district; collected_before, collected_after: tonnes collected from its
        sources; compost_before, compost_after: tonnes its markets get. [t/yr]
    """
    columns = {}
    for what, flows, place in (
        ("collected", "hauls", "source"),
        ("compost", "deliveries", "market"),
    ):
        for when, result in (("before", base), ("after", outcome.replan)):
            of = result.scenario.table(f"{place}s").set_index(place)["district"]
            table = getattr(result.plan, flows)
            columns[f"{what}_{when}"] = table.groupby(table[place].map(of))[
                "tonnes"
            ].sum()
    table = pd.DataFrame(columns).fillna(0.0).rename_axis("district")
    return table.sort_index().reset_index()
