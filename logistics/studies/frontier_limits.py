"""Limits on the other goal of a frontier: what it is, and between what it may run."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from logistics.model import Instance, LeastShare, Plan
from logistics.scenario import Problem, ScenarioError

Against = Literal["collected", "co2e", "yards", "people", "fairness"]

SLACK = 1e-6
"""Share by which an extreme limit is loosened, so that rounding leaves a plan."""


def limited(instance: Instance, against: Against, limit: float) -> Instance:
    """Add the other goal's limit to the demands of the board."""
    policy = instance.policy
    if against == "yards":
        policy = replace(policy, max_yards=int(limit))
    elif against == "co2e":
        policy = replace(policy, co2e_limit=limit)
    elif against == "people":
        policy = replace(policy, most_exposed=limit)
    elif against == "fairness":
        policy = replace(policy, worst_farms_km=limit)
    else:
        everyone = tuple(range(len(instance.supply.codes)))
        share = limit / float(instance.supply.tonnes.sum())
        rule = LeastShare("frontier", "all feedstock", everyone, share)
        policy = replace(policy, least_shares=(*policy.least_shares, rule))
    return replace(instance, policy=policy)


def spaced(end: float, begin: float, count: int) -> list[float]:
    """Limits from the strictest on; that of the cheapest plan is left out."""
    span = begin - end
    if not np.isfinite(span) or span <= SLACK * max(1.0, abs(begin)):
        return []
    steps = np.linspace(end + SLACK * span, begin, count)[:-1]
    return [float(x) for x in steps]


def every_site(instance: Instance) -> tuple[float, list[tuple[str, str]]]:
    """Worst farms with every site open [km], and these sites in their cheapest size."""
    free = [d != "closed" for d in instance.yards.decision]
    some = free & np.isin(np.arange(len(free)), instance.options.yard)
    opened = []
    for j in np.flatnonzero(some).tolist():
        sizes = np.flatnonzero(instance.options.yard == j)
        cheapest = sizes[np.argmin(instance.options.annual[sizes])]
        opened.append((instance.yards.codes[j], instance.options.size[cheapest]))
    assert instance.farms is not None
    return instance.farms.worst(some), opened


def fewer_exposed(
    instance: Instance, plan: Plan, limit: float
) -> list[tuple[str, str]]:
    """Yards of a plan, without those that expose most until the limit holds."""
    people, codes = instance.neighbours, list(instance.yards.codes)
    assert people is not None
    kept = list(plan.yard_sizes)

    def exposed(yards: list[tuple[str, str]]) -> float:
        return people.exposed(np.isin(codes, [code for code, _ in yards]))

    while kept and exposed(kept) > limit:
        kept = min(([y for y in kept if y != gone] for gone in kept), key=exposed)
    return kept


def require_known(instance: Instance, against: Against) -> None:
    """Raise ScenarioError where the tables do not say what the goal counts."""
    needed = {
        "people": ("people.csv", "heads", instance.neighbours, "people who live there"),
        "fairness": ("markets.csv", "amount", instance.farms, "a demand for compost"),
    }
    file, column, known, what = needed.get(against, ("", "", instance, ""))
    if known is None:
        why = f"has no place with {what}, so cost cannot be set against {against}"
        fault = Problem(file, None, column, None, why, "Fill in the table")
        raise ScenarioError([fault])
