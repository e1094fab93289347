"""
The flows of given yards, exactly, and what one unit more of anything is worth.

A large district has many times more lanes than are used. Its linear programme begins
with those that old prices call likely; its duals price all the others, laid out as
numbers; those that would help are brought in until none would. What is left out then
costs more than it is worth: the optimum is that of all lanes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from logistics.model.build import build
from logistics.model.goals import GOALS, goal_terms
from logistics.model.instance import Instance
from logistics.model.laneflows import columns
from logistics.model.memory import Basis, Memory, read_basis
from logistics.model.parts import Flags, Floats
from logistics.model.pricing import SPECK, likely, run_yards
from logistics.model.programme import Programme
from logistics.model.solver import Session, run_solver
from logistics.model.variables import Variables
from logistics.model.wide import Wide, wide_of
from logistics.model.worth import marginal_worth

FEW = 20_000
"""Flows up to which all are carried from the beginning."""

EACH = 2
"""Flows to begin with, for each period of each source and market."""

NEAR = 1e-3
"""How far prices may be from the best, where none are known. [1]"""


@dataclass(frozen=True, eq=False)
class Flows:
    """Flows of given yards: their values, the goal's, and what limits them."""

    programme: Programme
    variables: Variables
    value: float
    worth: pd.DataFrame
    basis: Basis | None


def exact_flows(inst: Instance, session: Session, memory: Memory) -> Flows | None:
    """
    Solve the flows of yards that are all open; None where there are none.

    Parameters
    ----------
    inst
        The problem, with these yards only (`Instance.with_yards`).
    session
        Threads and seed; it takes as long as it takes.
    memory
        Of an earlier plan or of the search: a basis to start from, and prices that
        tell which flows to begin with.
    """
    many = columns(inst) > FEW and inst.pairs is None and inst.goal == "cost"
    found = _priced_in(inst, session, memory) if many else None
    return found or _all(inst, session, memory.basis)


def _all(inst: Instance, session: Session, basis: Basis | None) -> Flows | None:
    """Solve with the lanes there are; among equals of another goal the cheapest."""
    programme, variables = build(inst, linked=False)
    best = run_solver(programme, session, mip=False, seconds=1e6, basis=basis).best
    if best is None:
        return None
    basis = read_basis(programme)
    worth = marginal_worth(programme, variables, inst)
    if inst.goal != "cost":
        terms, constant = goal_terms(variables, inst)
        slack = 1e-7 * max(1.0, abs(best))
        programme.at_most("goal_kept", terms, best - constant + slack)
        programme.minimise(*GOALS["cost"](variables, inst))
        run_solver(programme, session, mip=False, seconds=1e6)
    return Flows(programme, variables, best, worth, basis)


def _priced_in(inst: Instance, session: Session, memory: Memory) -> Flows | None:
    """Solve with few flows and more as they would help; None if few do not suffice."""
    wide = wide_of(inst)
    prices = _prices(inst, session, wide, memory)
    if prices is None:
        return None
    kept, basis = likely(wide, prices, inst, EACH), memory.basis
    speck = SPECK * max(1.0, float(np.abs(wide.flows.cost).max(initial=0.0)))
    while True:
        found = _all(_carrying(inst, wide, kept), session, basis)
        if found is None:
            return None
        fresh = (_reduced_cost(wide, found.programme) < -speck) & ~kept
        if not fresh.any():
            return found
        kept, basis = kept | fresh, found.basis


def _prices(
    inst: Instance, session: Session, wide: Wide, memory: Memory
) -> Floats | None:
    """Take an earlier plan's prices, or find some; None where no flows suffice."""
    if memory.prices:
        return wide.priced(memory.prices)
    every = np.ones(len(inst.options.yard), dtype=bool)
    free = replace(session, effort=replace(session.effort, seconds=1e6))
    found = run_yards(wide, every, likely(wide, None, inst), free, NEAR)
    return found.prices if found is not None and np.isfinite(found.value) else None


def _carrying(inst: Instance, wide: Wide, kept: Flags) -> Instance:
    """Leave only the flows kept."""
    lanes = (inst.inbound, inst.outbound)
    used = np.zeros((sum(map(len, lanes)), len(inst.periods)), dtype=bool)
    used[wide.flows.lane[kept], wide.flows.period[kept]] = True
    parts = np.split(used, [len(inst.inbound)])
    inward, outward = (
        replace(each, usable=each.usable & part)
        for each, part in zip(lanes, parts, strict=True)
    )
    return replace(inst, inbound=inward, outbound=outward)


def _reduced_cost(wide: Wide, programme: Programme) -> Floats:
    """Reduced cost of every flow by the duals of a programme just solved. [goal/t]"""
    duals = {name: float(row.pi or 0.0) for name, row in programme.rows.items()}
    return np.asarray(wide.flows.cost - wide.flows.rows.T @ wide.priced(duals))
