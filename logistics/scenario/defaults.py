"""What fills the gaps of a scenario: months, library rows, a list of defaults."""

import calendar
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import pandas as pd

from logistics.scenario.cells import Cells, read_cells
from logistics.scenario.csv_reader import read_csv
from logistics.scenario.currency import SETTING, MoneyScale, is_money
from logistics.scenario.faults import Problem, nearest
from logistics.scenario.schema import (
    LIBRARY,
    SETTINGS,
    Column,
    columns_of,
    keys_of,
    settings_columns,
)
from logistics.scenario.settings import default_setting

WORKING_DAYS_PER_DAY = 26 / 30.4
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
NOT_LOCAL = "default, not local"
COMPLETED = (
    "factors",
    "siting_rules",
    "accounts",
    "prices",
    "standards",
    "crops",
    "fertilisers",
)
"""Tables whose missing rows come from the library."""


def months() -> Cells:
    """
    Twelve calendar months, for a scenario without a table of periods.

    Examples
    --------
    >>> months().frame["working_days"].tolist()[:3]
    [27.0, 24.0, 27.0]
    """
    frame = pd.DataFrame(
        {
            "period": [f"m{number:02}" for number in range(1, 13)],
            "name": list(calendar.month_name)[1:],
            "days": [float(days) for days in MONTH_DAYS],
            "working_days": [
                float(round(days * WORKING_DAYS_PER_DAY)) for days in MONTH_DAYS
            ],
            "season_speed_pct": 100.0,
        }
    )
    rows = list(range(2, 14))
    return Cells("periods", "calendar months", frame, rows, frozenset(), {})


@cache
def library(table: str, scale: float = 1.0) -> Cells:
    """
    Return a table of the library that comes with the program.

    Parameters
    ----------
    table
        Its name.
    scale
        Units of the currency for one of the built-in money figures.

    Examples
    --------
    >>> "rice_husk" in set(library("materials").frame["material"])
    True
    """
    raw, problems = read_csv(LIBRARY / f"{table}.csv", table)
    if raw is None or problems:
        message = f"the library table {table} is damaged: {problems}"
        raise RuntimeError(message)
    cells = read_cells(raw)[0]
    money = {c.name: cells.frame[c.name] * scale for c in _money_of(table)}
    return replace(cells, frame=cells.frame.assign(**money))


@cache
def default_spread_rows() -> pd.DataFrame:
    """
    Return how far defaults may be off: what, name, low_pct, high_pct, source.

    Examples
    --------
    >>> "materials.nitrogen" in set(default_spread_rows()["what"])
    True
    """
    return pd.read_csv(LIBRARY / "default_spreads.csv")


def _money_of(table: str) -> list[Column]:
    return [column for column in columns_of(table) if is_money(column)]


def complete(
    table: str, given: Cells | None, scale: float = 1.0
) -> tuple[Cells, list[str]]:
    """
    Add the library's rows that a scenario does not give.

    Parameters
    ----------
    table
        One of `COMPLETED`.
    given
        The table of the scenario, or None.
    scale
        See `library`.

    Returns
    -------
    Cells
        Given rows first, then those of the library.
    list of str
        Codes taken from the library.
    """
    stock, (key,) = library(table, scale), keys_of(table)
    if given is None:
        return stock, stock.frame[key].tolist()
    own = set(given.frame[key])
    more = stock.frame[~stock.frame[key].isin(own)]
    frame = pd.concat([given.frame, more], ignore_index=True) if own else more
    rows = [*given.rows, *[0] * len(more)]
    joined = Cells(table, given.file, frame, rows, given.bad, given.filled)
    return joined, more[key].tolist()


def row_keys(table: str, frame: pd.DataFrame) -> list[str]:
    """
    Return the codes that tell the rows apart, joined by a space; else the row count.

    Examples
    --------
    >>> row_keys("calendar", pd.DataFrame({"season": ["dry"], "period": ["m01"]}))
    ['dry m01']
    """
    keys = keys_of(table)
    if not keys:
        return [str(number) for number in range(1, len(frame) + 1)]
    return [" ".join(line) for line in zip(*(frame[k] for k in keys), strict=True)]


def list_defaults(
    cells: Mapping[str, Cells],
    values: Mapping[str, Any],
    months_used: bool,
    library_used: Mapping[str, list[str]],
    scale: MoneyScale,
) -> pd.DataFrame:
    """
    List every default in use, for the note "default, not local".

    Parameters
    ----------
    cells
        Typed tables.
    values
        Settings that were given.
    months_used
        Whether the periods are the twelve calendar months.
    library_used
        Table to the codes taken from the library.
    scale
        What the money among the defaults is multiplied by.

    Returns
    -------
    DataFrame
        One row a default: table, key, column, value. A whole row taken from the
        library or the calendar has an empty column.
    """
    found: list[tuple[str, str, str, object]] = []
    for name, setting in settings_columns().items():
        if name not in values and setting.default:
            default = default_setting(name, scale.value)
            if name == SETTING:
                default = scale.value
            found.append((SETTINGS, "", name, default))
    for table, one in cells.items():
        keys = row_keys(table, one.frame)
        for column in columns_of(table):
            positions = one.filled.get(column.name, [])
            if positions:
                values_ = one.frame[column.name].tolist()
                found += [(table, keys[p], column.name, values_[p]) for p in positions]
    if months_used:
        found += [
            ("periods", period, "", "calendar month")
            for period in cells["periods"].frame["period"]
        ]
    for table, codes in library_used.items():
        told = NOT_LOCAL
        if scale.value != 1 and _money_of(table):
            told = f"{NOT_LOCAL}, {scale.words}"
        found += [(table, code, "", told) for code in codes]
    return pd.DataFrame(found, columns=["table", "key", "column", "value"])


def misspelt_factors(given: Cells | None, complete: Cells) -> list[Problem]:
    """Find factor codes that look like one of the library but are none."""
    if given is None:
        return []
    own = given.frame["factor"].tolist()
    known = complete.frame["factor"].tolist()[len(own) :]
    problems = []
    for position in given.good("factor"):
        like = nearest(own[position], known, cutoff=0.85)
        if like:
            why, remedy = "is not a known factor", f"Write {like!r} if you meant that"
            problems.append(
                given.problem(position, "factor", why, remedy, own[position])
            )
    return problems
