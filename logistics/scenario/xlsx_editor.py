"""Sheets of a workbook as texts with their rows, and written back into it."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from pathlib import Path
from typing import Any

from logistics.scenario.raw import EDGES, Grid
from logistics.scenario.schema import plain_name, tables
from logistics.scenario.separators import PLAIN
from logistics.scenario.xlsx_reader import cell_grid, shown_text

SheetGrid = tuple[str, Grid, dict[int, frozenset[int]]]


def sheet_grids(path: Path) -> Iterator[SheetGrid]:
    """Yield name, rows and stored numbers of every sheet that is a table."""
    try:
        book = _load(path, data_only=True)
    except OSError:
        raise
    except Exception:  # openpyxl raises almost anything on a damaged workbook
        return
    for sheet in book.worksheets:
        if plain_name(sheet.title) in tables():
            grid, numbers = cell_grid(sheet)
            stored: dict[int, frozenset[int]] = {}
            for row, place in numbers:
                stored[row] = stored.get(row, frozenset()) | {place}
            yield sheet.title, grid, stored


def _load(path: Path, *, data_only: bool) -> Any:
    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return openpyxl.load_workbook(path, data_only=data_only)


def edited_book(path: Path, sheets: Mapping[str, Sequence[Sequence[str]]]) -> bytes:
    """
    Return the workbook with the texts of some sheets; cells that show them stay.

    Parameters
    ----------
    path
        Workbook as it is now.
    sheets
        Name of a sheet -> its texts from row 1 on.
    """
    book, values = _load(path, data_only=False), _load(path, data_only=True)
    for sheet in book.worksheets:
        if plain_name(sheet.title) in tables():
            _results_for_formulas(sheet, values[sheet.title])
    for name, rows in sheets.items():
        _fill(book[name], rows)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _fill(sheet: Any, rows: Sequence[Sequence[str]]) -> None:
    """Put texts into a sheet; what stood there beyond them goes."""
    for r in range(1, max(sheet.max_row, len(rows)) + 1):
        wanted = rows[r - 1] if r <= len(rows) else ()
        for c in range(1, max(sheet.max_column, len(wanted)) + 1):
            text = wanted[c - 1] if c <= len(wanted) else ""
            known = sheet._cells.get((r, c))
            if known is None and not text:
                continue
            cell = known or _new_cell(sheet, r, c)
            if shown_text(cell.value, cell.number_format).strip(EDGES) != text:
                _write(cell, text)


def _new_cell(sheet: Any, row: int, place: int) -> Any:
    """Make a cell that looks as its column does, and may be typed into as that may."""
    cell = sheet.cell(row, place)
    for look in sheet.column_dimensions.values():
        if look.min and look.min <= place <= look.max and look.has_style:
            cell._style = copy(look._style)
    return cell


def _results_for_formulas(sheet: Any, values: Any) -> None:
    for (row, place), cell in sheet._cells.items():
        if cell.data_type == "f":
            cell.value = values.cell(row, place).value


def _write(cell: Any, text: str) -> None:
    """Put a text in a cell: a plain number as a number, never as a formula."""
    if not text:
        cell.value = None
        return
    per_cent = text.endswith("%") and PLAIN.fullmatch(text[:-1].strip())
    if per_cent:
        cell.value, cell.number_format = float(text[:-1]) / 100, "0.######%"
    elif PLAIN.fullmatch(text) and not text.startswith("0" * 2):
        number = float(text)
        cell.value = int(number) if number.is_integer() else number
        if "%" in cell.number_format or cell.is_date:
            cell.number_format = "General"
    else:
        cell.value = text
        cell.data_type = "s"
