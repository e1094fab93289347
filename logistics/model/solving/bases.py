"""
Own trucks as whole numbers at given yards, rounded from a relaxation.

A relaxation bases parts of trucks. They are rounded by largest remainder, and the flows
then solved for these homes; the tree rounds at every node, and finds the best.
"""

from __future__ import annotations

import numpy as np

from logistics.model.problem import Flags, Floats, Instance, Integers
from logistics.model.rules import Variables
from logistics.model.solving.master import Branch, Master


def rounded_bases(
    master: Master, branch: Branch, opened: Flags, based: Floats
) -> Integers:
    """
    Round own trucks at yards to whole ones, all of a type that has work.

    Parameters
    ----------
    master, branch
        The full master; how many trucks a yard may and must have.
    opened
        Options that are open (mask, length o).
    based
        Own trucks of each pair of type and yard, relaxed, length h.

    Returns
    -------
    ndarray
        Own trucks at home at every yard, shape (v, j).
    """
    homes = master.homes
    there = np.isin(homes.yard, master.yard[opened])
    found = np.zeros(len(homes))
    for v in np.unique(homes.truck).tolist():
        here = np.flatnonzero((homes.truck == v) & there)
        wanted = based[here]
        least, most = branch.fewest[here], branch.most[here]
        count = np.clip(np.floor(wanted + 1e-6), least, most)
        for at in np.argsort(count - wanted, kind="stable").tolist():
            if count.sum() >= homes.own[here].max(initial=0.0):
                break
            if wanted[at] > count[at] + 1e-6:
                count[at] = min(count[at] + 1, most[at])
        found[here] = count
    return homes.table(found)


def bases_of(variables: Variables, inst: Instance) -> Integers:
    """Read the homes of a solved programme, shape (v, j)."""
    table = np.zeros((len(inst.trucks.codes), len(inst.yards.codes)), dtype=np.int64)
    for (o, v), count in variables.based.items():
        table[v, inst.options.yard[o]] += round(count.amount)
    return table
