"""Check a plan against every rule in plain numpy, without the programme's code."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.model import Instance, Lanes, Plan, ServedWhole
from logistics.results.audit_backhaul import paired_checks
from logistics.results.audit_mixes import mixes
from logistics.results.audit_nutrients import nutrients_as_made
from logistics.results.audit_trucks import truck_checks
from logistics.results.plan_amounts import (
    TOLERANCE,
    AuditError,
    Floats,
    PlanArrays,
    amounts,
)
from logistics.scenario import in_list

Check = tuple[str, Floats, Floats]
ONE = np.ones(1)
"""Size of rows that are counted as they are. [t], [h], [yards]"""


def audit(inst: Instance, plan: Plan, *, demands: bool = True) -> pd.DataFrame:
    """
    Check mass, mixes, room, trucks, markets and the demands of the board.

    Parameters
    ----------
    inst, plan
        The problem and its answer.
    demands
        False leaves out the demands that a plan with shortages cannot meet.

    Returns
    -------
    DataFrame
        check, rows, worst (largest breach as a share of its row), tolerance,
        passed.
    """
    with np.errstate(invalid="ignore"):  # what is not a number fails
        return _table(list(_checks(inst, plan, demands=demands)))


def _checks(inst: Instance, plan: Plan, *, demands: bool) -> Iterator[Check]:
    """Yield every check: its name, breaches, and the sizes that they are shares of."""
    a = amounts(inst, plan)
    for part in (_sites, mixes, _rooms, _routes, nutrients_as_made):
        yield from part(inst, a)
    yield from paired_checks(inst, plan)
    if demands:
        yield from _demands(inst, a)
        yield _objective(inst, a, plan.objective)


def _table(checks: list[Check]) -> pd.DataFrame:
    """Lay out the worst breach of each check, and whether it is within tolerance."""
    rows = []
    for name, breach, scale in checks:
        breach, scale = np.broadcast_arrays(
            np.asarray(breach, dtype=float), np.asarray(scale, dtype=float)
        )
        share = breach / np.maximum(scale, 1.0)
        worst = float(np.max(share, initial=0.0))
        rows.append((name, breach.size, worst, TOLERANCE, worst <= TOLERANCE))
    return pd.DataFrame(rows, columns=["check", "rows", "worst", "tolerance", "passed"])


def require(table: pd.DataFrame) -> None:
    """Raise AuditError where a check failed."""
    failed = table[~table["passed"]]
    if len(failed):
        worst = in_list(
            f"{row.check} (by {row.worst:.2g})" for row in failed.itertuples()
        )
        message = f"the plan fails its audit and is not shown: {worst}"
        raise AuditError(message)


_FLOWS = [f.name for f in fields(PlanArrays) if f.name not in ("size", "made", "saved")]


def _sites(inst: Instance, a: PlanArrays) -> Iterator[Check]:
    """Nothing is negative; mass is kept at sources and yards."""
    for name in _FLOWS:
        yield f"{name} not negative", -getattr(a, name), ONE
    supply, feed = inst.supply, inst.feed
    keep = feed.keep[supply.feedstock]
    out = a.inbound.sum(axis=(1, 2)) + a.left + a.held
    came = keep * np.roll(a.held, 1, axis=1) + supply.tonnes
    yield "mass at sources", np.abs(came - out), supply.tonnes
    yield "room at sources", a.held - supply.hold_t[:, None], supply.hold_t[:, None]
    fresh = feed.store_periods[supply.feedstock]
    yield "held no longer than it keeps", _stale(a.held, supply.tonnes, fresh), a.held
    arrived = np.zeros_like(a.stock)
    for i, m in enumerate(supply.feedstock.tolist()):
        arrived[:, m] += a.inbound[i].sum(axis=1)
    came = feed.keep * np.roll(a.stock, 1, axis=2) + arrived
    yield "mass in yards", np.abs(came - a.charge - a.stock), arrived
    yield (
        "stock no older than it keeps",
        _stale(a.stock, arrived, fresh=feed.store_periods),
        a.stock,
    )
    lost = ((1 - feed.keep) * np.roll(a.stock, 1, axis=2)).sum(axis=2)
    charged = a.charge.sum(axis=2)
    yield "lost in store at most what is used", lost - charged, charged
    lost = ((1 - keep) * np.roll(a.held, 1, axis=1)).sum(axis=1)
    taken = a.inbound.sum(axis=(1, 2, 3))
    yield "lost at sources at most what is taken", lost - taken, taken
    if inst.cover is not None:
        there = (feed.keep * np.roll(a.stock, 1, axis=2))[:, feed.structure]
        there = np.einsum("jmt,m->jt", there, 1 / feed.loose_t_m3[feed.structure])
        need = np.einsum("jmt,mt->jt", arrived, inst.cover)
        yield "cover for what spoils", need - there, need
    product = np.einsum("jmt,m,tu->ju", a.charge, feed.product_per_t, inst.ripening)
    out = a.outbound.sum(axis=(0, 2)) + a.leftover + a.compost
    came = np.roll(a.compost, 1, axis=1) + product
    yield "mass of compost", np.abs(came - out), product
    yield "compost as made", np.abs(a.made - product), product


def _stale(stock: Floats, arrived: Floats, fresh: NDArray[np.int64]) -> Floats:
    """Stock beyond the arrivals of the periods that it may come from. [t]"""
    total = stock.shape[-1]
    recent = np.zeros_like(stock)
    for back in range(total):
        recent += np.where(back < fresh, np.roll(arrived, back, axis=-1), 0.0)
    return np.where(fresh < total, stock - recent, 0.0)


def _rooms(inst: Instance, a: PlanArrays) -> Iterator[Check]:
    """Keep windrows, stock, compost and water within the yard as built."""
    options, feed = inst.options, inst.feed
    built = a.size >= 0

    def room(values: Floats) -> Floats:
        found = np.zeros(len(a.size))
        found[built] = values[a.size[built]]
        return found[:, None]

    volume = np.einsum("jmt,m->jt", a.charge, feed.pad_m3_per_t)
    pad = room(options.pad_m3)
    yield "pad on every day", volume @ inst.pad_days - pad, pad
    store = room(options.store_m3)
    stock = np.einsum("jmt,m->jt", a.stock, 1 / feed.loose_t_m3)
    yield "store", stock - store, store
    compost = room(options.compost_store_m3)
    yield "compost store", a.compost / inst.product_t_m3 - compost, compost
    if inst.compost_days is not None:
        yield _ripe(inst, a, compost > 0)
    drawn = a.water + inst.turning_water * a.charge.sum(axis=1)
    water = np.where(built[:, None], inst.yards.water_t, 0.0)
    yield "water", drawn - water, water


def _ripe(inst: Instance, a: PlanArrays, stores: NDArray[np.bool_]) -> Check:
    """Count the compost store on the evening of every day of the year."""
    days = inst.compost_days
    assert days is not None
    charged = np.einsum("jmt,m->jt", a.charge, inst.feed.product_per_t)
    ready = charged @ days.ready_so_far()
    out = (a.outbound.sum(axis=(0, 2)) + a.leftover)[:, days.period]
    before = np.roll(a.compost, 1, axis=1)[:, days.period]
    missing = days.sent * out - before - ready
    return "compost ripe before it leaves", np.where(stores, missing, 0.0), out


def _lane_table(lanes: Lanes, values: Floats, shape: tuple[int, ...]) -> Floats:
    """Spread a lane's values over (site, yard, truck, period); NaN without a lane."""
    table = np.full(shape, np.nan)
    table[lanes.site, lanes.yard, lanes.truck] = np.where(lanes.usable, values, np.nan)
    return table


def _routes(inst: Instance, a: PlanArrays) -> Iterator[Check]:
    """Use only lanes that can be driven in time, with the trucks there are."""
    hours = -a.saved.hours
    for name, lanes, flow in (
        ("in", inst.inbound, a.inbound),
        ("out", inst.outbound, a.outbound),
    ):
        table = _lane_table(lanes, lanes.hours, flow.shape)
        yield f"lanes {name}", np.where(np.isnan(table), flow, 0.0), ONE
        hours = hours + np.einsum("sjvt,sjvt->vjt", flow, np.nan_to_num(table))
    yield from truck_checks(inst, a, hours)
    markets = inst.markets
    taken = a.outbound.sum(axis=(1, 2))
    yield "demand", taken - markets.demand, markets.demand


def _demands(inst: Instance, a: PlanArrays) -> Iterator[Check]:
    """Meet what the board asks for."""
    supply, policy = inst.supply, inst.policy
    yield "must collect", a.left[supply.must_collect], ONE
    forced = np.array([d == "open" for d in inst.yards.decision], dtype=bool)
    shut = np.array([d == "closed" for d in inst.yards.decision], dtype=bool)
    built = a.size >= 0
    yield "yards forced open", (forced & ~built).astype(float), ONE
    yield "yards forced shut", (shut & built).astype(float), ONE
    collected = a.inbound.sum(axis=(1, 2, 3))
    for rule in policy.least_shares:
        target = rule.share * supply.tonnes[list(rule.sources)].sum()
        got = collected[list(rule.sources)].sum()
        yield f"least share {rule.name}", np.array([target - got]), np.array([target])
    if policy.most_share is not None:
        most = policy.most_share
        intake = a.inbound.sum(axis=2)  # source, yard, period
        of_it = intake[np.isin(supply.feedstock, most.feedstocks)].sum(axis=0)
        allowed = most.share * intake.sum(axis=0)
        yield f"most share {most.name}", of_it - allowed, allowed
    if policy.max_yards is not None:
        yield "most yards", np.array([built.sum() - policy.max_yards]), ONE
    if policy.apart:
        sites = np.flatnonzero(built).tolist()
        short = [cut.least - cut.differs(sites) for cut in policy.apart]
        yield "other sites", np.array(short), ONE
    yield from _served(inst, a)
    if policy.capital_limit is not None:
        spent = inst.options.capital[a.size[built]].sum()
        limit = np.array([policy.capital_limit])
        yield "capital", spent - limit, limit
    if policy.budget_limit is not None:
        limit = np.array([policy.budget_limit])
        yield "budget", net_cost(inst, a) - limit, np.abs(limit)
    if policy.most_exposed is not None and inst.neighbours is not None:
        limit = np.array([policy.most_exposed])
        near = (inst.neighbours.near & built).any(axis=1)
        heads = float((inst.neighbours.heads * near).sum())
        yield "people near yards", heads - limit, limit
    if policy.worst_farms_km is not None and inst.farms is not None:
        limit = np.array([policy.worst_farms_km])
        yield "worst tenth of farms", inst.farms.worst(built) - limit, limit
    if policy.co2e_limit is not None:
        limit = np.array([policy.co2e_limit])
        yield "emissions limit", emissions(inst, a) - limit, np.abs(limit)


def _served(inst: Instance, a: PlanArrays) -> Iterator[Check]:
    """Serve whole what is to be served whole."""
    for one in inst.policy.whole:
        if one.per_t is None:
            breach = np.array([_short_of(inst, a, one) - one.short])
            year = inst.supply.tonnes if one.kind == "source" else inst.markets.demand
            scale = np.array([year[one.site, list(one.periods)].sum()])
            yield f"{one.kind} served whole", breach, scale


def _short_of(inst: Instance, a: PlanArrays, one: ServedWhole) -> float:
    """Count what is left of a source, or is wanting at a market. [t]"""
    periods = list(one.periods)
    if one.kind == "source" and len(periods) == len(inst.periods):
        return float(a.left[one.site].sum())
    year = inst.supply.tonnes if one.kind == "source" else inst.markets.demand
    flow = a.inbound if one.kind == "source" else a.outbound
    served = flow.sum(axis=(1, 2))[one.site, periods].sum()
    return float(year[one.site, periods].sum() - served)


def _objective(inst: Instance, a: PlanArrays, said: float) -> Check:
    """
    Count the goal afresh and compare it with what the programme says.

    A net cost may be small between large costs and sales, so the breach is a share
    of what is moved: tonnes, sales and the goal itself.
    """
    goal: dict[str, Callable[[Instance, PlanArrays], float]] = {
        "cost": net_cost,
        "uncollected": lambda _, a: float(a.left.sum()),
        "co2e": emissions,
    }
    value = goal[inst.goal](inst, a)
    moved = float(inst.supply.tonnes.sum()) + abs(said)
    moved += float(np.abs(a.outbound.sum(axis=(1, 2)) * inst.markets.prices).sum())
    return "goal as counted", np.array([abs(value - said)]), np.array([moved])


def emissions(inst: Instance, a: PlanArrays) -> float:
    """Emissions of the amounts, in numpy. [kg CO2e/yr]"""
    total = float(a.left.sum(axis=1) @ inst.supply.left_co2e_per_t)
    for lanes, flow in ((inst.inbound, a.inbound), (inst.outbound, a.outbound)):
        table = _lane_table(lanes, lanes.co2e, flow.shape)
        total += float(np.sum(flow * np.nan_to_num(table)))
    total += float(a.charge.sum(axis=(0, 2)) @ inst.charge_co2e)
    return total + inst.leftover_co2e * float(a.leftover.sum()) - a.saved.co2e


def net_cost(inst: Instance, a: PlanArrays) -> float:
    """Net annual cost of the amounts, in numpy. [money/yr]"""
    built = a.size[a.size >= 0]
    cost = float(inst.options.annual[built].sum()) + inst.trucks.fixed_annual
    cost += float((a.inbound.sum(axis=(1, 2)) * inst.supply.prices).sum())
    cost += float(a.left.sum(axis=1) @ inst.supply.left_money_per_t)
    for one in inst.policy.whole:
        cost += (one.per_t or 0.0) * max(0.0, _short_of(inst, a, one) - one.short)
    for lanes, flow in ((inst.inbound, a.inbound), (inst.outbound, a.outbound)):
        table = _lane_table(lanes, lanes.money, flow.shape)
        cost += float(np.sum(flow * np.nan_to_num(table)))
    cost -= float((a.outbound.sum(axis=(1, 2)) * inst.markets.prices).sum())
    mass = a.charge.sum(axis=(1, 2))
    cost += float(
        (a.water.sum(axis=1) + inst.turning_water * mass) @ inst.yards.water_per_t
    )
    is_built = a.size >= 0
    cost += float(mass[is_built] @ inst.options.handling_per_t[a.size[is_built]])
    cost += inst.leftover_per_t * float(a.leftover.sum()) - a.saved.money
    return cost + float((a.hired.sum(axis=(1, 2)) * inst.trucks.hire_per_hour).sum())
