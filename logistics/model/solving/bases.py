"""
Own trucks as whole numbers at given yards: the best homes that few columns show.

A relaxation bases parts of trucks. Here the restricted master of given yards is solved
with whole ones; the flows are then solved over all columns for these homes.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from logistics.model.problem import Instance, Integers
from logistics.model.rules import Variables
from logistics.model.solving.column_choice import initial_columns
from logistics.model.solving.column_generation import MasterSolution
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.master import Branch, Master
from logistics.model.solving.matrix import optimum

GAP = 4e-3
"""Gap within which homes are the best over the columns carried. [1]"""

EACH = 2
"""Flow columns carried, for each period of each source and market."""

SECONDS = 10.0
"""Longest time for it. [s]"""


def whole_bases(
    master: Master,
    inst: Instance,
    branch: Branch,
    relaxed: MasterSolution,
    session: Session,
) -> Integers | None:
    """
    Find homes of whole trucks where they cost least, over the likeliest flow columns.

    Parameters
    ----------
    master, inst, branch
        The full master, the problem; a branch in which all yards are given.
    relaxed, session
        Its relaxation, solved; threads and seed.

    Returns
    -------
    ndarray or None
        Own trucks at home at every yard, shape (v, j). None if there is no plan.
    """
    homes = master.homes
    if len(homes) == 0 or (branch.fewest == branch.most).all():
        return homes.table(branch.most)
    inside = relaxed.kept & (branch.high > 0)[master.flows.option]
    duals = master.padded(relaxed.duals)
    kept = initial_columns(master, duals, inst, EACH, inside)
    restricted = master.restrict(kept, branch)
    part = replace(session, effort=Effort(GAP, session.spent + SECONDS, 1))
    found = optimum(restricted.matrix, session=part, integer=True, gap=GAP)
    if found is None:
        return None
    return homes.table(master.based(restricted, found.values))


def bases_of(variables: Variables, inst: Instance) -> Integers:
    """Read the homes of a solved programme, shape (v, j)."""
    table = np.zeros((len(inst.trucks.codes), len(inst.yards.codes)), dtype=np.int64)
    for (o, v), count in variables.based.items():
        table[v, inst.options.yard[o]] += round(count.amount)
    return table
