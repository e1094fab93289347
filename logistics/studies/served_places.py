"""
Why a source is not collected whole, or why a market gets less than it asks.

It is served whole, as far as any payment would, once with the yards as they are (exact,
`model.solving.served_whole`) and once with all else planned anew (proven at both ends).
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from typing import Literal

import numpy as np

from logistics.changes import ChangeSet
from logistics.model import (
    Effort,
    Floats,
    HeldYards,
    Instance,
    KeptYards,
    Plan,
    Progress,
    ServedWhole,
    Whole,
    asking,
    by_haulage,
    by_yards,
    paying,
    plan_beside,
    serve,
)
from logistics.results import Result, effort_of
from logistics.studies.comparison import Outcome, proven_difference
from logistics.studies.entering import Between, TurningPoint, by_money
from logistics.studies.reach_of_place import no_way, reached
from logistics.studies.site_answer import Ground, Kind, Service, SiteAnswer, adds_of
from logistics.studies.turned_sites import told_of, with_result

Watch = Callable[[str, Progress], None]

SERVED_GAP = 2e-4
"""Gap of the plans that are set side by side. [1]"""

PAID_GAP = 5e-5
"""Gap of a plan with a payment. [1]"""

LEAST_T, LEAST_SHARE = 0.05, 1e-4
"""Tonnes, or share of what is wanted, below which a place is served whole. [t], [1]"""

NEAR = 0.05
"""Share of what serving whole adds within which it counts as best. [1]"""

BEYOND = 1.02
"""How far beyond the payment at which it turns one is tried. [1]"""

TRIES, PAYMENTS = 5, 2
"""Costs of haulage tried, and payments with all planned anew."""


def why_place(
    ground: Ground,
    kind: Kind,
    code: str,
    periods: tuple[str, ...] = (),
    up_to: float = 1.0,
    watch: Watch | None = None,
) -> SiteAnswer:
    """
    Serve a source or a market whole, and say what that does.

    Parameters
    ----------
    ground
        See `ground_of`; its plan meets all demands and its goal is the cost.
    kind, code
        "source" or "market", and its code.
    periods
        Codes of the periods asked about; none for all.
    up_to
        0 leaves out the searches that plan anew.
    watch
        Told what is planned and the progress of its solving.
    """
    base, made = ground.base, ground.made
    inst, plan = made.instance, base.plan
    asked = _asked(inst, kind, code, periods)
    service = _service(inst, plan, asked)
    told = SiteAnswer(code, "", base, chosen=False, kind=kind, service=service)
    if service.wanted_t <= 0:
        return replace(told, no_use=("It has nothing to be served then.",))
    if _is_whole(service):
        return replace(told, chosen=True)
    if barred := no_way(made, asked):
        return replace(told, no_use=tuple(barred))
    effort = effort_of(base.scenario)
    yards = HeldYards(inst, plan, effort)
    whole = serve(yards, asked)
    if whole is None:
        return told
    if whole.full is None:
        kept = by_yards(yards, whole)
        told = replace(told, service=replace(service, kept=kept))
        return _with_any_yards(ground, told, asked, effort, watch)
    served = partial(_anew, ground, whole.asked, effort, watch)
    with ThreadPoolExecutor(2) as pool:
        job = pool.submit(served)
        kept = by_yards(yards, whole)
        anew = job.result()
    told = replace(told, service=replace(service, kept=kept))
    stays = yards.plan(asking(yards.inst, kept.asked))
    told = _beside(ground, told, anew, stays)
    if told.adds is None:
        return told
    return replace(told, turns=_turns(ground, told, (yards, whole), anew, up_to))


def _asked(
    inst: Instance, kind: Kind, code: str, periods: tuple[str, ...]
) -> ServedWhole:
    codes = inst.supply.codes if kind == "source" else inst.markets.codes
    chosen = [inst.periods.index(each) for each in periods or inst.periods]
    of_kind: Literal["source", "market"] = "source" if kind == "source" else "market"
    return ServedWhole(of_kind, codes.index(code), tuple(sorted(chosen)))


def _service(inst: Instance, plan: Plan, asked: ServedWhole) -> Service:
    """See how a plan serves a place, period by period."""
    if asked.kind == "source":
        wanted, code = inst.supply.tonnes[asked.site], inst.supply.codes[asked.site]
        served = _by_period(inst, plan.hauls[plan.hauls["source"] == code])
        table = plan.uncollected[plan.uncollected["source"] == code]
        left = _by_period(inst, table)
    else:
        wanted, code = inst.markets.demand[asked.site], inst.markets.codes[asked.site]
        table = plan.deliveries[plan.deliveries["market"] == code]
        served = _by_period(inst, table)
        left = np.maximum(wanted - served, 0.0)
    opened = inst.options.yard[inst.options_of(plan.yard_sizes)].tolist()
    mine = list(asked.periods)
    short = float(left.sum())
    if asked.kind == "market" or len(mine) < len(inst.periods):
        short = max(0.0, float((wanted - served)[mine].sum()))
    return Service(
        asked=tuple(t in asked.periods for t in range(len(inst.periods))),
        wanted=tuple(wanted.tolist()),
        served=tuple(served.tolist()),
        left=tuple(left.tolist()),
        reached=tuple(reached(inst, asked, opened).tolist()),
        short_t=short,
    )


def _by_period(inst: Instance, table: object) -> Floats:
    tonnes = table.groupby("period")["tonnes"].sum()  # type: ignore[attr-defined]
    return np.array([float(tonnes.get(period, 0.0)) for period in inst.periods])


def _is_whole(service: Service) -> bool:
    return service.short_t <= max(LEAST_T, LEAST_SHARE * service.wanted_t)


def _anew(
    ground: Ground, asked: ServedWhole, effort: Effort, watch: Watch | None
) -> Plan:
    """Plan with a place served whole and all else anew."""
    wanted = asking(ground.made.instance, asked)
    told = told_of(watch, "Served whole")
    return plan_beside(wanted, ground.base.plan, replace(effort, gap=SERVED_GAP), told)


def _with_any_yards(
    ground: Ground,
    told: SiteAnswer,
    asked: ServedWhole,
    effort: Effort,
    watch: Watch | None,
) -> SiteAnswer:
    """Serve a place that the plan's yards cannot, where others can."""
    plan = _anew(ground, asked, effort, watch)
    return _beside(ground, told, plan, None, asked)


def _beside(
    ground: Ground,
    told: SiteAnswer,
    anew: Plan,
    stays: Plan | None,
    asked: ServedWhole | None = None,
) -> SiteAnswer:
    """Set the plans that serve whole beside the one asked about."""
    base, made = ground.base, ground.made
    assert told.service is not None
    if asked is None:
        assert told.service.kept is not None
        asked = told.service.kept.asked
    if anew.homes_held:  # its bound is for these; that of all plans holds for all
        anew = replace(anew, any_bound=min(base.plan.floor, anew.bound))
    wanted = asking(made.instance, asked)
    operate: Result | None = None
    if stays is not None and stays.status != "shortage":
        operate = with_result(made, stays, wanted)
    outcome = Outcome(
        ChangeSet("why", "", "", ()), operate, with_result(made, anew, wanted)
    )
    return replace(
        told,
        outcome=outcome,
        adds=_not_below(adds_of(anew, base.plan)),
        anywhere=_not_below(proven_difference(base.plan, anew)),
    )


def _not_below(found: Between | None) -> Between | None:
    """Cut off what cannot be: serving more than the best plan does saves nothing."""
    return None if found is None else (max(0.0, found[0]), max(0.0, found[1]))


def _turns(
    ground: Ground,
    told: SiteAnswer,
    held: tuple[HeldYards, Whole],
    anew: Plan,
    up_to: float,
) -> tuple[TurningPoint, ...]:
    """Find what would have to change, each figure alone."""
    assert told.adds is not None
    assert told.service is not None
    assert told.service.kept is not None
    kept, (yards, whole) = told.service.kept, held
    found = [by_money(told.adds, "payment", (1.0, 1.0), None)]
    if kept.steps and kept.steps[-1].left_t <= kept.asked.short:
        at = kept.steps[-1].per_t
        found.append(TurningPoint("tonne", at, at, None))
    with ThreadPoolExecutor(2) as pool:
        job = pool.submit(_haulage, yards, whole)
        if up_to > 0:
            effort = effort_of(ground.base.scenario)
            inst, plan = ground.made.instance, ground.base.plan
            found.append(tonne_anew(inst, plan, kept, anew, effort))
        found.append(job.result())
    return tuple(found)


def _haulage(yards: HeldYards, whole: Whole) -> TurningPoint:
    """Search how much cheaper its haulage would have to be; exact at every value."""
    stays, turns = by_haulage(yards, whole, TRIES)
    return TurningPoint("haulage", stays, turns, 1.0)


def tonne_anew(
    inst: Instance, plan: Plan, kept: KeptYards, anew: Plan, effort: Effort
) -> TurningPoint:
    """
    Bound the payment a tonne at which serving whole is best, all planned anew.

    Below `stays` some plan that leaves a part is proven to be cheaper. At `turns` the
    bound of all plans with that payment is within `NEAR` of what serving whole adds.

    Parameters
    ----------
    inst, plan
        The problem, and the plan asked about.
    kept, anew
        What the yards as they are say, and the plan that serves whole.
    effort
        Limits.
    """
    known = [(plan.objective, kept.left_t)]
    known += [(one.cost, one.left_t) for one in kept.steps[:-1]]
    stays = max((_needed(anew.bound, one, kept.asked) for one in known), default=0.0)
    near = NEAR * max(0.0, anew.objective - plan.bound)
    gap = max(PAID_GAP, near / 2 / max(1.0, abs(plan.objective)))
    per_t = max([stays, *(one.per_t for one in kept.steps)])
    for _ in range(PAYMENTS):
        per_t *= BEYOND
        priced = paying(inst, kept.asked, per_t)
        best = plan_beside(priced, plan, replace(effort, gap=gap))
        if anew.objective - best.bound <= near:
            return TurningPoint("tonne anew", min(stays, per_t), per_t, None)
        left = _service(inst, best, kept.asked).short_t
        paid = per_t * max(0.0, left - kept.asked.short)
        one = best.objective - paid, left
        stays = max(stays, _needed(anew.bound, one, kept.asked))
        per_t = max(per_t, _needed(anew.objective, one, kept.asked))
    return TurningPoint("tonne anew", stays, None, None)


def _needed(whole: float, one: tuple[float, float], asked: ServedWhole) -> float:
    """Give the payment a tonne at which a plan (cost, left) costs as serving whole."""
    cost, left = one
    if left <= asked.short + LEAST_T:
        return 0.0
    return max(0.0, (whole - cost) / (left - asked.short))
