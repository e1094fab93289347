"""Tables as CSV text in which no cell is taken for a formula, and back."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

FORMULA = re.compile(r"'*[=+\-@\t\r]")
"""How a text begins that a spreadsheet may run, or that stands quoted already."""
QUOTED = re.compile(r"'+[=+\-@\t\r]")
NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?%?")


def as_text(value: object) -> object:
    r"""
    Put a quotation mark before a text that a spreadsheet would take for a formula.

    Examples
    --------
    >>> as_text('=HYPERLINK("x")'), as_text("-4.5"), as_text("Mill"), as_text("'=1")
    ('\'=HYPERLINK("x")', '-4.5', 'Mill', "''=1")
    """
    if not isinstance(value, str) or not FORMULA.match(value):
        return value
    return value if NUMBER.fullmatch(value) else f"'{value}"


def as_meant(value: object) -> object:
    """
    Take the quotation mark away again.

    Examples
    --------
    >>> as_meant("'=1+1"), as_meant("''=1"), as_meant("l'eau")
    ('=1+1', "'=1", "l'eau")
    """
    return value[1:] if isinstance(value, str) and QUOTED.match(value) else value


def write_csv(table: pd.DataFrame, path: Path) -> None:
    """Write a table as CSV; texts that begin like a formula get a quotation mark."""
    path.write_text(table_csv(table), encoding="utf-8", newline="\n")


def table_csv(table: pd.DataFrame) -> str:
    """Return the same as a text."""
    plain = table.copy()
    plain.columns = [as_text(name) for name in plain.columns]
    for place, kind in enumerate(table.dtypes):
        if kind.kind not in "biufM":
            plain.isetitem(place, [as_text(v) for v in table.iloc[:, place]])
    return str(plain.to_csv(index=False, lineterminator="\n"))


def read_back(path: Path) -> pd.DataFrame:
    """Read such a file; texts are as they were before writing."""
    import pandas as pd

    table = pd.read_csv(path, keep_default_na=False, na_values=[""])
    table.columns = [as_meant(name) for name in table.columns]
    for place, kind in enumerate(table.dtypes):
        if kind.kind not in "biufM":
            table.isetitem(place, [as_meant(v) for v in table.iloc[:, place]])
    return table
