"""The front of a workbook: what it is, key figures, and what each sheet answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from logistics.scenario import Printed, set_page
from maps.tables.sheet import LINE_POINTS, ROW_POINTS, Formats, lines, write_cell

if TYPE_CHECKING:
    from maps.shared import Figure

WIDTHS = (22.0, 12.0, 50.0, 19.0)
"""Columns: name, number, words, what prints. [digits]"""
LONG = (
    "Print the whole workbook as it is: about {pages} pages of A4. Long sheets, meant "
    "for filtering on screen, print only their start ({count} of them, see below); "
    "clear a sheet's print area to print all of it."
)
WHOLE = "Print the whole workbook as it is: about {pages} pages of A4."


@dataclass(frozen=True)
class Front:
    """
    What stands on the front of a workbook.

    Attributes
    ----------
    title, subtitle
        Name of the district or study; what the workbook is.
    notes
        Sentences below them.
    figures
        Key figures.
    answers
        Sheet -> what it answers.
    origins
        Code of a key figure -> cell that says where it comes from, as 'sheet'!A1.
    """

    title: str
    subtitle: str
    notes: Sequence[str] = ()
    figures: Sequence[Figure] = ()
    answers: dict[str, str] = field(default_factory=dict)
    origins: dict[str, str] = field(default_factory=dict)


def write_front(
    sheet: Any, front: Front, printed: dict[str, Printed], formats: Formats
) -> None:
    """Write the front; `printed` has every other sheet of the workbook, in order."""
    whole = sum(WIDTHS)
    heights = [24.0, ROW_POINTS]
    for column, width in enumerate(WIDTHS):
        sheet.set_column(column, column, width)
    sheet.write_string(0, 0, front.title, formats["title"])
    sheet.write_string(1, 0, front.subtitle, formats["bold"])
    row = 2
    count = sum(one.rows < one.of for one in printed.values())
    pages = sum(one.pages for one in printed.values()) + 1
    how = (LONG if count else WHOLE).format(pages=pages, count=count)
    for note in [*front.notes, how]:
        tall = lines(note, whole * 0.98) * LINE_POINTS + 3
        sheet.merge_range(row, 0, row, len(WIDTHS) - 1, "", formats["note"])
        sheet.write_string(
            row, 0, note, formats["note"]
        )  # text, whatever it begins with
        sheet.set_row(row, tall)
        heights.append(tall)
        row += 1
    row += 1
    for figure in front.figures:
        sheet.write_string(row, 0, figure.label, formats["text"])
        if isinstance(figure.value, str):
            sheet.write_string(row, 1, figure.value, formats["bold"])
        else:
            size = abs(figure.value)
            style = "big" if size >= 100 else "small" if size >= 10 else "fine"
            write_cell(sheet, row, 1, figure.value, style, formats)
        if figure.unit:
            sheet.write_string(row, 2, figure.unit, formats["text"])
        if cell := front.origins.get(figure.code):
            link = f"internal:{cell}"
            sheet.write_url(row, 3, link, formats["link"], string="where from")
        row += 1
    row += bool(front.figures)
    for column, head in enumerate(("Sheet", "Rows", "What it answers", "Prints")):
        look = formats["head_number" if head == "Rows" else "head"]
        sheet.write_string(row, column, head, look)
    heights += [ROW_POINTS] * (row + 1 - len(heights))
    for name, one in printed.items():
        row += 1
        what = front.answers.get(name, "")
        sheet.write_url(row, 0, f"internal:'{name}'!A1", formats["link"], string=name)
        if one.of:
            sheet.write_number(row, 1, one.of, formats["big"])
        sheet.write_string(row, 2, what, formats["wrap"])
        sheet.write_string(row, 3, one.words, formats["wrap"])
        tall = max(lines(what, WIDTHS[2] - 2), lines(one.words, WIDTHS[3] - 2))
        heights.append(max(tall * LINE_POINTS + 1.5, ROW_POINTS))
        sheet.set_row(row, heights[-1])
    set_page(sheet, WIDTHS, heights, front.title, head=0, one=True)
