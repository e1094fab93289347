"""From an instance to a plan: start, proof, flows; shortages where it cannot be."""

import time
from dataclasses import dataclass

import numpy as np

from logistics.model.build import build
from logistics.model.goals import GOALS, goal_terms
from logistics.model.instance import Instance
from logistics.model.parts import Flags
from logistics.model.plan import Plan
from logistics.model.programme import Programme
from logistics.model.reading import read_plan
from logistics.model.solver import (
    Answer,
    Stop,
    Watch,
    relative_gap,
    run_solver,
    stop_on_interrupt,
)
from logistics.model.start import whole_year
from logistics.model.variables import Variables, option_names
from logistics.model.worth import marginal_worth


@dataclass(frozen=True)
class Effort:
    """
    How long and how well to solve.

    Attributes
    ----------
    gap
        Proven relative gap at which to stop. [1]
    seconds
        Longest time. [s]
    threads, seed
        Processor threads and seed of the solver.
    """

    gap: float = 0.005
    seconds: float = 120.0
    threads: int = 2
    seed: int = 1


def solve(
    instance: Instance, effort: Effort | None = None, watch: Watch | None = None
) -> Plan:
    """
    Find a plan and prove how good it is.

    The year as one period gives a first set of yards; the full programme starts
    from it and proves the gap; the flows of the plan come from a last linear
    programme with the yards fixed, whose duals say what limits the plan. Where
    no plan can meet the demands, they give way and are named as shortages.
    """
    effort = effort or Effort()
    begin = time.monotonic()
    with stop_on_interrupt() as stop:
        chosen = _first_yards(instance, effort, watch, stop)
        answer, better = _prove(instance, effort, chosen, begin, watch, stop)
        if answer.status == "infeasible":
            return _nearest(instance, effort, begin, watch, stop)
        chosen = better if better is not None else chosen
    if chosen is None:
        message = "no plan was found in the time given; allow more seconds"
        raise TimeoutError(message)
    return _finish(instance, chosen, answer, begin)


NO_HEURISTICS = {
    "mip_heuristic_effort": 0.0,
    "mip_heuristic_run_feasibility_jump": False,
    "mip_heuristic_run_rens": False,
    "mip_heuristic_run_rins": False,
    "mip_heuristic_run_root_reduced_cost": False,
}
"""With good first yards the solver's own search for plans only delays the proof."""


def _common(effort: Effort, watch: Watch | None, stop: Stop) -> dict[str, object]:
    return {
        "threads": effort.threads,
        "seed": effort.seed,
        "watch": watch,
        "stop": stop,
    }


def _first_yards(
    instance: Instance, effort: Effort, watch: Watch | None, stop: Stop
) -> Flags | None:
    """Choose yards for the year as one period; None where that is no use."""
    if len(instance.periods) == 1:
        return None
    programme, variables = build(whole_year(instance))
    seconds = effort.seconds / 4
    answer = run_solver(
        programme,
        gap=max(effort.gap, 0.005),
        seconds=seconds,
        phase="first yards",
        **_common(effort, watch, stop),
    )
    if answer.best is None:
        return None
    chosen = _chosen(variables)
    # a set of yards that cannot be run month by month is no start
    fixed, _ = build(instance.with_yards(chosen))
    return chosen if run_solver(fixed, mip=False).best is not None else None


def _prove(
    instance: Instance,
    effort: Effort,
    chosen: Flags | None,
    begin: float,
    watch: Watch | None,
    stop: Stop,
) -> tuple[Answer, Flags | None]:
    """Solve the full programme from the first yards; return what it proves."""
    programme, variables = build(instance)
    left = max(1.0, effort.seconds - (time.monotonic() - begin))
    answer = run_solver(
        programme,
        gap=effort.gap,
        seconds=left,
        start=_start(instance, chosen),
        phase="proof",
        mip_lp_solver="ipm",
        **({} if chosen is None else NO_HEURISTICS),
        **_common(effort, watch, stop),
    )
    return answer, _chosen(variables) if answer.best is not None else None


def _start(instance: Instance, chosen: Flags | None) -> dict[str, float]:
    if chosen is None:
        return {}
    names = option_names(instance)
    return {f"open.{n}": float(c) for n, c in zip(names, chosen, strict=True)}


def _chosen(variables: Variables) -> Flags:
    values = [variables.opened[o].value() or 0.0 for o in sorted(variables.opened)]
    return np.array(values) > 0.5


def _flows(instance: Instance) -> tuple[Programme, Variables, float]:
    """Solve the flows exactly; among equals of another goal take the cheapest."""
    programme, variables = build(instance)
    best = run_solver(programme, mip=False).best
    if best is None:
        message = "the flows of the chosen yards could not be solved again"
        raise RuntimeError(message)
    if instance.goal != "cost":
        terms, constant = goal_terms(variables, instance)
        slack = 1e-7 * max(1.0, abs(best))
        programme.at_most("goal_kept", terms, best - constant + slack)
        programme.minimise(*GOALS["cost"](variables, instance))
        run_solver(programme, mip=False)
    return programme, variables, best


def _finish(instance: Instance, chosen: Flags, answer: Answer, begin: float) -> Plan:
    """Make the plan of the chosen yards, with what one unit more is worth."""
    smaller = instance.with_yards(chosen)
    programme, variables, objective = _flows(smaller)
    bound = min(answer.bound, objective)
    status = answer.status
    return read_plan(
        smaller,
        variables,
        status=status,
        objective=objective,
        bound=bound,
        gap=relative_gap(objective, bound),
        seconds=time.monotonic() - begin,
        worth=marginal_worth(programme, variables, smaller),
    )


def _nearest(
    instance: Instance, effort: Effort, begin: float, watch: Watch | None, stop: Stop
) -> Plan:
    """Let demands give way by as little as possible and name them."""
    programme, variables = build(instance, elastic=True)
    answer = run_solver(
        programme,
        gap=effort.gap,
        seconds=effort.seconds,
        phase="shortages",
        **_common(effort, watch, stop),
    )
    if answer.best is None:
        message = "no plan and no shortages were found in the time given"
        raise TimeoutError(message)
    terms, constant = goal_terms(variables, instance)
    objective = constant + sum(c * (x.value() or 0.0) for x, c in terms)
    return read_plan(
        instance,
        variables,
        status="shortage",
        objective=objective,
        bound=float("-inf"),
        gap=float("inf"),
        seconds=time.monotonic() - begin,
        worth=None,
    )
