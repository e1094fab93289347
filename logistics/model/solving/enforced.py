"""
A plan with one site decided and all else planned anew, beside the plan there is.

Own trucks stay at home where the plan there is has them, as its bound says as much
(`Plan.homes_held`): with homes held, both bounds are tight. A few other homes are tried
by one linear programme each, those of a yard moved to a site nearby; the cheapest are
held. Land rules stay in force: a site forced open in a scenario is only warned about.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import fields, replace

import numpy as np

from logistics.model.problem import Flags, Instance, Integers, Options, Plan
from logistics.model.solving.consistent_plan import operate, solve
from logistics.model.solving.contents import contents_are_free, with_free_contents
from logistics.model.solving.fixed_yards import Flows, exact_flows
from logistics.model.solving.given_plan import homes_of_plan
from logistics.model.solving.highs import Effort, NoPlanError, Session, Watch
from logistics.model.solving.root_bound import root_bound
from logistics.model.solving.settled_homes import settled_homes
from logistics.model.solving.solution import is_direct, solve_as_held

NEIGHBOURS = 2
"""Yards near a site that are tried as moved there, with their trucks."""


def with_site(inst: Instance, yard: str, size: str = "") -> Instance:
    """Demand a yard at a site, in one size or in any (blank)."""
    here = _at(inst, yard)
    if size:
        sizes = np.array([code == size for code in inst.options.size], dtype=bool)
        inst = _offering(inst, ~here | sizes)
    return _decided(inst, yard, "open")


def without_site(inst: Instance, yard: str, size: str = "") -> Instance:
    """Rule out a yard at a site, in one size or in any (blank)."""
    here = _at(inst, yard)
    if size:
        sizes = np.array([code == size for code in inst.options.size], dtype=bool)
        return _offering(inst, ~(here & sizes))
    return _decided(_offering(inst, ~here), yard, "closed")


def plan_beside(
    inst: Instance, plan: Plan, effort: Effort, watch: Watch | None = None
) -> Plan:
    """
    Plan a similar problem from a plan and its warm start, own trucks where it has them.

    Parameters
    ----------
    inst
        The problem: with other prices or amounts, or other decisions on sites.
    plan
        The plan there is; where its bound holds for every home, so does the new one's.
    effort, watch
        Limits and progress callback.
    """
    homes = homes_of_plan(inst, plan) if plan.homes_held else None
    start = inst.options_of(plan.yard_sizes)
    return solve(at_homes(inst, homes), effort, watch, start, plan.warm_start)


def cost_beside(inst: Instance, plan: Plan, effort: Effort) -> float:
    """
    Tell what a similar problem costs with the yards and homes of a plan. [goal]

    Parameters
    ----------
    inst, plan, effort
        See `plan_beside`.

    Returns
    -------
    float
        Infinite where these yards cannot meet all demands.
    """
    homes = homes_of_plan(inst, plan) if plan.homes_held else None
    opened = inst.options_of(plan.yard_sizes)
    found = operate(at_homes(inst, homes), opened, effort, None, plan.warm_start)
    return np.inf if found.status == "shortage" else found.objective


def bound_beside(inst: Instance, plan: Plan, effort: Effort, enough: float) -> float:
    """
    Bound a similar problem from below, whatever compost is made to hold. [goal]

    Parameters
    ----------
    inst, plan, effort
        See `plan_beside`.
    enough
        Bound at which the proof may end.

    Returns
    -------
    float
        No plan with these homes costs less; minus infinity where nothing is proven.
    """
    homes = homes_of_plan(inst, plan) if plan.homes_held else None
    start = inst.options_of(plan.yard_sizes)
    free = at_homes(_free(inst), homes)
    if np.isfinite(enough) and plan.warm_start.duals and not is_direct(free):
        proven = root_bound(free, start, plan.warm_start, effort, enough)
        if proven >= enough:
            return proven
    ending = replace(effort, enough=enough)
    try:
        found = solve_as_held(free, ending, None, start, plan.warm_start)
    except NoPlanError:
        return -np.inf
    return -np.inf if found.status == "shortage" else found.bound


def plan_with_site(
    inst: Instance,
    plan: Plan,
    yard: str,
    size: str,
    effort: Effort,
    watch: Watch | None = None,
) -> Plan:
    """
    Plan with a yard at a site, in one size or in any (blank); see `plan_beside`.

    Where homes are held and the plan has no yard there, those near the site are tried
    as moved to it with their trucks.

    Parameters
    ----------
    inst, plan
        The problem without that demand, and its plan.
    yard, size
        Codes.
    effort, watch
        Limits and progress callback.
    """
    wanted = with_site(inst, yard, size)
    homes = homes_of_plan(inst, plan) if plan.homes_held else None
    if homes is None:
        return plan_beside(wanted, plan, effort, watch)
    opened = inst.options_of(plan.yard_sizes)
    begin = [(wanted.with_forced(wanted.options_of(plan.yard_sizes)), homes)]
    to = inst.yards.codes.index(yard)
    stand = set(inst.options.yard[opened].tolist())
    near = [] if to in stand else _nearest(inst, to, sorted(stand))
    begin += [_moved(wanted, inst, opened, homes, (j, to)) for j in near]
    return _from_best(wanted, plan, begin, effort, watch)


def plan_without_site(
    inst: Instance,
    plan: Plan,
    yard: str,
    size: str,
    effort: Effort,
    watch: Watch | None = None,
) -> Plan:
    """
    Plan without a yard at a site, in one size or in any (blank); see `plan_beside`.

    Where homes are held its trucks go where a relaxation wants them, or with the yard
    to one of the sites near it.
    """
    wanted = without_site(inst, yard, size)
    homes = homes_of_plan(inst, plan) if plan.homes_held else None
    opened, left = inst.options_of(plan.yard_sizes), wanted.options_of(plan.yard_sizes)
    if homes is None or left.sum() == opened.sum() or size:
        return plan_beside(wanted, plan, effort, watch)
    session = Session(replace(effort, seconds=1e6))
    placed = settled_homes(_free(wanted), left, plan.warm_start, session)
    begin = [(left, homes if placed is None else placed.based)]
    away = inst.yards.codes.index(yard)
    stand = set(inst.options.yard[opened].tolist())
    sites = sorted(set(wanted.options.yard.tolist()) - stand)
    near = _nearest(inst, away, sites)
    begin += [_moved(wanted, inst, opened, homes, (away, k)) for k in near]
    return _from_best(wanted, plan, begin, effort, watch)


def _from_best(
    inst: Instance,
    plan: Plan,
    begin: Sequence[tuple[Flags, Integers]],
    effort: Effort,
    watch: Watch | None,
) -> Plan:
    """Run yards with homes, and plan from the cheapest with its homes held."""
    session = Session(replace(effort, threads=1))  # several run at the same time
    warm = replace(plan.warm_start, bases=())
    free = _free(inst)

    def ran(tried: tuple[Flags, Integers]) -> Flows | None:
        opened, homes = tried
        return exact_flows(free, opened, session, warm, based=homes)

    least = 0
    if len(begin) > 1:
        with ThreadPoolExecutor(max(1, effort.threads)) as pool:
            flows = list(pool.map(ran, begin))
        least = int(np.argmin([np.inf if f is None else f.value for f in flows]))
        if (best := flows[least]) is not None:
            warm = replace(warm, basis=best.basis)
    opened, homes = begin[least]
    return solve(at_homes(inst, homes), effort, watch, opened, warm)


def at_homes(inst: Instance, homes: Integers | None) -> Instance:
    """Hold the homes of own trucks, shape (v, j); None leaves them as they are."""
    if homes is None:
        return inst
    return replace(inst, trucks=replace(inst.trucks, homes=homes))


def _free(inst: Instance) -> Instance:
    """Let compost hold what it will, where that is not given."""
    return with_free_contents(inst) if contents_are_free(inst) else inst


def _moved(
    inst: Instance,
    like: Instance,
    opened: Flags,
    homes: Integers,
    move: tuple[int, int],
) -> tuple[Flags, Integers]:
    """
    Move a yard to another site, its trucks with it: options open, and homes.

    Parameters
    ----------
    inst, like
        The problem, and that of the plan.
    opened, homes
        Options that the plan has open, of `like`, and its homes, shape (v, j).
    move
        From which yard, and to which.
    """
    away, to = move
    options, was = inst.options, like.options
    pad = was.pad_m3[opened & (was.yard == away)].sum()
    stay = opened & (was.yard != away) & (was.yard != to)
    pairs = zip(was.yard[stay].tolist(), np.flatnonzero(stay).tolist(), strict=True)
    there = inst.options_of((like.yards.codes[j], was.size[o]) for j, o in pairs)
    offered = np.flatnonzero(options.yard == to)
    there[offered[np.argmin(np.abs(options.pad_m3[offered] - pad))]] = True
    moved = homes.copy()
    moved[:, to] += moved[:, away]
    moved[:, away] = 0
    return there, moved


def _nearest(inst: Instance, yard: int, others: Sequence[int]) -> list[int]:
    """Give the yards of which sources are about as far as of one, the nearest first."""
    apart = [_apart(inst, yard, j) for j in others]
    order = np.argsort(apart, kind="stable")[:NEIGHBOURS].tolist()
    return [others[n] for n in order]


def _apart(inst: Instance, one: int, other: int) -> float:
    """Give the mean difference of two yards' ways to the same sources. [km]"""
    lanes = inst.inbound
    km = np.full((2, len(inst.supply.codes)), np.nan)
    for row, j in enumerate((one, other)):
        mine = lanes.yard == j
        km[row, lanes.site[mine]] = lanes.km[mine].min(axis=1)
    gaps = np.abs(km[0] - km[1])
    known = np.isfinite(gaps)
    return float(gaps[known].mean()) if known.any() else np.inf


def _at(inst: Instance, yard: str) -> Flags:
    """Mark the options of a yard, length o."""
    return np.asarray(inst.options.yard == inst.yards.codes.index(yard))


def _decided(inst: Instance, yard: str, decision: str) -> Instance:
    """Decide on one yard: "open" or "closed"."""
    pairs = zip(inst.yards.codes, inst.yards.decision, strict=True)
    decisions = tuple(decision if code == yard else was for code, was in pairs)
    return replace(inst, yards=replace(inst.yards, decision=decisions))


def _offering(inst: Instance, keep: Flags) -> Instance:
    """Offer only some options (mask, length o), and the lanes of their yards."""
    options = inst.options
    arrays = {
        f.name: getattr(options, f.name)[keep]
        for f in fields(options)
        if f.name != "size"
    }
    sizes = tuple(options.size[o] for o in np.flatnonzero(keep))
    fewer = Options(size=sizes, **arrays)
    inbound = inst.inbound.take(np.isin(inst.inbound.yard, fewer.yard))
    outbound = inst.outbound.take(np.isin(inst.outbound.yard, fewer.yard))
    return replace(inst, options=fewer, inbound=inbound, outbound=outbound)
