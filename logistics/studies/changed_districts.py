"""
A district with one figure changed, with a yard at a site and without one.

Mostly the change does not turn a plan. That is proven by the cost of today's yards in
the changed district and a bound of the other decision, which ends once it is above that
cost; only where it is not are both planned anew.
"""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

from logistics.changes import ChangeSet, Step, apply_changes
from logistics.model import (
    Effort,
    Instance,
    Plan,
    bound_beside,
    cost_beside,
    plan_beside,
    prepare,
    with_site,
    without_site,
)
from logistics.results import effort_of
from logistics.studies.entering import Between, Figure
from logistics.studies.site_answer import Ground, SiteAnswer, adds_of

WIDEST, BASE_GAP = 0.0098, 0.002
"""Gaps of the two plans together, and of the first at most. [1]"""

DECISIONS = (with_site, without_site)

PLACE = "loamhaul why"

NODES = 4
"""Nodes for one plan of the search."""

ENOUGH = 1e-5
"""Margin that is proof enough, as a share of the cost. [1]"""


@dataclass(frozen=True, eq=False)
class Changed:
    """A changed district with the yard and without; cost of today's yards in it."""

    problems: tuple[Instance, Instance]
    cost: float


def farthest(
    ground: Ground, told: SiteAnswer, near: list[str], up_to: float
) -> dict[Figure, Changed]:
    """Change tonnes nearby and prices, each alone, as far as they are searched."""
    if up_to <= 0:
        return {}
    figures: dict[Figure, list[str] | None] = {"supply": near} if near else {}
    figures["price"] = None
    return {
        figure: changed_district(ground, told, codes, up_to, costed=True)
        for figure, codes in figures.items()
    }


def changed_district(
    ground: Ground,
    told: SiteAnswer,
    codes: list[str] | None,
    share: float,
    *,
    costed: bool,
) -> Changed:
    """Change tonnes of some sources, or the prices (no codes), towards the turn."""
    percent = -100 * share if told.chosen else 100 * share
    steps = tuple(_steps(codes, percent))
    scenario = apply_changes(ground.base.scenario, ChangeSet("", "", "", steps))
    inst = prepare(scenario, ground.base.travel).instance
    there, absent = (decided(inst, told.code, told.size) for decided in DECISIONS)
    cost = math.inf
    if costed:
        kept = there if told.chosen else absent
        cost = cost_beside(kept, ground.base.plan, _one_thread(ground))
    return Changed((there, absent), cost)


def margin_at_least(
    ground: Ground, told: SiteAnswer, pair: tuple[Plan, Plan], changed: Changed
) -> float:
    """
    Prove that a changed district keeps its decision, by the yards of today alone.

    Returns
    -------
    float
        Least margin; above 0 the decision stays, else nothing is said. [money/yr]
    """
    cost, turned = changed.cost, 1 if told.chosen else 0
    if not math.isfinite(cost):
        return -math.inf
    enough = cost + ENOUGH * abs(cost)
    other = changed.problems[turned], pair[turned]
    return bound_beside(*other, _one_thread(ground), enough) - cost


def adds_when_changed(
    ground: Ground, pair: tuple[Plan, Plan], changed: tuple[Instance, Instance]
) -> Between | None:
    """Plan a changed district with and without the yard; what it adds."""
    effort = _one_thread(ground)
    with ThreadPoolExecutor(2) as pool:
        there, absent = pool.map(plan_beside, changed, pair, (effort, effort))
    return adds_of(there, absent)


def _one_thread(ground: Ground) -> Effort:
    """Ask for little more than the root of a tree, on one thread."""
    return replace(effort_asked(ground), threads=1, nodes=NODES)


def effort_asked(ground: Ground) -> Effort:
    """Ask of a plan what the proof of the first one leaves of the widest interval."""
    gap = WIDEST - min(ground.base.plan.gap, BASE_GAP)
    return replace(effort_of(ground.base.scenario), gap=gap)


def _steps(sources: list[str] | None, percent: float) -> list[Step]:
    """Change the price of compost, or what arises at some sources."""
    if sources is None:
        return [Step("scale_price", {"percent": percent}, PLACE)]
    return [
        Step("scale_source", {"percent": percent, "source": code}, PLACE)
        for code in sources
    ]
