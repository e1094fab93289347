"""
Result -> budget.xlsx: estimates and cuts as live formulas over the ledger's parts.

Every sum is a formula; change an amount on the sheet `parts` and the estimates follow.
The value stored beside each formula is what it comes to, so that the book reads right
before it is calculated.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from xlsxwriter.utility import xl_range

from logistics.accounts import Book, book
from logistics.scenario import Printed, records, set_page
from maps.shared import (
    MoneyUnit,
    money_unit,
    names,
    period_order,
    range_words,
    rounds_above_plan,
    rounds_words,
)
from maps.tables import budget as made
from maps.tables.book_charts import budget_charts, write_charts
from maps.tables.budget_estimates import (
    HEAD,
    NAME,
    Parts,
    write_estimates,
    write_head,
)
from maps.tables.front_sheet import Front, write_front
from maps.tables.money import ledger
from maps.tables.plan_workbook import CHARTS, FRONT, workbook
from maps.tables.sheet import (
    ROW_POINTS,
    Formats,
    number_width,
    write_sheet,
)

if TYPE_CHECKING:
    from logistics.results import Result

BUDGET_SHEETS = {
    "charts": "The money at a glance: by month, and year by year",
    "estimates": "The first year: revenue (below zero), pay, non-pay, development",
    "months": "Every heading by month, income below zero; yearly amounts by days",
    "yards": "Every heading by yard; what serves several is split by tonnes or hours",
    "districts": "Every heading by the district where the money falls",
    "capital": "What is bought before the yards open",
    "renewal": "Machines that stand already: what renewing them costs, and when",
    "cash flow": "The years: costs, income below zero, what is left, its present value",
    "worth": "The years summed up: the programme's money, the sources' gain, both",
    "who gains": "What each pays today and with the plan",
    "unit costs": "The programme's cost of a tonne collected, a tonne of compost, a "
    "tonne-kilometre",
    "sensitivity": "The same plan at other prices",
    "switching values": "How far a price must move until the plan is worth nothing to "
    "the programme, or to the district",
    "vehicles": "Running-cost sheet of each truck type",
    "outputs": "Output indicators by month",
    "rows": "Rows of the ledger behind each heading",
    "checks": "Every breakdown of the money adds up to the ledger",
    "parts": "The ledger split into parts; all sums are taken from here",
    "ledger": "Every entry of the money, counted again; income below zero",
}


def write_budget(result: Result, path: Path) -> None:
    """Write budget.xlsx at `path`."""
    money = book(result)
    currency = result.scenario.settings.currency
    parts = Parts(made.parts_table(result, money))
    tables = {
        "capital": made.capital_list(result, money),
        "renewal": made.renewals(result, money),
        "cash flow": made.cash_table(result, money),
        "worth": made.worth_table(result, money),
        "who gains": made.gains_table(result, money),
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
        printed["estimates"] = write_estimates(
            file.add_worksheet("estimates"),
            money,
            parts,
            currency,
            formats,
            lengths,
            title,
            rounds_above_plan(result),
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


def _cuts(result: Result, parts: Parts) -> list[tuple[str, str, list[tuple[str, str]]]]:
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
        rounds_words(result, money_unit(settings.currency, [money.net])),
        "Sums are formulas over the sheet parts, which gives the ledger row of each "
        "amount. The chart of accounts comes from the table accounts, price rises and "
        "contingencies from the table prices; defaults are not local.",
        "Pay and fuel shares of handling and upkeep are judgement until you state "
        "them. Own trucks are counted at their standing cost, not as purchases.",
        range_words(result, MoneyUnit(settings.currency)),
        "A plan is not an estimate of works: have pads, drains and roofs priced by "
        "people licensed to do so.",
    ]
    return Front(settings.name, "Budget of the plan", notes, answers=BUDGET_SHEETS)


def _matrix(
    sheet: Any,
    money: Book,
    parts: Parts,
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
    tall = write_head(sheet, words, widths, formats)
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
