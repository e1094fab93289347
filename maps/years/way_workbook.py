"""A way -> way.xlsx: a column a year, every sum and present value a live formula."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

from xlsxwriter.utility import xl_range, xl_rowcol_to_cell

from logistics.accounts import book
from logistics.scenario import Printed, set_page
from maps.shared import clean
from maps.tables import (
    Front,
    head_points,
    number_width,
    workbook,
    write_front,
    write_sheet,
)
from maps.years.way_tables import SHEETS, way_tables

if TYPE_CHECKING:
    from maps.years.way_facts import WayFacts

NAME = 44.0
"""Width of the column of names. [digits]"""
POINTS = 15.0
"""Height of a row. [points]"""
RATE = "discount rate, without inflation [1/yr]"
GIVEN = {
    "capital_limit": "limit for yards",
    "capital": "spent on yards",
    "carried": "carried into next year",
    "borrowed": "borrowed",
    "recurrent_limit": "limit for running",
    "recurrent": "running cost",
    "income": "income (compost sold, fees, subsidies)",
    "fees": "of it tipping fees",
    "subsidy": "of it subsidies from outside the district",
    "outside": "paid by others, such as sources",
    "interest": "interest",
    "repaid": "repaid",
    "salvage": "worth of yards after the last year",
    "today": "disposal as today, if nothing is done",
    "programme_today": "of that paid by the programme",
}
"""Rows of numbers, in order; all others are formulas."""
NOTES = (
    "Money is {currency} without inflation. Yards are paid for, and money is borrowed, "
    "at the beginning of a year; all else falls at its end.",
    "Sums, net cost, present values, cash and returns are formulas over the rows of "
    "numbers above them: change a number or the discount rate and they follow. What "
    "is built in which year does not.",
    "Costs are above zero. Cash below zero is money that the programme must be given.",
    "Salvage is shared among districts by what was spent on yards there.",
    "A plan is not an estimate of works: have pads, drains and roofs priced by people "
    "licensed to do so.",
)


@dataclass
class _Grid:
    """Rows written so far, and what their cells come to."""

    sheet: Any
    formats: dict[str, Any]
    places: dict[str, int] = field(default_factory=dict)
    values: dict[str, list[float]] = field(default_factory=dict)
    row: int = 1

    def cell(self, name: str, column: int) -> str:
        return str(xl_rowcol_to_cell(self.places[name], column))

    def line(
        self,
        code: str,
        name: str,
        values: Sequence[float],
        formulas: Sequence[str] | None = None,
        *,
        total: bool = True,
        style: str = "big",
    ) -> None:
        """Write a row: numbers, or formulas with what they come to; then the sum."""
        self.places[code], self.values[code] = self.row, list(values)
        self.sheet.write_string(self.row, 0, name, self.formats["text"])
        for at, value in enumerate(values, start=1):
            if not isfinite(value):
                continue
            look = self.formats[style]
            if formulas is None:
                self.sheet.write_number(self.row, at, value, look)
            else:
                self.sheet.write_formula(self.row, at, formulas[at - 1], look, value)
        if total:
            known = [value for value in values if isfinite(value)]
            across = f"=SUM({xl_range(self.row, 1, self.row, len(values))})"
            last = len(values) + 1
            look = self.formats["total"]
            self.sheet.write_formula(self.row, last, across, look, sum(known))
        self.row += 1


def write_way_workbook(facts: WayFacts, path: Path) -> None:
    """Write way.xlsx at `path`."""
    settings = facts.way.scenario.settings
    title, currency = settings.name, clean(settings.currency)
    printed: dict[str, Printed] = {}
    with workbook(path, "Loamhaul years") as (file, formats):
        front = file.add_worksheet("cover")
        sheet = file.add_worksheet("money")
        grid = _Grid(sheet, formats)
        printed["money"] = _money(facts, grid, currency, title)
        other = file.add_worksheet("against doing nothing")
        printed["against doing nothing"] = _nothing(
            facts, _Grid(other, formats), grid, currency, title
        )
        for name, table in way_tables(facts).items():
            printed[name] = write_sheet(file.add_worksheet(name), table, formats, title)
        notes = [note.format(currency=currency) for note in NOTES]
        about = Front(title, "The way there, year by year", notes, answers=SHEETS)
        write_front(front, about, printed, formats)


def _head(grid: _Grid, heads: Sequence[str], widths: Sequence[float]) -> float:
    """Write the headings; return their height. [points]"""
    for column, (head, width) in enumerate(zip(heads, widths, strict=True)):
        look = grid.formats["head_number" if column else "head"]
        grid.sheet.write_string(0, column, head, look)
        grid.sheet.set_column(column, column, width)
    grid.sheet.freeze_panes(1, 1)
    tall = head_points(heads, widths)
    grid.sheet.set_row(0, tall)
    return tall


def _money(facts: WayFacts, grid: _Grid, currency: str, title: str) -> Printed:
    """Fill the sheet money."""
    cash, years = facts.cash, facts.way.years
    books = [book(result) for result in facts.way.results]
    numbers = {name: cash[name].tolist() for name in GIVEN if name in cash}
    numbers["today"] = [one.today for one in books]
    numbers["programme_today"] = [
        one.today if one.pays_disposal else 0.0 for one in books
    ]
    heads = [f"[{currency}]", *map(str, years), "All"]
    most = [float(cash[c].abs().sum()) for c in ("capital", "recurrent", "income")]
    width = number_width("2027", [-sum(most)], "big")
    widths = [NAME, *[width] * (len(years) + 1)]
    tall = _head(grid, heads, widths)
    grid.line("rate", RATE, [facts.discount], total=False, style="fine")
    limits = ("capital_limit", "carried", "recurrent_limit")
    for code, name in GIVEN.items():
        grid.line(code, name, numbers[code], total=code not in limits)
    _formulas(facts, grid)
    return set_page(grid.sheet, widths, [tall, *[POINTS] * grid.row], title, whole=True)


def _formulas(facts: WayFacts, grid: _Grid) -> None:
    """Write the rows that follow from the numbers."""
    cash, count = facts.cash, len(facts.way.years)
    rate = f"(1+{xl_rowcol_to_cell(grid.places['rate'], 1, True, True)})"
    columns = range(1, count + 1)

    def each(pattern: str) -> list[str]:
        return [
            "=" + pattern.format(**{name: grid.cell(name, at) for name in grid.places})
            for at in columns
        ]

    running = (cash["recurrent"] - cash["income"] + cash["outside"]).tolist()
    grid.line(
        "running", "running cost less income", running,
        each("{recurrent}-{income}+{outside}"),
    )  # fmt: skip
    net = cash["net"].tolist()
    grid.line("net", "net cost", net, each("{capital}+{running}-{salvage}"))
    begins = [(1 + facts.discount) ** -k for k in range(count)]
    ends = [(1 + facts.discount) ** -(k + 1) for k in range(count)]
    for code, name, values, step in (
        ("begins", "worth of 1 at the beginning of the year", begins, 0),
        ("ends", "worth of 1 at its end", ends, 1),
    ):
        formulas = [f"={rate}^-{k + step}" for k in range(count)]
        grid.line(code, name, values, formulas, total=False, style="fine")
    pattern = "{capital}*{begins}+({running}-{salvage})*{ends}"
    values = cash["value"].tolist()
    grid.line("value", "present value of net cost", values, each(pattern))
    pattern = "{income}+{borrowed}-{capital}-{recurrent}-{interest}-{repaid}"
    grid.line("cash", "cash of the year", cash["cash"].tolist(), each(pattern))
    first = xl_rowcol_to_cell(grid.places["cash"], 1, False, True)
    sums = [f"=SUM({first}:{grid.cell('cash', at)})" for at in columns]
    so_far = cash["cumulative"].tolist()
    grid.line("cumulative", "cash so far", so_far, sums, total=False)
    paid = (cash["borrowed"] - cash["repaid"]).cumsum().tolist()
    owed = [
        f"=SUM({grid.cell('borrowed', 1)}:{grid.cell('borrowed', at)})"
        f"-SUM({grid.cell('repaid', 1)}:{grid.cell('repaid', at)})"
        for at in columns
    ]
    grid.line("debt", "debt at the end of the year", paid, owed, total=False)
    left = each("{capital_limit}-{carried}-{capital}+{borrowed}")
    left = [
        text + (f"+{grid.cell('carried', at - 1)}" if at > 1 else "")
        for at, text in zip(columns, left, strict=True)
    ]
    name = "left of the money for yards (below zero: short)"
    grid.line("capital_left", name, cash["capital_left"].tolist(), left, total=False)
    left = each("{recurrent_limit}-{running}-{interest}-{repaid}")
    name = "left of the money for running (below zero: short)"
    values = cash["recurrent_left"].tolist()
    grid.line("recurrent_left", name, values, left, total=False)


def _nothing(
    facts: WayFacts, grid: _Grid, money: _Grid, currency: str, title: str
) -> Printed:
    """Fill the sheet that compares with doing nothing, a column a moment."""
    years = facts.way.years
    heads = [f"[{currency}]", f"{years[0]}, beginning"]
    heads += [f"{year}, end" for year in years]
    heads += ["present value", "return [1/yr]"]
    flow = facts.flow
    most = float(flow[["district", "financed"]].abs().to_numpy().sum())
    width = number_width("beginning", [-most], "big")
    widths = [NAME, *[width] * (len(heads) - 1)]
    tall = _head(grid, heads, widths)
    count, rate = len(years), f"money!{money.cell('rate', 1)}"

    def at(code: str, moment: int) -> str:
        return f"money!{money.cell(code, moment)}"

    programme, sources, financed = list[str](), list[str](), list[str]()
    for m in range(count + 1):
        begin, lent, end, bill, service = "", "", "", "0", ""
        if m < count:  # the next year begins
            begin, lent = f"-{at('capital', m + 1)}", f"+{at('borrowed', m + 1)}"
        if m:  # a year ends
            end = f"+{at('income', m)}+{at('salvage', m)}-{at('recurrent', m)}"
            end += f"+{at('programme_today', m)}"
            bill = f"{at('today', m)}-{at('programme_today', m)}-{at('outside', m)}"
            service = f"-{at('interest', m)}-{at('repaid', m)}"
        if m == count:
            service += f"-{at('debt', m)}"
        programme.append(f"=0{begin}{end}")
        sources.append(f"={bill}")
        financed.append(f"={xl_rowcol_to_cell(1, m + 1)}{lent}{service}")
    both = [
        f"={xl_rowcol_to_cell(1, m)}+{xl_rowcol_to_cell(2, m)}"
        for m in range(1, count + 2)
    ]
    for code, name, formulas in (
        ("programme", "programme's own money", programme),
        ("sources", "sources: disposal no longer paid, less fees", sources),
        ("district", "district: both together", both),
        ("financed", "programme with its loans, debt paid off in the end", financed),
    ):
        row = grid.row
        grid.line(code, name, flow[code].tolist(), formulas, total=False)
        first = xl_rowcol_to_cell(row, 1)
        later = xl_range(row, 2, row, count + 1)
        text, look = f"={first}+NPV({rate},{later})", grid.formats["total"]
        grid.sheet.write_formula(row, count + 2, text, look, facts.present(code))
        rates = facts.rates(code)
        if len(rates) == 1:
            text = f"=IRR({xl_range(row, 1, row, count + 1)},{rates[0]:.3f})"
            look = grid.formats["fine"]
            grid.sheet.write_formula(row, count + 3, text, look, rates[0])
        else:
            said = "several" if rates else "none"
            grid.sheet.write_string(row, count + 3, said, grid.formats["text"])
    return set_page(grid.sheet, widths, [tall, *[POINTS] * grid.row], title, whole=True)
