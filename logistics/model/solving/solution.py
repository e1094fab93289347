"""From an instance to a plan: start, proof, flows; shortages where it cannot be."""

from dataclasses import dataclass, replace

import numpy as np

from logistics.model.problem import Flags, Instance, Memory, Plan
from logistics.model.rules import build, option_names
from logistics.model.solving.branch_and_price import search
from logistics.model.solving.elastic import nearest
from logistics.model.solving.first_incumbent import whole_year
from logistics.model.solving.fixed_yards import Flows, exact_flows
from logistics.model.solving.flow_columns import is_small
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
from logistics.model.solving.master import wide_of
from logistics.model.solving.plan_reader import chosen_options, read_plan
from logistics.model.solving.warm_columns import Best

__all__ = ["NoPlanError", "operate", "solve"]


NOTHING = Memory()
"""No earlier plan."""


@dataclass(frozen=True, eq=False)
class Found:
    """
    What a search found.

    Attributes
    ----------
    answer, chosen
        What is proven; the options (mask, length o), None if none were found.
    memory
        For the last linear programme, and for a later plan.
    flows
        Those of the chosen yards, where they are solved already.
    """

    answer: Answer
    chosen: Flags | None
    memory: Memory
    flows: Flows | None = None


def solve(
    instance: Instance,
    effort: Effort | None = None,
    watch: Watch | None = None,
    start: Flags | None = None,
    memory: Memory | None = None,
) -> Plan:
    """
    Find a plan and prove how good it is.

    The year as one period gives a first set of yards; the full programme starts
    from it and proves the gap; the flows of the plan come from a last linear
    programme with the yards fixed, whose duals say what limits the plan. Where
    no plan can meet the demands, they give way and are named as shortages.

    Parameters
    ----------
    instance
        The problem.
    effort, watch
        Limits and progress callback.
    start
        Options of an earlier plan to start from in place of the year as one
        period, length o.
    memory
        Of an earlier plan: with `start` it shortens the proof.

    Raises
    ------
    NoPlanError
        If the time was too short for any plan.
    """
    session = Session(effort or Effort(), watch)
    memory = NOTHING if memory is None or start is None else memory
    way = _whole if is_small(instance) else _search
    with stop_on_interrupt(session.stop):
        found = way(instance, session, start, memory)
        if found.answer.status == "infeasible":
            return nearest(instance, session)
    if found.chosen is None:
        message = "no plan was found in the time given: allow more seconds"
        raise NoPlanError(message)
    flows = found.flows or exact_flows(instance, found.chosen, session, found.memory)
    if flows is None:
        message = "the flows of the chosen yards could not be solved again"
        raise RuntimeError(message)
    if instance.goal != "cost":
        flows = _without_idle(instance, session, found.chosen, flows)
    return _read(flows, session, found.answer, found.memory)


def _search(
    instance: Instance, session: Session, start: Flags | None, memory: Memory
) -> Found:
    """Find and prove a plan of a large district, from yards that can be run."""
    nothing = np.zeros(len(instance.options.yard), dtype=bool)
    best = Best(nothing, memory=memory)
    wide, flows = wide_of(instance), None
    if start is not None:
        flows = exact_flows(instance, start, session, memory, wide)
    if start is not None and flows is not None:
        best.chosen, best.value = start, flows.value
        best.used = flows.used
        memory = replace(memory, basis=flows.basis)
    answer = search(instance, wide, session, best)
    memory = replace(best.memory, basis=memory.basis)
    if answer.best is None:
        return Found(answer, None, memory)
    if start is None or not np.array_equal(best.chosen, start):
        flows = exact_flows(instance, best.chosen, session, memory, wide)
    return Found(answer, best.chosen, memory, flows)


def _whole(
    instance: Instance, session: Session, start: Flags | None, memory: Memory
) -> Found:
    """Give a small district whole to the solver, from yards that can be run."""
    first, flows = _first_yards(instance, session) if start is None else start, None
    if first is not None:
        flows = exact_flows(instance, first, session, memory)
        if flows is None:  # they fail month by month
            first = None
        elif session.watch is not None:
            session.watch(Progress("first plan", session.spent, flows.value, None))
    answer, chosen = _prove(instance, session, first)
    if chosen is None or (first is not None and np.array_equal(chosen, first)):
        return Found(answer, first, memory, flows)
    return Found(answer, chosen, memory)


def operate(
    instance: Instance,
    chosen: Flags,
    effort: Effort | None = None,
    watch: Watch | None = None,
    memory: Memory | None = None,
) -> Plan:
    """
    Plan everything but the yards, which are given (mask, length o).

    The bound is the optimum for these yards, not for any others. With the memory
    of an earlier plan the flows start from its basis.
    """
    session = Session(effort or Effort(), watch)
    memory = memory or NOTHING
    with stop_on_interrupt(session.stop):
        flows = exact_flows(instance, chosen, session, memory)
        if flows is None:
            return nearest(instance.with_yards(chosen), session)
        answer = Answer("optimal", flows.value, flows.value, session.spent)
        return _read(flows, session, answer, memory)


def _first_yards(instance: Instance, session: Session) -> Flags | None:
    """Choose yards for the year as one period; None where that is no use."""
    if len(instance.periods) == 1:
        return None
    programme, variables = build(whole_year(instance))
    seconds = session.effort.seconds / 4
    answer = run_solver(programme, session, phase="first yards", seconds=seconds)
    if answer.best is None:
        return None
    return chosen_options(variables)


def _prove(
    instance: Instance, session: Session, first: Flags | None
) -> tuple[Answer, Flags | None]:
    """Solve the full programme from the first yards; return what it proves."""
    programme, variables = build(instance)
    start = {}
    if first is not None:
        names = option_names(instance)
        start = {f"open.{n}": float(c) for n, c in zip(names, first, strict=True)}
    answer = run_solver(
        programme, session, phase="proof", start=start, heuristics=first is None
    )
    return answer, chosen_options(variables) if answer.best is not None else None


def _read(flows: Flows, session: Session, answer: Answer, memory: Memory) -> Plan:
    """Make the plan of the flows, with what one unit more is worth."""
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
    return replace(plan, memory=replace(memory, basis=flows.basis))


def _without_idle(
    instance: Instance, session: Session, chosen: Flags, flows: Flows
) -> Flows:
    """
    Close yards that take next to nothing, as long as the goal stays as good.

    A goal other than cost does not mind them; those forced open stay.
    """
    while True:
        idle = chosen & _idle(instance, flows)
        if not idle.any():
            return flows
        fewer = exact_flows(instance, chosen & ~idle, session, NOTHING)
        slack = 1e-6 * max(1.0, abs(flows.value))
        if fewer is None or fewer.value > flows.value + slack:
            return flows
        chosen, flows = chosen & ~idle, fewer


def _idle(instance: Instance, flows: Flows) -> Flags:
    """Mark the options of yards that take next to nothing and are not forced open."""
    arrived, yards = flows.found.arrived, flows.instance.options.yard
    count = len(instance.yards.codes)
    intake = np.bincount(yards[arrived.index[:, 0]], arrived.value, count)
    speck = 1e-6 * max(1.0, float(instance.supply.tonnes.sum()))
    forced = np.array([d == "open" for d in instance.yards.decision], dtype=bool)
    return np.asarray(((intake <= speck) & ~forced)[instance.options.yard])
