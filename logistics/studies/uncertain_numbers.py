"""
Numbers that are not known for certain: those of the table of ranges, and defaults.

A range of few numbers is taken apart; a default in use that the library has a spread
for is a range about its value.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.changes import ChangeSet, Range, apply_changes, read_ranges
from logistics.scenario import (
    ScenarioError,
    columns_of,
    default_spread_rows,
    flat_settings,
    records,
    rows_by,
    settings_columns,
)

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Column, Row, Scenario

SPREADS = "library/default_spreads.csv"
DEFAULT, STATED = "default, not local", "stated by the scenario"
FEW = 6
"""Numbers of one range up to which each is taken to its ends on its own."""
SETTING_OF = {
    "set_packing": "windrow.packing_pct",
    "set_shrinking": "windrow.end_volume_pct",
}
"""Changes that move one setting."""


@dataclass(frozen=True)
class Uncertain:
    """
    A number that is not known for certain, or many that are drawn alike.

    Attributes
    ----------
    range
        Its ends, and the change that sets it.
    whole
        Whether it is of the table of ranges; else the spread of a default.
    standing
        `DEFAULT` or `STATED`.
    planned
        The number that the plan counts with, in the unit of the range; None where that
        is not one number.
    alike
        How many of one weight its numbers are worth. [1]
    """

    range: Range
    whole: bool
    standing: str
    planned: float | None
    alike: float


def uncertain_numbers(result: Result) -> list[Uncertain]:
    """List the ranges of a plan's district, then the defaults that are in none."""
    scenario = result.scenario
    ranges = [part for one in read_ranges(scenario) for part in _apart(scenario, one)]
    known = {_number(one) for one in ranges}
    spreads = [one for one in default_spreads(scenario) if _number(one) not in known]
    return [
        Uncertain(
            range=one,
            whole=whole,
            standing=DEFAULT if _is_default(scenario, one) else STATED,
            planned=_planned(scenario, one),
            alike=_as_many(result, one),
        )
        for parts, whole in ((ranges, True), (spreads, False))
        for one in parts
    ]


def _planned(scenario: Scenario, one: Range) -> float | None:
    """Find the number that the plan counts with."""
    change, what, material = _number(one)
    if one.argument == "percent" and change.startswith("scale_"):
        return 0.0
    if change == "setting":
        value = flat_settings(scenario.settings).get(what)
        return float(value) if isinstance(value, int | float) else None
    if change == "lab_values" and material:
        column = next((c for c in columns_of("materials") if c.name == what), None)
        if column is None or not column.inside:
            return None
        row = rows_by(scenario.materials, "material")[material]
        return (100.0 if what.endswith("_pct") else 1.0) * float(row[column.inside])
    return None


def _apart(scenario: Scenario, one: Range) -> Iterator[Range]:
    """Take the few numbers of a range apart; many stay together."""
    if not 1 < len(one.fixed) <= FEW:
        yield one
        return
    name, bracket, unit = one.name.partition(" [")
    for fixed in one.fixed:
        what = " ".join(map(str, fixed.values()))
        said = " ".join(_name_of(scenario, *each) for each in fixed.items())
        whole = f"{name}: {said}{bracket}{unit}"
        yield replace(one, code=f"{one.code} {what}", name=whole, fixed=(fixed,))


def _name_of(scenario: Scenario, argument: str, value: object) -> str:
    """Name what an argument of a change is about; a code without a name is one."""
    table = scenario.tables.get(f"{argument}s")
    if table is None or argument not in table or "name" not in table:
        return str(value)
    found = table.loc[table[argument] == value, "name"]
    return str(value) if found.empty or not found.iloc[0] else str(found.iloc[0])


def _number(one: Range) -> tuple[str, str, str]:
    """Tell which number of the scenario a range moves."""
    fixed = dict(one.fixed[0]) if one.fixed else {}
    if one.change in SETTING_OF:
        return "setting", SETTING_OF[one.change], ""
    what = fixed.get("name", one.argument)
    return one.change, str(what), str(fixed.get("material", ""))


def _is_default(scenario: Scenario, one: Range) -> bool:
    """Whether a range moves a number that nobody stated."""
    change, what, material = _number(one)
    used = scenario.defaults_used
    if change == "setting":
        return bool(((used["table"] == "settings") & (used["column"] == what)).any())
    if change in {"lab_values", "count_available"} and material:
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
