"""
Pricing subproblems: the duals of a yard's block, given those of the coupling rows.

The master is block-angular: arrivals, stock, mixes and pad of an option are rows of its
block alone, supply, demand and trucks couple the blocks (Dantzig and Wolfe 1960). Where
a restricted master has few flow columns into a yard that it leaves shut, the duals of
that block are arbitrary and the Lagrangian bound is weak. Given the duals of the
coupling rows, the block is a small linear programme with all of its columns, and its
optimal duals give the best bound that block can.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial

import numpy as np

from logistics.model.problem import Floats, Integers
from logistics.model.solving.highs import Session
from logistics.model.solving.master import Master
from logistics.model.solving.matrix import Matrix, optimum


def block_duals(
    master: Master, duals: Floats, options: Integers, session: Session
) -> Floats:
    """
    Solve the pricing subproblems of some options for the duals of their blocks.

    Parameters
    ----------
    master, duals
        The full master; duals of all its rows.
    options
        Whose blocks.
    session
        Time and threads; duals stay as they are where the time does not suffice.
    """
    better = duals.copy()
    job = partial(_solve_block, master, duals, session=session)
    with ThreadPoolExecutor(max(1, session.effort.threads)) as pool:
        for rows, values in pool.map(job, options.tolist()):
            better[rows] = values
    return better


def _solve_block(
    master: Master, duals: Floats, option: int, session: Session
) -> tuple[Integers, Floats]:
    """Rows of an option's block and its links, and their optimal duals."""
    flows, frame = master.flows, master.frame
    block = np.flatnonzero(master.block == option)
    there = np.flatnonzero(flows.option == option)
    links = np.unique(flows.link[there])
    rows = np.append(block, links).astype(np.int64)
    columns = np.flatnonzero(master.option == option)
    columns = columns[columns != master.opened[option]]
    coupling = frame.usable(duals)
    coupling[rows] = 0.0
    coupling[master.one_size] = 0.0
    opened = frame.rows[:, [master.opened[option]]].toarray()[rows, 0]
    part = frame.take(columns)
    part = part.extend(flows.rows[:, there], flows.cost[there])
    cost = part.reduced_cost(coupling)
    small: Matrix = replace(part.limited_to(rows), cost=cost, constant=0.0)
    small = replace(small, below=small.below - opened, above=small.above - opened)
    single = replace(session, effort=replace(session.effort, threads=1))
    found = None if session.over else optimum(small, session=single, from_nothing=True)
    return rows, duals[rows] if found is None else found.duals
