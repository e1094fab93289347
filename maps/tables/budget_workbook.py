"""
Result -> budget.xlsx: estimates and cuts as live formulas over the ledger's parts.

Every sum is a formula; change an amount on the sheet `parts` and the estimates follow.
The value stored beside each formula is what it comes to, so that the book reads right
before it is calculated.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from xlsxwriter.utility import xl_col_to_name, xl_range, xl_rowcol_to_cell

from logistics.accounts import Book, book, estimates
from logistics.scenario import Printed, records, set_page
from maps.shared import names, period_order
from maps.tables import budget as made
from maps.tables.book_charts import budget_charts, write_charts
from maps.tables.front_sheet import Front, write_front
from maps.tables.money import ledger
from maps.tables.plan_workbook import CHARTS, FRONT, workbook
from maps.tables.sheet import (
    ROW_POINTS,
    SIGNS,
    Formats,
    head_points,
    number_width,
    write_sheet,
)

if TYPE_CHECKING:
    from logistics.results import Result

SECTIONS = {
    "A revenue": ("revenue", ""),
    "B wage recurrent": ("recurrent", "pay"),
    "C non-wage recurrent": ("recurrent", "other"),
    "D development": ("", ""),
}
FILTERS = ("head", "name", "kind", "pay", "yard", "district", "period")
HEAD, NAME, REFERENCES = 8.0, 44.0, 60.0
"""Widths of columns: head, name, rows of the ledger (not printed). [digits]"""
BUDGET_SHEETS = {
    "charts": "The money at a glance: by month, and year by year",
    "estimates": "The first year: revenue (below zero), pay, non-pay, development",
    "months": "Every heading by month, income below zero; yearly amounts by days",
    "yards": "Every heading by yard; what serves several is split by tonnes or hours",
    "districts": "Every heading by the district where the money falls",
    "capital": "What is bought before the yards open",
    "cash flow": "The years: costs, income below zero, what is left, its present value",
    "worth": "Results over the years, and when the plan pays back",
    "unit costs": "Cost per tonne collected, per tonne of compost, per tonne-kilometre",
    "sensitivity": "The same plan at other prices",
    "switching values": "How far a price must move until the plan is worth nothing",
    "vehicles": "Running-cost sheet of each truck type",
    "outputs": "Output indicators by month",
    "rows": "Rows of the ledger behind each heading",
    "checks": "Every breakdown of the money adds up to the ledger",
    "parts": "The ledger split into parts; all sums are taken from here",
    "ledger": "Every entry of the money, counted again; income below zero",
}


class _Parts:
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


def write_budget(result: Result, path: Path) -> None:
    """Write budget.xlsx at `path`."""
    money = book(result)
    currency = result.scenario.settings.currency
    parts = _Parts(made.parts_table(result, money))
    tables = {
        "capital": made.capital_list(result, money),
        "cash flow": made.cash_table(result, money),
        "worth": made.worth_table(result, money),
        "unit costs": made.unit_table(result, money),
        "sensitivity": made.sensitivity_table(result, money),
        "switching values": made.switching_table(money),
        "vehicles": made.vehicles(result),
        "outputs": made.outputs(result, money),
        "rows": made.behind(money),
        "checks": made.checks(result, money),
        "parts": parts.table,
        "ledger": ledger(result),
    }
    title = result.scenario.settings.name
    printed: dict[str, Printed] = {}
    with workbook(path, "Loamhaul budget") as (file, formats):
        front, sheet = file.add_worksheet(FRONT), file.add_worksheet(CHARTS)
        charts = budget_charts(result, money)
        printed[CHARTS] = write_charts(file, sheet, charts, formats, title)
        lengths = (len(tables["capital"]), len(tables["ledger"]))
        printed["estimates"] = _estimates(
            file.add_worksheet("estimates"),
            money,
            parts,
            currency,
            formats,
            lengths,
            title,
        )
        for name, column, labels in _cuts(result, parts):
            sheet = file.add_worksheet(name)
            printed[name] = _matrix(
                sheet, money, parts, column, labels, currency, formats, title
            )
        for name, table in tables.items():
            shown = (
                table.replace({True: "yes", False: "no"}) if name == "checks" else table
            )
            printed[name] = write_sheet(file.add_worksheet(name), shown, formats, title)
        write_front(front, _front(result, money), printed, formats)


def _cuts(
    result: Result, parts: _Parts
) -> list[tuple[str, str, list[tuple[str, str]]]]:
    """List sheet, column and (code, heading) of each cut."""
    period, yard = names(result, "period"), names(result, "yard")
    district = names(result, "district")

    def used(column: str) -> list[str]:
        return sorted(set(parts.table[column]))

    return [
        ("months", "period", [(code, period[code]) for code in period_order(result)]),
        ("yards", "yard", [(code, yard.get(code, "no yard")) for code in used("yard")]),
        (
            *("districts", "district"),
            [(code, district.get(code, code)) for code in used("district")],
        ),
    ]


def _front(result: Result, money: Book) -> Front:
    """Say what the book is, on what prices it stands, and what each sheet holds."""
    settings, finance = result.scenario.settings, money.finance
    notes = [
        f"Money is {settings.currency}. The cash flow is in {finance.basis} money; the "
        f"discount rate is {finance.discount * 100:g} % without inflation.",
        "On every sheet costs are above zero and income, such as sales, is below zero; "
        "balances (net of a year, present values) are above zero where income is "
        "higher.",
        "Sums are formulas over the sheet parts, which gives the ledger row of each "
        "amount. The chart of accounts comes from the table accounts, price rises and "
        "contingencies from the table prices; defaults are not local.",
        "Pay and fuel shares of handling and upkeep are judgement until you state "
        "them. Own trucks are counted at their standing cost, not as purchases.",
        "A plan is not an estimate of works: have pads, drains and roofs priced by "
        "people licensed to do so.",
    ]
    return Front(settings.name, "Budget of the plan", notes, answers=BUDGET_SHEETS)


def _head(
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


def _estimates(
    sheet: Any,
    money: Book,
    parts: _Parts,
    currency: str,
    formats: Formats,
    lengths: tuple[int, int],
    title: str,
) -> Printed:
    """Fill the estimates: four sections with totals, then the way to the net cost."""
    items, entries = lengths
    heads = ["Head", "Name", f"Amount [{currency}]", "Rows of the ledger"]
    table = estimates(money)
    most = float(table["amount"].abs().sum())
    widths = [HEAD, NAME, number_width(heads[2], [most, -most], "big"), REFERENCES]
    tall = _head(sheet, heads, widths, formats)
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
    end = row + 4
    sheet.write_string(end, 1, "The same from the ledger")
    formula = f"=SUM(ledger!$H$2:$H${entries + 1})"
    sheet.write_formula(end, 2, formula, formats["big"], money.net)
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
    parts: _Parts,
    formats: Formats,
) -> None:
    """Lead from the recurrent budget to the net annual cost of the ledger."""
    revenue, wage = totals["A revenue"], totals["B wage recurrent"]
    other = totals["C non-wage recurrent"]
    steps = [
        (
            "Recurrent spending less revenue",
            f"={wage[0]}+{other[0]}+{revenue[0]}",
            wage[1] + other[1] + revenue[1],
        ),
        *(
            (f"Add: {made.KINDS[kind]}", *parts.total(kind=made.KINDS[kind]))
            for kind in ("capital_charge", "outside")
        ),
    ]
    first = row
    for name, formula, value in steps:
        sheet.write_string(row, 1, name)
        sheet.write_formula(row, 2, formula, formats["big"], value)
        row += 1
    cells = xl_range(first, 2, row - 1, 2)
    sheet.write_string(row, 1, "Net annual cost", formats["total_text"])
    sheet.write_formula(row, 2, f"=SUM({cells})", formats["total"], money.net)


def _matrix(
    sheet: Any,
    money: Book,
    parts: _Parts,
    column: str,
    labels: list[tuple[str, str]],
    currency: str,
    formats: Formats,
    title: str,
) -> Printed:
    """Fill a cut: headings down, a column each, totals both ways, all formulas."""
    heads = made.headings(money)
    last = len(labels) + 1
    words = ["Head", "Name", *(x for _, x in labels), "All"]
    widths = [HEAD, NAME]
    for word, only in zip(
        words[2:], [*({column: code} for code, _ in labels), {}], strict=True
    ):
        most = parts.most(**only)
        widths.append(number_width(word, [most, -most], "big"))
    tall = _head(sheet, words, widths, formats)
    for row, line in enumerate(records(heads), start=1):
        sheet.write_string(row, 0, line["head"], formats["text"])
        sheet.write_string(row, 1, line["name"], formats["text"])
        where = {"head": line["head"], "name": line["name"]}
        values = []
        for at, (code, _) in enumerate(labels, start=2):
            formula, value = parts.total(**where, **{column: code})
            sheet.write_formula(row, at, formula, formats["big"], value)
            values.append(value)
        across = f"=SUM({xl_range(row, 2, row, last)})"
        sheet.write_formula(row, last + 1, across, formats["total"], sum(values))
    below = len(heads) + 1
    sheet.write_string(below, 1, f"All [{currency}/yr]", formats["total_text"])
    for at in range(2, last + 2):
        down = f"=SUM({xl_range(1, at, below - 1, at)})"
        only = {column: labels[at - 2][0]} if at <= last else {}
        value = parts.total(**only)[1]
        sheet.write_formula(below, at, down, formats["total"], value)
    heights = [tall, *[ROW_POINTS] * below]
    return set_page(sheet, widths, heights, title, names=2, whole=True)
