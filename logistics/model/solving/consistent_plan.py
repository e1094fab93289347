"""
Plans whose compost holds what their market ceilings reckon with.

`solve` and `operate` find the contents where ceilings need them (`contents`) and plan
with these held; where they are given, or nothing is limited, they plan at once.
"""

from __future__ import annotations

from dataclasses import replace

from logistics.model.problem import Flags, Instance, Plan, WarmStart
from logistics.model.solving.contents import (
    contents_are_free,
    keeps_ceilings,
    made_contents,
    with_free_contents,
    with_made_contents,
)
from logistics.model.solving.highs import Effort, Session, Watch, relative_gap
from logistics.model.solving.solution import operate_as_held, solve_as_held

FIRST = 0.6
"""Share of the time for the first step, with free contents. [1]"""


def solve(
    instance: Instance,
    effort: Effort | None = None,
    watch: Watch | None = None,
    start: Flags | None = None,
    warm_start: WarmStart | None = None,
) -> Plan:
    """
    Find a plan and prove how good it is; see `solution.solve_as_held`.

    Where contents are found with the plan, its objective and bound are those with the
    contents of `Plan.contents`, and `Plan.any_bound` holds whatever they are.

    Raises
    ------
    NoPlanError
        If the time was too short for any plan.
    """
    if not contents_are_free(instance):
        return _told(
            instance, solve_as_held(instance, effort, watch, start, warm_start)
        )
    effort = effort or Effort()
    session = Session(effort, watch)
    part = replace(effort, seconds=FIRST * effort.seconds)
    free = with_free_contents(instance)
    first = solve_as_held(free, part, watch, start, warm_start)
    if first.status == "time_limit" and _as_it_is(instance, first):
        left = replace(effort, seconds=session.left)  # no second step is needed
        opened = free.options_of(first.yard_sizes)
        first = solve_as_held(free, left, watch, opened, first.warm_start)
    if done := _as_it_is(instance, first):
        return done
    held, known = with_made_contents(instance, first, session)
    opened = held.options_of(first.yard_sizes)
    stopped = first.status == "stopped"
    left = replace(effort, seconds=session.left)
    if stopped:
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

    See `solution.operate_as_held`, and `solve` for the contents.
    """
    if not contents_are_free(instance):
        plan = operate_as_held(instance, opened, effort, watch, warm_start)
        return _told(instance, plan)
    session = Session(effort or Effort(), watch)
    free = with_free_contents(instance)
    first = operate_as_held(free, opened, effort, watch, warm_start)
    if done := _as_it_is(instance, first):
        return done
    held, known = with_made_contents(instance, first, session)
    plan = operate_as_held(held, opened, effort, watch, known)
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


def _told(instance: Instance, plan: Plan) -> Plan:
    """Say with the plan which contents it was made with."""
    if instance.contents is None:
        return plan
    return replace(plan, contents=instance.contents.held)


def _as_it_is(instance: Instance, first: Plan) -> Plan | None:
    """Return a plan with free contents where it keeps the ceilings as it is."""
    made = made_contents(instance, first)
    if keeps_ceilings(instance, first, made):
        return _told(instance.holding(made), first)
    return None


def _second(held: Instance, plan: Plan, first: Plan, session: Session) -> Plan:
    """Put together what both steps prove, and the time of both."""
    bound = max(plan.bound, min(first.bound, plan.objective))
    gap = relative_gap(plan.objective, bound) if plan.status != "shortage" else plan.gap
    plan = replace(plan, bound=bound, gap=gap, seconds=session.spent)
    return replace(_told(held, plan), any_bound=first.bound)
