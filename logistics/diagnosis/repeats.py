"""Rows typed or pasted twice under other codes, and codes told apart by case alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from logistics.diagnosis.finding import FIRST_ROW, Finding, finding, of_row, some
from logistics.scenario import Problem

if TYPE_CHECKING:
    from logistics.scenario import Scenario

SAME = {
    "sources": ("material", "lon", "lat", "basis", "amount"),
    "markets": ("lon", "lat", "crop", "basis", "amount", "season"),
    "yards": ("lon", "lat"),
    "people": ("lon", "lat", "heads"),
}
"""What rows of one place share; several crops at one place are no repeat."""
NAMED = {
    "sources": ("name", "material", "basis", "amount", "lon"),
    "markets": ("name", "crop", "basis", "amount", "lon"),
}
"""The same by name, where the latitude was corrected in one of the two."""
SEVERAL = 2
"""Repeats of one table that are named one by one; more are one finding."""


def rows_again(scenario: Scenario) -> list[Finding]:
    """
    Doubt rows that say the same as an earlier one under another code.

    Returns
    -------
    list of Finding
        One a row; one a table where more than two repeat, as a block pasted twice.
    """
    found: list[Finding] = []
    for table, columns in SAME.items():
        frame = scenario.tables[table]
        if len(frame) < 2:
            continue
        first = _first_of(frame, columns)
        if table in NAMED:
            by_name = _first_of(frame, NAMED[table])
            named = frame["name"].astype(str).str.strip() != ""
            first = first.where(first >= 0, by_name.where(named, -1))
        again = [(place, int(one)) for place, one in enumerate(first) if one >= 0]
        key = frame.columns[0]
        codes = frame[key].astype(str).tolist()
        if len(again) > SEVERAL:
            found.append(_block(table, str(key), codes, again))
            continue
        for place, one in again:
            why = f"repeats row {one + FIRST_ROW} ({codes[one]!r}) under another code"
            said = (codes[place], why, "Delete one of the two, or correct it")
            found.append(of_row("row_again", scenario, table, place, str(key), said))
    return found


def _first_of(frame: pd.DataFrame, columns: tuple[str, ...]) -> pd.Series:
    """Return the position of the earlier row that says the same, or -1."""
    alike = frame[list(columns)]
    group = alike.groupby(list(columns), sort=False, dropna=False).ngroup()
    place = pd.Series(range(len(frame)), index=frame.index)
    first = place.groupby(group).transform("min")
    return first.where(first < place, -1).reset_index(drop=True)


def _block(
    table: str, key: str, codes: list[str], again: list[tuple[int, int]]
) -> Finding:
    pairs = [f"{codes[place]} is {codes[one]}" for place, one in again]
    why = f"and {len(again) - 1} more rows repeat earlier ones under other codes: "
    place = again[0][0]
    value = codes[place]
    remedy = "Delete the rows that were pasted twice"
    problem = Problem(
        f"{table}.csv", place + FIRST_ROW, key, value, why + some(pairs, 3), remedy
    )
    return finding("row_again", tuple(codes[place] for place, _ in again), problem)


KEYS = {
    "materials": "material", "sources": "source", "calendar": "season",
    "periods": "period", "yards": "yard", "yard_sizes": "size", "markets": "market",
    "trucks": "truck", "districts": "district", "roads": "road", "people": "place",
}  # fmt: skip
"""Tables that people give codes in."""


def codes_alike(scenario: Scenario) -> list[Finding]:
    """Doubt codes of one table that differ in small and capital letters alone."""
    found = []
    for table, key in KEYS.items():
        frame = scenario.tables[table]
        seen: dict[str, tuple[int, str]] = {}
        for place, code in enumerate(frame[key].astype(str)):
            one, first = seen.setdefault(code.casefold(), (place, code))
            if first == code:
                continue
            why = f"differs from {first!r} in row {one + FIRST_ROW} by case alone"
            remedy = f"Write {first!r} if both are one, else tell them apart"
            said = (code, why, remedy)
            found.append(of_row("codes_alike", scenario, table, place, key, said))
    return found
