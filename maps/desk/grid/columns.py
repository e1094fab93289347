"""What the grid tells of each column: unit, note, words to pick from, default."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from logistics.scenario import (
    COMPLETED,
    Column,
    TableText,
    cell_text,
    columns_of,
    keys_of,
    library,
    plain_name,
    scaled,
    tables,
)

if TYPE_CHECKING:
    from logistics.scenario import Scenario

NAMES = {
    "yard_sizes": "yard sizes",
    "period_prices": "prices by period",
    "siting_rules": "siting rules",
}
MAIN = (
    *("sources", "yards", "markets", "materials", "yard_sizes", "trucks"),
    *("calendar", "periods", "roads", "land"),
)
"""Tables in the order in which a district is made; the rest follow."""


def table_order() -> list[str]:
    """
    Return all tables, those that every district needs first.

    >>> table_order()[:3]
    ['sources', 'yards', 'markets']
    """
    return [*MAIN, *(table for table in tables() if table not in MAIN)]


def table_name(table: str) -> str:
    """
    Name a table on the screen.

    >>> table_name("yard_sizes"), table_name("trucks")
    ('Yard sizes', 'Trucks')
    """
    return NAMES.get(table, table).capitalize()


def shown_columns(
    text: TableText, width: int, scenario: Scenario | None
) -> list[dict[str, Any]]:
    """
    Describe every column of a grid.

    Parameters
    ----------
    text
        Table with all known columns, see `widened`.
    width
        How many of them the file has.
    scenario
        Last state without faults: it says how money is scaled.

    Returns
    -------
    list of dict
        heading, name (empty if it is none of ours), kind, unit, note, low, high,
        default, required, key, choices, picks (table of the codes), inFile.
    """
    scale = scenario.settings.finance.money_scale if scenario else 1.0
    known = {c.name: scaled(c, scale) for c in columns_of(text.table)}
    return [
        _shown(heading, known.get(plain_name(heading)), place < width)
        for place, heading in enumerate(text.headings)
    ]


def _shown(heading: str, column: Column | None, in_file: bool) -> dict[str, Any]:
    if column is None:
        note = "A note of yours; Loamhaul does not read it."
        if not plain_name(heading).startswith("note"):
            note = "This heading is none that Loamhaul knows."
        return {
            **{
                "heading": heading,
                "name": "",
                "kind": "text",
                "unit": "",
                "note": note,
            },
            **{"low": None, "high": None, "default": "", "required": False},
            **{"key": False, "choices": [], "picks": "", "inFile": in_file},
        }
    choices = {"yes_no": ["yes", "no"], "choice": list(column.choices)}
    return {
        "heading": heading,
        "name": column.name,
        "kind": column.kind,
        "unit": column.unit,
        "note": column.meaning,
        "low": column.low,
        "high": column.high,
        "default": column.default,
        "required": column.required,
        "key": column.key,
        "choices": choices.get(column.kind, []),
        "picks": column.refers_to if column.kind in ("code", "list") else "",
        "inFile": in_file,
    }


def pick_lists(
    table: str, texts: Mapping[str, TableText], scenario: Scenario | None
) -> dict[str, list[list[str]]]:
    """
    Codes that the columns of a table may use: table -> code and name of each row.

    Codes of the tables as they are now, then those that the library or the calendar
    stands in with.
    """
    wanted = {c.refers_to for c in columns_of(table) if c.refers_to}
    return {each: codes_of(each, texts[each], scenario) for each in sorted(wanted)}


def codes_of(table: str, text: TableText, scenario: Scenario | None) -> list[list[str]]:
    """Return code and name of each row of a table, or of what stands in for it."""
    key = keys_of(table)[0]
    names = [plain_name(heading) for heading in text.headings]
    found: dict[str, str] = {}
    if key in names:
        place = names.index(key)
        named = names.index("name") if "name" in names else place
        for row in text.rows:
            if row[place]:
                found.setdefault(row[place], row[named])
    if scenario is not None and not found:
        frame = scenario.table(table)
        labels = frame["name"] if "name" in frame else frame[key]
        found = dict(zip(frame[key].astype(str), labels.astype(str), strict=True))
    return [[code, "" if label == code else label] for code, label in found.items()]


def filled_from_library(table: str, scenario: Scenario | None) -> list[list[str]]:
    """
    Blank cells that got another value than their column's default: key, column, value.

    The library knows the feedstocks, each with figures of its own.
    """
    if scenario is None:
        return []
    scale = scenario.settings.finance.money_scale
    plain = {c.name: scaled(c, scale).default for c in columns_of(table)}
    used = scenario.defaults_used
    rows = used[(used["table"] == table) & (used["column"] != "")]
    texts = [
        [str(key), str(column), cell_text(value)]
        for key, column, value in rows[["key", "column", "value"]].itertuples(
            index=False, name=None
        )
    ]
    return [row for row in texts if row[2] != plain.get(row[1])]


def library_rows(text: TableText, scenario: Scenario | None) -> list[list[str]]:
    """
    Return the library's rows that stand in for those a table does not have.

    Parameters
    ----------
    text
        Table with all known columns, see `widened`.
    scenario
        Last state without faults: it says how money is scaled.

    Returns
    -------
    list of list of str
        Rows as the table would have them; none where the library has no such table.
    """
    if text.table not in COMPLETED:
        return []
    scale = scenario.settings.finance.money_scale if scenario else 1.0
    frame = library(text.table, scale).frame
    names = [plain_name(heading) for heading in text.headings]
    keys = keys_of(text.table)
    places = [names.index(key) for key in keys]
    own = {tuple(row[place] for place in places) for row in text.rows}
    return [
        [cell_text(row[name]) if name in row else "" for name in names]
        for row in frame.to_dict("records")
        if tuple(str(row[key]) for key in keys) not in own
    ]
