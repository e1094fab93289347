"""Read the sheets of one workbook as text; merged and uncounted cells are faults."""

import datetime
import io
import re
import warnings
import zipfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

from logistics.scenario.faults import Problem
from logistics.scenario.lists import in_list
from logistics.scenario.raw import Grid, RawTable, Remark, raw_table
from logistics.scenario.schema import number_text, plain_name, tables
from logistics.scenario.workbook_limits import lean, unfit

ROWS_LOOKED_AT = 20
NOT_THE_SIGN = re.compile(r'"[^"]*"?|\\.|[_*].|\[[^\]]*\]')
"""Of a number format: quoted text, an escaped sign, a blank as wide as it, a colour."""
Sheet = tuple[str, str, RawTable | None, list[Problem]]


class BookSheet(NamedTuple):
    """
    Any sheet of a workbook as texts.

    `grid` has row numbers and texts; `numbers` are the cells (row number, place) that
    hold numbers; `spans` leads from a cell of a merged range to its first; `uncounted`
    are formulas without a stored result, and `formulas` counts all.
    """

    name: str
    grid: Grid
    numbers: set[tuple[int, int]]
    spans: Mapping[tuple[int, int], tuple[int, int]]
    uncounted: set[tuple[int, int]]
    formulas: int
    hidden: bool


def read_xlsx(path: Path) -> tuple[list[Sheet], list[str], list[Problem]]:
    """
    Read every sheet that bears the name of a table.

    Parameters
    ----------
    path
        Workbook to read.

    Returns
    -------
    list of (table, label, RawTable or None, list of Problem)
        One entry a sheet.
    list of str
        Names of the other sheets.
    list of Problem
        Faults of the workbook as a whole.
    """
    if problems := unfit(path):
        return [], [], problems
    try:
        values, formulas = _open(path)
    except OSError:
        raise
    except Exception:  # openpyxl raises almost anything on a damaged workbook
        why = "cannot be opened as a workbook"
        remedy = (
            "Save it again as .xlsx from the spreadsheet, or save its sheets as CSV"
        )
        return [], [], [Problem(path.name, None, "", None, why, remedy)]
    found, others = [], []
    for sheet in values.worksheets:
        table = plain_name(sheet.title)
        if table in tables():
            label = f"{path.name} sheet '{sheet.title}'"
            found.append((table, label, *_read_sheet(sheet, formulas, table, label)))
        else:
            others.append(sheet.title)
    return found, others, []


def first_row(path: Path, name: str) -> list[str]:
    """Return the texts of the first filled row of a sheet, among its first rows."""
    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    try:
        rows = book[name].iter_rows(max_row=ROWS_LOOKED_AT, values_only=True)
        cells = [[str(v) for v in row if v is not None] for row in rows]
    finally:
        book.close()
    return next((row for row in cells if row), [])


def _open(path: Path) -> tuple[Any, Any]:
    """Open the workbook for values and, if it has any, once more for formulas."""
    import openpyxl

    book = lean(path)
    with zipfile.ZipFile(book) as parts:
        has_formulas = any(
            _formulas(parts.read(name))
            for name in parts.namelist()
            if name.startswith("xl/worksheets/")
        )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        values = openpyxl.load_workbook(book, data_only=True)
        formulas = openpyxl.load_workbook(book) if has_formulas else None
    return values, formulas


def _read_sheet(
    sheet: Any, formulas: Any, table: str, label: str
) -> tuple[RawTable | None, list[Problem]]:
    """Turn the filled cells of a sheet into a raw table."""
    cells, numbers = _filled(sheet)
    reported, problems = _merged(sheet, label)
    if formulas is not None:
        hidden, more = _uncounted(sheet, formulas[sheet.title], label)
        reported |= hidden
        problems += more
        for row, place in hidden:
            cells.setdefault(row, {}).setdefault(place, "0")
    raw, found = raw_table(
        table, label, _grid(cells), frozenset(reported), frozenset(numbers)
    )
    if raw is not None:
        raw = replace(raw, notes=_hidden(sheet, raw))
    return raw, [*problems, *found]


def _hidden(sheet: Any, raw: RawTable) -> tuple[Remark, ...]:
    """Say what of a sheet is hidden and read all the same."""
    hidden = []
    if sheet.sheet_state != "visible":
        hidden.append("the sheet")
    rows = [str(r) for r in raw.rows if r in sheet.row_dimensions
            and sheet.row_dimensions[r].hidden]  # fmt: skip
    if rows:
        why = " (filtered away)" if sheet.auto_filter.ref else ""
        hidden.append(f"{_counted('row', rows)}{why}")
    columns = [
        letter
        for letter, one in sorted(sheet.column_dimensions.items())
        if one.hidden and one.min and one.min <= sheet.max_column
    ]
    if columns:
        hidden.append(_counted("column", columns))
    if not hidden:
        return ()
    why = f"is read with what is hidden: {in_list(hidden)}"
    remedy = "Delete what is not meant, or show it"
    return (Remark("hidden", Problem(raw.file, None, "", None, why, remedy)),)


def _counted(kind: str, names: list[str]) -> str:
    """Name a few hidden rows or columns and count them."""
    if len(names) == 1:
        return f"{kind} {names[0]}"
    more = f" and {len(names) - 4} more" if len(names) > 4 else ""
    return f"{kind}s {' '.join(names[:4])}{more}"


def _filled(sheet: Any) -> tuple[dict[int, dict[int, str]], set[tuple[int, int]]]:
    """Texts of the filled cells by row and position, and which hold numbers."""
    cells: dict[int, dict[int, str]] = {}
    numbers = set()
    for (row, place), cell in sheet._cells.items():
        text = shown_text(cell.value, cell.number_format)
        if text:
            cells.setdefault(row, {})[place - 1] = text
        if isinstance(cell.value, int | float):
            numbers.add((row, place - 1))
    return cells, numbers


def cell_grid(sheet: Any) -> tuple[Grid, set[tuple[int, int]]]:
    """Rows of texts of a sheet, and which cells (row, position) hold numbers."""
    cells, numbers = _filled(sheet)
    return _grid(cells), numbers


def _grid(cells: Mapping[int, Mapping[int, str]]) -> Grid:
    """Lay the filled cells out in rows; the rows stay in the order of the sheet."""
    return [
        (row, [line.get(place, "") for place in range(max(line) + 1)])
        for row, line in sorted(cells.items())
    ]


def shown_text(value: object, number_format: str) -> str:
    """Write a cell as the planner sees it: 0.76 formatted as percent is 76%."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        if percent_format(number_format):
            return f"{value * 100:.12g}%"
        return number_text(value) if abs(value) < 1e300 else str(value)
    if isinstance(value, datetime.datetime):
        return value.date().isoformat()
    return str(value)


def percent_format(number_format: str) -> bool:
    r"""
    Whether a format shows a hundred times the number: a percent sign of its own.

    Examples
    --------
    >>> [percent_format(one) for one in ("0.0%", '0.0"%"', r"0.0\%", '0"t"%', "0_%")]
    [True, False, False, True, False]
    """
    return "%" in NOT_THE_SIGN.sub("", number_format)


def _merged(sheet: Any, label: str) -> tuple[set[tuple[int, int]], list[Problem]]:
    """Report merged ranges: which row of a merged cell the value means is a guess."""
    reported, problems = set(), []
    for area in sheet.merged_cells.ranges:
        why = f"is part of the merged cells {area.coord}"
        remedy = "Unmerge them and write a value in each cell"
        column = _heading(sheet, area.min_col)
        problems.append(Problem(label, area.min_row, column, None, why, remedy))
        reported |= {
            (row, place - 1)
            for row in range(area.min_row, min(area.max_row, area.min_row + 9999) + 1)
            for place in range(area.min_col, area.max_col + 1)
        }
    return reported, problems


def _uncounted(
    sheet: Any, formulas: Any, label: str
) -> tuple[set[tuple[int, int]], list[Problem]]:
    """Report formulas that carry no stored result."""
    reported, problems = set(), []
    for (row, place), cell in formulas._cells.items():
        if cell.data_type == "f" and sheet.cell(row, place).value is None:
            formula = getattr(cell.value, "text", cell.value)
            why = "is a formula without a stored result"
            remedy = "Open it in a spreadsheet and save it, or write the value"
            column = _heading(sheet, place)
            problems.append(Problem(label, row, column, formula, why, remedy))
            reported.add((row, place - 1))
    return reported, problems


def _heading(sheet: Any, place: int) -> str:
    """Return the heading above a cell, else its column letter."""
    for row in range(1, min(sheet.max_row, 20) + 1):
        if any(cell.value is not None for cell in sheet[row][:200]):
            cell = sheet.cell(row, place)
            return str(cell.value or cell.column_letter)
    return str(sheet.cell(1, place).column_letter)


def book_sheets(data: bytes) -> list[BookSheet]:
    """
    Read every sheet of a workbook as texts, whatever it is called.

    Parameters
    ----------
    data
        The workbook. Nothing in it is run; formulas are the results stored with them.

    Returns
    -------
    list of BookSheet
        Visible and hidden sheets, in order.
    """
    import openpyxl

    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        formulas = {name: _formulas(parts.read(name)) for name in parts.namelist()
                    if name.startswith("xl/worksheets/sheet")}  # fmt: skip
    plain = not any(formulas.values())
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        values = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
        written = None if plain else openpyxl.load_workbook(io.BytesIO(data))
    found = []
    for sheet in values.worksheets:
        grid, numbers = cell_grid(sheet)
        spans = {
            (row, place - 1): (area.min_row, area.min_col - 1)
            for area in sheet.merged_cells.ranges
            for row in range(area.min_row, min(area.max_row, area.min_row + 999) + 1)
            for place in range(area.min_col, area.max_col + 1)
            if (row, place) != (area.min_row, area.min_col)
        }
        counted, uncounted = 0, set()
        for (row, place), cell in (
            written[sheet.title]._cells.items() if written else ()
        ):
            if cell.data_type == "f":
                counted += 1
                if sheet.cell(row, place).value is None:
                    uncounted.add((row, place - 1))
        hidden = sheet.sheet_state != "visible"
        found.append(
            BookSheet(sheet.title, grid, numbers, spans, uncounted, counted, hidden)
        )
    return found


def _formulas(text: bytes) -> bool:
    return any(mark in text for mark in (b"<f>", b"<f ", b"<f/"))
