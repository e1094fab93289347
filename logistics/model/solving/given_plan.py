"""
The money of a plan's yards under other numbers: one linear programme.

Yards, sizes, homes of own trucks and the contents that market ceilings reckon with stay
as in the plan; all flows are found anew. Small loads are not left out here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logistics.model.problem import Instance, Integers, Plan
from logistics.model.solving.fixed_yards import Flows, exact_flows
from logistics.model.solving.highs import Effort, Session


@dataclass(frozen=True)
class YearMoney:
    """
    What a year comes to.

    Attributes
    ----------
    net
        Net annual cost. [money/yr]
    haulage
        Trips, trucks owned and hired, less what pairing saves. [money/yr]
    capital
        To be found before the yards open. [money]
    """

    net: float
    haulage: float
    capital: float


def money_nearby(
    instance: Instance, plan: Plan, effort: Effort | None = None
) -> YearMoney | None:
    """
    Reckon the money of a plan's yards with other numbers; None where none can be.

    Parameters
    ----------
    instance
        The problem with other prices, amounts or properties, its goal the cost.
    plan
        Whose yards, sizes, homes and contents stay, and from whose basis the flows
        start.
    effort
        Threads and seed; it takes as long as it takes.
    """
    opened = instance.options_of(plan.yard_sizes)
    if not opened.any() or int(opened.sum()) < len(plan.yards):
        return None
    if plan.contents is not None:
        instance = instance.holding(plan.contents)
    session = Session(effort or Effort())
    homes = _homes(instance, plan)
    flows = exact_flows(instance, opened, session, plan.warm_start, based=homes)
    if flows is None:
        return None
    capital = float(instance.options.capital[opened].sum())
    return YearMoney(flows.value, _haulage(flows), capital)


def _homes(inst: Instance, plan: Plan) -> Integers | None:
    """Own trucks at home at every yard, shape (v, j); None where they are pooled."""
    if plan.bases.empty:
        return None
    found = np.zeros((len(inst.trucks.codes), len(inst.yards.codes)), dtype=np.int64)
    for truck, yard, count in plan.bases.itertuples(index=False):
        found[inst.trucks.codes.index(truck), inst.yards.codes.index(yard)] = count
    return found


def _haulage(flows: Flows) -> float:
    """Sum trips, hire and own trucks less what pairing saves. [money/yr]"""
    inst, found = flows.instance, flows.found
    total = inst.trucks.fixed_annual
    for lanes, carried in (
        (inst.inbound, found.hauled),
        (inst.outbound, found.delivered),
    ):
        lane, _, period = carried.index.T
        total += float(lanes.money[lane, period] @ carried.value)
    hire = inst.trucks.hire_per_hour
    total += float(hire[found.hired.index[:, 0]] @ found.hired.value)
    total += float(hire[found.hired_at.index[:, 1]] @ found.hired_at.value)
    if inst.backhauls is not None:
        pair, period = found.paired.index.T
        total -= float(inst.backhauls.money[pair, period] @ found.paired.value)
    return total
