"""
Plan, drive, measure, plan again: until the plan says what driving costs.

The answer is the plan whose year costs least with its haulage as driven, which need not
be the last. Both sides count the same: fuel, repair, crew, fares, and hire by the hour.
The yearly cost of owned trucks is on neither. From the second measurement on, factors
move by a half, a third, ... of the way (successive averages), so that they settle.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Collection
from contextlib import ExitStack
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from logistics.model import as_reckoned
from logistics.results import Result, run
from logistics.rounds.driving import Driven, drive, processes
from logistics.rounds.measured import measure
from logistics.rounds.tables import by_freight, with_costs_per_t

if TYPE_CHECKING:
    from logistics.scenario import Scenario

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
    freight
        Planned against driven by feedstock and compost, all driven periods together;
        columns as of `rounds_tables.by_freight`.
    worst_hours
        Most by which driven truck hours are off the planned in a period, as a share
        of the planned.
    whole_cost
        Net cost of the year with haulage as driven in place of as planned; what is
        not fetched is disposed of as today. [money/yr]
    """

    result: Result
    driven: tuple[Driven, ...]
    freight: pd.DataFrame
    worst_hours: float
    whole_cost: float

    @property
    def planned_money(self) -> float:
        """Haulage as planned, hire included, in the driven periods. [money]"""
        return float(self.freight["planned_money"].sum())

    @property
    def driven_money(self) -> float:
        """Haulage as driven, hire included, in the driven periods. [money]"""
        return float(self.freight["driven_money"].sum())

    @property
    def left_t(self) -> float:
        """Tonnes planned and not driven. [t]"""
        return float(self.freight["left_t"].sum())

    @property
    def above_plan(self) -> float:
        """Driven cost over (+) or under (-) the planned, as a share of the planned."""
        return self.driven_money / max(self.planned_money, 1e-9) - 1


def feedback(
    scenario: Scenario,
    *,
    most: int = 4,
    periods: Collection[str] | None = None,
    pair: bool = True,
    seed: int = 1,
    workers: int | None = None,
    iterations: int | None = None,
    report: Callable[[Turn], None] | None = None,
) -> list[Turn]:
    """
    Plan and drive in turn until yards stay and costs are close, or `most` re-plans.

    Ctrl-C outside the first plan ends it with the turns that are complete.

    Parameters
    ----------
    scenario
        Tables and settings, checked.
    most
        Most plans after the first.
    periods
        Codes of those to drive; all by default.
    pair, seed, workers, iterations
        As for `rounds_drive.drive`, in every turn.
    report
        Called with every turn as it ends.
    """
    chosen = [p for p in scenario.periods["period"] if not periods or p in periods]
    turns: list[Turn] = []
    realised = as_reckoned(scenario)
    count = workers or os.cpu_count() or 1
    with ExitStack() as stack:
        pool = stack.enter_context(processes(count)) if count > 1 else None
        try:
            for n in range(most + 1):
                last = turns[-1].result if turns else None
                result = run(
                    scenario,
                    start=last.plan.yard_sizes if last else None,
                    warm_start=last.plan.warm_start if last else None,
                    ways=last.travel if last else None,
                    realised=realised,
                )
                driven = tuple(
                    drive(
                        result,
                        period,
                        pair=pair,
                        seed=seed,
                        workers=count,
                        iterations=iterations,
                        pool=pool,
                    )
                    for period in chosen
                )
                turns.append(_turn(result, driven))
                if report:
                    report(turns[-1])
                same = last is not None and _yards(last) == _yards(result)
                if same and abs(turns[-1].above_plan) <= CLOSE:
                    break
                measured = measure(result, driven, realised)
                realised = realised.mixed(measured, 1 / (n + 1))
        except KeyboardInterrupt:
            if not turns:
                raise
    return turns


def cheapest(turns: list[Turn]) -> int:
    """Position of the plan whose year costs least as driven; the first of equals."""
    return min(range(len(turns)), key=lambda n: (turns[n].whole_cost, n))


def _yards(result: Result) -> set[tuple[str, str]]:
    """Yards and sizes of a plan."""
    return set(result.plan.yard_sizes)


def _turn(result: Result, driven: tuple[Driven, ...]) -> Turn:
    """Add up both sides of the driven periods."""
    tables = [by_freight(result, done) for done in driven]
    sums = pd.concat(tables).groupby("material", as_index=False).sum()
    sums = with_costs_per_t(sums)
    worst = max(
        (
            abs(float(table["driven_h"].sum()) / hours - 1)
            for table in tables
            for hours in [float(table["planned_h"].sum())]
            if hours > 0
        ),
        default=0.0,
    )
    sources = result.scenario.sources
    price = dict(zip(sources["source"], sources["disposal_cost_per_t"], strict=True))
    today = sum(
        float((left["tonnes"] * left["place"].map(price)).sum())
        for done in driven
        for left in [done.left[done.left["kind"] == "in"]]
    )
    more = float(sums["driven_money"].sum() - sums["planned_money"].sum())
    whole = float(result.summary["total_cost"]) + more + today
    return Turn(result, driven, sums, worst, whole)


def by_turn(turns: list[Turn]) -> pd.DataFrame:
    """
    Set planned against driven by feedstock, turn by turn.

    Returns
    -------
    DataFrame
        turn (from 1), and the columns of `rounds_tables.by_freight`; material "all"
        has each turn's sums.
    """
    tables = []
    for n, turn in enumerate(turns, start=1):
        whole = turn.freight.drop(columns="material").sum().to_frame().T
        whole = with_costs_per_t(whole).assign(material="all")
        both = pd.concat([turn.freight, whole])
        both.insert(0, "turn", n)
        tables.append(both)
    return pd.concat(tables, ignore_index=True)
