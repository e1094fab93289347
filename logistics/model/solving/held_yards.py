"""
The linear programme of a plan's yards, asked to serve a place whole, or paid to.

Sizes and homes of own trucks stay as the plan has them, and compost holds what it does
in that plan, or what it would if the place were served whole.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from logistics.model.problem import Floats, Instance, Plan, ServedWhole
from logistics.model.solving.consistent_plan import operate
from logistics.model.solving.contents import contents_are_free
from logistics.model.solving.fixed_yards import Flows, exact_flows
from logistics.model.solving.given_plan import homes_of_plan
from logistics.model.solving.highs import Effort, Session

LEARN = 0.02
"""Share of what serving whole adds that other contents have to save. [1]"""


@dataclass(frozen=True)
class Paid:
    """
    A plan that is best where serving a place is paid more.

    Attributes
    ----------
    per_t
        What is paid more a tonne. [money/t]
    left_t
        What is left all the same. [t]
    cost
        Of the plan, without the payment. [money/yr]
    """

    per_t: float
    left_t: float
    cost: float


def asking(inst: Instance, asked: ServedWhole) -> Instance:
    """Demand that a place be served whole."""
    whole = (*inst.policy.whole, asked)
    return replace(inst, policy=replace(inst.policy, whole=whole))


def paying(inst: Instance, asked: ServedWhole, per_t: float) -> Instance:
    """Make every tonne that is short of what is asked cost so much. [money/t]"""
    return asking(inst, replace(asked, per_t=per_t))


def wanted(inst: Instance, asked: ServedWhole) -> float:
    """Count what arises at a source, or what a market asks, in the periods. [t]"""
    year = inst.supply.tonnes if asked.kind == "source" else inst.markets.demand
    return float(year[asked.site, list(asked.periods)].sum())


def _held(inst: Instance, contents: Floats | None) -> Instance:
    return inst if contents is None else inst.holding(contents)


class HeldYards:
    """The linear programme of a plan's yards, solved again and again from its basis."""

    def __init__(self, inst: Instance, plan: Plan, effort: Effort) -> None:
        """Hold what a plan has; `contents` are ways to hold compost."""
        self.inst, self.contents = inst, [plan.contents]
        self.opened = inst.options_of(plan.yard_sizes)
        self.homes = homes_of_plan(inst, plan)
        self.session, self.known = Session(effort), plan.warm_start

    def run(self, inst: Instance, like: Flows | None = None) -> Flows | None:
        """
        Solve a problem with these yards; None where there is no plan.

        Parameters
        ----------
        inst
            The problem.
        like
            Flows of a similar one, from whose basis it starts.
        """
        known = self.known if like is None else replace(self.known, basis=like.basis)
        found = [
            exact_flows(_held(inst, held), self.opened, self.session, known, None,
                        self.homes)
            for held in self.contents
        ]  # fmt: skip
        there = [flows for flows in found if flows is not None]
        return min(there, key=lambda flows: flows.value, default=None)

    def learn(self, inst: Instance, flows: Flows, base: Flows) -> Flows:
        """
        Let compost hold what it would in a problem, where that costs clearly less.

        From then on each problem is solved with either content, the cheaper counts.
        Returns its flows, or those given.
        """
        if not contents_are_free(inst):
            return flows
        plan = self._operated(inst)
        if plan.status == "shortage" or plan.contents is None:
            return flows
        held = _held(inst, plan.contents)
        other = exact_flows(held, self.opened, self.session, self.known, None,
                            self.homes)  # fmt: skip
        if other is None:
            return flows
        if flows.value - other.value <= LEARN * (flows.value - base.value):
            return flows
        self.contents.append(plan.contents)
        return other

    def left(self, flows: Flows, asked: ServedWhole) -> float:
        """Count what flows leave of a source, or what a market wants more. [t]"""
        inst, found = flows.instance, flows.found
        if asked.kind == "source" and len(asked.periods) == len(inst.periods):
            mine = found.left.index[:, 0] == asked.site
            return float(found.left.value[mine].sum())
        into = asked.kind == "source"
        lanes = inst.inbound if into else inst.outbound
        carried = found.hauled if into else found.delivered
        lane, _, t = carried.index.T
        mine = (lanes.site[lane] == asked.site) & np.isin(t, asked.periods)
        return max(0.0, wanted(inst, asked) - float(carried.value[mine].sum()))

    def plan(self, inst: Instance) -> Plan:
        """Plan a problem with these yards and homes, the cheaper of its contents."""
        found = [self._operated(_held(inst, held)) for held in self.contents]
        met = [plan for plan in found if plan.status != "shortage"]
        return min(met or found, key=lambda plan: plan.objective)

    def _operated(self, inst: Instance) -> Plan:
        trucks = replace(inst.trucks, homes=self.homes)
        inst = replace(inst, trucks=trucks)
        return operate(inst, self.opened, self.session.effort, None, self.known)

    def paid(
        self, asked: ServedWhole, per_t: float, like: Flows
    ) -> tuple[Paid, Flows] | None:
        """Plan with a payment a tonne; `like` as in `run`."""
        flows = self.run(paying(self.inst, asked, per_t), like)
        if flows is None:
            return None
        left = self.left(flows, asked)
        paid = per_t * max(0.0, left - asked.short)
        return Paid(per_t, left, flows.value - paid), flows
