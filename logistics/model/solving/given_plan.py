"""
The money of a plan's yards under other numbers: one linear programme.

Yards, sizes and homes of own trucks stay as in the plan; all flows are found anew. What
compost holds, where market ceilings reckon with it, follows the numbers as the mixes of
the plan would. Small loads are not left out here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logistics.model.problem import PART, Floats, Instance, Integers, Plan
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
    instance: Instance, like: Instance, plan: Plan, effort: Effort | None = None
) -> YearMoney | None:
    """
    Reckon the money of a plan's yards with other numbers; None where none can be.

    Parameters
    ----------
    instance
        The problem with other prices, amounts or properties, its goal the cost.
    like
        The problem of the plan.
    plan
        Whose yards, sizes, homes and contents stay, and from whose basis the flows
        start.
    effort
        Threads and seed; it takes as long as it takes.
    """
    opened = instance.options_of(plan.yard_sizes)
    if not opened.any() or int(opened.sum()) < len(plan.yards):
        return None
    instance = with_contents_of(plan, instance, like)
    session = Session(effort or Effort())
    homes = homes_of_plan(instance, plan)
    flows = exact_flows(instance, opened, session, plan.warm_start, based=homes)
    if flows is None:
        return None
    capital = float(instance.options.capital[opened].sum())
    return YearMoney(flows.value, _haulage(flows), capital)


def with_contents_of(plan: Plan, instance: Instance, like: Instance) -> Instance:
    """
    Hold what the compost of a plan contains, as much richer or poorer as its mixes are.

    Parameters
    ----------
    plan, like
        The plan and its problem.
    instance
        The problem with other numbers; of the yards it may have the plan's alone.
    """
    if plan.contents is None:
        return instance
    was, now = _mean_contents(plan, like), _mean_contents(plan, instance)
    at = [like.yards.codes.index(code) for code in instance.yards.codes]
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.nan_to_num(now / was[:, at], nan=1.0, posinf=1.0)
    return instance.holding(plan.contents[:, at] * ratio[:, :, None])


def _mean_contents(plan: Plan, inst: Instance) -> Floats:
    """Reckon what a year's charges make compost hold, shape (k, j). [t/t]"""
    charged = np.zeros((len(inst.yards.codes), len(inst.feed.codes)))
    yards = {code: j for j, code in enumerate(inst.yards.codes)}
    feeds = {code: m for m, code in enumerate(inst.feed.codes)}
    table = plan.charges[plan.charges["feedstock"].isin(list(feeds))]
    at = table["yard"].map(yards), table["feedstock"].map(feeds)
    np.add.at(charged, at, table["tonnes"].to_numpy(dtype=float))
    contents = inst.contents
    assert contents is not None
    with np.errstate(invalid="ignore"):
        return np.asarray((contents.kept @ charged.T) / (charged @ contents.made))


def homes_of_plan(inst: Instance, plan: Plan) -> Integers | None:
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
    total += PART * float(hire[found.busy.index[:, 1]] @ found.busy.value)
    if inst.backhauls is not None:
        pair, period = found.paired.index.T
        total -= float(inst.backhauls.money[pair, period] @ found.paired.value)
    return total
