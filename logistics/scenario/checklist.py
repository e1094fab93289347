"""The first sheet of a workbook of tables: what is filled in and what is missing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from logistics.scenario.lists import in_list
from logistics.scenario.paper import ROW_POINTS, set_page
from logistics.scenario.schema import REQUIRED_TABLES, column, columns_of, keys_of

Lines = Sequence[Sequence[object]]

SHEET = "start"
LAST = 2000
"""Row down to which rows are counted."""
LIBRARY_MAY = "materials"
"""A required table that may be blank: the library knows the feedstocks."""
WIDTHS = (18.0, 10.0, 16.0, 20.0, 58.0)
FINE = ("complete", "may wait")
HEADINGS = ("sheet", "rows", "blank cells", "state", "what it is")
WHAT = {
    "sources": "Mills, landings, fields, herds: where the feedstock is",
    "calendar": "Seasons: the share of the year in each period; each adds up to 100 %",
    "yards": "Yards that are there, and sites where one may be built",
    "yard_sizes": "Sizes in which a yard can be built, with their costs",
    "markets": "Who takes compost",
    "trucks": "Types of trucks",
    "materials": "Feedstocks; the library's codes need no row here",
}
HOW = (
    "Fill in the sheets from top to bottom. Grey rows that begin with e.g. are "
    "examples: they are never read, and you may write over them or delete them.",
    "Units stand in the headings; a note on each heading says more. Many cells have a "
    "list to pick from. Headings are protected without a password.",
    "Figures in trucks, yard_sizes, calendar and materials are to start with: make "
    "them your own. Name and edges of the district stand in scenario.toml.",
    "Save this workbook as .xlsx, then run: loamhaul check and the folder's name.",
)


def write_checklist(book: Any, sheets: Mapping[str, Lines]) -> None:
    """
    Add the first sheet: for every table needed, formulas that count what is missing.

    Parameters
    ----------
    book
        Workbook of xlsxwriter, without sheets as yet.
    sheets
        Table -> its headings and rows as they will stand, examples left out.
    """
    sheet = book.add_worksheet(SHEET)
    bold = book.add_format({"bold": True, "bg_color": "#F2F2F2", "bottom": 1})
    title = book.add_format({"bold": True, "font_size": 14})
    wrap = book.add_format({"text_wrap": True, "valign": "top"})
    line = book.add_format({"text_wrap": True})
    middle = book.add_format({"align": "center"})
    missing = book.add_format({"bg_color": "#F4C7C3", "font_color": "#8F2A18"})
    done = book.add_format({"bg_color": "#D5E8D4", "font_color": "#23512B"})
    for place, width in enumerate(WIDTHS):
        sheet.set_column(place, place, width)
    tables = [t for t in (*WHAT,) if t in sheets]
    first = 3
    counts = {t: _counts(t, sheets[t]) for t in tables}
    ends = f"D{first + 1}:D{first + len(tables)}"
    lacking = [t for t in tables if _state(t, *counts[t]) not in FINE]
    told = (
        f"Still missing: {len(lacking)} of {len(tables)} sheets" if lacking
        else "Nothing is missing: now run loamhaul check"
    )  # fmt: skip
    ready = f'COUNTIF({ends},"complete")+COUNTIF({ends},"may wait")'
    sheet.write_formula(
        0, 0,
        f'=IF({ready}={len(tables)},"Nothing is missing: now run loamhaul check",'
        f'"Still missing: "&({len(tables)}-{ready})&" of {len(tables)} sheets")',
        title, told,
    )  # fmt: skip
    for place, text in enumerate(HEADINGS):
        sheet.write(first - 1, place, text, bold)
    for row, table in enumerate(tables, start=first):
        rows, blank = counts[table]
        sheet.write_url(row, 0, f"internal:'{table}'!A1", string=table)
        sheet.write_formula(row, 1, _rows_formula(table), middle, rows)
        counted = _blank_formula(table, sheets[table])
        sheet.write_formula(row, 2, counted, middle, blank)
        state = _state(table, rows, blank)
        sheet.write_formula(row, 3, _state_formula(table, row + 1), middle, state)
        sheet.write(row, 4, WHAT[table], line)
    end = first + len(tables)
    for words in FINE:
        rule: dict[str, object] = {"type": "cell", "criteria": "==", "format": done}
        rule |= {"value": f'"{words}"', "stop_if_true": True}
        sheet.conditional_format(first, 3, end - 1, 3, rule)
    rest = {"type": "no_blanks", "format": missing}
    sheet.conditional_format(first, 3, end - 1, 3, rest)
    heights = [ROW_POINTS] * end
    for number, text in enumerate(HOW):
        row = end + 1 + number
        sheet.merge_range(row, 0, row, 4, text, wrap)
        sheet.set_row(row, 30)
    others = in_list([t for t in sheets if t not in tables])
    row = end + 1 + len(HOW)
    sheet.merge_range(row, 0, row, 4, f"These sheets may wait: {others}.", wrap)
    sheet.set_row(row, 30)
    heights += [ROW_POINTS, *[30.0] * (len(HOW) + 1)]
    sheet.protect("", {"select_locked_cells": True})
    set_page(sheet, list(WIDTHS), heights, "Tables of the district", head=0, one=True)


def _counts(table: str, lines: Lines) -> tuple[int, int]:
    """Return rows, and required cells that are blank; for seasons, wrong sums."""
    if _wide(table, lines):
        wrong = 0
        for row in lines[1:]:
            numbers = [v for v in row[1:] if isinstance(v, int | float)]
            wrong += abs(sum(numbers) - 100) > 0.5
        return len(lines) - 1, wrong
    needed = [p for p, name in enumerate(lines[0]) if _needed(table, str(name))]
    blank = sum(row[p] == "" for row in lines[1:] for p in needed)
    return len(lines) - 1, blank


def _wide(table: str, lines: Lines) -> bool:
    return table == "calendar" and "period" not in lines[0]


def _needed(table: str, name: str) -> bool:
    """Whether every row must have a column; library materials need only a code."""
    if table == LIBRARY_MAY or name.startswith("note"):
        return False
    return name in {c.name for c in columns_of(table)} and column(table, name).required


def _rows_formula(table: str) -> str:
    cells = f"{table}!$A$2:$A${LAST}"
    return f'=COUNTA({cells})-COUNTIF({cells},"e.g.*")'


def _blank_formula(table: str, lines: Lines) -> str:
    """Count blank cells in rows that have anything in their first column."""
    from xlsxwriter.utility import xl_col_to_name

    first = f"{table}!$A$2:$A${LAST}"
    used = f'(LEN({first})>0)*(LEFT({first},4)<>"e.g.")'
    if _wide(table, lines):
        letters = [xl_col_to_name(p) for p in range(1, len(lines[0]))]
        total = "+".join(f"{table}!${x}$2:${x}${LAST}" for x in letters)
        return f"=SUMPRODUCT({used}*(ABS({total}-100)>0.5))"
    places = [p for p, name in enumerate(lines[0]) if _needed(table, str(name))]
    parts = []
    for place in places:
        x = xl_col_to_name(place)
        parts.append(f"(LEN({table}!${x}$2:${x}${LAST})=0)")
    return f"=SUMPRODUCT({used}*({'+'.join(parts)}))" if parts else "=0"


def _state(table: str, rows: int, blank: int) -> str:
    if rows == 0:
        must = table in REQUIRED_TABLES and table != LIBRARY_MAY
        return "fill in" if must else "may wait"
    if blank:
        return "sums are not 100" if keys_of(table)[0] == "season" else "blank cells"
    return "complete"


def _state_formula(table: str, row: int) -> str:
    none, some = _state(table, 0, 0), _state(table, 1, 1)
    return f'=IF(B{row}=0,"{none}",IF(C{row}>0,"{some}","complete"))'
