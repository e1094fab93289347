"""
Prices of a yard's own rows, made right where a relaxation left them wrong.

Where a relaxation carries few flows into a yard that it leaves shut, the prices of the
yard's own rows (arrivals, stock, mixes, pad) may be anything, and the bound falls far
below the truth. Given the prices of the rows that all yards share, the yard in one size
is a small programme of its own: all its flows, and nothing else. Its duals are the
best prices its own rows can have.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial

import numpy as np

from logistics.model.problem import Floats, Whole
from logistics.model.solving.highs import Session
from logistics.model.solving.master import Wide
from logistics.model.solving.matrix import Matrix, optimum


def mended(wide: Wide, prices: Floats, options: Whole, session: Session) -> Floats:
    """
    Price the own rows of some options afresh, given the prices of all shared rows.

    Parameters
    ----------
    wide, prices
        The programme; prices of all its rows.
    options
        Whose rows.
    session
        Time and threads; prices stay as they are where the time does not suffice.
    """
    better = prices.copy()
    job = partial(_own, wide, prices, session=session)
    with ThreadPoolExecutor(max(1, session.effort.threads)) as pool:
        for rows, values in pool.map(job, options.tolist()):
            better[rows] = values
    return better


def _own(
    wide: Wide, prices: Floats, option: int, session: Session
) -> tuple[Whole, Floats]:
    """Price the own rows of an option: which they are, and their prices."""
    flows, frame = wide.flows, wide.frame
    own = np.flatnonzero(wide.owner == option)
    there = np.flatnonzero(flows.option == option)
    links = np.unique(flows.link[there])
    rows = np.append(own, links).astype(np.int64)
    columns = np.flatnonzero(wide.option == option)
    columns = columns[columns != wide.opened[option]]
    shared = frame.usable(prices)
    shared[rows] = 0.0
    shared[wide.one_size] = 0.0
    opened = frame.rows[:, [wide.opened[option]]].toarray()[rows, 0]
    part = frame.take(columns)
    part = part.extend(flows.rows[:, there], flows.cost[there])
    cost = part.reduced_cost(shared)
    small: Matrix = replace(part.limited_to(rows), cost=cost, constant=0.0)
    small = replace(small, below=small.below - opened, above=small.above - opened)
    single = replace(session, effort=replace(session.effort, threads=1))
    found = None if session.over else optimum(small, session=single, from_nothing=True)
    return rows, prices[rows] if found is None else found.duals
