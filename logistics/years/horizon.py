"""The years ahead: the district of each year, and the money of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from logistics.changes import ChangeSet, Step, apply_changes
from logistics.scenario import (
    Problem,
    Row,
    Scenario,
    ScenarioError,
    choose_from,
    fingerprint,
    records,
)

FILE = "years.csv"


@dataclass(frozen=True, eq=False)
class YearAhead:
    """
    One of the years ahead.

    Attributes
    ----------
    year
        Its number, such as 2027.
    scenario
        The district as it is then.
    capital
        Most that may be spent on yards; infinite without a limit. [money]
    carry_over
        Whether capital left over may be spent the year after.
    recurrent
        Most that the year may cost in net without capital. [money/yr]
    alike
        The same for years with the same tables and settings.
    """

    year: int
    scenario: Scenario
    capital: float
    carry_over: bool
    recurrent: float
    alike: str


def years_ahead(
    scenario: Scenario, changes: Mapping[str, ChangeSet]
) -> tuple[YearAhead, ...]:
    """
    Read the table of years.

    Parameters
    ----------
    scenario
        The district of today.
    changes
        By name, those that the table may speak of; each holds from its year on.

    Raises
    ------
    ScenarioError
        If there is no year, or a change is unknown.
    """
    rows = records(scenario.table("years"))
    _check(rows, changes)
    found, steps = [], list[Step]()
    for row in rows:
        steps += [step for name in row["changes"] for step in changes[name].steps]
        changed = apply_changes(scenario, ChangeSet("", "", "", tuple(steps)))
        grown = apply_changes(changed, _growth(row, changed))
        settings = grown.settings
        named = replace(
            grown,
            settings=settings.model_copy(
                update={"name": f"{settings.name}, {row['year']}"}
            ),
        )
        found.append(
            YearAhead(
                year=int(row["year"]),
                scenario=named,
                capital=_limit(row["capital"]),
                carry_over=bool(row["carry_over"]),
                recurrent=_limit(row["recurrent"]),
                alike=fingerprint(grown),
            )
        )
    return tuple(found)


def _limit(value: float) -> float:
    return float(np.nan_to_num(value, nan=np.inf, posinf=np.inf))


def _check(rows: list[Row], changes: Mapping[str, ChangeSet]) -> None:
    """Refuse a table of years that cannot be gone through."""
    if not rows:
        why, remedy = "has no years", "Write one row for each year ahead"
        raise ScenarioError([Problem(FILE, None, "", None, why, remedy)])
    problems = list[Problem]()
    for number, row in enumerate(rows, start=2):
        for name in row["changes"]:
            if name not in changes:
                why = "is not a file in the folder changes"
                remedy = choose_from(name, list(changes))
                problems.append(Problem(FILE, number, "changes", name, why, remedy))
    if problems:
        raise ScenarioError(problems)


def _growth(row: Row, scenario: Scenario) -> ChangeSet:
    """Set what arises, what is wanted, prices, fee and subsidy to those of a year."""
    steps = list[Step]()
    for column, name in (
        ("demand", "scale_demand"),
        ("wages", "scale_wages"),
        ("fuel", "scale_fuel"),
        ("compost_price", "scale_price"),
    ):
        if row[column] != 1:
            steps.append(Step(name, {"percent": 100 * (row[column] - 1)}, FILE))
    if row["supply"] != 1:
        percent = 100 * (row["supply"] - 1)
        steps += [
            Step("scale_source", {"percent": percent, "source": code}, FILE)
            for code in scenario.sources["source"]
        ]
    fee, subsidy = float(row["tipping_fee_per_t"]), float(row["subsidy_per_t"])
    if not np.isnan(fee):
        steps.append(Step("set_fee", {"fee_per_t": fee}, FILE))
    if not np.isnan(subsidy):
        named = {"name": "finance.subsidy_per_t", "value": f"{subsidy:.15g}"}
        steps.append(Step("setting", named, FILE))
    return ChangeSet("", "", "", tuple(steps))
