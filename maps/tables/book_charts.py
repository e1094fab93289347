"""Charts in workbooks: drawn by the spreadsheet from figures that stand beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from logistics.accounts import Book, cash_flow
from logistics.scenario import Printed, set_page
from maps.shared import names, period_order
from maps.tables.flows import collection
from maps.tables.months import (
    compost_fill,
    money_by_period,
    named_periods,
    pad_fill,
    store_fill,
)
from maps.tables.sheet import ROW_POINTS, Formats, write_cell

if TYPE_CHECKING:
    from logistics.results import Result

COLUMNS, COLUMN_WIDTH = 10, 9.0
"""Columns under the charts, which the figures behind them follow."""
ROWS = 15
"""Rows under one chart."""
AT_ONCE = 3
"""Charts on a page."""
WIDTH, HEIGHT = 680, 292
"""Of a chart. [pixels]"""
FIRST = COLUMNS + 1
MOST_LINES = 6
MOST_HEADINGS = 10
GREYS = ("#1F1F1F", "#B5690B", "#5A5A5A", "#0A4A6B", "#9A9A9A", "#6E1F63")
DASHES = ("solid", "dash", "round_dot", "dash_dot", "long_dash", "square_dot")
MARKS = ("circle", "square", "diamond", "triangle", "x", "star")
"""Lines differ in dash and mark, so that they can be told apart in grey."""
FILLS = (
    ("#3B2A1D", "solid"),
    ("#B5690B", "wide_upward_diagonal"),
    ("#2A8C7C", "dotted_grid"),
    ("#0A4A6B", "small_check"),
    ("#6E1F63", "wide_downward_diagonal"),
    ("#6E6A1E", "horizontal_brick"),
)


LABELS = {"value": True, "num_format": "#,##0", "font": {"name": "Arial", "size": 9}}
"""Figures at the ends of bars."""


@dataclass(frozen=True)
class BookChart:
    """
    One chart and its figures.

    Attributes
    ----------
    question
        What it answers; stands above it.
    figures
        Rows along the axis, columns are the series.
    unit
        Of the figures.
    kind
        "line", "column", "stacked" (columns) or "bar" (across).
    """

    question: str
    figures: pd.DataFrame
    unit: str
    kind: str = "line"


def plan_charts(result: Result) -> list[BookChart]:
    """Make the charts of plan.xlsx; those with nothing to show are left out."""
    currency = result.scenario.settings.currency
    found = [
        BookChart("How full does each pad get?", _fullest(result, pad_fill), "%"),
        BookChart(
            "How full are the stores of feedstock when a period ends?",
            _fullest(result, store_fill),
            "%",
        ),
        BookChart(
            "How full are the stores of compost when a period ends?",
            _fullest(result, compost_fill),
            "%",
        ),
        BookChart(
            "When does money go out and come in? (yearly items left out)",
            money_chart(result),
            currency,
            "column",
        ),
        BookChart(
            "What is collected, and what is left?", _collected(result), "t", "stacked"
        ),
    ]
    return [chart for chart in found if chart.figures.to_numpy().any()]


def budget_charts(result: Result, money: Book) -> list[BookChart]:
    """Make the charts of budget.xlsx; those with nothing to show are left out."""
    currency = result.scenario.settings.currency
    years = cash_flow(money).set_index("year")
    flow = pd.DataFrame(
        {
            "net of the programme": years["net"],
            "net of the programme and its sources": years["district"],
        }
    )
    spent = money.parts[money.parts["kind"] != "revenue"]
    heads = spent.groupby("name", sort=False)["amount"].sum()
    heads = heads.sort_values(ascending=False, kind="stable").head(MOST_HEADINGS)
    found = [
        BookChart(
            "When does money go out and come in? (yearly items left out)",
            money_chart(result),
            currency,
            "column",
        ),
        BookChart("What does each year leave or need?", flow, currency, "column"),
        BookChart(
            "Where does the year's money go? (largest headings)",
            heads.iloc[::-1].rename("amount of the year").to_frame(),
            currency,
            "bar",
        ),
    ]
    return [chart for chart in found if chart.figures.to_numpy().any()]


def _fullest(result: Result, fill: Any) -> pd.DataFrame:
    """Take the yards that are fullest at any time, if there are many."""
    exact = fill(result)
    order = exact.max().sort_values(ascending=False, kind="stable").index
    kept = [code for code in exact.columns if code in set(order[:MOST_LINES])]
    return named_periods(result, exact[kept])


def money_chart(result: Result) -> pd.DataFrame:
    """Money out and in by period, with the words of the chart."""
    table = named_periods(result, money_by_period(result))
    return table.set_axis(["money out", "money in"], axis=1)


def _collected(result: Result) -> pd.DataFrame:
    """Tonnes collected and left by period. [t]"""
    sums = collection(result).groupby("period")[["collected", "uncollected"]].sum()
    sums = sums.reindex(period_order(result)).rename(index=names(result, "period"))
    return sums.set_axis(["collected", "left uncollected"], axis=1)


def write_charts(
    book: Any, sheet: Any, charts: Sequence[BookChart], formats: Formats, title: str
) -> Printed:
    """
    Write charts below each other; their figures stand to the right and do not print.

    Parameters
    ----------
    book, sheet
        Workbook and worksheet of xlsxwriter.
    charts
        In their order.
    formats
        See `sheet.cell_formats`.
    title
        Name of the district, for the head of the page.
    """
    sheet.set_column(0, COLUMNS - 1, COLUMN_WIDTH)
    sheet.set_column(COLUMNS, COLUMNS, 3)
    sheet.set_column(FIRST, FIRST, 18)
    sheet.set_column(FIRST + 1, FIRST + 1 + MOST_LINES, 14)
    sheet.hide_gridlines(2)
    breaks = []
    for number, chart in enumerate(charts):
        top = number * (ROWS + 1)
        if number and number % AT_ONCE == 0:
            breaks.append(top)
        sheet.write_string(top, 0, chart.question, formats["heading"])
        sheet.insert_chart(
            top + 1, 0, _drawn(book, sheet, chart, top, formats), {"object_position": 1}
        )
    if not charts:
        sheet.write_string(0, 0, "No yard is used: there is nothing to draw.")
    sheet.set_h_pagebreaks(breaks)
    count = max(1, len(charts)) * (ROWS + 1)
    widths = [COLUMN_WIDTH] * COLUMNS
    printed = set_page(sheet, widths, [ROW_POINTS] * count, title, head=0, whole=True)
    return Printed(-(-max(1, len(charts)) // AT_ONCE), 0, 0) if printed else printed


def _drawn(book: Any, sheet: Any, chart: BookChart, top: int, formats: Formats) -> Any:
    """Write the figures of a chart and draw it from them."""
    table, name = chart.figures, sheet.get_name()
    sheet.write_string(top, FIRST, f"[{chart.unit}]", formats["head"])
    style = "big" if float(table.abs().max().max()) >= 100 else "small"
    for row, label in enumerate(table.index, start=top + 1):
        sheet.write_string(row, FIRST, str(label))
    kind = {"type": "column" if chart.kind == "stacked" else chart.kind}
    if chart.kind == "stacked":
        kind["subtype"] = "stacked"
    drawn = book.add_chart(kind)
    last = top + len(table)
    for number, heading in enumerate(table.columns):
        at = FIRST + 1 + number
        sheet.write_string(top, at, str(heading), formats["head"])
        for row, value in enumerate(table[heading].tolist(), start=top + 1):
            write_cell(sheet, row, at, float(value), style, formats)
        look = _line(number) if chart.kind == "line" else _bar(number)
        drawn.add_series(
            {
                "name": [name, top, at],
                "categories": [name, top + 1, FIRST, last, FIRST],
                "values": [name, top + 1, at, last, at],
                **look,
                **({"data_labels": LABELS} if chart.kind == "bar" else {}),
            }
        )
    type_ = {"name": "Arial", "size": 9}
    names_, values = (
        {"num_font": type_, "label_position": "low"},
        {
            "num_font": type_,
            "num_format": "#,##0",
            "name": chart.unit,
            "name_font": {**type_, "bold": False},
            "major_gridlines": {"visible": True, "line": {"color": "#D0D0D0"}},
            **({"min": 0} if float(table.min().min()) >= 0 else {}),
        },
    )
    drawn.set_title({"none": True})
    across, up = (values, names_) if chart.kind == "bar" else (names_, values)
    drawn.set_x_axis(across)
    drawn.set_y_axis(up)
    drawn.set_legend(
        {"position": "bottom", "font": type_}
        if len(table.columns) > 1
        else {"none": True}
    )
    drawn.set_size({"width": WIDTH, "height": HEIGHT})
    return drawn


def _line(number: int) -> dict[str, Any]:
    """Look of a line: colour, dash and mark."""
    at = number % MOST_LINES
    colour = GREYS[at]
    return {
        "line": {"color": colour, "width": 2, "dash_type": DASHES[at]},
        "marker": {
            "type": MARKS[at],
            "size": 7,
            "border": {"color": colour},
            "fill": {"color": "#FFFFFF" if at % 2 else colour},
        },
    }


def _bar(number: int) -> dict[str, Any]:
    """Look of a bar: colour and pattern."""
    colour, pattern = FILLS[number % len(FILLS)]
    look: dict[str, Any] = {"border": {"color": "#2A211A", "width": 0.75}, "gap": 60}
    if pattern == "solid":
        return {**look, "fill": {"color": colour}}
    filled = {"pattern": pattern, "fg_color": colour, "bg_color": "#FFFFFF"}
    return {**look, "pattern": filled}
