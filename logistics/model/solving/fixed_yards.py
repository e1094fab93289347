"""
Column generation to optimality with the yards fixed, and the shadow prices.

With the yards given the master is a linear programme. It is solved by the simplex
method over few flow columns: those of negative reduced cost enter until there is none,
so the optimum is that of all lanes and its duals are exact.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy import sparse

from logistics.model.problem import Basis, Flags, Instance, Integers, WarmStart
from logistics.model.solving.amounts import Amounts
from logistics.model.solving.bases import known_bases, rounded_bases
from logistics.model.solving.column_choice import basic_columns, initial_columns
from logistics.model.solving.column_generation import (
    REDUCED_COST_TOLERANCE,
    ColumnGeneration,
    run_yards,
)
from logistics.model.solving.cover_cuts import with_cuts
from logistics.model.solving.duals import marginal_worth
from logistics.model.solving.flow_columns import flow_names
from logistics.model.solving.highs import Session
from logistics.model.solving.master import (
    Branch,
    Master,
    RestrictedMaster,
    master_of,
)
from logistics.model.solving.matrix import optimum
from logistics.model.solving.simplex import GivenUpError, Vertex, vertex

FEW = 2_000
"""Flow columns up to which all are in from the beginning."""

LAID_OUT = 100_000
"""Flows of all yards up to which one need not lay out those of given yards anew."""

EACH = 2
"""Flow columns to begin with, for each period of each source and market."""

WHOLE_GAP = 1e-3
"""Gap of the cost within which own trucks are based where cost comes second. [1]"""

CUT_ROUNDS = 3
"""Rounds of cuts before own trucks are based."""

DUAL_TOLERANCE = 1e-3
"""Gap of the relaxation whose duals mark columns, where none are known. [1]"""


@dataclass(frozen=True, eq=False)
class Flows:
    """
    Flows of given yards.

    Attributes
    ----------
    instance
        Whose indexes the amounts have.
    found, value
        The flows and all that goes with them; what the goal comes to.
    best, duals
        Flows that serve the goal as well, and duals of the rows by name there.
    basis
        To start a later plan from.
    used
        Flows on lanes that carry something, length x of the programme given.
    based
        Own trucks at home at every yard, shape (v, j).
    master, branch, kept
        The programme they were found in, and the flow columns carried, length x.
    """

    instance: Instance
    found: Amounts
    value: float
    best: Amounts
    duals: Mapping[str, float]
    basis: Basis
    used: Flags
    based: Integers
    master: Master
    branch: Branch
    kept: Flags

    @property
    def worth(self) -> pd.DataFrame:
        """What limits them; see `marginal_worth`."""
        return marginal_worth(self.duals, self.best, self.instance)


def exact_flows(
    inst: Instance,
    opened: Flags,
    session: Session,
    warm_start: WarmStart,
    master: Master | None = None,
    based: Integers | None = None,
) -> Flows | None:
    """
    Solve the flows of given yards and homes; None where there are none.

    Parameters
    ----------
    inst, opened
        The problem, and the options that are open (mask, length o).
    session
        Threads and seed; it takes as long as it takes.
    warm_start
        Of an earlier plan or of the search: a basis to start from, and duals that
        tell which flow columns to begin with.
    master
        The full master of the problem, where it is made already.
    based
        Own trucks at home at every yard, shape (v, j); None decides them as well as
        a search over few flow columns can.
    """
    of_opened = None if master is None else opened[master.flows.option]
    if master is None or len(master.flows) > LAID_OUT:
        inst = inst.with_yards(opened)
        master, opened = master_of(inst), np.ones(int(opened.sum()), dtype=bool)
    kept = opened[master.flows.option]
    if kept.sum() > FEW and inst.goal == "cost":
        kept = _first_columns(inst, master, opened, session, warm_start.duals)
        kept |= basic_columns(inst, master, opened, warm_start.basis)
    if based is None:
        based = known_bases(inst, opened, warm_start.bases)
    if based is None:
        based = good_bases(master, opened, kept, session)
    if based is None:
        return None
    branch = master.fixed_branch(opened, based)
    solved = _optimal_vertex(inst, master, branch, kept, session, warm_start.basis)
    if solved is None:
        return None
    flows = _flows(inst, master, branch, solved, session, based)
    if of_opened is not None and len(of_opened) > len(flows.used):
        used = np.zeros(len(of_opened), dtype=bool)
        used[of_opened] = flows.used  # the flows of these yards, in the same order
        return replace(flows, used=used)
    return flows


def flows_without(flows: Flows, fewer: Instance, session: Session) -> Flows | None:
    """
    Solve flows again on fewer lanes, from their basis; None where there are none.

    Parameters
    ----------
    flows
        Of the same yards and homes, their goal the cost.
    fewer
        Their instance with fewer lanes and periods that are usable.
    session
        Threads and seed.

    Notes
    -----
    Columns that are barred stay, and are held at 0: so the basis fits, and is short of
    the optimum by these columns alone.
    """
    master, branch = flows.master, flows.branch
    usable = np.concatenate([fewer.inbound.usable, fewer.outbound.usable])
    barred = ~usable[master.flows.lane, master.flows.period]
    solved = _optimal_vertex(
        fewer, master, branch, flows.kept, session, flows.basis, barred
    )
    if solved is None:
        return None
    return _flows(fewer, master, branch, solved, session, flows.based)


def _flows(
    inst: Instance,
    master: Master,
    branch: Branch,
    solved: tuple[RestrictedMaster, Vertex],
    session: Session,
    based: Integers,
) -> Flows:
    """Read the flows of a solved master."""
    restricted, optimal = solved
    rows = _names(inst, master, restricted)[1]
    duals = dict(zip(rows, optimal.duals.tolist(), strict=True))
    amounts = master.amounts(restricted, optimal.values, inst)
    last, found = optimal, amounts
    if inst.goal != "cost":
        last, based = _cheapest(inst, master, solved, session, based)
        found = master.amounts(restricted, last.values, inst)
    used, kept = (np.zeros(len(master.flows), dtype=bool) for _ in range(2))
    used[restricted.flows] = last.values[len(restricted.frame) :] > 0
    kept[restricted.flows] = True
    return Flows(
        instance=inst,
        found=found,
        value=optimal.value,
        best=amounts,
        duals=duals,
        basis=optimal.basis,
        used=used,
        based=based,
        master=master,
        branch=branch,
        kept=kept,
    )


def good_bases(
    master: Master, opened: Flags, kept: Flags, session: Session
) -> Integers | None:
    """
    Find homes for given yards: relaxed, with cuts, then rounded.

    Returns
    -------
    ndarray or None
        Own trucks at home at every yard, shape (v, j). None if there is no plan.
    """
    homes = master.homes
    open_yards = np.unique(master.yard[opened])
    if len(open_yards) <= 1:
        return homes.table(np.where(np.isin(homes.yard, open_yards), homes.own, 0.0))
    if not len(homes):
        return homes.table(np.zeros(0))
    free = replace(session, effort=replace(session.effort, seconds=1e6))
    params = ColumnGeneration(DUAL_TOLERANCE)
    for left in reversed(range(CUT_ROUNDS)):
        found = run_yards(master, opened, kept, free, params)
        if found is None or not np.isfinite(found.value):
            return None
        if not left or found.cuts is None or not len(found.cuts):
            break
        master, kept = with_cuts(master, found.cuts), found.kept
    assert found is not None
    return rounded_bases(master, master.root_branch(), opened, found.based)


def _first_columns(
    inst: Instance,
    master: Master,
    opened: Flags,
    session: Session,
    known: Mapping[str, float],
) -> Flags:
    """Mark columns to begin with, by an earlier plan's duals or by a relaxation's."""
    inside = opened[master.flows.option]
    if known:
        duals = master.duals_by_name(known)
        return initial_columns(master, duals, inst, EACH, inside)
    free = replace(session, effort=replace(session.effort, seconds=1e6))
    kept = initial_columns(master, None, inst, among=inside)
    found = run_yards(master, opened, kept, free, ColumnGeneration(DUAL_TOLERANCE))
    if found is None or not np.isfinite(found.value):
        return inside
    return initial_columns(master, found.duals, inst, EACH, inside)


def _optimal_vertex(
    inst: Instance,
    master: Master,
    branch: Branch,
    kept: Flags,
    session: Session,
    basis: Basis | None,
    barred: Flags | None = None,
) -> tuple[RestrictedMaster, Vertex] | None:
    """Let columns of negative reduced cost enter, but those barred, until none is."""
    inside = (branch.high > 0)[master.flows.option]
    shut = np.zeros(len(inside), dtype=bool) if barred is None else barred
    greatest = float(np.abs(master.flows.cost).max(initial=0.0))
    tolerance = REDUCED_COST_TOLERANCE * max(1.0, greatest)
    while True:
        restricted = master.restrict(kept, branch)
        held = len(restricted.frame) + np.flatnonzero(shut[restricted.flows])
        restricted.matrix.high[held] = 0.0
        names = _names(inst, master, restricted)
        found = vertex(restricted.matrix, names, session, basis)
        if found is None:
            if kept[inside].all():
                return None
            kept = inside  # they were too few
            continue
        duals = np.zeros(len(master.names))
        duals[restricted.rows] = found.duals
        reduced_cost = master.flows.cost - master.flows.rows.T @ duals
        entering = (reduced_cost < -tolerance) & inside & ~kept & ~shut
        if not entering.any():
            return restricted, found
        kept, basis = kept | entering, found.basis


def _names(
    inst: Instance, master: Master, restricted: RestrictedMaster
) -> tuple[list[str], list[str]]:
    """Name the columns and the rows of a restricted master."""
    columns = [master.columns[n] for n in restricted.frame.tolist()]
    columns += flow_names(inst, master.flows, restricted.flows)
    return columns, [master.names[n] for n in restricted.rows.tolist()]


def _cheapest(
    inst: Instance,
    master: Master,
    solved: tuple[RestrictedMaster, Vertex],
    session: Session,
    based: Integers,
) -> tuple[Vertex, Integers]:
    """Of flows and homes that serve another goal as well, find the cheapest."""
    restricted, optimal = solved
    money = master_of(replace(inst, goal="cost"))  # the same columns
    tolerance = 1e-7 * max(1.0, abs(optimal.value))
    limit = np.array([optimal.value - restricted.matrix.constant + tolerance])
    goal = sparse.csr_matrix(restricted.matrix.cost)
    frame_cost, flow_cost = money.frame.cost, money.flows.cost
    cost = np.append(frame_cost[restricted.frame], flow_cost[restricted.flows])
    matrix = replace(
        restricted.matrix.constrain(goal, np.array([-np.inf]), limit),
        cost=cost,
        constant=money.frame.constant,
    )
    homes = master.homes
    if len(homes):
        place = np.searchsorted(restricted.rows, homes.rows)
        there = np.isin(homes.rows, restricted.rows)
        at, below, above = place[there], matrix.below.copy(), matrix.above.copy()
        below[at], above[at] = 0.0, homes.own[there]
        freed = replace(matrix, below=below, above=above)
        found = optimum(freed, session=session, integer=True, gap=WHOLE_GAP)
        if found is not None:
            counts = np.round(master.based(restricted, found.values))
            based = homes.table(counts)
            below[at] = above[at] = counts[there]
            matrix = replace(matrix, below=below, above=above)
    columns, rows = _names(inst, master, restricted)
    names = columns, [*rows, "goal_kept"]
    try:
        cheapest = vertex(matrix, names, session, optimal.basis)
    except GivenUpError:  # the limits leave hardly more than the one plan
        cheapest = None
    return (optimal, based) if cheapest is None else (cheapest, based)
