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

from logistics.model.problem import Flags, Floats, Integers
from logistics.model.solving.column_choice import fewest_columns
from logistics.model.solving.cover_cuts import Cuts, cover_cuts
from logistics.model.solving.flow_columns import NONE
from logistics.model.solving.highs import Session
from logistics.model.solving.lagrangian import (
    LagrangianBound,
    best_between,
    lagrangian_bound,
)
from logistics.model.solving.master import Branch, Master, RestrictedMaster
from logistics.model.solving.matrix import LinearSolution, relax
from logistics.model.solving.subproblem import block_duals

REDUCED_COST_TOLERANCE = 1e-9
"""Reduced cost that is taken for 0, as a share of the greatest cost."""

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
    based
        Fractional solution: own trucks at home of each pair of type and yard (see
        `Homes`), length h. [trucks]
    duals
        Of all rows.
    kept
        Flow columns of the restricted master, length x.
    cuts
        Flow cover cuts that it breaks.
    """

    value: float
    proven: LagrangianBound
    opened: Floats
    based: Floats
    duals: Floats
    kept: Flags
    cuts: Cuts | None = None

    def without_reduced_costs(self) -> MasterSolution:
        """Leave out what is known of each flow column: there may be millions."""
        return replace(self, proven=replace(self.proven, reduced_cost=np.empty(0)))


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
        kept = kept | fewest_columns(master, inside, kept)
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
        stop = distance, params.cutoff
        last = _improve_duals(master, branch, raw, session, stop)
        if found is None:
            found = last
        else:
            ends = (found.duals, found.proven), (last.duals, last.proven)
            enough = min(last.value - distance, params.cutoff)
            duals, proven = best_between(master, branch, *ends, enough)
            found = replace(last, duals=duals, proven=proven)
            found = _improve_duals(master, branch, found, session, stop)
        if _short(found, stop) <= 0:
            return _with_cuts(master, found, restricted, solved)
        negative = (_reduced_cost(master, raw) < -tolerance) & inside & ~kept
        matters = -raw.proven.reduced_cost * flows.most > distance / 20
        entering = negative & matters
        if entering.sum() < FEW * kept.sum():
            entering = negative  # a few at a time would take too many rounds
        more = every & ~options & (last.proven.gain < 0)
        if not entering.any() and not more.any():
            return _with_cuts(master, found, restricted, solved)
        options, kept = options | more, kept | entering
    return found


def _with_cuts(
    master: Master,
    found: MasterSolution,
    restricted: RestrictedMaster,
    solved: LinearSolution,
) -> MasterSolution:
    """Look for cuts, where trucks are owned."""
    if not len(master.homes):
        return found
    return replace(found, cuts=cover_cuts(master, restricted, solved.values))


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
    based = master.based(restricted, solved.values)
    return MasterSolution(solved.value, proven, opened, based, duals, kept)


def _improve_duals(
    master: Master,
    branch: Branch,
    found: MasterSolution,
    session: Session,
    stop: tuple[float, float],
) -> MasterSolution:
    """Solve the pricing subproblems of options that hold the bound down."""
    if _short(found, stop) <= 0:
        return found
    options = np.flatnonzero(found.proven.gain < -stop[0] / 100)
    duals = block_duals(master, found.duals, options, session)
    proven = lagrangian_bound(master, duals, branch)
    if proven.bound <= found.proven.bound:
        return found
    return replace(found, proven=proven, duals=duals)


def _short(found: MasterSolution, stop: tuple[float, float]) -> float:
    """
    Say how far a bound is from where its relaxation may end; 0 or less there. [goal]

    Parameters
    ----------
    found
        A restricted master solved, and what duals prove.
    stop
        Distance of value and bound that may be left, and bound that is enough.
    """
    distance, enough = stop
    return min(found.value - distance, enough) - found.proven.bound


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
        master.frame, master.padded(fixed.duals), _all_shut(master, shut)
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
    based, duals = np.zeros(len(master.homes)), np.zeros(len(master.names))
    return MasterSolution(np.inf, none, options, based, duals, kept)


def run_yards(
    master: Master,
    opened: Flags,
    kept: Flags,
    session: Session,
    params: ColumnGeneration,
    based: Integers | None = None,
) -> MasterSolution | None:
    """
    Solve the flows of given yards; with homes every value is that of a true plan.

    Parameters
    ----------
    master, opened
        The full master, and the options that are open. Length o.
    kept, session, params
        As for `generate_columns`.
    based
        Own trucks at home at every yard, shape (v, j); None relaxes them.
    """
    branch = master.fixed_branch(opened, based)
    return generate_columns(master, branch, kept, session, params)
