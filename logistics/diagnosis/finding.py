"""One thing to look at again, with the name by which a planner can accept it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from logistics.scenario import Problem, in_list, keys_of

if TYPE_CHECKING:
    import pandas as pd

    from logistics.scenario import Scenario

FIRST_ROW = 2
"""Row of a file in which the first row of a table in memory stands."""


ACCEPT = "if it is right, accept"
"""Words before the name of a check in the remedy of a finding."""


@dataclass(frozen=True, slots=True)
class Finding:
    """
    What may be a slip.

    Attributes
    ----------
    check
        Name of the check, as `[[accepted]]` in `scenario.toml` calls it.
    codes
        Codes of the rows it is about; the dotted name of a setting.
    problem
        Place, value, what is odd and the remedy.
    """

    check: str
    codes: tuple[str, ...]
    problem: Problem


def finding(check: str, codes: tuple[str, ...], problem: Problem) -> Finding:
    """Make a finding; its remedy says how to accept it."""
    remedy = f"{problem.remedy}; {ACCEPT} {check}"
    return Finding(check, codes, replace(problem, remedy=remedy))


def of_row(
    check: str,
    scenario: Scenario,
    table: str,
    place: int,
    column: str,
    said: tuple[object, str, str],
) -> Finding:
    """
    Make a finding about one cell of a table in memory.

    Parameters
    ----------
    check, scenario, table, column
        Name of the check, and where the cell is.
    place
        Position of its row, from 0.
    said
        Value, what is odd, and the remedy.
    """
    code = code_at(scenario.tables[table], table, place)
    problem = Problem(f"{table}.csv", place + FIRST_ROW, column, *said)
    return finding(check, (code,), problem)


def code_at(frame: pd.DataFrame, table: str, place: int) -> str:
    """Return what tells a row from the others: its codes, else its row number."""
    keys = keys_of(table)
    words = [str(frame[key].iloc[place]) for key in keys]
    return " ".join(word for word in words if word) or f"row {place + FIRST_ROW}"


def some(codes: list[str], most: int = 4) -> str:
    """Name a few codes and count the rest."""
    more = len(codes) - most
    return in_list(codes[:most]) + (f" and {more} more" if more > 0 else "")
