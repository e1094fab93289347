"""Result -> plan.xlsx: a cover with the key figures and one sheet a table."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd
import xlsxwriter
from xlsxwriter.utility import xl_range

from maps.shared import key_figures
from maps.tables.all_tables import TABLES, tables

if TYPE_CHECKING:
    from logistics.results import Result

CREATED = datetime.datetime(2000, 1, 1)
"""Date of the file: fixed, so that the same plan gives the same bytes."""

SUMMED = ("[t]", "[t/yr]", "[m3]", "[m3/yr]", "[h]", "[1]")
NOT_SUMMED = ("in store", "room on the pad")
UNSUMMED = ("nutrients", "emissions", "feedback", "yard choice")
"""Sheets of both sides of an account, or of sums: one sum over all would be nothing."""
WIDEST = 60
WIDTH_SAMPLE = 400

Formats = dict[str, Any]


def cell_formats(book: Any) -> Formats:
    """Cell formats of the workbook."""
    head = {"bold": True, "text_wrap": True, "valign": "top", "border": 0}
    return {
        "title": book.add_format({"bold": True, "font_size": 18}),
        "note": book.add_format({"text_wrap": True, "valign": "top"}),
        "head": book.add_format(
            {**head, "bg_color": "#3B2A1D", "font_color": "#FFFFFF"}
        ),
        "text": book.add_format({"valign": "top"}),
        "big": book.add_format({"num_format": "#,##0"}),
        "small": book.add_format({"num_format": "#,##0.0"}),
        "fine": book.add_format({"num_format": "0.00"}),
        "degrees": book.add_format({"num_format": "0.00000"}),
        "total_text": book.add_format({"bold": True, "top": 1}),
        "total": book.add_format({"bold": True, "top": 1, "num_format": "#,##0"}),
        "bold": book.add_format({"bold": True}),
    }


def number_format(heading: str, values: pd.Series) -> str:
    """
    Choose the format of a number column from its heading and its size.

    >>> number_format("longitude [degrees]", pd.Series([3.0]))
    'degrees'
    >>> number_format("tonnes [t]", pd.Series([12000.0]))
    'big'
    """
    if "[degrees]" in heading:
        return "degrees"
    largest = float(values.abs().max()) if values.notna().any() else 0.0
    if largest >= 1000 or (values.dropna() % 1 == 0).all():
        return "big"
    return "small" if largest >= 10 else "fine"


def summed(heading: str) -> bool:
    """
    Say whether a column is summed: amounts are, ratios and stocks are not.

    >>> summed("tonnes [t]"), summed("C:N"), summed("in store at its end [t]")
    (True, False, False)
    """
    if any(word in heading for word in NOT_SUMMED):
        return False
    money = heading.startswith(("amount [", "cost ["))
    return money or heading.endswith(SUMMED)


def _write_cell(sheet: Any, row: int, column: int, cell: object, style: Any) -> None:
    """
    Write one cell: a number as a number, all else as text, never as a formula.

    A missing or infinite number stays blank.
    """
    if isinstance(cell, bool):
        sheet.write_string(row, column, "yes" if cell else "no", style)
    elif isinstance(cell, int | float):
        if math.isfinite(cell):
            sheet.write_number(row, column, cell, style)
    elif cell is not None and str(cell):
        sheet.write_string(row, column, str(cell), style)


def write_sheet(sheet: Any, table: pd.DataFrame, formats: Formats) -> None:
    """Fill one sheet: headings with units, rows, totals as formulas, filter, panes."""
    numbers = {
        name for name in table.columns if pd.api.types.is_numeric_dtype(table[name])
    }
    adds_up = sheet.get_name() not in UNSUMMED
    for column, heading in enumerate(table.columns):
        cells = table[heading].tolist()
        style = "text"
        if heading in numbers:
            style = number_format(heading, table[heading])
        sheet.write_string(0, column, str(heading), formats["head"])
        for row, cell in enumerate(cells, start=1):
            _write_cell(sheet, row, column, cell, formats[style])
        if adds_up and heading in numbers and summed(heading) and cells:
            rows = xl_range(1, column, len(cells), column)
            total = float(table[heading].sum())
            formula = f"=SUBTOTAL(109,{rows})"
            place = len(cells) + 1
            sheet.write_formula(place, column, formula, formats["total"], total)
        sheet.set_column(column, column, _width(str(heading), cells, style))
    sheet.set_row(0, 45)
    sheet.freeze_panes(1, min(2, len(table.columns)))
    if len(table):
        sheet.autofilter(0, 0, len(table), len(table.columns) - 1)


def _width(heading: str, cells: list[object], style: str) -> float:
    """Width of a column [characters] that shows its cells and wraps its heading."""
    if style != "text":
        return 12.0
    lengths = [len(str(cell)) for cell in cells[:WIDTH_SAMPLE]]
    longest_word = max((len(word) for word in heading.split()), default=0)
    return float(min(WIDEST, max([longest_word, *lengths, 6]) + 2))


def _write_cover(sheet: Any, result: Result, formats: Formats) -> None:
    """Cover: name, story, key figures, and what every other sheet holds."""
    settings = result.scenario.settings
    sheet.set_column(0, 0, 34)
    sheet.set_column(1, 1, 22)
    sheet.set_column(2, 2, 90)
    sheet.write_string(0, 0, settings.name, formats["title"])
    sheet.write_string(1, 0, "Compost yards and haulage: plan of a year")
    if settings.story:
        sheet.write_string(2, 0, settings.story)
    row = 4
    for figure in key_figures(result):
        sheet.write_string(row, 0, figure.label)
        if isinstance(figure.value, str):
            sheet.write_string(row, 1, figure.value, formats["bold"])
        else:
            size = abs(figure.value)
            style = "big" if size >= 100 else "small" if size >= 10 else "fine"
            _write_cell(sheet, row, 1, figure.value, formats[style])
        sheet.write_string(row, 2, figure.unit)
        row += 1
    row += 1
    sheet.write_string(row, 0, "Sheet", formats["head"])
    sheet.write_string(row, 1, "", formats["head"])
    sheet.write_string(row, 2, "What it holds", formats["head"])
    for name, make in TABLES.items():
        row += 1
        sheet.write_url(row, 0, f"internal:'{name}'!A1", string=name)
        sheet.write_string(row, 2, (make.__doc__ or "").strip().splitlines()[0])


OPTIONS = {
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
}
"""Text stays text, whatever it begins with."""


def write_tables(tables: dict[str, pd.DataFrame], path: Path) -> None:
    """Write a workbook of tables, one sheet each."""
    with xlsxwriter.Workbook(str(path), OPTIONS) as book:
        book.set_properties({"title": "Loamhaul tables", "created": CREATED})
        formats = cell_formats(book)
        for name, table in tables.items():
            write_sheet(book.add_worksheet(name), table, formats)


def write_workbook(result: Result, path: Path) -> None:
    """Write plan.xlsx at `path`."""
    with xlsxwriter.Workbook(str(path), OPTIONS) as book:
        book.set_properties({"title": "Loamhaul plan", "created": CREATED})
        formats = cell_formats(book)
        _write_cover(book.add_worksheet("cover"), result, formats)
        for name, table in tables(result).items():
            write_sheet(book.add_worksheet(name), table, formats)
