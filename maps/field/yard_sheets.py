"""Yard sheets: what a foreman needs for a period, on three pages to print."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from logistics.rounds import arrivals
from maps.field.pile_corrections import correction_table
from maps.field.yard_month import Month, month_of
from maps.field.yard_sheet_parts import (
    arrival_table,
    calendar,
    log_table,
    mix_table,
    windrow_table,
)
from maps.field.yard_sheet_words import (
    cautions,
    cover_lines,
    product_lines,
    rule_lines,
    water_lines,
    zone_lines,
)
from maps.report import Heading, Piece, Words
from maps.shared import STATIC, amount, names, render, united, whole_set

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds import Driven

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds import Driven

FOOTER = (
    "Planned from tables, not measured. Cautions and advice that name no work: common "
    "practice, no source. Local codes and licensed practice decide."
)


def sheets(
    result: Result,
    period: str,
    driven: Driven | None = None,
    yards: list[str] | None = None,
) -> dict[str, str]:
    """
    Write the sheets of a period.

    Parameters
    ----------
    result
        A planned scenario.
    period
        Code of the period.
    driven
        Its rounds, where they were planned.
    yards
        Codes of the yards wanted; all open ones if left out.

    Returns
    -------
    dict
        Code of the yard -> HTML of one to three pages.
    """
    coming = arrivals(result, period, driven)
    wanted = list(result.plan.yards["yard"]) if yards is None else yards
    return {
        code: page(month_of(result, code, period, coming, rounds=driven is not None))
        for code in map(str, wanted)
    }


def page(month: Month) -> str:
    """Write one sheet."""
    first, lack = cover_lines(month)
    one: list[Piece] = [
        arrival_table(month),
        mix_table(month),
        correction_table(month),
        Words([*water_lines(month), *product_lines(month)]),
    ]
    two: list[Piece] = [
        windrow_table(month),
        calendar(month),
        Words([*zone_lines(month), *rule_lines(month)]),
    ]
    three: list[Piece] = [
        log_table(),
        Heading("Cautions"),
        Words(cautions(month), "•"),
    ]
    basis = (
        "Loads are from the rounds of this period."
        if month.rounds
        else "Loads are from the plan, spread over the working days: no rounds planned."
    )
    return render(
        "yardsheet.html.j2",
        more_style=(STATIC / "yardsheet.css").read_text(encoding="utf-8"),
        name=month.result.scenario.settings.name,
        yard=names(month.result, "yard")[month.yard],
        period=names(month.result, "period")[month.period],
        basis=basis,
        figures=figures(month),
        first=first,
        lack=lack,
        pages=[
            ("Loads and mix", one),
            ("Windrows", two),
            ("Log and cautions", three),
        ],
        footer=FOOTER,
    )


def figures(month: Month) -> list[tuple[str, str]]:
    """Four figures for the head of the sheet."""
    if month.mix is None:
        return [("Into windrows", "nothing this period")]
    last = month.built.iloc[-1]
    built = f"{len(month.built)} × {amount(last['length_m'])} m"
    return [
        ("Into windrows", united(month.mix["charge_t"], "t")),
        ("Water when building", united(month.mix["water_t"], "m³")),
        ("Windrows to build", built),
        ("Compost from them", united(month.mix["product_t"], "t")),
    ]


def file_name(yard: str, period: str) -> str:
    """
    Name the file of a sheet.

    >>> file_name("yard_d3", "m04")
    'm04_yard_d3.html'
    """
    return f"{period}_{yard}.html"


def write_all(result: Result, periods: list[str], yards: list[str], out: Path) -> Path:
    """Write the sheets into `out/yard_sheets`, in place of older ones."""
    folder = out / "yard_sheets"
    with whole_set(folder, "sheets") as fresh:
        for period in periods:
            write_sheets(result, period, fresh, yards=yards)
    return folder


def write_sheets(
    result: Result,
    period: str,
    folder: Path,
    driven: Driven | None = None,
    yards: list[str] | None = None,
) -> None:
    """Write the sheets of a period into a folder that is there."""
    for code, page in sheets(result, period, driven, yards).items():
        path = folder / file_name(code, period)
        path.write_text(page, encoding="utf-8", newline="\n")
