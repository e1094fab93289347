"""Near and equal places as one: hexagons, groups, and what a group adds up to."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.spatial import cKDTree

from logistics.model import Floats, Instance, Integers, Markets, Supply

if TYPE_CHECKING:
    import pandas as pd

    from logistics.scenario import Scenario

KM_PER_DEGREE = 111.2


def hexagons(table: pd.DataFrame, edge: float) -> Integers:
    """
    Give the hexagon that each place lies in, by number.

    Parameters
    ----------
    table
        With lon and lat, degrees.
    edge
        Of the hexagons; 0 gives every place its own. [km]
    """
    if edge <= 0 or not len(table):
        return np.arange(len(table))
    lat = table["lat"].to_numpy(dtype=float)
    east = table["lon"].to_numpy(dtype=float) * np.cos(np.radians(lat.mean()))
    at = np.stack([east, lat], axis=1) * KM_PER_DEGREE
    at = at - at.min(axis=0)
    wide, high = np.sqrt(3) * edge, 3 * edge
    count = (at.max(axis=0) // (wide, high)).astype(int) + 2
    grid = np.stack(np.meshgrid(*map(np.arange, count), indexing="ij"), axis=-1)
    even = grid.reshape(-1, 2) * (wide, high)
    centres = np.concatenate([even, even + np.array([wide / 2, high / 2])])
    return np.asarray(cKDTree(centres).query(at)[1], dtype=np.int64)


def edge_for(table: pd.DataFrame, count: int) -> float:
    """Find the edge of hexagons of which about so many hold places. [km]"""
    if len(table) <= count:
        return 0.0
    low, high = 0.0, 2000.0
    for _ in range(30):
        middle = (low + high) / 2
        if len(np.unique(hexagons(table, middle))) > count:
            low = middle
        else:
            high = middle
    return high


def source_groups(scenario: Scenario, inst: Instance, cell: Integers) -> Integers:
    """Give the group of each source: all equal but for place and amount."""
    supply = inst.supply
    rules = [
        np.isin(np.arange(len(cell)), rule.sources) for rule in inst.policy.least_shares
    ]
    return _numbered(
        [cell, supply.feedstock, supply.prices, supply.left_money_per_t,
         supply.left_co2e_per_t, supply.must_collect, supply.hold_t > 0,
         scenario.sources["wait_hours"].to_numpy(dtype=float), *rules],
        supply.tonnes,
    )  # fmt: skip


def market_groups(inst: Instance, cell: Integers) -> Integers:
    """Give the group of each market: all equal but for place and amount."""
    markets = inst.markets
    limited = [] if inst.contents is None else list(np.isfinite(inst.contents.limit_t))
    return _numbered([cell, markets.prices, *limited], markets.demand)


def _numbered(keys: list[Any], tonnes: Floats) -> Integers:
    """Give equal rows of keys and season one number."""
    year = tonnes.sum(axis=1, keepdims=True)
    season = np.round(tonnes / np.where(year > 0, year, 1.0), 6)
    table = np.column_stack([*(np.asarray(k, dtype=float) for k in keys), season])
    return np.unique(table, axis=0, return_inverse=True)[1].ravel()


def _summed(group: Integers, values: Floats) -> Floats:
    found = np.zeros((int(group.max(initial=-1)) + 1, *values.shape[1:]))
    np.add.at(found, group, values)
    return found


def _first(group: Integers) -> Integers:
    return np.unique(group, return_index=True)[1]


def grouped_supply(supply: Supply, group: Integers) -> Supply:
    """Add up the sources of each group, named after their largest."""
    one = _first(group)
    order = np.lexsort((-supply.tonnes.sum(axis=1), group))
    pole = order[_first(group[order])]
    return Supply(
        codes=tuple(supply.codes[i] for i in pole.tolist()),
        districts=tuple(supply.districts[i] for i in pole.tolist()),
        feedstock=supply.feedstock[one],
        tonnes=_summed(group, supply.tonnes),
        money_per_t=supply.money_per_t[one],
        left_money_per_t=supply.left_money_per_t[one],
        left_co2e_per_t=supply.left_co2e_per_t[one],
        must_collect=supply.must_collect[one],
        hold_t=_summed(group, supply.hold_t),
        price_change=None if supply.price_change is None else supply.price_change[one],
    )


def grouped_markets(markets: Markets, group: Integers) -> Markets:
    """Add up the markets of each group, named after their largest."""
    order = np.lexsort((-markets.demand.sum(axis=1), group))
    pole = order[_first(group[order])]
    one, change = _first(group), markets.price_change
    return Markets(
        codes=tuple(markets.codes[n] for n in pole.tolist()),
        demand=_summed(group, markets.demand),
        price_per_t=markets.price_per_t[one],
        price_change=None if change is None else change[one],
    )


def grouped_limits(limits: Floats, group: Integers) -> Floats:
    """Add up the ceilings of the markets of each group, shape (k, n). [t/yr]"""
    return np.asarray(_summed(group, limits.T).T)
