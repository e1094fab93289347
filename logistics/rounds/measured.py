"""What places and trucks take, measured from driven rounds, as `Realised` factors."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

import numpy as np

from logistics.model import Floats, Realised, own_factor
from logistics.rounds.fleet import homes
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
        after: dict[tuple[str, str], float] = defaultdict(float)
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
            yard = table["destination" if side == "in" else "origin"]
            spent = base_h * np.nan_to_num(scale, nan=1.0)
            for truck, there, hours in zip(table["truck"], yard, spent, strict=True):
                after[str(truck), str(there)] += float(hours)
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


def _used(
    result: Result, done: Driven, t: int, hours: dict[tuple[str, str], float]
) -> Floats:
    """
    Factor on own trucks' hours with which the plan would hire what was hired, (v,). [1]

    Only yards count where own trucks of the type stand; 1 where nothing was hired
    beside them. `hours` are those needed, by truck type and yard.
    """
    scenario, stand = result.scenario, homes(result)
    rent = tours(done).query("whose == 'hired'").groupby(["type", "yard"])["hours"]
    hired = rent.sum().to_dict()
    day = scenario.settings.work.hours_per_day
    work = day * float(scenario.periods["working_days"].iloc[t])
    found = []
    for code in scenario.trucks["truck"]:
        at = [(str(code), yard) for yard, n in stand[code].items() if n > 0]
        own = work * sum(stand[code].values())
        need = sum(hours.get(key, 0.0) for key in at)
        paid = sum(hired.get(key, 0.0) for key in at)
        found.append(own_factor(need, paid, own) if paid > 0 and own > 0 else 1.0)
    return np.array(found)


def _filled(values: Floats) -> Floats:
    """Put the mean of a row's known periods where nothing is known, else 1."""
    known = np.isfinite(values)
    count = known.sum(axis=1, keepdims=True)
    total = np.where(known, values, 0.0).sum(axis=1, keepdims=True)
    mean = np.where(count > 0, total / np.maximum(count, 1), 1.0)
    return np.asarray(np.where(known, values, mean))
