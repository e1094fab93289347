"""
Why a yard stands at a site or not: the other decision, with all else planned anew.

The plan there is says what is best; here the decision on one site is turned round. The
difference of the two has a proof at both ends, and so has what would have to change
for the plan to turn (`entering`). Own trucks stay at home where each of the two plans
has them, if its bound is for these homes (`model.solving.enforced`).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial

import numpy as np

from logistics.changes import ChangeSet, Step, apply_changes
from logistics.costs import annuity_factor
from logistics.model import (
    Assembly,
    Instance,
    Plan,
    Progress,
    plan_beside,
    plan_with_site,
    plan_without_site,
    prepare,
    with_site,
    without_site,
    yard_options,
)
from logistics.results import Result, effort_of, finished
from logistics.studies.comparison import Outcome, meets, proven_difference
from logistics.studies.entering import (
    Between,
    Figure,
    TurningPoint,
    by_money,
    margin,
    searched,
)
from logistics.studies.site_answer import Ground, SiteAnswer, adds_of, nearby, no_use

Watch = Callable[[str, Progress], None]

SITE_GAP, BASE_GAP = 0.0075, 0.002
"""Gaps of the two plans: together below 1 %. [1]"""

UP_TO = 0.1
"""How far prices and tonnes are changed, up or down. [1]"""

DECISIONS = (with_site, without_site)

PLACE = "loamhaul why"

NODES = 4
"""Nodes for one plan of the search."""


def ground_of(base: Result, watch: Watch | None = None) -> Ground:
    """Make ready what all questions need; the plan is proven closer where it is not."""
    made = prepare(base.scenario, base.travel)
    if base.plan.gap <= BASE_GAP or not meets(base):
        return Ground(base, made)
    effort = replace(effort_of(base.scenario), gap=BASE_GAP)
    plan = plan_beside(made.instance, base.plan, effort, _told(watch, "Base"))
    if plan.status == "shortage" or plan.objective > base.plan.objective:
        plan = replace(base.plan, bound=max(base.plan.bound, plan.bound))
    return Ground(_result(made, plan), made)


def sites_to_ask(ground: Ground) -> list[str]:
    """Sites without a yard, in their order; also those where none can stand."""
    used = {yard for yard, _ in ground.base.plan.yard_sizes}
    return [code for code in ground.made.instance.yards.codes if code not in used]


def why_site(
    ground: Ground,
    yard: str,
    size: str = "",
    up_to: float = UP_TO,
    watch: Watch | None = None,
) -> SiteAnswer:
    """
    TurningPoint the decision on a site round, and say what that does.

    Parameters
    ----------
    ground
        See `ground_of`; its plan meets all demands and its goal is the cost.
    yard, size
        Code of the site; of a size, or blank for any.
    up_to
        How far the price of compost and tonnes nearby are searched; 0 for not at all.
        [1]
    watch
        Told what is planned and the progress of its solving.
    """
    base, made = ground.base, ground.made
    had = dict(base.plan.yard_sizes).get(yard)
    chosen = had is not None and size in ("", had)
    told = SiteAnswer(yard, size, base, chosen)
    if barred := no_use(made, yard, size):
        return replace(told, no_use=tuple(barred))
    effort = replace(effort_of(base.scenario), gap=SITE_GAP)
    turn_round = plan_without_site if chosen else plan_with_site
    title = "No yard there" if chosen else "A yard there"
    plan = turn_round(made.instance, base.plan, yard, size, effort, _told(watch, title))
    if plan.homes_held:  # its bound is for these; that of all plans holds for all
        floor = min(base.plan.floor, plan.bound)
        plan = replace(plan, any_bound=floor)
    other = _result(made, plan, _turned(made.instance, yard, size, chosen))
    outcome = Outcome(_change(yard, size, chosen), None, other)
    pair = (base.plan, plan) if chosen else (plan, base.plan)
    adds = adds_of(*pair)
    told = replace(told, outcome=outcome, adds=adds, anywhere=_anywhere(told, *pair))
    if adds is None:
        return told
    near = nearby(made.instance, base.plan, yard)
    turns = _turns(ground, told, pair, near, up_to)
    return replace(told, nearby=tuple(near), turns=turns)


def _anywhere(told: SiteAnswer, there: Plan, absent: Plan) -> Between | None:
    """
    Widen what a yard adds to all homes of own trucks.

    A decision that is asked for betters no best plan, so one end is not beyond zero.
    """
    found = proven_difference(absent, there)
    if found is None:
        return None
    least, most = found
    return (least, min(most, 0.0)) if told.chosen else (max(least, 0.0), most)


def _turns(
    ground: Ground,
    told: SiteAnswer,
    pair: tuple[Plan, Plan],
    near: list[str],
    up_to: float,
) -> tuple[TurningPoint, ...]:
    """Find what would have to change, each figure alone."""
    assert told.adds is not None
    far = margin(told.adds, chosen=told.chosen)
    if far[0] <= 0:  # nothing is proven of today, so nothing of what would be
        return ()
    turns = _constants(ground, told, pair[0], far)
    if up_to <= 0:
        return turns

    def far_at(codes: list[str] | None, share: float) -> Between:
        percent = -100 * share if told.chosen else 100 * share
        found = _planned(ground, told, pair, _steps(codes, percent))
        if found is None:
            return -math.inf, math.inf
        return margin(found, chosen=told.chosen)

    figures: list[tuple[Figure, list[str] | None]] = [("price", None)]
    if near:
        figures.append(("supply", near))
    free = {"price": price_margin(ground, pair[1], far[0], told)}
    with ThreadPoolExecutor(2) as pool:
        jobs = [
            pool.submit(
                searched,
                far,
                figure,
                up_to,
                partial(far_at, codes),
                free.get(figure, 0.0),
            )
            for figure, codes in figures
        ]
        return (*turns, *(job.result() for job in jobs))


def price_margin(ground: Ground, absent: Plan, far: float, told: SiteAnswer) -> float:
    """
    Rise of all prices up to which a site surely stays out, without planning. [1]

    With prices p a share x higher, no plan with the yard sells for more than all that
    markets take, and the plan without it sells what it sells:
    f_with(x) - f_without(x) >= margin - x * (p . demand - p . delivered).
    """
    markets = ground.made.instance.markets
    if told.chosen or markets.price_change is not None:
        return 0.0
    price = dict(zip(markets.codes, markets.price_per_t.tolist(), strict=True))
    table = absent.deliveries
    sold = float((table["market"].map(price) * table["tonnes"]).sum())
    whole = float(np.maximum(markets.prices, 0.0).ravel() @ markets.demand.ravel())
    return far / max(whole - sold, 1e-9)


def _steps(sources: list[str] | None, percent: float) -> list[Step]:
    """Change the price of compost, or what arises at some sources."""
    if sources is None:
        return [Step("scale_price", {"percent": percent}, PLACE)]
    return [
        Step("scale_source", {"percent": percent, "source": code}, PLACE)
        for code in sources
    ]


def _constants(
    ground: Ground, told: SiteAnswer, there: Plan, far: Between
) -> tuple[TurningPoint, ...]:
    """Turn the margin into a yearly cost of the yard, and a grant for its works."""
    scenario = ground.base.scenario
    at = scenario.yards["yard"].tolist().index(told.yard)
    size = dict(there.yard_sizes)[told.yard]
    offered = {
        str(row["size"]): (cost, float(row["works_life_years"]))
        for j, row, cost in yard_options(scenario)
        if j == at and told.size in ("", row["size"])
    }
    rate = {
        code: float(annuity_factor(scenario.settings.finance.discount, life))
        for code, (_, life) in offered.items()
    }
    cost, _ = offered[size]
    if told.chosen:  # dearer: the size planned bears it, any other may
        rates = rate[size], min(rate.values())
        yearly = by_money(far, "yearly cost", (1.0, 1.0), None)
        return yearly, by_money(far, "grant", rates, None)
    rates = max(rate.values()), rate[size]
    yearly = by_money(far, "yearly cost", (1.0, 1.0), cost.total)
    if cost.works <= 0:
        return (yearly,)
    return yearly, by_money(far, "grant", rates, cost.works)


def _planned(
    ground: Ground,
    told: SiteAnswer,
    pair: tuple[Plan, Plan],
    steps: list[Step],
) -> Between | None:
    """Plan a changed district with and without the yard; what it adds."""
    wanted = effort_of(ground.base.scenario)
    effort = replace(wanted, gap=SITE_GAP, threads=1, nodes=NODES)
    scenario = apply_changes(ground.base.scenario, ChangeSet("", "", "", tuple(steps)))
    inst = prepare(scenario, ground.base.travel).instance
    problems = [decided(inst, told.yard, told.size) for decided in DECISIONS]
    with ThreadPoolExecutor(2) as pool:
        there, absent = pool.map(plan_beside, problems, pair, (effort, effort))
    return adds_of(there, absent)


def _turned(inst: Instance, yard: str, size: str, chosen: bool) -> Instance:
    return (without_site if chosen else with_site)(inst, yard, size)


def _change(yard: str, size: str, chosen: bool) -> ChangeSet:
    """Name the other decision; it is made on the problem, not on the scenario."""
    of = {"yard": yard} | ({"size": size} if size else {})
    name = "close_yard" if chosen else "build_yard" if size else "force_yard"
    return ChangeSet("why", "", "", (Step(name, of, PLACE),))


def _result(made: Assembly, plan: Plan, instance: Instance | None = None) -> Result:
    """Audit a plan and reckon its money."""
    instance = instance or made.instance
    if plan.contents is not None:
        instance = instance.holding(plan.contents)
    return finished(replace(made, instance=instance), plan)


def _told(watch: Watch | None, title: str) -> Callable[[Progress], None] | None:
    if watch is None:
        return None
    return lambda progress: watch(title, progress)
