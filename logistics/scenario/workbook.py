"""Tables as one workbook to be filled in: units, pick lists, notes, what is missing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from logistics.scenario.checklist import SHEET as CHECKLIST
from logistics.scenario.checklist import WHAT, write_checklist
from logistics.scenario.defaults import months
from logistics.scenario.faults import Problem, ScenarioError
from logistics.scenario.paper import CREATED, ROW_POINTS, set_page
from logistics.scenario.pick_lists import add_limits, add_lists, add_pick_list
from logistics.scenario.raw import EXAMPLE
from logistics.scenario.schema import (
    Column,
    columns_of,
    heading_text,
    number_text,
)
from logistics.scenario.wide_calendar import wide_form

Lines = Sequence[Sequence[object]]

BOOK = "tables.xlsx"
NOTES = "notes"
WIDEST = 46.0
"""Of a column; longer cells go over several lines. [digits]"""
MORE_COLUMNS = 20
"""To the right of the headings, for notes of the planner's own."""
MOST_LETTERS = 32_767
"""That one cell of a workbook can hold."""
GREY, PALE = "#767676", "#F2F2F2"
FONT = {"font_name": "Arial", "font_size": 10, "font_scheme": "none"}
ALLOWED = ("format_cells", "format_columns", "format_rows", "insert_rows",
           "delete_rows", "sort", "autofilter", "insert_hyperlinks")  # fmt: skip
"""What stays allowed where the headings are protected."""
CALENDAR_NOTE = (
    "Share of the year that falls in this period. [%] The shares of a season add up "
    "to 100: if they do not, the season turns red."
)


def write_book(
    target: Path,
    sheets: Mapping[str, Lines],
    notes: Lines,
    examples: Mapping[str, Lines] | None = None,
) -> None:
    """
    Write tables as a workbook that reads back the same.

    Parameters
    ----------
    target
        File to write, as a whole or not at all.
    sheets
        Table -> its headings and rows; numbers are numbers, all else is text.
    notes
        The sheet that explains every column.
    examples
        Table -> rows that show how to fill it in, grey and never read.

    Raises
    ------
    ScenarioError
        If a text is too long for a cell.
    """
    import xlsxwriter

    _check_lengths(sheets)
    order = [*(t for t in WHAT if t in sheets), *(t for t in sheets if t not in WHAT)]
    laid_out = {table: _laid_out(table, sheets[table]) for table in order}
    draft = target.with_name(target.name + ".part")
    options = {
        "default_format_properties": FONT,
        "strings_to_formulas": False,
        "strings_to_urls": False,
    }
    try:
        with xlsxwriter.Workbook(draft, options) as book:
            book.set_properties({"created": CREATED})
            write_checklist(book, laid_out)
            for table, lines in laid_out.items():
                shown = (examples or {}).get(table, ())
                _write_table(book, table, lines, shown)
            _write_notes(book, notes)
            add_lists(book, _codes(sheets, "calendar"), _codes(sheets, "materials"))
            book.get_worksheet_by_name(CHECKLIST).activate()
        draft.replace(target)
    except BaseException:
        draft.unlink(missing_ok=True)
        raise


def book_cell(column: Column, text: str) -> object:
    """
    Return what a cell of a workbook holds for a text: a number only if none is lost.

    Examples
    --------
    >>> size = next(c for c in columns_of("yards") if c.name == "area_m2")
    >>> book_cell(size, "1200.5"), book_cell(size, "0.30000000000000004")
    (1200.5, '0.30000000000000004')
    """
    if column.kind not in {"number", "integer", "percent", "lon", "lat"} or not text:
        return text
    try:
        number = float(text)
    except ValueError:
        return text
    same = math.isfinite(number) and float(number_text(number)) == number
    return number if same else text


def _codes(sheets: Mapping[str, Lines], table: str) -> list[str]:
    """Return what stands in the first column of a sheet, each once."""
    return list(dict.fromkeys(str(row[0]) for row in sheets.get(table, [[]])[1:]))


def _check_lengths(sheets: Mapping[str, Lines]) -> None:
    faults = []
    for table, lines in sheets.items():
        for number, row in enumerate(lines[1:], start=2):
            for heading, cell in zip(lines[0], row, strict=False):
                if len(str(cell)) > MOST_LETTERS:
                    why = f"has {len(str(cell)):,} letters; a workbook's cell holds "
                    why += f"{MOST_LETTERS:,}"
                    remedy = "Export it as gpkg or csv, or make the shape simpler"
                    value = f"{str(cell)[:40]}…"
                    faults.append(
                        Problem(table, number, str(heading), value, why, remedy)
                    )
    if faults:
        raise ScenarioError(faults)


def _laid_out(table: str, lines: Lines) -> list[list[object]]:
    """Return the rows of a sheet: the calendar with a column a period."""
    if table == "calendar":
        wide = wide_form(lines)
        if wide is not None:
            return wide
    return [list(row) for row in lines]


def _write_table(book: Any, table: str, lines: Lines, examples: Lines) -> None:
    """Write one table: headings protected, cells to pick from, examples in grey."""
    sheet = book.add_worksheet(table)
    look = {"bg_color": PALE, "bottom": 1, "text_wrap": True, "valign": "top"}
    needed, other = book.add_format(look | {"bold": True}), book.add_format(look)
    plain = book.add_format({"text_wrap": True, "valign": "top", "locked": False})
    grey = book.add_format({"text_wrap": True, "valign": "top", "locked": False,
                            "font_color": GREY, "italic": True})  # fmt: skip
    known = {c.name: c for c in columns_of(table)}
    wide = table == "calendar" and "period" not in lines[0]
    names = [str(name) for name in lines[0]]
    heads = [
        heading_text(known[name]) if name in known
        else f"{name} [%]" if wide and not name.startswith("note")
        else name
        for name in names
    ]  # fmt: skip
    shown = [_as_example(row) for row in examples]
    body: list[list[object]] = [*shown, *(list(row) for row in lines[1:])]
    lines_of_heads = [max(head.split(" [", 1), key=len) for head in heads]
    widths = _widths([lines_of_heads, *body])
    heights = [_points(heads, widths), *(_points(line, widths) for line in body)]
    sheet.freeze_panes(1, 1)
    sheet.set_column(0, len(names) + MORE_COLUMNS, None, plain)
    for place, width in enumerate(widths):
        sheet.set_column(place, place, width, plain)
    sheet.set_row(0, max(heights[0], ROW_POINTS))
    for place, text in enumerate(heads):
        c = known.get(names[place])
        sheet.write_string(0, place, text, other if c and not c.required else needed)
    for row, line in enumerate(body, start=1):
        if heights[row] > ROW_POINTS:
            sheet.set_row(row, heights[row])
        for place, value in enumerate(line):
            if value != "":
                sheet.write(row, place, value, grey if row <= len(shown) else plain)
    last = max(2000, len(body) + 200)
    for place, name in enumerate(names):
        if name in known:
            c = known[name]
            sheet.write_comment(0, place, _note(c), {"x_scale": 2, "y_scale": 1.5})
            add_pick_list(sheet, place, c, last)
            add_limits(sheet, place, c, last)
        elif wide and not name.startswith("note"):
            month = dict(months().frame[["period", "name"]].to_numpy().tolist())
            told = f"{month.get(name, name)}: {CALENDAR_NOTE}"
            sheet.write_comment(0, place, told, {"x_scale": 2, "y_scale": 1.5})
    if wide:
        _redden(book, sheet, len(names))
    sheet.protect("", dict.fromkeys(ALLOWED, True))
    set_page(sheet, widths, heights, "Tables of the district", whole=True)


def _as_example(row: Sequence[object]) -> list[object]:
    return [f"{EXAMPLE} {row[0]}", *row[1:]]


def _redden(book: Any, sheet: Any, columns: int) -> None:
    """Turn a season red whose shares do not add up to 100."""
    from xlsxwriter.utility import xl_col_to_name

    end = xl_col_to_name(columns - 1)
    rule = f'=AND($A2<>"",ABS(SUM($B2:${end}2)-100)>0.5)'
    red = book.add_format({"bg_color": "#F4C7C3", "font_color": "#8F2A18"})
    sheet.conditional_format(
        1, 0, 2000, 0, {"type": "formula", "criteria": rule, "format": red}
    )


def _note(c: Column) -> str:
    """Say in a comment what a column is, and what may be written."""
    told = [c.meaning, allowed(c)]
    if c.required:
        told.append("Needed in every row.")
    elif c.default:
        told.append(f"If blank: {c.default}")
    return "\n".join(told)


def allowed(c: Column) -> str:
    """Return the unit of a column, or what may be written where there is none."""
    words = {
        "code": "text of letters, digits and _",
        "yes_no": "yes or no",
        "choice": " or ".join(c.choices),
        "list": "codes separated by spaces",
        "line": "WKT line",
        "shape": "WKT",
    }
    return words.get(c.kind, c.unit or c.kind)


def _write_notes(book: Any, lines: Lines) -> None:
    sheet = book.add_worksheet(NOTES)
    bold = book.add_format({"bold": True})
    wrap = book.add_format({"text_wrap": True, "valign": "top"})
    widths = _widths(lines)
    heights = [_points(line, widths) for line in lines]
    sheet.freeze_panes(1, 0)
    for place, width in enumerate(widths):
        sheet.set_column(place, place, width, wrap)
    for row, line in enumerate(lines):
        if heights[row] > ROW_POINTS:
            sheet.set_row(row, heights[row])
        for place, value in enumerate(line):
            if value != "":
                sheet.write(row, place, value, wrap if row else bold)
    set_page(sheet, widths, heights, "Tables of the district", whole=True)


def _widths(lines: Lines) -> list[float]:
    """Widths of columns that show their headings and most of their cells. [digits]"""
    return [
        min(WIDEST, max(10.0, *(len(str(cell)) * 1.1 + 2.0 for cell in cells)))
        for cells in zip(*_even(lines), strict=True)
    ]


def _even(lines: Lines) -> list[list[object]]:
    width = max(len(line) for line in lines)
    return [[*line, *[""] * (width - len(line))] for line in lines]


def _points(line: Sequence[object], widths: Sequence[float]) -> float:
    """Height of a row whose longest cells go over several lines. [points]"""
    most = max(
        math.ceil(len(str(value)) * 1.15 / width)
        for value, width in zip(line, widths, strict=False)
    )
    return min(400.0, max(ROW_POINTS, most * 12.5 + 2.5))
