"""
What each uncertain number does to the money, the plan's yards as they are.

Every range is taken to both its ends, and every default in use that has a spread; the
flows are found anew each time, as one linear programme (`model.money_nearby`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.changes import ChangeSet, Range, apply_changes, read_ranges
from logistics.model import YearMoney, money_nearby, prepare
from logistics.results import effort_of
from logistics.scenario import (
    ScenarioError,
    columns_of,
    default_spread_rows,
    flat_settings,
    records,
    settings_columns,
)
from logistics.studies.stress_runs import same_ways

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Column, Row, Scenario

SPREADS = "library/default_spreads.csv"
DEFAULT, STATED = "default, not local", "stated by the scenario"
FEW = 6
"""Numbers of one range up to which each is taken to its ends on its own."""
FIGURES = ("net", "haulage", "capital")
COLUMNS = [
    *("range", "name", "standing", "numbers", "alike", "low", "likely", "high"),
    "whole",
    *(f"{figure}_{end}" for end in ("low", "high") for figure in FIGURES),
    "source",
]
Watch = Callable[[int, int], None]


def range_ends(result: Result, watch: Watch | None = None) -> pd.DataFrame:
    """
    Take every range and every default with a spread to both ends.

    Parameters
    ----------
    result
        A plan of least cost, proven or not.
    watch
        Called with how many are done and how many there are.

    Returns
    -------
    DataFrame
        One row a range, or a number of it where there are few: range, name, standing,
        numbers (drawn together), alike (how many of one weight they are worth), low,
        likely, high (in the unit of the range), whole
        (True for those of the table of ranges, False for spreads of defaults), and
        the change of net cost and haulage [money/yr] and capital [money] at each end;
        not a number where the demands cannot be met.
    """
    base = _money(result, result.scenario)
    if base is None:
        return pd.DataFrame(columns=COLUMNS)
    scenario, rows = result.scenario, []
    found = read_ranges(scenario)
    parts = [(part, True) for one in found for part in _apart(one)]
    known = {_number(one) for one, _ in parts}
    spreads = [one for one in default_spreads(scenario) if _number(one) not in known]
    parts += [(one, False) for one in spreads]
    for count, (one, whole) in enumerate(parts, start=1):
        ends = [_end(result, one, value, base) for value in (one.low, one.high)]
        standing = DEFAULT if _is_default(scenario, one) else STATED
        middle = np.nan if one.likely is None else one.likely
        rows.append(
            (
                *(one.code, one.name, standing, len(one.fixed), _as_many(result, one)),
                *(one.low, middle, one.high, whole, *ends[0], *ends[1], one.source),
            )
        )
        if watch is not None:
            watch(count, len(parts))
    return pd.DataFrame(rows, columns=COLUMNS)


def with_ranges(result: Result, watch: Watch | None = None) -> Result:
    """
    Add to a plan what its ranges do; a plan of another goal or short stays as it is.

    Parameters
    ----------
    result, watch
        See `range_ends`.
    """
    least_cost = result.scenario.settings.goal.minimise == "cost"
    if not least_cost or result.plan.status == "shortage":
        return result
    return replace(result, range_ends=range_ends(result, watch))


def _money(result: Result, scenario: Scenario) -> YearMoney | None:
    """Reckon the money of the plan's yards in a changed district."""
    ways = result.travel if same_ways(result.scenario, scenario) else None
    instance = prepare(scenario, ways).instance
    return money_nearby(instance, result.plan, effort_of(scenario))


def _end(
    result: Result, one: Range, value: float, base: YearMoney
) -> tuple[float, float, float]:
    """Change of the three figures at one end of a range."""
    change = ChangeSet("", "", "", one.at(value))
    there = _money(result, apply_changes(result.scenario, change))
    if there is None:
        return (np.nan, np.nan, np.nan)
    return (
        there.net - base.net,
        there.haulage - base.haulage,
        there.capital - base.capital,
    )


def _apart(one: Range) -> Iterator[Range]:
    """Take the few numbers of a range apart; many stay together."""
    if not 1 < len(one.fixed) <= FEW:
        yield one
        return
    for fixed in one.fixed:
        what = " ".join(map(str, fixed.values()))
        name = f"{one.name}: {what}"
        yield replace(one, code=f"{one.code} {what}", name=name, fixed=(fixed,))


def _number(one: Range) -> tuple[str, str, str]:
    """Tell which number of the scenario a range moves."""
    fixed = dict(one.fixed[0]) if one.fixed else {}
    if one.change == "set_packing":
        return "setting", "windrow.packing_pct", ""
    what = fixed.get("name", one.argument)
    return one.change, str(what), str(fixed.get("material", ""))


def _is_default(scenario: Scenario, one: Range) -> bool:
    """Whether a range moves a number that nobody stated."""
    change, what, material = _number(one)
    used = scenario.defaults_used
    if change == "setting":
        return bool(((used["table"] == "settings") & (used["column"] == what)).any())
    if change == "lab_values" and material:
        row = scenario.materials.set_index("material").loc[material]
        return str(row["status"]).startswith("default")
    return False


def default_spreads(scenario: Scenario) -> list[Range]:
    """Make a range of every default in use that the library has a spread for."""
    found = []
    for row in records(default_spread_rows()):
        table, _, what = str(row["what"]).partition(".")
        lines = _settings if table == "settings" else _materials
        found += list(lines(scenario, what, str(row["name"]), row))
    return [one for one in found if _applies(scenario, one)]


def _settings(scenario: Scenario, what: str, name: str, row: Row) -> Iterator[Range]:
    used = scenario.defaults_used
    if not ((used["table"] == "settings") & (used["column"] == what)).any():
        return
    value = flat_settings(scenario.settings).get(what)
    if isinstance(value, int | float) and value:
        column = settings_columns()[what]
        yield _spread(
            what, name, value, column, row, "setting", "value", {"name": what}
        )


def _materials(scenario: Scenario, what: str, name: str, row: Row) -> Iterator[Range]:
    column = next(c for c in columns_of("materials") if c.inside == what)
    present = set(scenario.sources["material"])
    for each in records(scenario.materials):
        code = str(each["material"])
        value = 100 * float(each[what])
        if code in present and value and str(each["status"]).startswith("default"):
            title = f"{name}: {each['name'] or code}"
            yield _spread(
                f"{what} {code}", title, value, column, row, "lab_values", column.name,
                {"material": code},
            )  # fmt: skip


def _spread(
    code: str,
    name: str,
    value: float,
    column: Column,
    row: Row,
    change: str,
    argument: str,
    fixed: dict[str, str],
) -> Range:
    """Make a range about a value, within what its column allows."""
    least = -np.inf if column.low is None else column.low
    most = np.inf if column.high is None else column.high
    low, high = (
        float(np.clip(value * (1 + row[end] / 100), least, most))
        for end in ("low_pct", "high_pct")
    )
    unit = f" [{column.unit}]" if column.unit else ""
    return Range(
        code, f"{name}{unit}", str(row["source"]), change, argument, (fixed,),
        low, value, high, SPREADS,
    )  # fmt: skip


def _applies(scenario: Scenario, one: Range) -> bool:
    """Whether both ends can be applied."""
    try:
        for value in (one.low, one.high):
            apply_changes(scenario, ChangeSet("", "", "", one.at(value)))
    except ScenarioError:
        return False
    return True


def _as_many(result: Result, one: Range) -> float:
    """Count the numbers of a range as if all weighed alike, by tonnes. [1]"""
    codes = [fixed.get("source") or fixed.get("market") for fixed in one.fixed]
    if len(codes) <= 1 or not all(codes):
        return float(len(codes))
    if "source" in one.fixed[0]:
        tonnes = result.supply.set_index("source")["tonnes_per_year"]
    else:
        markets = result.instance.markets
        tonnes = pd.Series(markets.demand.sum(axis=1), index=list(markets.codes))
    part = tonnes.reindex(codes).fillna(0.0).to_numpy(dtype=float)
    squares = float((part**2).sum())
    return float(part.sum()) ** 2 / squares if squares else float(len(codes))
