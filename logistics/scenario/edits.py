"""Edit the tables of a scenario: every edit returns a new scenario."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any, NoReturn

import numpy as np
import pandas as pd

from logistics.scenario.cells import blank_value, read_value, typed
from logistics.scenario.currency import scaled
from logistics.scenario.faults import (
    Problem,
    ScenarioError,
    choose_from,
    nearest_material,
)
from logistics.scenario.number_text import CellFault
from logistics.scenario.scenario import Scenario
from logistics.scenario.schema import (
    Column,
    columns_of,
    keys_of,
    number_text,
    settings_columns,
)
from logistics.scenario.settings import flat_settings, settings_from
from logistics.scenario.settings_file import FILE, check_settings


class ChangeFault(ValueError):
    """An argument of a change that cannot be used; says what to write instead."""

    def __init__(self, argument: str, value: object, why: str, remedy: str) -> None:
        self.argument, self.value = argument, value
        self.why, self.remedy = why, remedy
        super().__init__(f"{argument} = {value!r} {why}. {remedy}.")


def refuse(argument: str, value: object, why: str, remedy: str) -> NoReturn:
    """Raise a ChangeFault."""
    raise ChangeFault(argument, value, why, remedy) from None


def with_table(scenario: Scenario, name: str, table: pd.DataFrame) -> Scenario:
    """Return the scenario with one table exchanged."""
    fresh = table.reset_index(drop=True)
    return replace(scenario, tables={**scenario.tables, name: fresh})


def with_settings(scenario: Scenario, values: Mapping[str, object]) -> Scenario:
    """
    Return the scenario with other settings, checked as those of a file are.

    Parameters
    ----------
    scenario
        Stays as it is.
    values
        Dotted name to value, in the units of `columns.csv`; None takes a limit away.

    Raises
    ------
    ScenarioError
        If a setting is unknown or its value cannot be used.
    """
    given = flat_settings(scenario.settings)
    before, old_faults = check_settings(_set(given))
    after, faults = check_settings(_set({**given, **values}))
    fresh = [fault for fault in faults if fault not in old_faults]
    fresh += _unknown_codes(scenario, {name: after.get(name) for name in values})
    if fresh:
        raise ScenarioError(fresh)
    kept = {name: value for name, value in given.items() if name not in before}
    return replace(scenario, settings=settings_from({**kept, **after}))


def _set(values: Mapping[str, object]) -> dict[str, Any]:
    """Return the settings that have a value, as plain Python numbers and text."""
    return {
        name: value.item() if isinstance(value, np.generic) else value
        for name, value in values.items()
        if value is not None
    }


def _unknown_codes(scenario: Scenario, values: Mapping[str, Any]) -> list[Problem]:
    """Find settings that name a row which its table does not have."""
    problems = []
    for name, value in values.items():
        table = settings_columns()[name].refers_to if value else ""
        if table:
            codes = scenario.table(table)[keys_of(table)[0]].tolist()
            if value not in codes:
                why = f"is not a code in the table {table}"
                remedy = _remedy(scenario, table, value, codes)
                problems.append(Problem(FILE, None, name, value, why, remedy))
    return problems


def _remedy(scenario: Scenario, table: str, code: str, codes: Sequence[str]) -> str:
    """Return what to write in place of a code that is none of a table's."""
    if table != "materials":
        return choose_from(code, codes)
    frame = scenario.materials
    kinds = dict(zip(frame["material"], frame["structure"], strict=True))
    like = nearest_material(code, {c: bool(kinds.get(c)) for c in codes if c})
    return choose_from(like, codes) if like else choose_from("", codes)


def known(argument: str, code: str, codes: Collection[str]) -> str:
    """Return the code if it is known; else raise with the nearest known one."""
    if code not in codes:
        refuse(argument, code, "is unknown", choose_from(code, codes))
    return code


def rows_of(scenario: Scenario, table: str, **where: str) -> pd.Series:
    """
    Mark the rows of a table that fit; blank or "all" fits everything.

    Every code given must occur in its column.
    """
    frame = scenario.table(table)
    mask = pd.Series(data=True, index=frame.index)
    for column, code in where.items():
        if code not in ("", "all"):
            codes = sorted(set(frame[column]))
            if code not in codes:
                referred = find_column(table, column).refers_to
                target = table if column in keys_of(table) else referred
                remedy = _remedy(scenario, target, code, codes)
                refuse(column, code, "is unknown", remedy)
            mask &= frame[column] == code
    return mask


def set_values(
    scenario: Scenario, table: str, rows: pd.Series, values: Mapping[str, object]
) -> Scenario:
    """
    Write values, in the units of `columns.csv`, into the rows marked.

    Raises
    ------
    ChangeFault
        If a value is not one that the column takes.
    """
    frame = scenario.table(table).copy()
    for name, value in values.items():
        column = find_column(table, name, _scale(scenario))
        inside = check_value(column, value)
        if column.kind == "list":
            frame[column.inside] = [
                inside if fits else old
                for fits, old in zip(rows, frame[column.inside], strict=True)
            ]
        else:
            frame.loc[rows, column.inside] = inside
    return with_table(scenario, table, frame)


def _scale(scenario: Scenario) -> float:
    """Units of the scenario's currency for one of the built-in money figures."""
    return scenario.settings.finance.money_scale


def some(given: Mapping[str, object]) -> dict[str, object]:
    """
    Return the values that were given; at least one must be.

    Examples
    --------
    >>> some({"owned": 3, "hire_limit": None})
    {'owned': 3}
    """
    values = {name: value for name, value in given.items() if value is not None}
    if not values:
        refuse(" or ".join(given), "", "is missing", "Give at least one of them")
    return values


def find_column(table: str, name: str, scale: float = 1.0) -> Column:
    """Return a column by its name, or raise with the nearest one."""
    named = {column.name: column for column in columns_of(table)}
    return scaled(named[known("column", name, named)], scale)


def check_value(column: Column, value: object) -> Any:
    """Read a value as a cell of the column; percent becomes a share."""
    text = number_text(value) if isinstance(value, float) else str(value)
    try:
        inside = read_value(text, column)
    except CellFault as fault:
        refuse(column.name, value, fault.why, fault.remedy)
    return inside / 100 if column.kind == "percent" else inside  # type: ignore[operator]


def scale_values(
    scenario: Scenario, table: str, rows: pd.Series, column: str, percent: float
) -> Scenario:
    """Raise (or with a minus, lower) a number in the rows marked. [%]"""
    if percent < -100:
        why, remedy = "takes away more than 100 %", "Write -100 or more"
        refuse("percent", percent, why, remedy)
    found = find_column(table, column, _scale(scenario))
    frame = scenario.table(table).copy()
    frame.loc[rows, found.inside] *= 1 + percent / 100
    high = np.inf if found.high is None else found.high
    if (frame.loc[rows, found.inside] > high).any():
        why = f"makes {column} larger than its limit of {high:g}"
        refuse("percent", percent, why, "Write a smaller percentage")
    return with_table(scenario, table, frame)


def add_row(scenario: Scenario, table: str, values: Mapping[str, object]) -> Scenario:
    """Add a row; what is not given takes its default, and keys must be new."""
    frame, row = scenario.table(table), {}
    for column in (scaled(c, _scale(scenario)) for c in columns_of(table)):
        value = values.get(column.name, "")
        if value in ("", None) and column.required:
            refuse(column.name, "", "is missing", f"Give {column.name}")
        if value in ("", None) and not column.default:
            row[column.inside] = blank_value(column)
        else:
            filled = column.default if value in ("", None) else value
            row[column.inside] = check_value(column, filled)
        if column.key and row[column.inside] in set(frame[column.inside]):
            remedy = "Choose a code that is not used yet"
            refuse(column.name, value, "already exists", remedy)
        if column.refers_to and row[column.inside]:
            codes = list(scenario.table(column.refers_to).iloc[:, 0])
            known(column.name, str(row[column.inside]), codes)
    series = {c.inside: typed([row[c.inside]], c) for c in columns_of(table)}
    added = pd.concat([frame, pd.DataFrame(series)], ignore_index=True)
    return with_table(scenario, table, added.astype(frame.dtypes.to_dict()))
