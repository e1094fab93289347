"""The sheet `estimates` of budget.xlsx: four sections, and the way to the net cost."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from xlsxwriter.utility import xl_col_to_name, xl_range, xl_rowcol_to_cell

from logistics.accounts import Book, entry_code, estimates
from logistics.scenario import Printed, records, set_page
from maps.shared import NOT_DRIVEN
from maps.tables import budget as made
from maps.tables.sheet import ROW_POINTS, SIGNS, Formats, head_points, number_width

SECTIONS = {
    "A revenue": ("revenue", ""),
    "B wage recurrent": ("recurrent", "pay"),
    "C non-wage recurrent": ("recurrent", "other"),
    "D development": ("", ""),
}
FILTERS = ("entry", "head", "name", "kind", "pay", "yard", "district", "period")
HEAD, NAME, REFERENCES = 8.0, 44.0, 60.0
"""Widths of columns: head, name, rows of the ledger (not printed). [digits]"""


class Parts:
    """Where the columns of the sheet `parts` are, for formulas."""

    def __init__(self, table: pd.DataFrame) -> None:
        self.table, self.last = table, len(table) + 1
        self.where = {name: n for n, name in enumerate(table.columns)}
        self.amount = str(table.columns[-1])
        self.values = table[self.amount].to_numpy(dtype=float)
        self.words = {name: table[name].to_numpy(dtype=str) for name in FILTERS}

    def column(self, name: str) -> str:
        """Range of a column."""
        letter = xl_col_to_name(self.where[name])
        return f"parts!${letter}$2:${letter}${self.last}"

    def fits(self, **where: str) -> NDArray[np.bool_]:
        """Mark the parts that have these words."""
        mask = np.ones(len(self.values), dtype=bool)
        for name, value in where.items():
            mask &= self.words[name] == value
        return mask

    def most(self, **where: str) -> float:
        """Give the most that any sum over what fits can come to, either way."""
        return float(np.abs(self.values[self.fits(**where)]).sum())

    def total(self, **where: str) -> tuple[str, float]:
        """Write the sum of the amounts that fit as a formula, with its value."""
        mask = self.fits(**where)
        text = [self.column(self.amount)]
        for name, value in where.items():
            quoted = value.replace('"', '""')
            text += [self.column(name), f'"{quoted}"']
        return f"=SUMIFS({','.join(text)})", float(self.values[mask].sum())


def write_head(
    sheet: Any, heads: Sequence[str], widths: Sequence[float], formats: Formats
) -> float:
    """Write the headings and set the columns; return their height. [points]"""
    for column, (head, width) in enumerate(zip(heads, widths, strict=True)):
        number = column > 1 and width != REFERENCES
        look = formats["head_number" if number else "head"]
        sheet.write_string(0, column, head, look)
        sheet.set_column(column, column, width)
    sheet.freeze_panes(1, 2)
    tall = head_points(heads, widths)
    sheet.set_row(0, tall)
    return tall


def write_estimates(
    sheet: Any,
    money: Book,
    parts: Parts,
    currency: str,
    formats: Formats,
    lengths: tuple[int, int],
    title: str,
    above: float | None,
) -> Printed:
    """
    Fill the estimates: four sections with totals, then the way to the net cost.

    `above` is what driven rounds cost above the plan; None before they are driven.
    """
    items, entries = lengths
    heads = ["Head", "Name", f"Amount [{currency}]", "Rows of the ledger"]
    table = estimates(money)
    most = float(table["amount"].abs().sum())
    widths = [HEAD, NAME, number_width(heads[2], [most, -most], "big"), REFERENCES]
    tall = write_head(sheet, heads, widths, formats)
    sheet.write_comment(0, 2, SIGNS)
    row, totals = 1, {}
    for section, (kind, pay) in SECTIONS.items():
        sheet.write_string(row, 0, section, formats["bold"])
        lines = table[table["section"] == section]
        first = row = row + 1
        for line in records(lines):
            for at, key in ((0, "head"), (1, "name"), (3, "rows")):
                sheet.write_string(row, at, line[key], formats["text"])
            if kind:
                where = {"head": line["head"], "name": line["name"]}
                where["kind"] = made.KINDS[kind]
                where |= {"pay": pay} if pay else {}
                formula, value = parts.total(**where)
            else:
                formula, value = _bought(line["name"], items, line["amount"])
            sheet.write_formula(row, 2, formula, formats["big"], value)
            row += 1
        total = float(lines["amount"].sum())
        sheet.write_string(row, 1, f"Total {section[2:]}", formats["total_text"])
        cells = xl_range(first, 2, max(first, row - 1), 2)
        sheet.write_formula(row, 2, f"=SUM({cells})", formats["total"], total)
        totals[section] = (xl_rowcol_to_cell(row, 2), total)
        row += 2
    _bridge(sheet, row, totals, money, parts, formats)
    end = row + 7
    sheet.write_string(end, 1, "The same from the ledger")
    formula = f"=SUM(ledger!$H$2:$H${entries + 1})"
    sheet.write_formula(end, 2, formula, formats["big"], money.net)
    end += 1
    sheet.write_string(end, 1, "Of it rounds above plan")
    if above is None:
        sheet.write_string(end, 2, NOT_DRIVEN, formats["head_number"])
    else:
        entry = entry_code("rounds", "above plan")
        formula, value = parts.total(entry=entry)
        sheet.write_formula(end, 2, formula, formats["big"], value)
    heights = [tall, *[ROW_POINTS] * end]
    return set_page(sheet, widths[:3], heights, title, names=2, whole=True)


def _bought(name: str, items: int, amount: float) -> tuple[str, float]:
    """Write a line of development as a formula over the sheet capital."""
    last = max(items, 1) + 1
    if name.startswith("Physical"):
        return f"=SUM(capital!$H$2:$H${last})", amount
    item = name.partition(",")[0].lower()
    return f'=SUMIFS(capital!$G$2:$G${last},capital!$D$2:$D${last},"{item}")', amount


def _bridge(
    sheet: Any,
    row: int,
    totals: dict[str, tuple[str, float]],
    money: Book,
    parts: Parts,
    formats: Formats,
) -> None:
    """Lead from the recurrent budget to what the programme and all together pay."""
    revenue, wage = totals["A revenue"], totals["B wage recurrent"]
    other = totals["C non-wage recurrent"]

    def added(kind: str) -> list[tuple[str, str, float]]:
        word = made.KINDS[kind]
        return [(f"Add: {word}", *parts.total(kind=word))]

    steps = [
        (
            "Recurrent spending less revenue",
            f"={wage[0]}+{other[0]}+{revenue[0]}",
            wage[1] + other[1] + revenue[1],
        ),
        *added("capital_charge"),
    ]
    row = _summed(sheet, row, steps, "Net annual cost to the programme", formats)
    above = xl_rowcol_to_cell(row - 1, 2)
    steps = [("The same", f"={above}", money.programme), *added("outside")]
    _summed(sheet, row, steps, "Net annual cost", formats)


def _summed(
    sheet: Any,
    row: int,
    steps: list[tuple[str, str, float]],
    total: str,
    formats: Formats,
) -> int:
    """Write steps from a row on, and their sum; return the row below it."""
    first = row
    for name, formula, value in steps:
        sheet.write_string(row, 1, name)
        sheet.write_formula(row, 2, formula, formats["big"], value)
        row += 1
    cells = xl_range(first, 2, row - 1, 2)
    sheet.write_string(row, 1, total, formats["total_text"])
    whole = sum(value for _, _, value in steps)
    sheet.write_formula(row, 2, f"=SUM({cells})", formats["total"], whole)
    return row + 1
