"""
Yards and sizes chosen once for many futures, flows free in each.

Planners cannot build again when a mill closes. The yards are decided before, all
else after it is known what happens: a two-stage stochastic programme
(`l_shaped`). Expected cost, and if wanted the mean of the worst futures (CVaR,
Rockafellar and Uryasev 2000), are made least. Two figures of Birge and Louveaux
(Introduction to Stochastic Programming, 2nd ed. 2011, chapter 4) say what this is
worth: EVPI, what it would save to know the future before building, and VSS, what it
saves against building for one future alone. A mill cannot be closed by a third, so
there is no mean future here: the future without changes stands in its place.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from logistics.changes import ChangeSet, apply_changes
from logistics.model import (
    Effort,
    Instance,
    Key,
    Operating,
    Progress,
    Session,
    first_stage,
    forced,
    keys_of,
    second_stage,
)
from logistics.results import Result, run
from logistics.scenario import Scenario, change_setting
from logistics.studies.l_shaped import (
    Decision,
    OptimalityCut,
    Recourse,
    decide,
    linear_recourse,
)
from logistics.studies.risk import Risk, weighed

Floats = np.ndarray[tuple[int], np.dtype[np.float64]]
Watch = Callable[[str, Progress], None]

BASE = ChangeSet("base", "Nothing changes", "", ())


@dataclass(frozen=True)
class Chance:
    """A future and its weight against the others."""

    change: ChangeSet
    weight: float = 1.0


@dataclass(frozen=True, eq=False)
class Robust:
    """
    Yards for many futures, and what that is worth.

    Attributes
    ----------
    chances, risk
        What may happen, weights adding up to 1; how much the worst counts.
    base
        The plan without changes.
    alone
        The plan of each future for itself.
    keys, decision
        Yards and sizes that may be built; which are, cost, bound.
    with_base
        Cost of each future with the base plan's yards; infinite where they fail.
    value, bound
        Weighed cost of the plans alone ("wait and see"), and its bound.
    """

    chances: tuple[Chance, ...]
    risk: Risk
    base: Result
    alone: tuple[Result, ...]
    keys: tuple[Key, ...]
    decision: Decision
    with_base: Floats
    value: float
    bound: float

    @property
    def yard_sizes(self) -> list[Key]:
        """Yards to build, each with its size."""
        return [k for k, x in zip(self.keys, self.decision.x, strict=True) if x > 0.5]

    @property
    def unmet(self) -> list[ChangeSet]:
        """Futures whose demands no yards meet."""
        alone = zip(self.chances, self.alone, strict=True)
        return [c.change for c, one in alone if one.plan.status == "shortage"]

    @property
    def evpi(self) -> tuple[float, float]:
        """Least and most that knowing the future is worth, within the gaps."""
        low = max(0.0, self.decision.bound - self.value)
        return low, max(low, self.decision.value - self.bound)

    @property
    def vss(self) -> tuple[float, float]:
        """Least and most that planning for all futures saves, within the gap."""
        weights = np.array([c.weight for c in self.chances])
        naive = weighed(self.with_base, weights, self.risk)
        return naive - self.decision.value, naive - self.decision.bound


def robust(
    scenario: Scenario,
    chances: Sequence[Chance],
    risk: Risk | None = None,
    *,
    gap: float | None = None,
    seconds: float = 900.0,
    watch: Watch | None = None,
) -> Robust | None:
    """
    Choose yards once for all futures.

    Parameters
    ----------
    scenario
        Without changes; its goal is taken as least cost.
    chances
        Futures with weights of any sum.
    risk
        How much the worst futures count beyond their weight.
    gap, seconds
        When the joint choice may stop: proven gap (the scenario's by default), time
        beyond that of the plans alone. [1], [s]
    watch
        Told what is done, and its progress.

    Returns
    -------
    Robust or None
        None if the time did not suffice for any choice, or no future alone meets the
        demands.
    """
    risk = risk or Risk()
    settings = change_setting(scenario.settings, "goal.minimise", "cost")
    scenario = replace(scenario, settings=settings)
    total = sum(chance.weight for chance in chances)
    chances = [replace(c, weight=c.weight / total) for c in chances]

    def telling(title: str) -> Callable[[Progress], None]:
        return lambda state: None if watch is None else watch(title, state)

    base = run(scenario, telling("base"))
    alone = []
    for chance in chances:
        changed = apply_changes(scenario, chance.change)
        told = telling(chance.change.title)
        known = base.plan.warm_start
        alone.append(
            run(changed, told, start=base.plan.yard_sizes, warm_start=known)
            if chance.change.steps
            else base
        )
    if all(one.plan.status == "shortage" for one in alone):
        return None
    instances = [one.instance for one in alone]
    keys = keys_of([base.instance, *instances])
    first = first_stage(instances, keys)
    session = Session(Effort(threads=int(scenario.settings.solve.threads)))
    futures = [
        _recourse(chance, one, keys, instances, session)
        for chance, one in zip(chances, alone, strict=True)
    ]

    def mark(built: Sequence[Key]) -> Floats:
        return np.array([float(key in set(built)) for key in keys])

    built = mark(base.plan.yard_sizes)
    joint = telling("all futures")
    decision = decide(
        first,
        futures,
        risk,
        starts=_likely(built, [mark(one.plan.yard_sizes) for one in alone], chances),
        gap=scenario.settings.solve.gap if gap is None else gap,
        seconds=seconds,
        report=lambda s, best, bound: joint(Progress("all futures", s, best, bound)),
    )
    if decision is None:
        return None
    weights = np.array([c.weight for c in chances])
    found = [future.cost(built) for future in futures]
    with_base = np.array([np.inf if c is None else c for c in found])
    plans = [one.plan for one in alone]
    value = weighed(np.array([p.objective for p in plans]), weights, risk)
    bound = weighed(np.array([p.floor for p in plans]), weights, risk)
    return Robust(
        tuple(chances),
        risk,
        base,
        tuple(alone),
        tuple(keys),
        decision,
        with_base,
        value,
        bound,
    )


def _recourse(
    chance: Chance,
    alone: Result,
    keys: Sequence[Key],
    instances: Sequence[Instance],
    session: Session,
) -> Recourse:
    """Make the second stage of one future; its own bound holds for any yards."""
    inst, plan = alone.instance, alone.plan
    everyone = [one for one in instances if one is not inst]
    second = second_stage(inst, keys, everyone, plan.warm_start.duals)
    name, weight = chance.change.title, chance.weight
    flows = linear_recourse(
        name,
        weight,
        second.technology,
        second.recourse,
        second.most,
        vertex=not plan.warm_start.duals,
    )

    def cut(x: Floats) -> OptimalityCut | None:
        found = flows.cut(x)
        if found is None:
            return None
        return OptimalityCut(found.constant, found.slope + second.annual)

    cost = Operating(inst, keys, second.annual, session, plan.warm_start.basis)
    others = set.intersection(*(forced(one) for one in instances))
    holds = plan.status != "shortage" and forced(inst) <= others
    return Recourse(name, weight, cut, cost, plan.floor if holds else -np.inf)


def _likely(
    built: Floats, alone: Sequence[Floats], chances: Sequence[Chance]
) -> list[Floats]:
    """Choose decisions worth a trial: the base's, and those of most weight alone."""
    weight: dict[tuple[float, ...], float] = {}
    for x, chance in zip(alone, chances, strict=True):
        weight[tuple(x)] = weight.get(tuple(x), 0.0) + chance.weight
    ranked = sorted(weight, key=lambda x: -weight[x])
    found = {tuple(built): built, **{x: np.array(x) for x in ranked[:3]}}
    return list(found.values())


def futures_table(found: Robust) -> pd.DataFrame:
    """
    One row a future.

    Returns
    -------
    DataFrame
        future, weight, alone (cost with yards of its own), alone_bound, robust,
        base (cost with the robust yards, with the base plan's). [money/yr]
    """
    return pd.DataFrame(
        {
            "future": [c.change.title for c in found.chances],
            "weight": [c.weight for c in found.chances],
            "alone": [one.plan.objective for one in found.alone],
            "alone_bound": [one.plan.floor for one in found.alone],
            "robust": found.decision.costs,
            "base": found.with_base,
        }
    )


def yards_table(found: Robust) -> pd.DataFrame:
    """
    One row a yard that the base plan, the robust one or a future alone builds.

    Returns
    -------
    DataFrame
        yard, base, robust (size, or empty), alone (weight of the futures whose own
        plan builds it in any size).
    """
    base, here = dict(found.base.plan.yard_sizes), dict(found.yard_sizes)
    share: dict[str, float] = {}
    for chance, one in zip(found.chances, found.alone, strict=True):
        for code in dict(one.plan.yard_sizes):
            share[code] = share.get(code, 0.0) + chance.weight
    codes = sorted({*base, *here, *share}, key=lambda j: (-share.get(j, 0.0), j))
    return pd.DataFrame(
        {
            "yard": codes,
            "base": [base.get(j, "") for j in codes],
            "robust": [here.get(j, "") for j in codes],
            "alone": [share.get(j, 0.0) for j in codes],
        }
    )
