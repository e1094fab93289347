"""
Own trucks as whole numbers at given yards, rounded from a relaxation.

A relaxation bases parts of trucks. They are rounded by largest remainder, and the flows
then solved for these homes; the tree rounds at every node, and finds the best.
"""

from __future__ import annotations

from collections.abc import Sequence

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


def better_bases(
    master: Master, opened: Flags, based: Integers, duals: Floats
) -> Integers | None:
    """
    Move one own truck to where, by the duals, it would save most; None if none would.

    Parameters
    ----------
    master
        The full master, with its cuts.
    opened, based
        Options that are open (mask, length o), and homes at their yards, shape (v, j).
    duals
        Of the flows of these yards and homes.
    """
    homes = master.homes
    y = np.zeros(len(master.names))
    y[: len(duals)] = duals
    y[homes.rows] = 0.0
    y[master.tied_homes] = 0.0
    each = -master.frame.take(homes.columns).reduced_cost(y)
    open_column = opened[master.option[homes.columns]]
    worth = np.full(len(homes), -np.inf)  # of one truck more
    np.maximum.at(worth, homes.at[open_column], each[open_column])
    best, move = 0.0, None
    for v in np.unique(homes.truck).tolist():
        here = np.flatnonzero((homes.truck == v) & np.isfinite(worth))
        there = here[based[v, homes.yard[here]] > 0]
        if not len(here):
            continue
        to = int(here[np.argmax(worth[here])])
        spare = based[v].sum() < homes.own[here[0]]
        out = None if spare or not len(there) else int(there[np.argmin(worth[there])])
        gain = worth[to] - (0.0 if out is None else worth[out])
        if gain > best + 1e-6 and out != to:
            best, move = gain, (v, out, to)
    if move is None:
        return None
    v, out, to = move
    moved = based.copy()
    moved[v, homes.yard[to]] += 1
    if out is not None:
        moved[v, homes.yard[out]] -= 1
    return moved


def known_bases(
    inst: Instance, opened: Flags, bases: Sequence[tuple[str, str, int]]
) -> Integers | None:
    """
    Take over the homes of an earlier plan, shape (v, j), where they are possible still.

    Parameters
    ----------
    inst, opened
        The problem, and the options that are open (mask, length o).
    bases
        Type, yard and own trucks at home there.

    Returns
    -------
    ndarray or None
        None where another number is owned, or a yard is shut.
    """
    trucks, yards = inst.trucks, inst.yards.codes
    if trucks.own is None or not bases:
        return None
    table = np.zeros((len(trucks.codes), len(yards)), dtype=np.int64)
    for code, yard, count in bases:
        if code not in trucks.codes or yard not in yards:
            return None
        table[trucks.codes.index(code), yards.index(yard)] += count
    shut = np.ones(len(yards), dtype=bool)
    shut[inst.options.yard[opened]] = False
    same = (table.sum(axis=1) == trucks.own).all()
    return table if same and not table[:, shut].any() else None


def bases_of(variables: Variables, inst: Instance) -> Integers:
    """Read the homes of a solved programme, shape (v, j)."""
    table = np.zeros((len(inst.trucks.codes), len(inst.yards.codes)), dtype=np.int64)
    for (o, v), count in variables.based.items():
        table[v, inst.options.yard[o]] += round(count.amount)
    return table
