"""The way there: a plan for each of the years ahead, and the steps between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from logistics.model import relative_gap

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario
    from logistics.years.earliest import EarliestYear


@dataclass(frozen=True, eq=False)
class WayAhead:
    """
    From today to the last year: a plan for each year, and the steps between.

    Attributes
    ----------
    scenario
        The district of today.
    years
        Such as 2027, one after the other.
    results
        The plan of each year, audited.
    steps
        year, yard, step ("opens", "enlarged", "idle", "works again", "closes"),
        size_from, size, capital (what the step costs in that year) [money].
    money
        One row a year: year, capital_limit [money; missing without one], capital
        (spent on yards opened, enlarged, cleared or kept idle, and on what is
        replaced), carried
        (into the next year), recurrent_limit [money/yr; missing without one],
        recurrent (running what works), income (compost sold, fees, subsidies), fees
        and subsidy (of that what sources pay, and what comes from outside),
        outside (what others pay, such as sources for what is left with them), salvage
        (in the last year), net (capital + recurrent - income + outside - salvage),
        value (of net, in money of the beginning of the first year: capital is paid
        at the beginning of its year, all else at its end) [money].
    easing
        year, limit ("capital"), money (that of the limit), saves: what one more unit
        of that year's money takes off the goal, to first order.
    value, bound
        What the way comes to in the goal: net present cost [money], or the sum of the
        years of what is left [t] or emitted [kg CO2e]; no way comes to less than the
        bound.
    with_parts
        The same of these yards with own trucks based in parts, as the bound counts
        them.
    seconds
        Time it took. [s]
    met
        From which year on the board's shares are asked for; None in every year.
    """

    scenario: Scenario
    years: tuple[int, ...]
    results: tuple[Result, ...]
    steps: pd.DataFrame
    money: pd.DataFrame
    easing: pd.DataFrame
    value: float
    bound: float
    with_parts: float
    seconds: float
    met: EarliestYear | None = None

    @property
    def met_from(self) -> int | None:
        """Year from which the board's shares can be collected; None if unknown."""
        return (
            None
            if self.met is None or self.met.place is None
            else (self.years[self.met.place])
        )

    @property
    def goal(self) -> str:
        """What is made least: "cost", "uncollected" or "co2e"."""
        return self.scenario.settings.goal.minimise

    @property
    def present_cost(self) -> float:
        """Net present cost. [money]"""
        return float(self.money["value"].sum())

    @property
    def gap(self) -> float:
        """Proven relative gap. [1]"""
        return relative_gap(self.value, self.bound)

    @property
    def gap_of_yards(self) -> float:
        """Proven relative gap of the choice of yards, own trucks in parts. [1]"""
        return relative_gap(self.with_parts, self.bound)

    @property
    def status(self) -> str:
        """Say "optimal", or "feasible", or "shortage", as the worst of the years."""
        found = {result.plan.status for result in self.results}
        return next((s for s in ("shortage", "feasible") if s in found), "optimal")
