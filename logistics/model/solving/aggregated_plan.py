"""
The plan of the year aggregated to one period: a first incumbent, and starting duals.

Twelve times smaller than the district by periods, it is solved in seconds where that
takes minutes. It is a heuristic for where to begin and where to branch; it proves
nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from logistics.model.problem import Flags, Instance
from logistics.model.solving.branching import INTEGRALITY_TOLERANCE
from logistics.model.solving.column_choice import initial_columns
from logistics.model.solving.column_generation import ColumnGeneration, generate_columns
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.master import Master, master_of
from logistics.model.solving.matrix import optimum
from logistics.model.solving.temporal_aggregation import aggregate_periods

FIXED_FROM = 0.02
"""Excess, as a share of the year's cost, from which an option is left out at first."""


@dataclass(frozen=True, eq=False)
class AggregatedPlan:
    """
    The aggregated problem solved: good to start from, and no proof of anything.

    Attributes
    ----------
    master, kept
        Its full master, and the flow columns of its restricted one.
    opened
        Options of its plan; None if it has none.
    duals
        Of its rows, by the names that rows have by periods.
    """

    master: Master
    kept: Flags
    opened: Flags | None
    duals: Mapping[str, float]


def plan_aggregated(instance: Instance, session: Session) -> AggregatedPlan | None:
    """Solve the aggregated problem; None where there is no such plan in time."""
    aggregated = aggregate_periods(instance)
    master = master_of(aggregated)
    gap, seconds = max(session.effort.gap, 0.002), session.effort.seconds / 4
    part = replace(session, effort=Effort(gap, session.spent + seconds, 1))
    branch, kept = master.root_branch(), initial_columns(master, None, aggregated)
    solved = generate_columns(master, branch, kept, part, ColumnGeneration(gap / 2))
    if solved is None or not np.isfinite(solved.value):
        return None
    free = solved.proven.excess <= FIXED_FROM * abs(solved.value)
    free |= (solved.opened > INTEGRALITY_TOLERANCE) | branch.must[master.yard]
    smaller = replace(branch, high=branch.high * free)
    restricted = master.restrict(solved.kept, smaller)
    whole = np.zeros_like(restricted.matrix.integer)
    whole[restricted.opened[restricted.opened >= 0]] = True  # own trucks in parts
    matrix = replace(restricted.matrix, integer=whole)
    found = optimum(matrix, session=part, integer=True, gap=gap)
    opened = None
    if found is not None:
        opened = (restricted.opened >= 0) & (found.values[restricted.opened] > 0.5)
    duals = dict(zip(master.names, solved.duals.tolist(), strict=True))
    by_period = _by_period(duals, instance.periods)
    return AggregatedPlan(master, solved.kept, opened, by_period)


def _by_period(
    duals: Mapping[str, float], periods: tuple[str, ...]
) -> dict[str, float]:
    """Give every period the duals of the year."""
    found: dict[str, float] = {}
    for name, value in duals.items():
        stem, _, last = name.rpartition(".")
        if last == "year":
            found |= {f"{stem}.{period}": value for period in periods}
        else:
            found[name] = value
    return found
