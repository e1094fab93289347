"""
A source collected whole, or a market given all it asks, with the yards of a plan.

Each question is one linear programme or two (`held_yards`), and what it says is exact.
Paid s more for every tonne that is not left (dearer disposal of it, a price, money from
outside), a plan of cost c that leaves u costs c + s u. The payment at which no more is
left is the greatest (f - c) / (u - least) over all plans, with f the least cost of
serving whole: Dinkelbach's method finds it in a few programmes, from below.

Dinkelbach, On nonlinear fractional programming, Management Science 13, 1967, from
memory.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from logistics.model.problem import Instance, ServedWhole
from logistics.model.solving.fixed_yards import Flows
from logistics.model.solving.held_yards import HeldYards, Paid, asking, paying, wanted
from logistics.model.solving.unbound_rules import bind, unbound

EQUAL = 1e-7
"""Share of the cost within which two plans cost the same. [1]"""

NOTHING_T, LEAST_T = 1e-3, 0.05
"""Tonnes that count as none, and too few to plan for. [t]"""

STEPS = 12
"""Payments tried, at most."""

ANY_PRICE = 1e3
"""A payment that is as good as any, in units of the greatest price and haulage. [1]"""


@dataclass(frozen=True, eq=False)
class KeptYards:
    """
    What serving a place whole takes with the yards as they are.

    Attributes
    ----------
    asked
        What is asked; `short` is what no payment would serve.
    left_t
        What the plan leaves. [t]
    adds
        What it costs more, exact. [money/yr]
    steps
        Plans with rising payments, each serving more; the last serves whole.
    unbound
        Rule -> what is left without it, where that is less. [t]
    bars
        Rule -> what no payment would serve without it, where that is less. [t]
    """

    asked: ServedWhole
    left_t: float
    adds: float
    steps: tuple[Paid, ...]
    unbound: dict[str, float] = field(default_factory=dict)
    bars: dict[str, float] = field(default_factory=dict)


def hauled_for_less(inst: Instance, asked: ServedWhole, share: float) -> Instance:
    """Make haulage from a source, or to a market, cheaper by a share of its cost."""
    lanes = inst.inbound if asked.kind == "source" else inst.outbound
    money = np.where((lanes.site == asked.site)[:, None], 1 - share, 1.0) * lanes.money
    if asked.kind == "source":
        return replace(inst, inbound=replace(lanes, money=money))
    return replace(inst, outbound=replace(lanes, money=money))


@dataclass(frozen=True, eq=False)
class Whole:
    """
    A place served whole with the yards of a plan, as far as any payment serves it.

    Attributes
    ----------
    asked
        What is asked; `short` is what no payment would serve.
    base, full
        Flows as the plan has them, and those that serve whole; None where no more
        can be served than is.
    bars
        Rule -> what no payment would serve without it, where that is less. [t]
    """

    asked: ServedWhole
    base: Flows
    full: Flows | None
    bars: dict[str, float] = field(default_factory=dict)


def serve(yards: HeldYards, asked: ServedWhole) -> Whole | None:
    """Serve a place whole with the yards of a plan; None where these have no plan."""
    base = yards.run(yards.inst)
    if base is None:
        return None
    full = yards.run(asking(yards.inst, asked), base)
    if full is not None:
        full = yards.learn(asking(yards.inst, asked), full, base)
        return Whole(asked, base, full)
    asked, bars = _as_far_as_can_be(yards, asked, _any_price(yards.inst), base)
    if yards.left(base, asked) > asked.short + max(0.01 * asked.short, LEAST_T):
        full = yards.run(asking(yards.inst, asked), base)
    if full is not None:
        full = yards.learn(asking(yards.inst, asked), full, base)
    return Whole(asked, base, full, bars)


def by_yards(yards: HeldYards, whole: Whole) -> KeptYards:
    """Say what serving whole takes: payments, and rules that keep the plan from it."""
    asked, base = whole.asked, whole.base
    left = yards.left(base, asked)
    if whole.full is None or left <= asked.short + NOTHING_T:
        return KeptYards(asked, left, 0.0, (), bars=whole.bars)
    adds = max(0.0, whole.full.value - base.value)
    steps = _steps(yards, asked, whole.full.value, base)
    less = _less_left(yards, asked, yards.inst, base, left)
    return KeptYards(asked, left, adds, steps, less, whole.bars)


def _any_price(inst: Instance) -> float:
    """Give a payment above all that a tonne can cost. [money/t]"""
    greatest = [
        float(np.abs(x).max(initial=1.0))
        for x in (inst.inbound.money, inst.outbound.money, inst.markets.prices)
    ]
    return ANY_PRICE * max(greatest)


def _as_far_as_can_be(
    yards: HeldYards, asked: ServedWhole, most: float, base: Flows
) -> tuple[ServedWhole, dict[str, float]]:
    """Find what no payment serves, and which rule alone bars it."""
    found = yards.paid(asked, most, base)
    least = wanted(yards.inst, asked) if found is None else found[0].left_t
    bars = {}
    if found is not None:
        priced = paying(yards.inst, asked, most)
        bars = _less_left(yards, asked, priced, found[1], least)
    return replace(asked, short=least + NOTHING_T), bars


def _less_left(
    yards: HeldYards, asked: ServedWhole, inst: Instance, base: Flows, left: float
) -> dict[str, float]:
    """Lift each rule that binds, alone, and see whether less is left. [t]"""
    found = {}
    for rule in bind(base.duals, inst, asked):
        flows = yards.run(unbound(rule, inst, asked), base)
        if flows is not None:
            less = yards.left(flows, asked)
            if less < left - max(0.01 * wanted(inst, asked), NOTHING_T):
                found[rule] = max(less, 0.0)
    return found


def _steps(
    yards: HeldYards, asked: ServedWhole, full: float, base: Flows
) -> tuple[Paid, ...]:
    """Raise the payment until the place is served whole."""
    slack = EQUAL * max(1.0, abs(full))
    cost, left, like = base.value, yards.left(base, asked), base
    steps: list[Paid] = []
    for _ in range(STEPS):
        per_t = max(0.0, full - cost) / (left - asked.short)
        found = yards.paid(asked, per_t, like)
        if found is None:
            break
        step, like = found
        cost, left = step.cost, step.left_t
        gain = full - (cost + per_t * (left - asked.short))
        if gain <= slack or left <= asked.short + NOTHING_T:
            return (*steps, Paid(per_t, asked.short, full))
        steps.append(step)
    return tuple(steps)


def by_haulage(
    yards: HeldYards, whole: Whole, tries: int
) -> tuple[float, float | None]:
    """
    Search how much cheaper its haulage makes serving whole cost nothing.

    Parameters
    ----------
    yards, whole
        See `serve`; `full` is there.
    tries
        Values tried; the first is haulage for nothing.

    Returns
    -------
    tuple
        Share up to which it is known to cost something, and share from which it is
        known to cost nothing, None where none is. [1]
    """
    assert whole.full is not None
    slack = EQUAL * max(1.0, abs(whole.full.value))
    stays, turns, share = 0.0, None, 1.0
    free, full = whole.base, whole.full
    for _ in range(tries):
        inst = hauled_for_less(yards.inst, whole.asked, share)
        one = yards.run(inst, free)
        other = yards.run(asking(inst, whole.asked), full)
        if one is None or other is None:
            break
        if other.value - one.value > slack:
            stays = share
            if turns is None:
                break
        else:
            turns = share
        free, full, share = one, other, (stays + (turns or 1.0)) / 2
    return stays, turns
