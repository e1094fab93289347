"""How much of the compost keeps which product standard, and what the rest misses."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import pandas as pd

from logistics.accounts.nutrients import standard_table
from logistics.scenario import in_list

if TYPE_CHECKING:
    from logistics.results import Result


def standards_met(result: Result) -> pd.DataFrame:
    """
    Count the charges that keep each product standard.

    Returns
    -------
    DataFrame
        One row a standard: standard, name, charges, met, missed (limits that charges
        miss, in words with the count, most first), others (limits that a plan cannot
        know), status.
    """
    table, rows = standard_table(result), []
    for code, of in table.groupby("standard", sort=False):
        missed = Counter(
            _limit(text)
            for failings in of["failings"]
            for text in str(failings).split("; ")
            if text
        )
        told = in_list(f"{limit} ({count})" for limit, count in missed.most_common())
        first = of.iloc[0]
        rows.append(
            (
                str(code),
                str(first["name"]),
                len(of),
                int(of["passed"].sum()),
                told,
                str(first["others"]),
                str(first["status"]),
            )
        )
    columns = ["standard", "name", "charges", "met", "missed", "others", "status"]
    return pd.DataFrame(rows, columns=columns)


def _limit(failing: str) -> str:
    """
    Leave the value out of a failing.

    >>> _limit("C:N 22.0, at most 20"), _limit("organic C 9.10 %, at least 12 %")
    ('C:N at most 20', 'organic C at least 12 %')
    """
    value, _, bound = failing.rpartition(", ")
    words = value.removesuffix(" %").rpartition(" ")[0]
    return f"{words} {bound}"
