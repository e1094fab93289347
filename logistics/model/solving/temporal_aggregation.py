"""
Temporal aggregation: the periods of a year added up to one.

Constraints and variables of all periods are summed (Rogers, Plante, Wong and Evans,
Aggregation and disaggregation techniques and methodology in optimization, Operations
Research 39, 1991, from memory); the aggregated problem is a heuristic, not a bound.
"""

from dataclasses import fields, replace
from typing import Any

import numpy as np

from logistics.model.problem import Backhauls, Contents, Floats, Instance, Lanes, Policy
from logistics.model.rules import pad_years


def aggregate_periods(inst: Instance) -> Instance:
    """
    Add the periods up: twelve times smaller, and its yards are a good start.

    Stocks and ripening fall away and lane costs are means over the open
    periods, so its cost is an estimate and no bound.
    """
    feed, supply, trucks = inst.feed, inst.supply, inst.trucks
    return replace(
        inst,
        periods=("year",),
        feed=replace(
            feed,
            store_periods=np.zeros_like(feed.store_periods[:, :1]),
            keep=np.ones((len(feed.codes), 1)),
        ),
        supply=replace(supply, tonnes=_total(supply.tonnes)),
        yards=replace(inst.yards, water_t=_total(inst.yards.water_t)),
        markets=replace(inst.markets, demand=_total(inst.markets.demand)),
        trucks=replace(
            trucks,
            owned_hours=_total(trucks.owned_hours),
            hire_hours=_total(trucks.hire_hours),
        ),
        inbound=_mean_lanes(inst.inbound),
        outbound=_mean_lanes(inst.outbound),
        occupancy=np.array([[1 / pad_years(inst)]]),
        pad_period=np.zeros(1, dtype=np.int64),
        pad_days=np.array([[1 / pad_years(inst)]]),
        ripening=np.ones((1, 1)),
        policy=_of_year(inst.policy, len(inst.periods)),
        compost_days=None,
        cover=None,
        contents=None if inst.contents is None else _mean_contents(inst.contents),
        backhauls=None if inst.backhauls is None else _mean_backhauls(inst.backhauls),
    )


def _total(table: Floats) -> Floats:
    return table.sum(axis=1, keepdims=True)


def _of_year(policy: Policy, periods: int) -> Policy:
    """Keep what is asked of the whole year; of single periods nothing can be asked."""
    whole = [one for one in policy.whole if len(one.periods) == periods]
    return replace(policy, whole=tuple(replace(one, periods=(0,)) for one in whole))


def _mean_contents(contents: Contents) -> Contents:
    """Hold the year's mean in every yard."""
    return replace(contents, held=contents.held.mean(axis=2, keepdims=True))


def _mean_lanes(lanes: Lanes) -> Lanes:
    """Average each lane over the periods in which it can be driven."""
    return replace(lanes, **_means(lanes))


def _mean_backhauls(backhauls: Backhauls) -> Backhauls:
    """Average what each backhaul saves over the periods in which it is offered."""
    return replace(backhauls, **_means(backhauls))


def _means(table: Lanes | Backhauls) -> dict[str, Any]:
    open_ = table.usable
    count = np.maximum(open_.sum(axis=1, keepdims=True), 1)
    changed: dict[str, Any] = {
        f.name: np.where(open_, getattr(table, f.name), 0.0).sum(axis=1, keepdims=True)
        / count
        for f in fields(table)
        if f.name in {"load_t", "money", "hours", "co2e", "km"}
    }
    return {**changed, "usable": open_.any(axis=1, keepdims=True)}
