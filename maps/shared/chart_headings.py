"""Headings of a scenario's own chart of accounts, in every table of the money."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logistics.accounts import entry_code
from logistics.scenario import records

if TYPE_CHECKING:
    import pandas as pd

    from logistics.scenario import Scenario


def own_headings(scenario: Scenario) -> dict[str, str]:
    """Heading (number and name) of every entry that the scenario's chart states."""
    used = scenario.defaults_used
    whole = (used["table"] == "accounts") & (used["column"] == "")
    library = set(used.loc[whole, "key"].astype(str))
    return {
        str(row["entry"]): f"{row['head']} {row['name']}".strip()
        for row in records(scenario.accounts)
        if row["entry"] not in library and (row["head"] or row["name"])
    }


def heading(own: dict[str, str], account: str, line: str) -> str:
    """Heading of a line of the ledger; the line itself where the chart has no own."""
    return own.get(entry_code(account, line), line)


def headed(table: pd.DataFrame, scenario: Scenario) -> pd.DataFrame:
    """
    Put the scenario's own headings in place of lines; lines of one heading are summed.

    Parameters
    ----------
    table
        account, line, and columns of amounts.
    scenario
        Its table accounts may have rows of its own.
    """
    own = own_headings(scenario)
    if not own or table.empty:
        return table
    pairs = zip(table["account"], table["line"], strict=True)
    named = table.assign(line=[heading(own, str(a), str(b)) for a, b in pairs])
    return named.groupby(["account", "line"], sort=False, as_index=False).sum()
