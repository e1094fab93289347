"""From an instance to a plan: start, proof, flows; shortages where it cannot be."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from logistics.model.build import build
from logistics.model.exact import Flows, exact_flows
from logistics.model.instance import Instance
from logistics.model.laneflows import is_small
from logistics.model.memory import Basis, Memory
from logistics.model.parts import Flags
from logistics.model.plan import Plan
from logistics.model.reading import chosen_options, read_plan
from logistics.model.search import Best, search
from logistics.model.shortage import nearest
from logistics.model.solver import (
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
from logistics.model.start import whole_year
from logistics.model.variables import Variables, option_names

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
    prices
        Of the rows, for a later plan.
    flows
        Those of the chosen yards, where they are solved already.
    """

    answer: Answer
    chosen: Flags | None
    prices: Mapping[str, float] = field(default_factory=dict)
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
    memory = Memory(memory.basis, found.prices)
    return _finish(instance, session, found.chosen, found.answer, memory, found.flows)


def _search(
    instance: Instance, session: Session, start: Flags | None, memory: Memory
) -> Found:
    """Find and prove a plan of a large district, from yards that can be run."""
    nothing = np.zeros(len(instance.options.yard), dtype=bool)
    best = Best(nothing, prices=memory.prices)
    flows = None
    if start is not None:
        flows = exact_flows(instance.with_yards(start), session, memory)
    if start is not None and flows is not None:
        best.chosen, best.value = start, flows.value
    answer = search(instance, session, best)
    chosen = None if answer.best is None else best.chosen
    same = start is not None and np.array_equal(best.chosen, start)
    return Found(answer, chosen, best.prices, flows if same else None)


def _whole(
    instance: Instance, session: Session, start: Flags | None, memory: Memory
) -> Found:
    """Give a small district whole to the solver, from yards that can be run."""
    first = _first_yards(instance, session) if start is None else start
    if first is not None:
        value = _run(instance, session, first, memory.basis)
        if value is None:  # they fail month by month
            first = None
        elif session.watch is not None:
            session.watch(Progress("first plan", session.spent, value, None))
    answer, chosen = _prove(instance, session, first)
    return Found(answer, first if chosen is None else chosen)


def _run(
    instance: Instance, session: Session, chosen: Flags, basis: Basis | None
) -> float | None:
    """Return the value of the best plan with the yards given; None if there is none."""
    programme, _ = build(instance.with_yards(chosen), linked=False)
    return run_solver(programme, session, mip=False, seconds=1e6, basis=basis).best


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
    smaller = instance.with_yards(chosen)
    every = np.ones(len(smaller.options.yard), bool)
    with stop_on_interrupt(session.stop):
        flows = exact_flows(smaller, session, memory)
        if flows is None:
            return nearest(smaller, session)
        answer = Answer("optimal", flows.value, flows.value, session.spent)
        return _finish(smaller, session, every, answer, memory, flows)


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


def _finish(
    instance: Instance,
    session: Session,
    chosen: Flags,
    answer: Answer,
    memory: Memory = NOTHING,
    flows: Flows | None = None,
) -> Plan:
    """
    Make the plan of the chosen yards, with what one unit more is worth.

    A goal other than cost does not mind idle yards: those that take nothing and are
    not forced open are closed again.
    """
    smaller = instance.with_yards(chosen)
    if flows is None:
        flows = exact_flows(smaller, session, memory)
    if flows is None:
        message = "the flows of the chosen yards could not be solved again"
        raise RuntimeError(message)
    if instance.goal != "cost":
        smaller, flows = _without_idle(instance, session, chosen, flows)
    bound = min(answer.bound, flows.value)
    plan = read_plan(
        smaller,
        flows.variables,
        status=answer.status,
        objective=flows.value,
        bound=bound,
        gap=relative_gap(flows.value, bound),
        seconds=session.spent,
        worth=flows.worth,
    )
    return replace(plan, memory=Memory(flows.basis, memory.prices))


def _without_idle(
    instance: Instance, session: Session, chosen: Flags, flows: Flows
) -> tuple[Instance, Flows]:
    """Close yards that take next to nothing, as long as the goal stays as good."""
    while True:
        smaller = instance.with_yards(chosen)
        idle = np.flatnonzero(chosen)[_idle(instance, smaller, flows.variables)]
        if not len(idle):
            return smaller, flows
        busy = chosen.copy()
        busy[idle] = False
        fewer = exact_flows(instance.with_yards(busy), session, NOTHING)
        slack = 1e-6 * max(1.0, abs(flows.value))
        if fewer is None or fewer.value > flows.value + slack:
            return smaller, flows
        chosen, flows = busy, fewer


def _idle(instance: Instance, smaller: Instance, variables: Variables) -> Flags:
    """Mark the open options that take next to nothing and are not forced open."""
    intake = np.zeros(len(smaller.options.yard))
    for (o, _, _), arrived in variables.arrived.items():
        intake[o] += arrived.value() or 0.0
    speck = 1e-6 * max(1.0, float(instance.supply.tonnes.sum()))
    forced = [instance.yards.decision[j] == "open" for j in smaller.options.yard]
    return np.asarray((intake <= speck) & ~np.array(forced, dtype=bool))
