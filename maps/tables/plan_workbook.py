"""Result -> plan.xlsx: a front with key figures, charts, and one sheet a table."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd
import xlsxwriter

from logistics.scenario import CREATED, Printed
from maps.shared import key_figures
from maps.tables.all_tables import LINEAGE, TABLES, tables
from maps.tables.book_charts import BookChart, plan_charts, write_charts
from maps.tables.front_sheet import Front, write_front
from maps.tables.lineage import VALUE, formulas
from maps.tables.sheet import FONT, Formats, cell_formats, number_format, write_sheet

if TYPE_CHECKING:
    from logistics.results import Result

OPTIONS: dict[str, Any] = {
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
}
"""Text stays text, whatever it begins with."""

LONG_TEXT = re.compile(r'"[^"]{250}')
"""A text in a formula that is longer than spreadsheets allow."""
FRONT, CHARTS = "cover", "charts"
WHOLE = ("yards", "mixes", "assumptions")
"""Sheets that people read on paper, however long."""


@contextmanager
def workbook(path: Path, title: str) -> Iterator[tuple[Any, Formats]]:
    """Open a workbook to write, with its cell formats."""
    options = {**OPTIONS, "default_format_properties": dict(FONT)}
    with xlsxwriter.Workbook(str(path), options) as book:
        book.set_properties({"title": title, "created": CREATED})
        yield book, cell_formats(book)


def write_tables(
    tables: dict[str, pd.DataFrame],
    path: Path,
    title: str,
    subtitle: str,
    answers: dict[str, str],
    charts: Sequence[BookChart] = (),
) -> None:
    """
    Write a workbook of tables, one sheet each, behind a front that says what each is.

    Parameters
    ----------
    tables
        By name of the sheet.
    path
        File to write.
    title, subtitle
        Name of the district; what the workbook is.
    answers
        Sheet -> what it answers; every sheet needs one.
    charts
        Drawn on a sheet of their own behind the front.
    """
    with workbook(path, "Loamhaul tables") as (book, formats):
        front = book.add_worksheet(FRONT)
        printed: dict[str, Printed] = {}
        if charts:
            sheet = book.add_worksheet(CHARTS)
            printed[CHARTS] = write_charts(book, sheet, charts, formats, title)
        for name, table in tables.items():
            sheet = book.add_worksheet(name)
            printed[name] = write_sheet(sheet, table, formats, title)
        told = {name: answers[name] for name in printed}
        write_front(front, Front(title, subtitle, answers=told), printed, formats)


def write_workbook(result: Result, path: Path) -> None:
    """Write plan.xlsx at `path`."""
    settings = result.scenario.settings
    answers = {CHARTS: "The plan at a glance, month by month"}
    for name, make in TABLES.items():
        answers[name] = (make.__doc__ or "").strip().splitlines()[0].rstrip(".")
    with workbook(path, "Loamhaul plan") as (book, formats):
        front, charts = book.add_worksheet(FRONT), book.add_worksheet(CHARTS)
        printed = {
            CHARTS: write_charts(
                book, charts, plan_charts(result), formats, settings.name
            )
        }
        made = tables(result)
        for name, table in made.items():
            sheet = book.add_worksheet(name)
            whole = name in WHOLE
            printed[name] = write_sheet(
                sheet, table, formats, settings.name, whole=whole
            )
            if name == LINEAGE:
                _live(sheet, table, formulas(result, made), formats)
        write_front(
            front,
            Front(
                settings.name,
                "Compost yards and haulage: plan for one year",
                [settings.story] if settings.story else [],
                key_figures(result),
                answers,
                {code: f"'{LINEAGE}'!A{row}" for row, code in _rows(made[LINEAGE])},
            ),
            printed,
            formats,
        )


def _rows(lineage: pd.DataFrame) -> Iterator[tuple[int, str]]:
    """Row of each figure on its sheet, counted from 1, and its code."""
    return enumerate(lineage["code"].tolist(), start=2)


def _live(
    sheet: Any, table: pd.DataFrame, formulas: list[str], formats: Formats
) -> None:
    """Put the formula over the other sheets in place of each figure's value."""
    column = list(table.columns).index(VALUE)
    values = table[VALUE].tolist()
    for row, (formula, value) in enumerate(zip(formulas, values, strict=True), start=1):
        if LONG_TEXT.search(formula):  # a spreadsheet would refuse it
            continue
        style = number_format("", pd.Series([value]))
        known = value if math.isfinite(value) else ""
        sheet.write_formula(row, column, formula, formats[style], known)
