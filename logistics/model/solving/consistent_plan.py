"""
Plans that hold what makes a programme hard: contents of compost, homes of own trucks.

`solve` and `operate` first plan with nothing held, in a tree of few nodes, then hold
the contents and homes of that plan, and prove it. The bound of the first step holds
whatever contents and homes are. One step does where the first one is proven, where
contents are given or nothing is limited, and where no trucks are owned or the solver
alone is quick.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from logistics.model.problem import Flags, Instance, Integers, Plan, WarmStart
from logistics.model.solving.contents import (
    contents_are_free,
    keeps_ceilings,
    made_contents,
    with_free_contents,
    with_made_contents,
)
from logistics.model.solving.flow_columns import columns
from logistics.model.solving.highs import Effort, Session, Watch, relative_gap
from logistics.model.solving.settled_homes import settled_homes
from logistics.model.solving.solution import (
    homes_are_free,
    is_direct,
    operate_as_held,
    solve_as_held,
)

FIRST = 0.6
"""Share of the time for the first step, with nothing held. [1]"""

NODES, MANY_COLUMNS = 400_000, 50_000
"""Nodes that the first step branches, times flow columns; none with so many columns."""


def solve(
    instance: Instance,
    effort: Effort | None = None,
    watch: Watch | None = None,
    start: Flags | None = None,
    warm_start: WarmStart | None = None,
) -> Plan:
    """
    Find a plan and prove how good it is; see `solution.solve_as_held`.

    Where contents or homes are found with the plan, its objective and bound are those
    with these held, and `Plan.any_bound` holds whatever they are.

    Raises
    ------
    NoPlanError
        If the time was too short for any plan.
    """
    based = homes_are_free(instance) and not is_direct(instance)
    if not contents_are_free(instance) and not based:
        return _told(
            instance, solve_as_held(instance, effort, watch, start, warm_start)
        )
    effort = effort or Effort()
    session = Session(effort, watch)
    part = replace(
        effort,
        seconds=FIRST * effort.seconds,
        nodes=_nodes(instance) if based else None,
    )
    first = solve_as_held(_free(instance), part, watch, start, warm_start)
    if done := _as_it_is(instance, first, effort.gap, based):
        return done
    held, known = _holding(instance, first, session, based)
    opened = held.options_of(first.yard_sizes)
    stopped = first.status == "stopped"
    left = session.part()
    if stopped and session.over:
        plan = operate_as_held(held, opened, left, watch, known)
        bound = min(first.bound, plan.objective)
        gap = relative_gap(plan.objective, bound)
        plan = replace(plan, status="stopped", bound=bound, gap=gap)
    else:
        plan = solve_as_held(held, left, watch, opened, known)
    return _second(held, plan, first, session)


def operate(
    instance: Instance,
    opened: Flags,
    effort: Effort | None = None,
    watch: Watch | None = None,
    warm_start: WarmStart | None = None,
) -> Plan:
    """
    Plan everything but the yards, which are given (mask, length o).

    See `solution.operate_as_held`, and `solve` for what is held. Own trucks stay where
    an earlier plan has them at home; those whose yard is gone are placed anew (see
    `settled_homes`).
    """
    effort = effort or Effort()
    if not homes_are_free(instance) or warm_start is None:
        return _operate(instance, opened, effort, watch, warm_start)
    session = Session(effort, watch)
    homes = settled_homes(_free(instance), opened, warm_start, session)
    if homes is None:
        return _operate(instance, opened, session.part(), watch, warm_start)
    instance = _at_home(instance, homes.based)
    if homes.duals is None:
        return _operate(instance, opened, session.part(), watch, warm_start)
    known = replace(warm_start, duals=homes.duals)
    plan = _operate(instance, opened, session.part(), watch, known)
    later = replace(plan.warm_start, duals=warm_start.duals)  # they are of all yards
    return replace(plan, warm_start=later, seconds=session.spent)


def _operate(
    instance: Instance,
    opened: Flags,
    effort: Effort,
    watch: Watch | None,
    warm_start: WarmStart | None,
) -> Plan:
    """Plan with given yards, and hold what makes the programme hard."""
    session, several = Session(effort, watch), int(opened.sum()) > 1
    based = several and homes_are_free(instance) and not is_direct(instance)
    if not contents_are_free(instance) and not based:
        plan = operate_as_held(instance, opened, effort, watch, warm_start)
        return _told(instance, plan)
    part = replace(effort, nodes=_nodes(instance) if based else None)
    first = operate_as_held(_free(instance), opened, part, watch, warm_start)
    if done := _as_it_is(instance, first, effort.gap, based):
        return done
    held, known = _holding(instance, first, session, based)
    plan = operate_as_held(held, opened, session.part(), watch, known)
    return _second(held, plan, first, session)


def settled(
    instance: Instance, opened: Flags | None, effort: Effort, watch: Watch | None = None
) -> Instance:
    """Hold the contents that a plan makes, for the yards given or those it chooses."""
    if not contents_are_free(instance):
        return instance
    plan = (
        solve(instance, effort, watch)
        if opened is None
        else operate(instance, opened, effort, watch)
    )
    return instance if plan.contents is None else instance.holding(plan.contents)


def _nodes(instance: Instance) -> int:
    """Count the nodes that are worth the time with homes still free."""
    count = columns(instance)
    return NODES // count if count < MANY_COLUMNS else 0


def _free(instance: Instance) -> Instance:
    """Let compost hold what it will, where that is not given."""
    return with_free_contents(instance) if contents_are_free(instance) else instance


def _told(instance: Instance, plan: Plan) -> Plan:
    """Say with the plan what it was made with."""
    homes = instance.trucks.homes is not None
    if instance.contents is None:
        return replace(plan, homes_held=homes)
    return replace(plan, contents=instance.contents.held, homes_held=homes)


def _as_it_is(instance: Instance, first: Plan, gap: float, based: bool) -> Plan | None:
    """Return the plan of the first step where nothing needs to be held."""
    if based and first.status != "shortage" and first.gap > gap:
        return None
    if not contents_are_free(instance):
        return _told(instance, first)
    made = made_contents(instance, first)
    if keeps_ceilings(instance, first, made):
        return _told(instance.holding(made), first)
    return None


def _holding(
    instance: Instance, first: Plan, session: Session, based: bool
) -> tuple[Instance, WarmStart]:
    """Hold the homes of a plan where they are free, and the contents it made."""
    if based and first.status != "shortage":
        instance = _at_home(instance, _homes(instance, first))
    if not contents_are_free(instance):
        return instance, first.warm_start
    return with_made_contents(instance, first, session)


def _at_home(instance: Instance, homes: Integers) -> Instance:
    """Hold the homes of own trucks, shape (v, j)."""
    return replace(instance, trucks=replace(instance.trucks, homes=homes))


def _homes(instance: Instance, plan: Plan) -> Integers:
    """Lay the homes of own trucks out by type and yard, shape (v, j)."""
    codes, yards = instance.trucks.codes, instance.yards.codes
    found = np.zeros((len(codes), len(yards)), dtype=np.int64)
    for truck, yard, count in plan.bases.itertuples(index=False, name=None):
        found[codes.index(truck), yards.index(yard)] += int(count)
    return found


def _second(held: Instance, plan: Plan, first: Plan, session: Session) -> Plan:
    """Put together what both steps prove, and the time of both."""
    bound = max(plan.bound, min(first.bound, plan.objective))
    gap = relative_gap(plan.objective, bound) if plan.status != "shortage" else plan.gap
    plan = replace(plan, bound=bound, gap=gap, seconds=session.spent)
    return replace(_told(held, plan), any_bound=first.bound)
