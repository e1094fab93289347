"""What places and trucks take, measured from driven rounds, as `Realised` factors."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

import numpy as np

from logistics.realised import Floats, Realised
from logistics.rounds_tables import shares_by_place, tours

if TYPE_CHECKING:
    from logistics.pipeline import Result
    from logistics.rounds_drive import Driven

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
            base = [np.bincount(rows, b, size) for b in (base_h, base_m)]
            tonnes = np.bincount(rows, table["tonnes"].to_numpy(dtype=float), size)
            got = np.zeros((3, size))
            for code, k in known.items():
                got[:, k] = real.get((side, code), (0.0, 0.0, 0.0))
            part = np.where(tonnes > 0, got[0] / np.maximum(tonnes, 1e-9), 0.0)
            kinds = np.array(
                [
                    freight.get(c, "compost") if side == "in" else "compost"
                    for c in known
                ]
            )
            weight = STEADY_H / np.maximum(base[0], 1e-9)
            for q in (0, 1):
                mean = np.full(size, np.nan)
                for name in set(kinds.tolist()):
                    like = kinds == name
                    due = float((base[q] * part)[like].sum())
                    if due > 0:
                        mean[like] = float(got[1 + q][like].sum()) / due
                lean = np.where(base[0] > 0, weight * base[q], 1.0)
                share = base[q] * part
                found[side][q][:, t] = (got[1 + q] + lean * mean) / (share + lean)
            scale = found[side][0][rows, t]
            for truck, hours in zip(
                table["truck"], base_h * np.nan_to_num(scale, nan=1.0), strict=True
            ):
                after[str(truck)] += float(hours)
        hired = tours(done).query("whose == 'hired'").groupby("type")["hours"].sum()
        whole = scenario.settings.work.hours_per_day * float(
            scenario.periods["working_days"].iloc[t]
        )
        for v, (code, owned) in enumerate(
            zip(scenario.trucks["truck"], scenario.trucks["owned"], strict=True)
        ):
            rent = float(hired.get(code, 0.0))
            nominal = float(owned) * whole
            use = (after[code] - rent) / nominal if rent > 0 and nominal > 0 else 1.0
            usable[v, t] = min(1.0, max(0.0, use))
    (source_h, source_m), (market_h, market_m) = found["in"], found["out"]
    return Realised(*map(_filled, (source_h, source_m, market_h, market_m, usable)))


def _filled(values: Floats) -> Floats:
    """Put the mean of a row's known periods where nothing is known, else 1."""
    known = np.isfinite(values)
    count = known.sum(axis=1, keepdims=True)
    total = np.where(known, values, 0.0).sum(axis=1, keepdims=True)
    mean = np.where(count > 0, total / np.maximum(count, 1), 1.0)
    return np.asarray(np.where(known, values, mean))
