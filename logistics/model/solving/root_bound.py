"""Bound of a problem much like one planned before: its root relaxation, no tree."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from logistics.model.problem import Flags, Instance, WarmStart
from logistics.model.solving.column_generation import ColumnGeneration, generate_columns
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.master import master_of
from logistics.model.solving.warm_columns import Incumbent, warm_master
from logistics.model.solving.yard_runs import RELAXATION_TOLERANCE


def root_bound(
    inst: Instance, start: Flags, warm_start: WarmStart, effort: Effort, enough: float
) -> float:
    """
    Bound a problem from below as far as is asked, without planning it. [goal]

    Parameters
    ----------
    inst
        The problem.
    start, warm_start
        Options of a plan of the similar problem, length o, and what it leaves.
    effort
        Time and threads.
    enough
        Bound at which the proof ends: finite.

    Returns
    -------
    float
        No plan is better; `enough` at most.
    """
    master, session = master_of(inst), Session(effort)
    incumbent = Incumbent(start, value=enough, warm_start=warm_start)
    first = warm_master(inst, master, incumbent, session)
    if first.proven.bound >= enough:
        return enough
    branch = master.root_branch()
    dear = (first.proven.excess > enough - first.proven.bound) & (branch.low == 0)
    branch = replace(branch, high=np.where(dear, 0.0, branch.high))
    params = ColumnGeneration(
        RELAXATION_TOLERANCE * effort.gap,
        cutoff=enough,
        options=first.options,
        inexact=True,
    )
    found = generate_columns(master, branch, first.kept, session, params)
    proven = first.proven.bound if found is None else found.proven.bound
    return min(enough, max(first.proven.bound, proven))
