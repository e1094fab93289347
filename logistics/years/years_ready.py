"""The years made ready: their problems, what may be bought, and what running takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from logistics.costs import OptionCost
from logistics.model import (
    Assembly,
    Instance,
    Key,
    Plan,
    Session,
    forced,
    keys_of,
    prepare,
)
from logistics.roads import Travel
from logistics.scenario import Scenario, with_table
from logistics.years.first_stage import Money, Stage, first_stage_of
from logistics.years.futures import (
    YearKind,
    keys_in,
    kind_of,
    option_costs,
    running_cost,
    to_be_run,
)
from logistics.years.horizon import YearAhead
from logistics.years.purchases import Purchases, purchases

TRAVELLED = ("roads", "periods", "sources", "yards", "markets", "trucks")
"""Tables that ways between sites rest on."""

PRICED = ["amount", "price_per_t", "tipping_fee_per_t", "crew_cost_per_hour"]
"""Columns of theirs that change no way."""


@dataclass(frozen=True, eq=False)
class YearsReady:
    """
    The years made ready.

    Attributes
    ----------
    ahead, made
        The years, and the problem of each.
    keys, offered
        Every yard and size, and those that each year offers.
    bought, money, stage
        What may be bought, what the years allow, and both as a programme.
    """

    ahead: tuple[YearAhead, ...]
    made: tuple[Assembly, ...]
    keys: tuple[Key, ...]
    offered: tuple[set[Key], ...]
    bought: Purchases
    money: Money
    stage: Stage


def made_ready(ahead: Sequence[YearAhead]) -> YearsReady:
    """Prepare each year, and write what may be bought as a programme."""
    ahead, made = tuple(ahead), _prepared(ahead)
    instances = [one.instance for one in made]
    keys = keys_of(instances)
    offered = [set(keys_in(inst)) for inst in instances]
    bought = purchases([one.scenario for one in ahead], keys, offered)
    finance = ahead[0].scenario.settings.finance
    running = np.zeros((len(ahead), len(keys)))
    costs: dict[Key, OptionCost] = {}
    for one in reversed(
        ahead
    ):  # of a yard that is ruled out later, what it cost before
        costs |= option_costs(one.scenario)
    for y, one in enumerate(ahead):
        costs |= option_costs(one.scenario)
        running[y] = [running_cost(costs[key]) for key in keys]
    money = Money(
        capital=np.array([one.capital for one in ahead]),
        carry_over=np.array([float(one.carry_over) for one in ahead]),
        running=running,
        idle_share=finance.idle,
        discount=finance.discount,
    )
    must = forced(instances[-1])
    most = instances[-1].policy.max_yards
    stage = first_stage_of(keys, bought, offered, must, most, money)
    if instances[-1].goal != "cost":
        stage = stage.unpriced()
    return YearsReady(ahead, made, tuple(keys), tuple(offered), bought, money, stage)


def relieved(ready: YearsReady, first: int) -> YearsReady:
    """Ask for the board's shares of feedstock from a year on, and not before."""
    ahead, made = list(ready.ahead), list(ready.made)
    for y in range(first):
        if not len(ahead[y].scenario.policy):
            continue
        none = ahead[y].scenario.policy.iloc[:0]
        scenario = with_table(ahead[y].scenario, "policy", none)
        alike = f"{ahead[y].alike} without shares"
        ahead[y] = replace(ahead[y], scenario=scenario, alike=alike)
        inst = made[y].instance
        inst = replace(inst, policy=replace(inst.policy, least_shares=()))
        made[y] = replace(made[y], scenario=scenario, instance=inst)
    return replace(ready, ahead=tuple(ahead), made=tuple(made))


def held(inst: Instance, plan: Plan) -> Instance:
    """Hold the contents of a plan's compost, where it has the same yards and months."""
    if plan.contents is None or inst.contents is None:
        return inst
    same = inst.contents.held.shape == plan.contents.shape
    return inst.holding(plan.contents) if same else inst


def kinds_of(
    ready: YearsReady,
    plan: Plan,
    session: Session,
    *,
    only_short: bool = False,
) -> list[YearKind]:
    """
    Make a kind of all years that are alike.

    Parameters
    ----------
    ready, plan
        The years; a plan whose compost holds what theirs does.
    session
        Threads, and time.
    only_short
        Count by how much demands are missed, and no cost.
    """
    alike: dict[tuple[str, float], list[int]] = {}
    for y, one in enumerate(ready.ahead):
        alike.setdefault((one.alike, one.recurrent), []).append(y)
    kinds = []
    for (_, limit), years in alike.items():
        made = ready.made[years[0]]
        inst = to_be_run(held(made.instance, plan), made.scenario, limit)
        kinds.append(kind_of(inst, ready.keys, years, session, only_short=only_short))
    return kinds


def most_of_goal(ready: YearsReady) -> float:
    """Most that a year leaves: all that arises. Infinite for other goals. [goal]"""
    if ready.made[0].instance.goal != "uncollected":
        return np.inf
    return max(float(one.instance.supply.tonnes.sum()) for one in ready.made)


def _prepared(ahead: Sequence[YearAhead]) -> tuple[Assembly, ...]:
    """Make every year ready; ways are found once where nothing they rest on differs."""
    made, known = list[Assembly](), list[tuple[Scenario, Travel]]()
    for one in ahead:
        ways = next((w for s, w in known if _same_ways(s, one.scenario)), None)
        made.append(prepare(one.scenario, ways))
        if ways is None:
            known.append((one.scenario, made[-1].travel))
    return tuple(made)


def _same_ways(one: Scenario, other: Scenario) -> bool:
    """Say whether two years have the same sites, roads and trucks."""
    if one.settings.travel != other.settings.travel:
        return False
    for name in TRAVELLED:
        mine, theirs = (
            s.table(name).drop(columns=PRICED, errors="ignore") for s in (one, other)
        )
        if not mine.equals(theirs):
            return False
    return True
