"""
The flows of given yards, exactly, and what one unit more of anything is worth.

A large district has many times more lanes than are used. Its linear programme begins
with those that old prices call likely; its duals price all the others; those that
would help are brought in until none would. What is left out then costs more than it is
worth: the optimum is that of all lanes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy import sparse

from logistics.model.problem import Basis, Flags, Instance, Memory
from logistics.model.solving.amounts import Amounts
from logistics.model.solving.duals import marginal_worth
from logistics.model.solving.flow_columns import flow_names
from logistics.model.solving.highs import Session
from logistics.model.solving.master import Narrow, Wide, wide_of
from logistics.model.solving.pricing import SPECK, likely, run_yards
from logistics.model.solving.simplex import Vertex, vertex

FEW = 2_000
"""Flows up to which all are carried from the beginning."""

LAID_OUT = 100_000
"""Flows of all yards up to which one need not lay out those of given yards anew."""

EACH = 2
"""Flows to begin with, for each period of each source and market."""

NEAR = 1e-3
"""How far prices may be from the best, where none are known. [1]"""


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
    worth
        What limits them; see `marginal_worth`.
    basis
        To start a later plan from.
    used
        Flows on lanes that carry something, length x of the programme given.
    """

    instance: Instance
    found: Amounts
    value: float
    worth: pd.DataFrame
    basis: Basis
    used: Flags


def exact_flows(
    inst: Instance,
    chosen: Flags,
    session: Session,
    memory: Memory,
    wide: Wide | None = None,
) -> Flows | None:
    """
    Solve the flows of given yards; None where there are none.

    Parameters
    ----------
    inst, chosen
        The problem, and the options that are open (mask, length o).
    session
        Threads and seed; it takes as long as it takes.
    memory
        Of an earlier plan or of the search: a basis to start from, and prices that
        tell which flows to begin with.
    wide
        The programme of the problem, where it is laid out already.
    """
    whole = None if wide is None else chosen[wide.flows.option]
    if wide is None or len(wide.flows) > LAID_OUT:
        inst = inst.with_yards(chosen)
        wide, chosen = wide_of(inst), np.ones(int(chosen.sum()), dtype=bool)
    kept = chosen[wide.flows.option]
    if kept.sum() > FEW and inst.goal == "cost":
        kept = _likely(inst, wide, chosen, session, memory.prices)
    solved = _priced_in(inst, wide, chosen, kept, session, memory.basis)
    if solved is None:
        return None
    part, best = solved
    prices = dict(zip(_names(inst, wide, part)[1], best.duals.tolist(), strict=True))
    worth = marginal_worth(prices, wide.amounts(part, best.values, inst), inst)
    last = best if inst.goal == "cost" else _cheapest(inst, wide, solved, session)
    used = np.zeros(len(wide.flows), dtype=bool)
    used[part.flows] = last.values[len(part.frame) :] > 0
    if whole is not None and len(whole) > len(used):
        whole[whole] = used  # the flows of these yards, in the same order
        used = whole
    return Flows(
        instance=inst,
        found=wide.amounts(part, last.values, inst),
        value=best.value,
        worth=worth,
        basis=best.basis,
        used=used,
    )


def _likely(
    inst: Instance,
    wide: Wide,
    chosen: Flags,
    session: Session,
    known: Mapping[str, float],
) -> Flags:
    """Mark flows to begin with: by an earlier plan's prices, or by some to be found."""
    inside = chosen[wide.flows.option]
    if known:
        return likely(wide, wide.priced(known), inst, EACH, inside)
    free = replace(session, effort=replace(session.effort, seconds=1e6))
    kept = likely(wide, None, inst, among=inside)
    found = run_yards(wide, chosen, kept, free, NEAR)
    if found is None or not np.isfinite(found.value):
        return inside
    return likely(wide, found.prices, inst, EACH, inside)


def _priced_in(
    inst: Instance,
    wide: Wide,
    chosen: Flags,
    kept: Flags,
    session: Session,
    basis: Basis | None,
) -> tuple[Narrow, Vertex] | None:
    """Solve with some flows, and more as they would help, until no more would."""
    inside, scope = chosen[wide.flows.option], wide.given(chosen)
    speck = SPECK * max(1.0, float(np.abs(wide.flows.cost).max(initial=0.0)))
    while True:
        part = wide.narrow(kept, scope)
        found = vertex(part.matrix, _names(inst, wide, part), session, basis)
        if found is None:
            if kept[inside].all():
                return None
            kept = inside  # they were too few
            continue
        duals = np.zeros(len(wide.names))
        duals[part.rows] = found.duals
        cost = wide.flows.cost - wide.flows.rows.T @ duals
        fresh = (cost < -speck) & inside & ~kept
        if not fresh.any():
            return part, found
        kept, basis = kept | fresh, found.basis


def _names(inst: Instance, wide: Wide, part: Narrow) -> tuple[list[str], list[str]]:
    """Name the columns and the rows of a part."""
    columns = [wide.columns[n] for n in part.frame.tolist()]
    columns += flow_names(inst, wide.flows, part.flows)
    return columns, [wide.names[n] for n in part.rows.tolist()]


def _cheapest(
    inst: Instance, wide: Wide, solved: tuple[Narrow, Vertex], session: Session
) -> Vertex:
    """Among flows that serve another goal as well, find the cheapest."""
    part, best = solved
    money = wide_of(replace(inst, goal="cost"))  # the same columns
    slack = 1e-7 * max(1.0, abs(best.value))
    limit = np.array([best.value - part.matrix.constant + slack])
    goal = sparse.csr_matrix(part.matrix.cost)
    cost = np.append(money.frame.cost[part.frame], money.flows.cost[part.flows])
    matrix = replace(
        part.matrix.constrain(goal, np.array([-np.inf]), limit),
        cost=cost,
        constant=money.frame.constant,
    )
    columns, rows = _names(inst, wide, part)
    names = columns, [*rows, "goal_kept"]
    return vertex(matrix, names, session, best.basis) or best
