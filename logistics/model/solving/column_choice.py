"""With which flow columns a restricted master begins."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from logistics.model.problem import Basis, Flags, Floats, Instance
from logistics.model.solving.flow_columns import flow_names
from logistics.model.solving.master import Master

FLOWS = 7
"""Flow columns to begin with, for each period of each source and market."""

LEAST_COLUMNS = 4
"""Flow columns at least of each source and market in each period, within a branch."""


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


def fewest_columns(master: Master, inside: Flags, kept: Flags) -> Flags:
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


def basic_columns(
    inst: Instance, master: Master, opened: Flags, basis: Basis | None
) -> Flags:
    """Mark the flow columns of open options that a basis has above their lower end."""
    kept = np.zeros(len(master.flows), dtype=bool)
    if basis is None:
        return kept
    inside = np.flatnonzero(opened[master.flows.option])
    names = flow_names(inst, master.flows, inside)
    kept[inside] = [name in basis.columns for name in names]
    return kept
