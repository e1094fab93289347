"""What places and trucks take, measured from driven rounds, as `Realised` factors."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

import numpy as np

from logistics.model import Floats, Realised
from logistics.rounds.tables import shares_by_place, tours

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds.driving import Driven

STEADY_H = 4.0
"""Planned hours of a place that weigh as much as the mean of its freight. [h]"""


def measure(result: Result, driven: Collection[Driven], before: Realised) -> Realised:
    """
    Measure what places and trucks take; periods not driven get the mean of the others.

    A place with few hours leans on the mean of its freight in the period.
    """
    scenario = result.scenario
    periods = list(scenario.periods["period"])
    places = {
        "in": {c: k for k, c in enumerate(scenario.sources["source"])},
        "out": {c: k for k, c in enumerate(scenario.markets["market"])},
    }
    old = {
        "in": (before.source_hours, before.source_money),
        "out": (before.market_hours, before.market_money),
    }
    found = {
        k: (np.full_like(h, np.nan), np.full_like(m, np.nan))
        for k, (h, m) in old.items()
    }
    freight = dict(
        zip(scenario.sources["source"], scenario.sources["material"], strict=True)
    )
    usable = np.full_like(before.usable, np.nan)
    for done in driven:
        t = periods.index(done.period)
        lanes = result.lanes[result.lanes["period"] == done.period]
        real = shares_by_place(result, done)
        after = dict.fromkeys(scenario.trucks["truck"], 0.0)
        for kind, table in lanes.groupby("kind"):
            side, known = str(kind), places[str(kind)]
            place = table["origin" if side == "in" else "destination"]
            rows = place.map(known).to_numpy(dtype=np.int64)
            base_h = table["hours"].to_numpy(dtype=float) / old[side][0][rows, t]
            base_m = table["money"].to_numpy(dtype=float) / old[side][1][rows, t]
            size = len(known)
            planned = np.array([np.bincount(rows, b, size) for b in (base_h, base_m)])
            tonnes = np.bincount(rows, table["tonnes"].to_numpy(dtype=float), size)
            got = np.array([real.get((side, c), (0.0, 0.0, 0.0)) for c in known]).T
            kinds = [freight.get(c, "compost") if side == "in" else "compost"
                     for c in known]  # fmt: skip
            for q, factors in enumerate(_factors(planned, tonnes, got, kinds)):
                found[side][q][:, t] = factors
            scale = found[side][0][rows, t]
            for truck, hours in zip(
                table["truck"], base_h * np.nan_to_num(scale, nan=1.0), strict=True
            ):
                after[str(truck)] += float(hours)
        usable[:, t] = _used(result, done, t, after)
    (source_h, source_m), (market_h, market_m) = found["in"], found["out"]
    return Realised(*map(_filled, (source_h, source_m, market_h, market_m, usable)))


def _factors(
    planned: Floats, tonnes: Floats, got: Floats, kinds: Sequence[str]
) -> Floats:
    """
    Divide what places took by what the plan said, both of a period.

    Parameters
    ----------
    planned
        Hours and money of each place, shape (2, k). [h], [money]
    tonnes
        Planned, shape (k,). [t]
    got
        Tonnes, hours and money as driven, shape (3, k). [t], [h], [money]
    kinds
        Freight of each place.

    Returns
    -------
    ndarray
        Of hours and of money, shape (2, k); not a number where its freight is not
        driven at all. [1]
    """
    driven = planned * np.where(tonnes > 0, got[0] / np.maximum(tonnes, 1e-9), 0.0)
    names = np.array(kinds)
    mean = np.full(driven.shape, np.nan)
    for name in set(kinds):
        like = names == name
        due, took = driven[:, like].sum(axis=1), got[1:, like].sum(axis=1)
        usual = np.where(due > 0, took / np.where(due > 0, due, 1.0), np.nan)
        mean[:, like] = usual[:, None]
    weight = STEADY_H / np.maximum(planned[0], 1e-9)
    lean = np.where(planned[0] > 0, weight * planned, 1.0)
    return np.asarray((got[1:] + lean * mean) / (driven + lean))


def _used(result: Result, done: Driven, t: int, hours: dict[str, float]) -> Floats:
    """Share of own trucks' hours that a period used beside hire, shape (v,). [1]"""
    scenario, trucks = result.scenario, result.scenario.trucks
    hired = tours(done).query("whose == 'hired'").groupby("type")["hours"].sum()
    days = float(scenario.periods["working_days"].iloc[t])
    rent = trucks["truck"].map(hired).fillna(0.0).to_numpy(dtype=float)
    own = trucks["owned"].to_numpy(dtype=float) * (
        scenario.settings.work.hours_per_day * days
    )
    need = trucks["truck"].map(hours).to_numpy(dtype=float)
    short = (rent > 0) & (own > 0)
    return np.clip(
        np.where(short, (need - rent) / np.where(short, own, 1.0), 1.0), 0, 1
    )


def _filled(values: Floats) -> Floats:
    """Put the mean of a row's known periods where nothing is known, else 1."""
    known = np.isfinite(values)
    count = known.sum(axis=1, keepdims=True)
    total = np.where(known, values, 0.0).sum(axis=1, keepdims=True)
    mean = np.where(count > 0, total / np.maximum(count, 1), 1.0)
    return np.asarray(np.where(known, values, mean))
