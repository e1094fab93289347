"""One table on one sheet of a workbook: cells, widths, totals, and how it prints."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Sequence
from typing import Any

import pandas as pd
from xlsxwriter.utility import xl_range

from logistics.scenario import Printed, set_page

SUMMED = ("[t]", "[t/yr]", "[m3]", "[m3/yr]", "[h]", "[1]")
NOT_SUMMED = ("in store", "room on the pad")
SIGNS = "Costs are above zero; income such as sales is below zero."
SIGNED = ("amount [", "rate [", "revenue [", "unused life", "present disposal saved")
"""Beginnings of the headings of columns that hold both, or income."""
UNSUMMED = ("nutrients", "emissions", "feedback", "yard choice")
"""Sheets of both sides of an account, or of sums: one sum over all would be nothing."""
WRAPPED, WIDEST = 30, 50
"""Columns of text are no wider than this; those of sentences may be [digits]."""
SENTENCE = 110
"""A text of so many letters is a sentence."""
LONGEST_WORD = 16
"""Words of a heading longer than this may be broken [digits]."""
MOST_NAMES = 3
MOST_LINES = 3
"""Lines of a heading for which a column of numbers is widened, and how far [digits]."""
WIDENED = 16.0
LINE_POINTS, ROW_POINTS = 12.5, 15.0
"""Height of a line within a cell, and of a row that is left as it is."""
BOLD = 1.08
NARROW = frozenset("iljtfrI.,:;'|!()[]/ -")
FONT = {"font_name": "Arial", "font_size": 10, "font_scheme": "none"}
"""Type that every office has, or one of the same widths."""

NOTHING = "nothing to list"
DARK = {"bg_color": "#3B2A1D", "font_color": "#FFFFFF"}

Formats = dict[str, Any]

NUMBERS = {
    "big": "#,##0",
    "small": "#,##0.0",
    "fine": "0.00",
    "tiny": "0.0E+00;-0.0E+00;0",
    "degrees": "0.00000",
}
"""Style of a number -> its format."""


def cell_formats(book: Any) -> Formats:
    """Cell formats of the workbook."""
    top = {"valign": "top"}
    head = {"bold": True, "text_wrap": True, **top, "border": 0}
    total = {"bold": True, "top": 1, **top}
    return {
        "title": book.add_format({"bold": True, "font_size": 18}),
        "heading": book.add_format({"bold": True, "font_size": 12}),
        "note": book.add_format({"text_wrap": True, **top}),
        "head": book.add_format({**head, **DARK, "indent": 1}),
        "head_number": book.add_format({**head, **DARK, "align": "right"}),
        "text": book.add_format({**top, "indent": 1}),
        "wrap": book.add_format({"text_wrap": True, **top, "indent": 1}),
        "link": book.add_format({"font_color": "#1F4E9E", "underline": 1, **top}),
        **{
            name: book.add_format({"num_format": code, **top})
            for name, code in NUMBERS.items()
        },
        "total_text": book.add_format(total),
        "total": book.add_format({**total, "num_format": "#,##0"}),
        "bold": book.add_format({"bold": True, **top}),
    }


def number_format(heading: str, values: pd.Series) -> str:
    """
    Choose the format of a number column from its heading and its size.

    >>> number_format("longitude [degrees]", pd.Series([3.0]))
    'degrees'
    >>> number_format("tonnes [t]", pd.Series([12000.0]))
    'big'
    >>> number_format("allowed", pd.Series([1e-5, 0.0]))
    'tiny'
    """
    if "[degrees]" in heading:
        return "degrees"
    largest = float(values.abs().max()) if values.notna().any() else 0.0
    if largest >= 1000 or (values.dropna() % 1 == 0).all():
        return "big"
    if largest >= 10:
        return "small"
    return "fine" if largest >= 0.005 else "tiny"


def shown(value: float, style: str) -> str:
    """
    Write a number as the workbook shows it.

    >>> shown(-123456789.4, "big"), shown(0.00001, "tiny")
    ('-123,456,789', '1.0E-05')
    """
    codes = {"big": ",.0f", "small": ",.1f", "fine": ".2f", "degrees": ".5f"}
    return format(value, codes.get(style, ".1E"))


def number_width(heading: str, values: Sequence[float], style: str) -> float:
    """
    Width of a column in which every number shows and the heading can be read [digits].

    >>> number_width("cost", [123456789.0, -123456789.0], "big")
    13.5
    """
    known = [value for value in values if math.isfinite(value)]
    ends = (min(known), max(known)) if known else (0.0,)
    longest = max(len(shown(value, style)) for value in ends)
    width = max(longest + 1.5, _longest_word(heading) + 1.0, 7.0)
    while width < WIDENED and lines(heading, width - 1, bold=True) > MOST_LINES:
        width += 1
    return width


def text_width(heading: str, cells: Sequence[object]) -> tuple[float, bool]:
    """
    Width of a column of text [digits], and whether its cells go over several lines.

    >>> text_width("yard", ["Mill"]), text_width("note", ["word " * 40])
    ((7.0, False), (50.0, True))
    """
    texts = {str(cell) for cell in cells if cell is not None}
    longest = max(map(breadth, texts), default=0.0)
    most = WIDEST if longest > SENTENCE else WRAPPED
    width = max(longest + 2.5, _longest_word(heading) + 2.5, 7.0)
    return float(min(width, most)), width > most


def breadth(text: str) -> float:
    """
    Width of a text, a little too wide rather than too narrow. [digits]

    >>> breadth("mill"), breadth("MAMMAL"), breadth("米")
    (3.0, 8.1, 2.0)
    """
    return round(sum(map(_letter, text)), 2)


def _letter(sign: str) -> float:
    """Width of a letter of 10 pt Arial. [digits]"""
    if sign in NARROW:
        return 0.55
    if unicodedata.east_asian_width(sign) in "WF":
        return 2.0
    return 1.35 if sign.isupper() or sign in "mwMW@%" else 1.0


def _longest_word(heading: str) -> float:
    """Length of the longest word of a heading, which is bold [digits]."""
    longest = max(map(breadth, heading.split()), default=0.0)
    return min(longest * BOLD, LONGEST_WORD)


def lines(text: str, width: float, bold: bool = False) -> int:
    """
    Lines that a text takes in a column, broken between words.

    >>> lines("cost of one more [dollars/yr]", 13)
    3
    """
    count, used = 1, 0.0
    for word in text.split():
        long = breadth(word) * (BOLD if bold else 1.0)
        if used and used + 0.6 + long > width:
            count, used = count + 1, 0.0
        count += math.floor(long / width) if long > width else 0
        used += long + (0.6 if used else 0)
    return count


def head_points(headings: Sequence[str], widths: Sequence[float]) -> float:
    """Height of a row of headings that go over several lines. [points]"""
    most = max(
        (lines(h, w - 1.5, bold=True) for h, w in zip(headings, widths, strict=True)),
        default=1,
    )
    return most * LINE_POINTS + 4.0


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


def write_cell(
    sheet: Any, row: int, column: int, cell: object, style: str, formats: Formats
) -> None:
    """
    Write one cell: a number as a number, all else as text, never as a formula.

    A missing or infinite number stays blank; one among texts has a format of its own.
    """
    if isinstance(cell, bool):
        sheet.write_string(row, column, "yes" if cell else "no", formats[style])
    elif isinstance(cell, int | float):
        if math.isfinite(cell):
            if style not in NUMBERS:
                style = number_format("", pd.Series([float(cell)]))
            sheet.write_number(row, column, cell, formats[style])
    elif cell is not None and str(cell):
        sheet.write_string(row, column, str(cell), formats[style])


def write_sheet(
    sheet: Any,
    table: pd.DataFrame,
    formats: Formats,
    title: str,
    *,
    whole: bool = False,
) -> Printed:
    """
    Fill one sheet: headings with units, rows, totals as formulas, filter, panes.

    Parameters
    ----------
    sheet
        A worksheet of xlsxwriter.
    table
        What it holds; headings carry units.
    formats
        See `cell_formats`.
    title
        Name of the district or study, printed at the head.
    whole
        Print all rows, however many.
    """
    adds_up = sheet.get_name() not in UNSUMMED
    widths, heights, totals = [], [ROW_POINTS] * (len(table) + 1), False
    leading = True
    names = 0
    for column, name in enumerate(table.columns):
        heading, cells = str(name), table[name].tolist()
        if pd.api.types.is_numeric_dtype(table[name]) and not _is_bool(table[name]):
            leading = False
            style = number_format(heading, table[name])
            numbers = [float(cell) for cell in cells if pd.notna(cell)]
            if adds_up and summed(heading) and cells:
                place, total = len(cells) + 1, float(table[name].sum())
                formula = f"=SUBTOTAL(109,{xl_range(1, column, len(cells), column)})"
                sheet.write_formula(place, column, formula, formats["total"], total)
                numbers, totals = [*numbers, total], True
            width = number_width(heading, numbers, style)
        else:
            names += leading
            width, several = text_width(heading, cells)
            style = "wrap" if several else "text"
            for row, cell in enumerate(cells if several else (), start=1):
                points = lines(str(cell), width - 2) * LINE_POINTS + 1.5
                heights[row] = max(heights[row], points)
        look = formats["head_number" if style in NUMBERS else "head"]
        sheet.write_string(0, column, heading, look)
        if heading.startswith(SIGNED):
            sheet.write_comment(0, column, SIGNS)
        for row, cell in enumerate(cells, start=1):
            write_cell(sheet, row, column, cell, style, formats)
        sheet.set_column(column, column, width)
        widths.append(width)
    heights[0] = head_points([str(name) for name in table.columns], widths)
    for row, points in enumerate(heights):
        if points > ROW_POINTS or not row:
            sheet.set_row(row, points)
    sheet.freeze_panes(1, min(2, len(table.columns)))
    if table.empty:
        sheet.write_string(1, 0, NOTHING, formats["text"])
        heights.append(ROW_POINTS)
    else:
        sheet.autofilter(0, 0, len(table), len(table.columns) - 1)
    heights += [ROW_POINTS] * totals
    kept, sums = min(max(names, 1), MOST_NAMES), int(totals or table.empty)
    return set_page(sheet, widths, heights, title, names=kept, sums=sums, whole=whole)


def _is_bool(values: pd.Series) -> bool:
    return pd.api.types.is_bool_dtype(values)
