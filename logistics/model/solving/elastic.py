"""
Elastic programme: the least slack with which demands that conflict can be met.

Each demand of the board gets a slack at a cost (elastic programming; Brown and Graves
1975, from memory), and what the slacks come to are the shortages named to the planner.
"""

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
    opened_options,
    read_plan,
    read_shortages,
)

GAP = 1e-4
"""Proven gap within which shortages are the least there can be. [1]"""

FIRST, CHEAPEST, FLOWS = 0.6, 0.3, 0.4
"""
Shares of the time left: for the least slack, then for the cheapest yards, and then for
either search of the flows where own trucks are integers. [1]
"""


def least_shortages(instance: Instance, session: Session) -> Plan:
    """
    Find the least elastic slack with which there is a plan, and name it.

    First all demands together, which is the plan shown: the least sum of slacks, as
    shares, and the cheapest of the plans that need no more. Then each one alone, so
    that the board sees what it would take to keep all the others.

    Raises
    ------
    NoPlanError
        If the time was too short.
    """
    exact = replace(session.effort, gap=min(session.effort.gap, GAP))
    session = replace(session, effort=exact)
    opened, slack = _least_slack(instance, session)
    smaller = instance.with_yards(opened)
    variables = _cheapest_flows(smaller, session, slack)
    shortages = [read_shortages(variables, "together")]
    demands = list(dict.fromkeys(one.what for one in variables.slacks))
    for number, what in enumerate(demands):
        if session.over:
            break
        alone, single = build(instance, elastic=what)
        seconds = session.left / (len(demands) - number)
        found = run_solver(alone, session, phase=f"alone: {what}", seconds=seconds)
        if found.incumbent is not None:
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


def _least_slack(instance: Instance, session: Session) -> tuple[Flags, float]:
    """Choose the yards that need least slack, and of these the cheapest."""
    seconds = FIRST * session.left
    programme, variables = build(instance, elastic=EVERY)
    answer = run_solver(programme, session, phase="shortages", seconds=seconds)
    if answer.incumbent is None:
        message = "no plan meets the demands, and the time did not suffice to name why"
        raise NoPlanError(message)
    opened = opened_options(variables)
    start = {
        f"open.{name}": float(is_open)
        for name, is_open in zip(option_names(instance), opened, strict=True)
    }
    _keep_slack(programme, variables, instance, answer.incumbent)
    seconds = CHEAPEST * session.left
    cheaper = run_solver(
        programme, session, phase="cheapest", seconds=seconds, start=start
    )
    return (
        opened if cheaper.incumbent is None else opened_options(variables),
        answer.incumbent,
    )


def _cheapest_flows(instance: Instance, session: Session, slack: float) -> Variables:
    """Solve the flows of the opened yards, with no more than `slack`."""
    programme, variables = build(instance, elastic=EVERY, linked=False)
    whole = bool(variables.based)  # own trucks are integers
    seconds = FLOWS * session.left if whole else 1e6
    least = run_solver(programme, session, mip=whole, seconds=seconds).incumbent
    if least is None and whole:
        message = "no plan meets the demands, and the time did not suffice to plan less"
        raise NoPlanError(message)
    if least is None:
        message = "the flows of the chosen yards could not be solved again"
        raise RuntimeError(message)
    _keep_slack(programme, variables, instance, max(least, slack))
    run_solver(programme, session, mip=whole, seconds=seconds)
    return variables


def _keep_slack(
    programme: Programme, variables: Variables, instance: Instance, slack: float
) -> None:
    """Hold the sum of slacks to `slack`, and minimise cost."""
    tolerance = 1e-7 * max(1.0, slack)
    programme.at_most("slack_kept", shortage_terms(variables), slack + tolerance)
    programme.minimise(*cost_terms(variables, instance))
