"""
Homes of own trucks after a change: those of an earlier plan, as far as there are yards.

Trucks whose yard is gone, or that are new, are placed where a relaxation wants them
with all others at home where they are. It is solved once, without a search: what is
asked is what a change does while all that can stay stays.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from logistics.model.problem import Flags, Floats, Instance, Integers, WarmStart
from logistics.model.solving.bases import known_bases, rounded_bases
from logistics.model.solving.column_choice import initial_columns
from logistics.model.solving.highs import Session
from logistics.model.solving.homes import Homes
from logistics.model.solving.master import master_of
from logistics.model.solving.matrix import relax

COLUMNS = 4
"""Flow columns on average for each period of each source and market."""


@dataclass(frozen=True, eq=False)
class SettledHomes:
    """
    Homes of own trucks after a change.

    Attributes
    ----------
    based
        Own trucks at home at every yard, shape (v, j).
    duals
        Of the relaxation that placed some of them, by name of the row; they tell which
        flow columns these yards need. None where all could stay.
    """

    based: Integers
    duals: Mapping[str, float] | None = None


def settled_homes(
    inst: Instance, opened: Flags, warm_start: WarmStart, session: Session
) -> SettledHomes | None:
    """
    Leave own trucks at home where an earlier plan has them, and place the others.

    Parameters
    ----------
    inst, opened
        The problem, and the options that are open (mask, length o).
    warm_start
        Of the earlier plan.
    session
        Threads and seed; it takes as long as it takes.

    Returns
    -------
    SettledHomes or None
        None where the earlier plan has no trucks at home, these yards have no plan, or
        there are less than two.
    """
    known = known_bases(inst, opened, warm_start.bases)
    if known is not None:
        return SettledHomes(known)
    if not warm_start.bases or int(opened.sum()) < 2:
        return None
    given = inst.with_yards(opened)
    master, every = master_of(given), np.ones(int(opened.sum()), dtype=bool)
    stay = _stay(master.homes, given, warm_start.bases)
    spare = master.homes.own - _of_type(master.homes, stay)
    branch = replace(master.fixed_branch(every), fewest=stay, most=stay + spare)
    duals = master.duals_by_name(warm_start.duals) if warm_start.duals else None
    kept = initial_columns(master, duals, given, COLUMNS)
    free = replace(session, effort=replace(session.effort, seconds=1e6))
    for columns in (kept, np.ones_like(kept)):  # few may not be enough
        restricted = master.restrict(columns, branch)
        found = relax(restricted.matrix, free, inexact=True)
        if found is not None:
            wanted = master.based(restricted, found.values)
            names = (master.names[n] for n in restricted.rows.tolist())
            duals_now = dict(zip(names, found.duals.tolist(), strict=True))
            return SettledHomes(rounded_bases(master, branch, every, wanted), duals_now)
    return None


def _stay(
    homes: Homes, inst: Instance, bases: Sequence[tuple[str, str, int]]
) -> Floats:
    """Count trucks of each pair that stay; none of a type that has fewer now."""
    codes, yards = inst.trucks.codes, inst.yards.codes
    table = np.zeros(homes.shape)
    for code, yard, count in bases:
        if code in codes and yard in yards:
            table[codes.index(code), yards.index(yard)] += count
    stay = table[homes.truck, homes.yard]
    return np.where(_of_type(homes, stay) > homes.own, 0.0, stay)


def _of_type(homes: Homes, counts: Floats) -> Floats:
    """Sum counts of the pairs over all yards of each pair's type."""
    return np.bincount(homes.truck, counts, homes.shape[0])[homes.truck]
