"""
Plan, drive, measure, plan again: until the plan says what driving costs.

Both sides count the same: fuel, repair, crew, fares, and hire by the hour. The yearly
cost of owned trucks is on neither. From the second measurement on, factors move by
a half, a third, ... of the way (successive averages), so that they settle.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from logistics.pipeline import Result, run
from logistics.realised import Floats, Realised, as_reckoned
from logistics.rounds_drive import Driven, drive
from logistics.rounds_tables import hire_per_hour, shares_by_place, tours

if TYPE_CHECKING:
    from logistics.scenario import Scenario

STEADY_H = 4.0
"""Planned hours of a place that weigh as much as the mean of its freight. [h]"""
CLOSE = 0.05
"""Difference of planned and driven cost from which it is close enough."""


@dataclass(frozen=True, eq=False)
class Turn:
    """
    One plan and how it drives.

    Attributes
    ----------
    result, driven
        The plan; its periods driven.
    planned_money, driven_money
        Haulage with hire in those periods. [money]
    worst_hours
        Largest share by which truck hours planned and driven differ in a period.
    """

    result: Result
    driven: tuple[Driven, ...]
    planned_money: float
    driven_money: float
    worst_hours: float

    @property
    def difference(self) -> float:
        """Planned cost under (+) or over (-) the driven, as a share of the driven."""
        return 1 - self.planned_money / max(self.driven_money, 1e-9)


def feedback(
    scenario: Scenario,
    *,
    most: int = 4,
    periods: Collection[str] | None = None,
    workers: int | None = None,
    iterations: int | None = None,
    report: Callable[[Turn], None] | None = None,
) -> list[Turn]:
    """
    Plan and drive in turn until yards stay and costs are close, or `most` re-plans.

    Ctrl-C outside the first plan ends it with the turns that are complete.
    """
    chosen = [p for p in scenario.periods["period"] if not periods or p in periods]
    turns: list[Turn] = []
    realised = as_reckoned(scenario)
    try:
        for n in range(most + 1):
            last = turns[-1].result if turns else None
            result = run(
                scenario,
                start=last.plan.pairs if last else None,
                memory=last.plan.memory if last else None,
                ways=last.travel if last else None,
                realised=realised,
            )
            driven = tuple(
                drive(result, p, workers=workers, iterations=iterations) for p in chosen
            )
            turns.append(_turn(result, driven))
            if report:
                report(turns[-1])
            same = last is not None and set(last.plan.pairs) == set(result.plan.pairs)
            if same and abs(turns[-1].difference) <= CLOSE:
                break
            measured = measure(result, driven, realised)
            realised = realised.mixed(measured, 1 / (n + 1))
    except KeyboardInterrupt:
        if not turns:
            raise
    return turns


def _turn(result: Result, driven: tuple[Driven, ...]) -> Turn:
    """Add up both sides of the driven periods."""
    planned = real = worst = 0.0
    for done in driven:
        lanes = result.lanes[result.lanes["period"] == done.period]
        hire = lanes["truck"].map(hire_per_hour(result, done.period)).astype(float)
        planned += float((lanes["money"] + lanes["hours"] * hire).sum())
        table = tours(done)
        real += float(table["money"].sum())
        hours = float(table["hours"].sum())
        if hours > 0:
            worst = max(worst, abs(float(lanes["hours"].sum()) / hours - 1))
    return Turn(result, driven, planned, real, worst)


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
