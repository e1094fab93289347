"""
A relaxation in closed form: a lower bound on all plans, loose, quick, and safe.

Every tonne that arises is left, taken, or lost while it waits. Left, it costs what its
disposal costs now. Taken, it costs its price, handling, and its part of the cheapest
pad there is, and brings at most the compost it makes at the best price paid anywhere.
Roads, mixes, seasons of demand and whole yards are not in it: haulage costs nothing.

The part of the pad: the rows of a pad, occupancy . volume . charge <= pad . open, added
up over all K moments, say that a tonne of feedstock m charged in t takes at least
volume_m . (sum over k of occupancy_tk) / K of the room that an option pays for.
"""

from __future__ import annotations

import numpy as np

from logistics.model.problem import Floats, Instance
from logistics.model.rules import poorest_contents


def least_goal(inst: Instance, room_cost: float, handling: float) -> float:
    """
    Bound the goal of all plans from below.

    Parameters
    ----------
    inst
        The problem; of its lanes and options nothing is used, so these may be few.
    room_cost
        Least annual cost of pad room among all options there are. [money/m3]
    handling
        Least handling cost among them. [money/t]

    Returns
    -------
    float
        No plan is better. [goal]
    """
    if inst.goal == "uncollected":
        return 0.0
    supply, feed, m = inst.supply, inst.feed, inst.supply.feedstock
    stays = feed.keep.min(axis=1) ** feed.store_periods.max(axis=1)
    stays = stays[m]  # least share of a tonne that waiting leaves
    if inst.goal == "co2e":
        charge = inst.charge_co2e[m]
        charge = np.where(charge > 0, stays * charge, charge)
        charge = charge + min(inst.leftover_co2e, 0.0) * feed.product_per_t[m]
        each = np.minimum(supply.left_co2e_per_t, charge)
        return float((supply.tonnes * _lost(each, stays)[:, None]).sum())
    part = inst.occupancy.sum(axis=1).min() / inst.occupancy.shape[1]
    pad = room_cost * part * feed.pad_m3_per_t[m]
    best = np.maximum(inst.markets.prices, 0.0).max(axis=1, initial=0.0)
    price = float(best.max(initial=0.0))
    price = max(price, -inst.leftover_per_t)
    paid = supply.prices.min(axis=1)  # in the cheapest period
    spent = np.minimum(paid, 0.0) + stays * (np.maximum(paid, 0.0) + handling + pad)
    each = np.minimum(supply.left_money_per_t, spent - price * feed.product_per_t[m])
    by_tonne = float((supply.tonnes * _lost(each, stays)[:, None]).sum())
    most = inst.markets.demand.sum(axis=1)
    if inst.contents is not None:
        most = np.minimum(most, inst.contents.most_t(poorest_contents(inst)))
    sales = float((most * best).sum())
    each = np.minimum(supply.left_money_per_t, spent)
    by_demand = float((supply.tonnes * _lost(each, stays)[:, None]).sum()) - sales
    if inst.leftover_per_t < 0:
        by_demand = -np.inf
    return max(by_tonne, by_demand) + inst.trucks.fixed_annual


def _lost(each: Floats, stays: Floats) -> Floats:
    """Count on a cost only for what waiting leaves, on a gain for all."""
    return np.where(each > 0, each * stays, each)
