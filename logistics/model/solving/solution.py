"""
From an instance to a plan: incumbent, proof, flows; shortages where it cannot be.

A small district is a mixed-integer programme given to the solver as it is, warm-started
from the yards of the aggregated year. A large one is solved by branch-and-price. Either
way the flows of the incumbent's yards are then solved exactly as a linear programme,
and again without small loads.
"""

from dataclasses import dataclass, replace

import numpy as np

from logistics.model.problem import Flags, Instance, Integers, Plan, WarmStart
from logistics.model.rules import based_types, build, option_names
from logistics.model.solving.bases import bases_of
from logistics.model.solving.branch_and_price import search
from logistics.model.solving.elastic import least_shortages
from logistics.model.solving.fixed_yards import Flows, exact_flows
from logistics.model.solving.flow_columns import columns, is_small
from logistics.model.solving.highs import (
    Answer,
    Effort,
    NoPlanError,
    Progress,
    Session,
    Watch,
    relative_gap,
    run_solver,
    stop_on_interrupt,
)
from logistics.model.solving.master import master_of
from logistics.model.solving.plan_reader import opened_options, read_plan
from logistics.model.solving.small_loads import without_small_loads
from logistics.model.solving.temporal_aggregation import aggregate_periods
from logistics.model.solving.warm_columns import Incumbent

TINY = 2_000
"""Columns up to which own trucks at yards are left to the solver."""

NOTHING = WarmStart()
"""No earlier plan."""


@dataclass(frozen=True, eq=False)
class SearchResult:
    """
    What a search found.

    Attributes
    ----------
    answer, opened
        What is proven; the options (mask, length o), None if none were found.
    warm_start
        For the last linear programme, and for a later plan.
    flows
        Those of these yards, where they are solved already.
    based
        Own trucks at home at every yard, shape (v, j), where they are decided.
    """

    answer: Answer
    opened: Flags | None
    warm_start: WarmStart
    flows: Flows | None = None
    based: Integers | None = None


def solve_as_held(
    instance: Instance,
    effort: Effort | None = None,
    watch: Watch | None = None,
    start: Flags | None = None,
    warm_start: WarmStart | None = None,
) -> Plan:
    """
    Find a plan and prove how good it is.

    The year aggregated to one period gives a first incumbent; the full programme is
    warm-started from it and proves the gap; the flows of the plan come from a last
    linear programme with the yards fixed, whose duals say what limits the plan. Where
    no plan can meet the demands, their least elastic slack is named as shortages.

    Parameters
    ----------
    instance
        The problem.
    effort, watch
        Limits and progress callback.
    start
        Options of an earlier plan to start from in place of the aggregated year,
        length o; yards that must be open are added.
    warm_start
        Of an earlier plan: with `start` it shortens the proof.

    Raises
    ------
    NoPlanError
        If the time was too short for any plan.
    """
    session = Session(effort or Effort(), watch)
    warm_start = NOTHING if warm_start is None or start is None else warm_start
    if start is not None:
        start = instance.with_forced(start)
    way = _solve_directly if is_direct(instance) else _search
    with stop_on_interrupt(session.stop):
        found = way(instance, session, start, warm_start)
        if found.answer.status == "infeasible":
            return least_shortages(instance, session)
    if found.opened is None:
        message = "no plan was found in the time given: allow more seconds"
        raise NoPlanError(message)
    flows = found.flows or exact_flows(
        instance, found.opened, session, found.warm_start, based=found.based
    )
    if flows is None:
        message = "the flows of the chosen yards could not be solved again"
        raise RuntimeError(message)
    if instance.goal != "cost":
        flows = _without_idle(instance, session, found.opened, flows)
    return _read(flows, session, found.answer, found.warm_start)


def _search(
    instance: Instance, session: Session, start: Flags | None, warm_start: WarmStart
) -> SearchResult:
    """Find and prove a plan of a large district, from yards that can be run."""
    nothing = np.zeros(len(instance.options.yard), dtype=bool)
    incumbent = Incumbent(nothing, warm_start=warm_start)
    master, flows = master_of(instance), None
    if start is not None:
        flows = exact_flows(instance, start, session, warm_start, master)
    if start is not None and flows is not None:
        incumbent.opened, incumbent.value = start, flows.value
        incumbent.used, incumbent.based = flows.used, flows.based
        warm_start = replace(warm_start, basis=flows.basis)
    answer = search(instance, master, session, incumbent)
    warm_start = replace(incumbent.warm_start, basis=warm_start.basis)
    if answer.incumbent is None:
        return SearchResult(answer, None, warm_start)
    opened, based = incumbent.opened, incumbent.based
    known = flows is not None and _same(based, flows.based)
    if not known or not _same(opened, start):
        flows = exact_flows(instance, opened, session, warm_start, master, based)
    return SearchResult(answer, opened, warm_start, flows, based)


def homes_are_free(instance: Instance) -> bool:
    """Whether own trucks are to be based at yards as whole numbers."""
    return instance.trucks.homes is None and bool(based_types(instance).any())


def is_direct(instance: Instance) -> bool:
    """Whether the solver alone is quick: parts of trucks make its bounds weak."""
    tiny = columns(instance) <= TINY
    return is_small(instance) and (tiny or not homes_are_free(instance))


def _same(one: Flags | Integers | None, other: Flags | Integers | None) -> bool:
    """Whether two masks or tables are there and say the same."""
    return one is not None and other is not None and bool((one == other).all())


def _solve_directly(
    instance: Instance, session: Session, start: Flags | None, warm_start: WarmStart
) -> SearchResult:
    """Give a small district to the solver as it is, from yards that can be run."""
    first, flows = _first_yards(instance, session) if start is None else start, None
    if first is not None:
        flows = exact_flows(instance, first, session, warm_start)
        if flows is None:  # they fail month by month
            first = None
        elif session.watch is not None:
            session.watch(Progress("first plan", session.spent, flows.value, None))
    answer, opened, based = _prove(instance, session, first)
    if opened is None:
        return SearchResult(answer, first, warm_start, flows)
    if _same(opened, first) and flows is not None and _same(based, flows.based):
        return SearchResult(answer, first, warm_start, flows)
    return SearchResult(answer, opened, warm_start, based=based)


def operate_as_held(
    instance: Instance,
    opened: Flags,
    effort: Effort | None = None,
    watch: Watch | None = None,
    warm_start: WarmStart | None = None,
) -> Plan:
    """
    Plan everything but the yards, which are given (mask, length o).

    The bound is the optimum for these yards, not for any others. With the warm
    start of an earlier plan the flows start from its basis. Own trucks are based anew,
    in a tree of their own where more than one yard is open.
    """
    if homes_are_free(instance) and opened.sum() > 1:
        given = instance.with_yards(opened)
        every = np.ones(int(opened.sum()), dtype=bool)
        return solve_as_held(given, effort, watch, every, warm_start)
    session = Session(effort or Effort(), watch)
    warm_start = warm_start or NOTHING
    with stop_on_interrupt(session.stop):
        flows = exact_flows(instance, opened, session, warm_start)
        if flows is None:
            return least_shortages(instance.with_yards(opened), session)
        answer = Answer("optimal", flows.value, flows.value, session.spent)
        return _read(flows, session, answer, warm_start)


def _first_yards(instance: Instance, session: Session) -> Flags | None:
    """Choose yards for the aggregated year; None where that is no use."""
    if len(instance.periods) == 1:
        return None
    programme, variables = build(aggregate_periods(instance))
    seconds = session.effort.seconds / 4
    answer = run_solver(programme, session, phase="first yards", seconds=seconds)
    if answer.incumbent is None:
        return None
    return opened_options(variables)


def _prove(
    instance: Instance, session: Session, first: Flags | None
) -> tuple[Answer, Flags | None, Integers | None]:
    """Solve the full programme from the first yards; what it proves, yards, homes."""
    programme, variables = build(instance)
    start = {}
    if first is not None:
        names = option_names(instance)
        start = {f"open.{n}": float(c) for n, c in zip(names, first, strict=True)}
    answer = run_solver(
        programme, session, phase="proof", start=start, heuristics=first is None
    )
    if answer.incumbent is None:
        return answer, None, None
    return answer, opened_options(variables), bases_of(variables, instance)


def _read(
    flows: Flows,
    session: Session,
    answer: Answer,
    warm_start: WarmStart,
) -> Plan:
    """Make the plan of the flows less small loads, and what one unit more is worth."""
    flows, small = without_small_loads(flows, session)
    bound = min(answer.bound, flows.value)
    plan = read_plan(
        flows.instance,
        flows.found,
        status=answer.status,
        objective=flows.value,
        bound=bound,
        gap=relative_gap(flows.value, bound),
        seconds=session.spent,
        worth=flows.worth,
    )
    bases = tuple(plan.bases.itertuples(index=False, name=None))
    warm_start = replace(warm_start, basis=flows.basis, bases=bases)
    return replace(plan, small_loads=small, warm_start=warm_start)


def _without_idle(
    instance: Instance, session: Session, opened: Flags, flows: Flows
) -> Flows:
    """
    Close yards that take next to nothing, as long as the goal stays as good.

    A goal other than cost does not mind them; those forced open stay.
    """
    while True:
        idle = opened & _idle(instance, flows)
        if not idle.any():
            return flows
        fewer = exact_flows(instance, opened & ~idle, session, NOTHING)
        tolerance = 1e-6 * max(1.0, abs(flows.value))
        if fewer is None or fewer.value > flows.value + tolerance:
            return flows
        opened, flows = opened & ~idle, fewer


def _idle(instance: Instance, flows: Flows) -> Flags:
    """Mark the options of yards that take next to nothing and are not forced open."""
    arrived, yards = flows.found.arrived, flows.instance.options.yard
    count = len(instance.yards.codes)
    intake = np.bincount(yards[arrived.index[:, 0]], arrived.value, count)
    tolerance = 1e-6 * max(1.0, float(instance.supply.tonnes.sum()))
    forced = np.array([d == "open" for d in instance.yards.decision], dtype=bool)
    return np.asarray(((intake <= tolerance) & ~forced)[instance.options.yard])
