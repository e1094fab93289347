"""Edits of one table: cells set in a block, rows put in and taken out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from logistics.scenario import MOST_ROWS, TableText, columns_of, plain_name
from maps.desk.grid.faults import EditFault

LONGEST_TEXT = 1_000_000
"""Most characters in a cell: a coast is one cell."""


def widened(text: TableText) -> TableText:
    """
    Add the known columns that the file does not have, blank, behind its own.

    Examples
    --------
    >>> from pathlib import Path
    >>> short = TableText("land", Path("land.csv"), headings=("Land",), rows=(("a",),))
    >>> widened(short).headings, widened(short).rows
    (('Land', 'name', 'kind', 'wkt', 'heads'), (('a', '', '', '', ''),))
    """
    known = {plain_name(heading) for heading in text.headings}
    more = tuple(c.name for c in columns_of(text.table) if c.name not in known)
    blank = ("",) * len(more)
    rows = tuple(row + blank for row in text.rows)
    return replace(text, headings=text.headings + more, rows=rows)


def narrowed(text: TableText, width: int) -> TableText:
    """Leave out the columns behind the first `width` in which nothing stands."""
    last = range(width, len(text.headings))
    used = [c for c in last if any(row[c] for row in text.rows)]
    kept = [*range(width), *used]
    if len(kept) == len(text.headings):
        return text
    marks = tuple(frozenset(kept.index(c) for c in m if c in kept) for m in text.stored)
    return replace(
        text,
        headings=tuple(text.headings[c] for c in kept),
        rows=tuple(tuple(row[c] for c in kept) for row in text.rows),
        stored=marks,
    )


def apply_all(text: TableText, edits: Sequence[Any]) -> TableText:
    """
    Return the table after some edits, in order.

    Parameters
    ----------
    text
        Table with all its columns, see `widened`.
    edits
        Each ``{"set": [row, column, block]}``, a block of texts put down from a cell
        on, or ``{"rows": [at, removed, rows]}``, rows taken out and others put in;
        rows and columns count from 0.

    Raises
    ------
    EditFault
        If one of them does not fit.
    """
    rows, marks = list(text.rows), list(text.stored)
    marks += [frozenset()] * (len(rows) - len(marks))
    width = len(text.headings)
    for edit in edits:
        match edit:
            case {"set": [int(row), int(column), list(block)]}:
                _set(rows, marks, row, column, _block(block, None), width)
            case {"rows": [int(at), int(removed), list(block)]}:
                fresh = _block(block, width)
                if not 0 <= at <= len(rows) or not 0 <= removed <= len(rows) - at:
                    message = f"rows {at} to {at + removed} are not all in the table"
                    raise EditFault(message)
                rows[at : at + removed] = fresh
                marks[at : at + removed] = [frozenset()] * len(fresh)
            case _:
                message = "an edit is neither cells set nor rows exchanged"
                raise EditFault(message)
        if len(rows) > MOST_ROWS:
            message = f"a table here may have at most {MOST_ROWS:,} rows"
            raise EditFault(message)
    return replace(text, rows=tuple(rows), stored=tuple(marks))


def undone(
    text: TableText, edits: Sequence[Any]
) -> tuple[TableText, list[dict[str, Any]]]:
    """
    Return the table after some edits, and the edits that take them back.

    Examples
    --------
    >>> from pathlib import Path
    >>> one = TableText("land", Path("land.csv"), headings=("land",), rows=(("a",),))
    >>> undone(one, [{"set": [0, 0, [["b"]]]}, {"rows": [1, 0, [["c"]]]}])[1]
    [{'rows': [1, 1, []]}, {'set': [0, 0, [['a']]]}]
    """
    back: list[dict[str, Any]] = []
    for edit in edits:
        before = text.rows
        text = apply_all(text, [edit])
        if "set" in edit:
            row, column, block = edit["set"]
            cells = [
                list(before[row + i][column : column + len(line)])
                for i, line in enumerate(block)
            ]
            back.append({"set": [row, column, cells]})
        else:
            at, removed, block = edit["rows"]
            cells = [list(row) for row in before[at : at + removed]]
            back.append({"rows": [at, len(block), cells]})
    return text, back[::-1]


def _set(
    rows: list[tuple[str, ...]],
    marks: list[frozenset[int]],
    row: int,
    column: int,
    block: list[tuple[str, ...]],
    width: int,
) -> None:
    """Put a block of texts down; what a cell held as a number it holds no more."""
    across = len(block[0]) if block else 0
    inside = 0 <= row <= len(rows) - len(block) and 0 <= column <= width - across
    if not inside or any(len(line) != across for line in block):
        message = f"a block at row {row}, column {column} does not fit the table"
        raise EditFault(message)
    changed = frozenset(range(column, column + across))
    for r, line in enumerate(block, start=row):
        rows[r] = rows[r][:column] + line + rows[r][column + across :]
        marks[r] -= changed


def _block(lines: Sequence[Any], width: int | None) -> list[tuple[str, ...]]:
    """Check that a block is texts, all rows as long as told."""
    for line in lines:
        if not isinstance(line, list) or width not in (None, len(line)):
            message = "a row of the edit has not as many cells as the table"
            raise EditFault(message)
        for cell in line:
            if not isinstance(cell, str) or len(cell) > LONGEST_TEXT:
                message = f"a cell is no text of at most {LONGEST_TEXT:,} characters"
                raise EditFault(message)
    return [tuple(map(_tidy, line)) for line in lines]


def _tidy(cell: str) -> str:
    """Return a cell without blanks at its edges; half a character is none."""
    return cell.strip(" \t\r\n\xa0\u200b\ufeff").encode("utf-8", "replace").decode()
