"""Demands that cannot be met: by how little each would have to give way."""

from dataclasses import replace

import pandas as pd

from logistics.model.problem import Flags, Instance, Plan
from logistics.model.rules import (
    EVERY,
    Programme,
    Variables,
    amount_of,
    build,
    cost_terms,
    goal_terms,
    option_names,
    shortage_terms,
)
from logistics.model.solving.amounts import amounts_of
from logistics.model.solving.highs import NoPlanError, Session, run_solver
from logistics.model.solving.plan_reader import (
    chosen_options,
    read_plan,
    read_shortages,
)

GAP = 1e-4
"""Proven gap within which shortages are the least there can be. [1]"""


def nearest(instance: Instance, session: Session) -> Plan:
    """
    Let demands give way by as little as possible and name them.

    First all together, which is the plan shown: the least sum of shares given up,
    and the cheapest of the plans that give up no more. Then each one alone, so that
    the board sees what it would take to keep all the others.

    Raises
    ------
    NoPlanError
        If the time was too short.
    """
    exact = replace(session.effort, gap=min(session.effort.gap, GAP))
    session = replace(session, effort=exact)
    chosen, falls = _least_falls(instance, session)
    smaller = instance.with_yards(chosen)
    variables = _cheapest_flows(smaller, session, falls)
    shortages = [read_shortages(variables, "together")]
    for what in dict.fromkeys(give.what for give in variables.gives):
        alone, single = build(instance, elastic=what)
        seconds = session.effort.seconds / 4
        found = run_solver(alone, session, phase=f"alone: {what}", seconds=seconds)
        if found.best is not None:
            shortages.append(read_shortages(single, "alone"))
    terms, constant = goal_terms(variables, smaller)
    return read_plan(
        smaller,
        amounts_of(variables),
        status="shortage",
        objective=constant + amount_of(terms),
        bound=float("-inf"),
        gap=float("inf"),
        seconds=session.spent,
        shortages=pd.concat(shortages, ignore_index=True),
    )


def _least_falls(instance: Instance, session: Session) -> tuple[Flags, float]:
    """Choose the yards that give up least, and of these the cheapest."""
    seconds = session.effort.seconds
    programme, variables = build(instance, elastic=EVERY)
    answer = run_solver(programme, session, phase="shortages", seconds=seconds)
    if answer.best is None:
        message = "no plan meets the demands, and the time did not suffice to name why"
        raise NoPlanError(message)
    chosen = chosen_options(variables)
    start = {
        f"open.{name}": float(is_open)
        for name, is_open in zip(option_names(instance), chosen, strict=True)
    }
    _keep_falls(programme, variables, instance, answer.best)
    cheaper = run_solver(
        programme, session, phase="cheapest", seconds=seconds / 4, start=start
    )
    return (
        chosen if cheaper.best is None else chosen_options(variables),
        answer.best,
    )


def _cheapest_flows(instance: Instance, session: Session, falls: float) -> Variables:
    """Solve the flows of the yards chosen, giving up no more than `falls`."""
    programme, variables = build(instance, elastic=EVERY, linked=False)
    least = run_solver(programme, session, mip=False, seconds=1e6).best
    if least is None:
        message = "the flows of the chosen yards could not be solved again"
        raise RuntimeError(message)
    _keep_falls(programme, variables, instance, max(least, falls))
    run_solver(programme, session, mip=False, seconds=1e6)
    return variables


def _keep_falls(
    programme: Programme, variables: Variables, instance: Instance, falls: float
) -> None:
    """Give up no more than `falls`, and minimise cost."""
    slack = 1e-7 * max(1.0, falls)
    programme.at_most("falls_kept", shortage_terms(variables), falls + slack)
    programme.minimise(*cost_terms(variables, instance))
