"""The table of all input columns and settings, and questions put to it.

`columns.csv` is the one place that says which tables, columns and settings exist.
Reading, checking, blank templates and the manual all come from it.
"""

import csv
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

COLUMNS_FILE = Path(__file__).with_name("columns.csv")
LIBRARY = Path(__file__).with_name("library")
SETTINGS = "settings"
REQUIRED_TABLES = ("materials", "sources", "calendar", "yards", "yard_sizes", "trucks")


@dataclass(frozen=True, slots=True)
class Column:
    """
    One input column or setting, a row of `columns.csv`.

    Attributes
    ----------
    table, name
        Where it stands; a setting has the table `settings` and a dotted name.
    kind
        code, text, number, integer, percent, yes_no, choice, list, lon, lat, line
        or shape.
    unit, low, high
        Unit of the value and the least and greatest value allowed.
    default
        Text of the value that a blank cell gets; empty for none.
    required
        Whether the column must be there and filled in.
    key
        Whether it tells the rows of its table apart.
    refers_to
        Table whose codes it uses.
    meaning
        One sentence for templates and the manual.
    choices
        Words allowed for the kind choice.
    scale
        What money limits and the default were multiplied by, see `currency`.
    """

    table: str
    name: str
    kind: str
    unit: str
    low: float | None
    high: float | None
    default: str
    required: bool
    key: bool
    refers_to: str
    meaning: str
    choices: tuple[str, ...] = ()
    scale: float = 1.0

    @property
    def inside(self) -> str:
        """
        Name of the typed column: a percent column becomes a share.

        Examples
        --------
        >>> column("materials", "moisture_pct").inside
        'moisture'
        """
        return self.name.removesuffix("_pct") if self.kind == "percent" else self.name


def _column(row: dict[str, str]) -> Column:
    kind, _, words = row["type"].partition(":")
    return Column(
        table=row["table"],
        name=row["column"],
        kind=kind,
        unit=row["unit"].strip(),
        low=float(row["low"]) if row["low"] else None,
        high=float(row["high"]) if row["high"] else None,
        default=row["default"],
        required=row["required"] == "yes",
        key=row["key"] == "yes",
        refers_to=row["refers_to"],
        meaning=row["meaning"],
        choices=tuple(words.split("|")) if words else (),
    )


@cache
def _all_columns() -> dict[str, dict[str, Column]]:
    found: dict[str, dict[str, Column]] = {}
    with COLUMNS_FILE.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            found.setdefault(row["table"], {})[row["column"]] = _column(row)
    return found


def tables() -> tuple[str, ...]:
    """
    Names of the input tables, settings left out, in the order of `columns.csv`.

    Examples
    --------
    >>> tables()[:3]
    ('materials', 'sources', 'calendar')
    """
    return tuple(table for table in _all_columns() if table != SETTINGS)


def columns_of(table: str) -> tuple[Column, ...]:
    """
    Columns of a table, in order; `settings` gives the settings.

    Examples
    --------
    >>> [c.name for c in columns_of("calendar")]
    ['season', 'period', 'share_pct']
    """
    return tuple(_all_columns()[table].values())


def column(table: str, name: str) -> Column:
    """
    Return one column by table and name.

    Examples
    --------
    >>> column("sources", "amount").unit
    't/yr or ha or head'
    """
    return _all_columns()[table][name]


def settings_columns() -> dict[str, Column]:
    """Return all settings by their dotted name, in order."""
    return dict(_all_columns()[SETTINGS])


def keys_of(table: str) -> tuple[str, ...]:
    """
    Columns that together tell the rows of a table apart.

    Examples
    --------
    >>> keys_of("calendar")
    ('season', 'period')
    """
    return tuple(c.name for c in columns_of(table) if c.key)


def plain_name(heading: str) -> str:
    """
    Bring a heading as people type it to the form of `columns.csv`.

    Examples
    --------
    >>> plain_name("  Moisture % "), plain_name("Yard-Sizes")
    ('moisture_pct', 'yard_sizes')

    A unit in brackets has to be that of the column:

    >>> plain_name("store_m3 [m3]"), plain_name("store_m3 [L]")
    ('store_m3', 'store_m3_l')
    """
    whole = " ".join(heading.casefold().split())
    if whole.endswith("]") and whole in _with_units():
        return _with_units()[whole]
    words = whole.replace("%", " pct ")
    return re.sub(r"[\W_]+", "_", words).strip("_")


def heading_text(column: Column) -> str:
    """
    Write the heading of a column with its unit; `plain_name` reads it back.

    Examples
    --------
    >>> heading_text(column("yard_sizes", "store_m3"))
    'store_m3 [m3]'
    """
    return f"{column.name} [{column.unit}]" if column.unit else column.name


@cache
def _with_units() -> dict[str, str]:
    """Headings with units, in small letters -> our column."""
    return {
        " ".join(heading_text(c).casefold().split()): c.name
        for table in tables()
        for c in columns_of(table)
        if c.unit
    }


def number_text(value: float) -> str:
    """
    Write a number as a planner would, without a needless point or exponent.

    Examples
    --------
    >>> number_text(1e8), number_text(0.083), number_text(76.0)
    ('100000000', '0.083', '76')
    """
    if float(value).is_integer() and abs(value) < 1e15:
        return str(int(value))
    return f"{value:.15g}"
