"""
Column generation: a master problem solved over few columns, proven for all of them.

Most flows on lanes are used by no good plan, and most options are not open in any. A
restricted master has some of both; the duals of its rows, completed by the pricing
subproblems of the options left out (`subproblem`), give the reduced cost of every
other column, and those below 0 enter (Desrosiers and Luebbecke 2005). For the proof
they need not enter: `lagrangian.lagrangian_bound` counts every option and every flow
column of the full master, so its bound holds for all of them, and column generation
stops early as soon as value and bound are within the tolerance.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from logistics.model.problem import Flags, Floats, Instance
from logistics.model.solving.flow_columns import NONE
from logistics.model.solving.highs import Session
from logistics.model.solving.lagrangian import LagrangianBound, lagrangian_bound
from logistics.model.solving.master import Branch, Master, RestrictedMaster
from logistics.model.solving.matrix import LinearSolution, relax
from logistics.model.solving.subproblem import block_duals

REDUCED_COST_TOLERANCE = 1e-9
"""Reduced cost that is taken for 0, as a share of the greatest cost."""

FLOWS = 7
"""Flow columns to begin with, for each period of each source and market."""

LEAST_COLUMNS = 4
"""Flow columns at least of each source and market in each period, within a branch."""

FEW = 0.01
"""Share of the flow columns that is too few to be brought in alone."""

ROUNDS = 12
"""Restricted masters solved at most until no column has a reduced cost below 0."""


@dataclass(frozen=True, eq=False)
class ColumnGeneration:
    """
    With what columns to begin, and when to stop.

    Attributes
    ----------
    tolerance
        Distance of value and proven bound at which to end, as a share. [1]
    cutoff
        A bound at which to end: the node is fathomed. [goal]
    options
        Options to begin with, length o: others are brought in as their reduced cost
        falls below 0. All of the branch if None.
    inexact
        The value matters less than the bound.
    on_value
        Called with the value of every restricted master, which the next can only
        better.
    """

    tolerance: float
    cutoff: float = np.inf
    options: Flags | None = None
    inexact: bool = False
    on_value: Callable[[float], None] | None = None


@dataclass(frozen=True, eq=False)
class MasterSolution:
    """
    A master's linear relaxation, solved by column generation.

    Attributes
    ----------
    value
        Of the last restricted master; infinite if there is no plan.
    proven
        What its duals prove for all columns.
    opened
        Fractional solution: how far each option is open, length o. [0 to 1]
    duals
        Of all rows.
    kept
        Flow columns of the restricted master, length x.
    """

    value: float
    proven: LagrangianBound
    opened: Floats
    duals: Floats
    kept: Flags

    def without_reduced_costs(self) -> MasterSolution:
        """Leave out what is known of each flow column: there may be millions."""
        return replace(self, proven=replace(self.proven, reduced_cost=np.empty(0)))


def least_reduced_cost(reduced_cost: Floats, count: float) -> Flags:
    """Mark so many columns of least reduced cost."""
    finite = int(np.isfinite(reduced_cost).sum())
    number = min(finite, int(count))
    if number == finite:
        return np.isfinite(reduced_cost)
    limit = np.partition(reduced_cost, number)[number]
    return np.asarray(reduced_cost <= limit)


def least_of_group(
    group: NDArray[np.integer], reduced_cost: Floats, count: int
) -> Flags:
    """Mark the columns of least reduced cost of every group, so many of each."""
    order = np.lexsort((reduced_cost, group))
    sorted_ = group[order]
    begin = np.flatnonzero(np.append(True, sorted_[1:] != sorted_[:-1]))
    size = np.diff(np.append(begin, len(sorted_)))
    rank = np.arange(len(sorted_)) - np.repeat(begin, size)
    marked = np.zeros(len(group), dtype=bool)
    marked[order[rank < count]] = True
    return marked


def initial_columns(
    master: Master,
    duals: Floats | None,
    inst: Instance,
    each: int | None = None,
    among: Flags | None = None,
) -> Flags:
    """
    Mark the flow columns of least reduced cost, some into every yard.

    Parameters
    ----------
    master, inst
        The full master, and the problem it is of.
    duals
        Of all rows; None where nothing is known but what each flow costs.
    each
        Columns on average for each period of each source and market, if not `FLOWS`.
    among
        Columns to choose from; all if None.
    """
    flows, each = master.flows, FLOWS if each is None else each
    y = np.zeros(len(master.names)) if duals is None else master.frame.usable(duals)
    y[master.links] = 0.0
    at = np.arange(len(flows)) if among is None else np.flatnonzero(among)
    reduced_cost = (flows.cost - flows.rows.T @ y)[at]
    key, balance = flows.key[at], flows.balance[at]
    first = least_of_group(balance, reduced_cost, 2)
    first |= least_of_group(key, reduced_cost, 2 * each if duals is None else 2)
    if duals is not None:
        sites = len(inst.supply.codes) + len(inst.markets.codes)
        first |= least_reduced_cost(reduced_cost, each * sites * len(inst.periods))
    marked = np.zeros(len(flows), dtype=bool)
    marked[at] = first
    return marked


def generate_columns(
    master: Master,
    branch: Branch,
    kept: Flags,
    session: Session,
    params: ColumnGeneration,
) -> MasterSolution | None:
    """
    Solve the linear relaxation of a branch by column generation.

    Parameters
    ----------
    master, branch
        The full master, and which options may or must be open.
    kept
        Flow columns to begin with, length x.
    session
        Time and wish to stop.
    params
        Options to begin with, and when to stop.

    Returns
    -------
    MasterSolution or None
        None if the time did not suffice for a first restricted master. If it ends
        later, the last one solved. What is proven holds for all columns of the branch.
    """
    flows = master.flows
    every = branch.high > 0
    options = every
    if params.options is not None:
        options = every & (params.options | branch.must[master.yard])
    greatest = float(np.abs(flows.cost).max(initial=0.0))
    tolerance = REDUCED_COST_TOLERANCE * max(1.0, greatest)
    found: MasterSolution | None = None
    for _ in range(ROUNDS):
        inside = options[flows.option]
        kept = kept | _fewest_columns(master, inside, kept)
        within = replace(branch, high=np.where(options, branch.high, 0.0))
        restricted = master.restrict(kept, within)
        solved = relax(restricted.matrix, session, inexact=params.inexact)
        if solved is None:
            if session.over:
                return found
            if (options == every).all() and kept[inside].all():
                return _infeasible(master, kept)
            options, kept = every, kept | inside  # these columns may just not suffice
            continue
        if params.on_value is not None:
            params.on_value(solved.value)
        raw = _read(master, branch, options, restricted, solved, kept)
        distance = params.tolerance * max(1.0, abs(solved.value))
        found = _improve_duals(master, branch, raw, session, (distance, params.cutoff))
        bound = found.proven.bound
        if solved.value - bound <= distance or bound >= params.cutoff:
            return found
        negative = (_reduced_cost(master, raw) < -tolerance) & inside & ~kept
        matters = -raw.proven.reduced_cost * flows.most > distance / 20
        entering = negative & matters
        if entering.sum() < FEW * kept.sum():
            entering = negative  # a few at a time would take too many rounds
        more = every & ~options & (found.proven.gain < 0)
        if not entering.any() and not more.any():
            return found
        options, kept = options | more, kept | entering
    return found


def _fewest_columns(master: Master, inside: Flags, kept: Flags) -> Flags:
    """
    Mark flow columns to add so that each source and market has a few in the branch.

    One alone leaves its row's dual unbounded above: the yard's opening pays for it.
    """
    flows = master.flows
    count = np.bincount(flows.key[kept & inside], minlength=len(master.names))
    short = count < LEAST_COLUMNS
    left = np.flatnonzero(inside & ~kept & short[flows.key])
    marked = np.zeros(len(flows), dtype=bool)
    marked[left] = least_of_group(flows.key[left], flows.cost[left], LEAST_COLUMNS)
    return marked


def _reduced_cost(master: Master, found: MasterSolution) -> Floats:
    """Reduced cost of every flow column, its link row included. [goal/t]"""
    return found.proven.reduced_cost - np.minimum(found.duals, 0.0)[master.flows.link]


def _read(
    master: Master,
    branch: Branch,
    options: Flags,
    restricted: RestrictedMaster,
    solved: LinearSolution,
    kept: Flags,
) -> MasterSolution:
    duals = np.zeros(len(master.names))
    duals[restricted.rows] = solved.duals
    duals = master.backhaul_rows.outwards(
        master.frame, duals, _all_shut(master, ~options)
    )
    column = np.maximum(restricted.opened, 0)
    opened = np.where(restricted.opened == NONE, 0.0, solved.values[column])
    proven = lagrangian_bound(master, duals, branch)
    return MasterSolution(solved.value, proven, opened, duals, kept)


def _improve_duals(
    master: Master,
    branch: Branch,
    found: MasterSolution,
    session: Session,
    stop: tuple[float, float],
) -> MasterSolution:
    """Solve the pricing subproblems of options that hold the bound down."""
    distance, cutoff = stop
    short = min(found.value - distance, cutoff) - found.proven.bound
    if short <= 0:
        return found
    options = np.flatnonzero(found.proven.gain < -distance / 100)
    duals = block_duals(master, found.duals, options, session)
    proven = lagrangian_bound(master, duals, branch)
    if proven.bound <= found.proven.bound:
        return found
    return replace(found, proven=proven, duals=duals)


def complete_duals(
    master: Master, fixed: MasterSolution, session: Session
) -> tuple[Floats, LagrangianBound]:
    """
    Extend the duals of the flows of given yards to the full master.

    Coupling rows keep the duals that these yards give them; the blocks of all other
    options get theirs from their pricing subproblems.

    Returns
    -------
    tuple
        Duals of all rows, and what they prove.
    """
    shut = fixed.opened < 0.5
    duals = master.backhaul_rows.outwards(
        master.frame, fixed.duals, _all_shut(master, shut)
    )
    duals = block_duals(master, duals, np.flatnonzero(shut), session)
    return duals, lagrangian_bound(master, duals, master.root_branch())


def _all_shut(master: Master, shut: Flags) -> Flags:
    """Mark the yards all of whose options are shut, length j."""
    yards = np.ones(int(master.yard.max(initial=-1)) + 1, dtype=bool)
    yards[master.yard[~shut]] = False
    return yards


def _infeasible(master: Master, kept: Flags) -> MasterSolution:
    """No plan is within the branch."""
    options = np.zeros(len(master.opened))
    none = LagrangianBound(np.inf, np.zeros(len(master.flows)), options, options)
    return MasterSolution(np.inf, none, options, np.zeros(len(master.names)), kept)


def run_yards(
    master: Master,
    opened: Flags,
    kept: Flags,
    session: Session,
    params: ColumnGeneration,
) -> MasterSolution | None:
    """
    Solve the flows of given yards; every value reported is that of a true plan.

    Parameters
    ----------
    master, opened
        The full master, and the options that are open. Length o.
    kept, session, params
        As for `generate_columns`.
    """
    return generate_columns(master, master.fixed_branch(opened), kept, session, params)
