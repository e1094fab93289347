"""
Why a yard stands at a site or not: the other decision, with all else planned anew.

The plan there is says what is best; here the decision on one site is turned round. The
difference of the two has a proof at both ends, and so has what would have to change
for the plan to turn (`entering`). Own trucks stay at home where each of the two plans
has them, if its bound is for these homes (`model.solving.enforced`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial

import numpy as np

from logistics.changes import ChangeSet, Step
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
from logistics.studies.changed_districts import (
    BASE_GAP,
    PLACE,
    Changed,
    adds_when_changed,
    changed_district,
    effort_asked,
    farthest,
    margin_at_least,
)
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

FARTHEST = 10.0
"""Rise of prices beyond which none is told. [1]"""

UP_TO = 0.1
"""How far prices and tonnes are changed, up or down. [1]"""


def ground_of(
    base: Result, watch: Watch | None = None, gap: float = BASE_GAP
) -> Ground:
    """Make ready what all questions need; the plan is proven closer where it is not."""
    made = prepare(base.scenario, base.travel)
    if base.plan.gap <= gap or not meets(base):
        return Ground(base, made)
    effort = replace(effort_of(base.scenario), gap=gap)
    plan = plan_beside(made.instance, base.plan, effort, told_of(watch, "Base"))
    if plan.status == "shortage" or plan.objective > base.plan.objective:
        plan = replace(base.plan, bound=max(base.plan.bound, plan.bound))
    return Ground(with_result(made, plan), made)


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
    Turn the decision on a site round, and say what that does.

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
    effort = effort_asked(ground)
    turn_round = plan_without_site if chosen else plan_with_site
    title = "No yard there" if chosen else "A yard there"
    near = nearby(made.instance, base.plan, yard)
    with ThreadPoolExecutor(1) as pool:  # beside a proof that keeps one core busy
        ahead = pool.submit(farthest, ground, told, near, up_to)
        plan = turn_round(
            made.instance, base.plan, yard, size, effort, told_of(watch, title)
        )
    if plan.homes_held:  # its bound is for these; that of all plans holds for all
        floor = min(base.plan.floor, plan.bound)
        plan = replace(plan, any_bound=floor)
    other = with_result(made, plan, _turned(made.instance, yard, size, chosen))
    outcome = Outcome(_change(yard, size, chosen), None, other)
    pair = (base.plan, plan) if chosen else (plan, base.plan)
    adds = adds_of(*pair)
    told = replace(told, outcome=outcome, adds=adds, anywhere=_anywhere(told, *pair))
    if adds is None:
        return told
    turns = _turns(ground, told, pair, near, up_to, ahead.result())
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
    ahead: Mapping[Figure, Changed],
) -> tuple[TurningPoint, ...]:
    """
    Find what would have to change, each figure alone.

    Parameters
    ----------
    ground, told, pair
        The question, what is known of it, and the plans with the yard and without.
    near
        Sources whose tonnes are changed.
    up_to
        Largest change of prices and tonnes. [1]
    ahead
        The district with a figure changed so much, where it is known already.
    """
    assert told.adds is not None
    far = margin(told.adds, chosen=told.chosen)
    if far[0] <= 0:  # nothing is proven of today, so nothing of what would be
        return ()
    turns = _constants(ground, told, pair[0], far)
    if up_to <= 0:
        return turns

    def far_at(figure: Figure, share: float) -> Between:
        first = share >= up_to  # and mostly the last: it does not turn the plan
        changed = ahead.get(figure) if first else None
        if changed is None:
            codes = near if figure == "supply" else None
            changed = changed_district(ground, told, codes, share, costed=first)
        if first:
            stays = margin_at_least(ground, told, pair, changed)
            if stays > 0:
                return stays, math.inf
        found = adds_when_changed(ground, pair, changed.problems)
        if found is None:
            return -math.inf, math.inf
        return margin(found, chosen=told.chosen)

    figures: list[Figure] = ["price", "supply"] if near else ["price"]
    free = {"price": price_margin(ground, pair[1], far[0], told)}
    with ThreadPoolExecutor(2) as pool:
        jobs = [
            pool.submit(
                searched,
                far,
                figure,
                up_to,
                partial(far_at, figure),
                free.get(figure, 0.0),
            )
            for figure in figures
        ]
        return (*turns, *(job.result() for job in jobs))


def price_margin(ground: Ground, absent: Plan, far: float, told: SiteAnswer) -> float:
    """
    Rise of all prices up to which a site surely stays out, without planning. [1]

    With prices p a share x higher, no plan with the yard sells for more than all that
    markets take, and the plan without it sells what it sells:
    f_with(x) - f_without(x) >= margin - x * (p . demand - p . delivered).
    Where all that markets take is sold, no rise turns the plan: `FARTHEST` is told.
    """
    markets = ground.made.instance.markets
    if told.chosen or markets.price_change is not None:
        return 0.0
    price = dict(zip(markets.codes, markets.price_per_t.tolist(), strict=True))
    table = absent.deliveries
    sold = float((table["market"].map(price) * table["tonnes"]).sum())
    whole = float(np.maximum(markets.prices, 0.0).ravel() @ markets.demand.ravel())
    return min(FARTHEST, far / max(whole - sold, 1e-9))


def _constants(
    ground: Ground, told: SiteAnswer, there: Plan, far: Between
) -> tuple[TurningPoint, ...]:
    """Turn the margin into a yearly cost of the yard, and a grant for its works."""
    scenario = ground.base.scenario
    at = scenario.yards["yard"].tolist().index(told.code)
    size = dict(there.yard_sizes)[told.code]
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


def _turned(inst: Instance, yard: str, size: str, chosen: bool) -> Instance:
    return (without_site if chosen else with_site)(inst, yard, size)


def _change(yard: str, size: str, chosen: bool) -> ChangeSet:
    """Name the other decision; it is made on the problem, not on the scenario."""
    of = {"yard": yard} | ({"size": size} if size else {})
    name = "close_yard" if chosen else "build_yard" if size else "force_yard"
    return ChangeSet("why", "", "", (Step(name, of, PLACE),))


def with_result(made: Assembly, plan: Plan, instance: Instance | None = None) -> Result:
    """Audit a plan and reckon its money."""
    instance = instance or made.instance
    if plan.contents is not None:
        instance = instance.holding(plan.contents)
    return finished(replace(made, instance=instance), plan)


def told_of(watch: Watch | None, title: str) -> Callable[[Progress], None] | None:
    """Tell of the solving of one plan under a title."""
    if watch is None:
        return None
    return lambda progress: watch(title, progress)
