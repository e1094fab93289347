"""
What each uncertain number does to the money, the plan's yards as they are.

Every range is taken to both its ends, and every default in use that has a spread. The
quick way follows a straight line through the plan: no programme is solved
(`model.Tangent`). The other plans the flows anew at each end, as one linear programme
(`model.money_nearby`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.changes import ChangeSet, Range, apply_changes
from logistics.model import YearMoney, assemble, money_nearby, prepare, tangent_of
from logistics.results import effort_of
from logistics.roads import travel
from logistics.studies.money_draws import FIGURES, money_range
from logistics.studies.stress_runs import same_ways
from logistics.studies.uncertain_numbers import Uncertain, uncertain_numbers

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario

LINE, ANEW = "straight line", "flows planned anew"
"""How the change at an end is reckoned."""
COLUMNS = [
    *("range", "name", "standing", "numbers", "alike", "low", "likely", "high"),
    *("planned", "whole"),
    *(f"{figure}_{end}" for end in ("low", "high") for figure in FIGURES),
    *("reckoned", "source"),
]
Watch = Callable[[int, int], None]
Money = Callable[[Range | None, float], YearMoney | None]
"""Money with all numbers of a range at a value; with None, as planned."""
Effect = tuple[float, float, float]
"""Change of net cost, haulage and capital."""


def with_ranges(
    result: Result, watch: Watch | None = None, *, anew: bool = False
) -> Result:
    """
    Add to a plan what its ranges do; a plan of another goal or short stays as it is.

    Parameters
    ----------
    result
        A plan, proven or not.
    watch
        Called with how many ranges are done and how many there are.
    anew
        Whether flows are planned anew at every end; else a straight line will do.
    """
    least_cost = result.scenario.settings.goal.minimise == "cost"
    if not least_cost or result.plan.status == "shortage":
        return result
    ends = range_ends(result, watch, anew=anew)
    found = replace(result, range_ends=ends)
    between = money_range(found)
    return replace(found, money_range=between, summary={
        **result.summary,
        "money_range": {
            row.figure: {"low": row.low, "high": row.high}
            for row in between.itertuples()
        },
        "money_range_by": ANEW if anew else LINE,
    })  # fmt: skip


def range_ends(
    result: Result, watch: Watch | None = None, *, anew: bool = False
) -> pd.DataFrame:
    """
    Take every range and every default with a spread to both ends.

    Parameters
    ----------
    result, watch, anew
        See `with_ranges`; the plan is one of least cost.

    Returns
    -------
    DataFrame
        One row a range, or a number of it where there are few: range, name, standing,
        numbers (drawn together), alike (how many of one weight they are worth), low,
        likely, high, planned (in the unit of the range; planned is what the plan counts
        with, not a number where that is not known), whole
        (True for those of the table of ranges, False for spreads of defaults), the
        change of net cost and haulage [money/yr] and capital [money] at each end, not a
        number where the demands cannot be met; reckoned (`LINE` or `ANEW`), source. No
        rows where the plan's money cannot be reckoned again.
    """
    money = _flows_anew(result) if anew else _straight_line(result)
    base = None if money is None else money(None, 0.0)
    if money is None or base is None:
        return pd.DataFrame(columns=COLUMNS)
    rows, numbers = [], uncertain_numbers(result)
    for count, one in enumerate(numbers, start=1):
        ends = _both_ends(money, base, one) if anew else _along(money, base, one)
        low, likely, high = one.range.low, one.range.likely, one.range.high
        rows.append(
            (
                *(one.range.code, one.range.name, one.standing, len(one.range.fixed)),
                *(one.alike, low, _number(likely), high, _number(one.planned)),
                *(one.whole, *ends[0], *ends[1], ANEW if anew else LINE),
                one.range.source,
            )
        )
        if watch is not None:
            watch(count, len(numbers))
    return pd.DataFrame(rows, columns=COLUMNS)


def _number(value: float | None) -> float:
    return np.nan if value is None else value


def _flows_anew(result: Result) -> Money:
    """Give the money of the plan's yards with one range at a value, flows anew."""

    def money(one: Range | None, value: float) -> YearMoney | None:
        scenario = _changed(result.scenario, one, value)
        ways = result.travel if same_ways(result.scenario, scenario) else None
        instance = prepare(scenario, ways).instance
        return money_nearby(instance, result.instance, result.plan, effort_of(scenario))

    return money


def _straight_line(result: Result) -> Money | None:
    """Give that money to first order; None where the plan's basis does not tell."""
    tangent = tangent_of(result.instance, result.plan)
    if tangent is None:
        return None
    yards = result.scenario.yards
    mine = set(result.plan.yards["yard"])
    some = yards[yards["yard"].isin(mine)].reset_index(drop=True)
    tables = {**result.scenario.tables, "yards": some}
    small = replace(result.scenario, tables=tables)
    ways = travel(small)

    def money(one: Range | None, value: float) -> YearMoney | None:
        if one is not None:
            fixed = tuple(
                each for each in one.fixed if each.get("yard", "") in {"", *mine}
            )
            if not fixed:
                return tangent.money(assemble(small, ways).instance)
            one = replace(one, fixed=fixed)
        scenario = _changed(small, one, value)
        there = ways if same_ways(small, scenario) else travel(scenario)
        return tangent.money(assemble(scenario, there).instance)

    return money


def _changed(scenario: Scenario, one: Range | None, value: float) -> Scenario:
    """Set the numbers of a range to a value."""
    if one is None:
        return scenario
    return apply_changes(scenario, ChangeSet("", "", "", one.at(value)))


def _both_ends(money: Money, base: YearMoney, one: Uncertain) -> tuple[Effect, Effect]:
    """Change of the figures at the low end and at the high end."""
    low, high = (
        _less(money(one.range, end), base) for end in (one.range.low, one.range.high)
    )
    return low, high


def _along(money: Money, base: YearMoney, one: Uncertain) -> tuple[Effect, Effect]:
    """Follow the straight line from the plan through the end that is farther off."""
    ends, planned = (one.range.low, one.range.high), one.planned
    if planned is None:
        return _both_ends(money, base, one)
    far = max(ends, key=lambda end: abs(end - planned))
    if far == planned:
        return (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)
    net, haulage, capital = _less(money(one.range, far), base)
    low, high = ((end - planned) / (far - planned) for end in ends)
    return (
        (net * low, haulage * low, capital * low),
        (net * high, haulage * high, capital * high),
    )


def _less(there: YearMoney | None, base: YearMoney) -> Effect:
    """Take the plan's own figures off; not numbers where there are none."""
    if there is None:
        return (np.nan, np.nan, np.nan)
    return (
        there.net - base.net,
        there.haulage - base.haulage,
        there.capital - base.capital,
    )
