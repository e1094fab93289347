"""Pick lists of the starter workbook: codes of other sheets, words, yes and no."""

from __future__ import annotations

from typing import Any

from logistics.scenario.currency import is_money
from logistics.scenario.defaults import library, months
from logistics.scenario.schema import Column, keys_of, number_text

SHEET = "pick_lists"
"""Hidden sheet with the seasons, each once, and the feedstocks of the library."""
LAST_ROW = 2000
MOST_SEASONS = 60


def add_pick_list(sheet: Any, place: int, column: Column, last: int) -> None:
    """
    Let the cells of a column be picked from a list, if there is one.

    A word that the column does not know is refused; a code that no other sheet has is
    asked about, as the library's feedstocks may be used without a row.
    """
    if column.kind == "yes_no":
        source: Any = ["yes", "no"]
    elif column.kind == "choice":
        source = list(column.choices)
    elif column.kind == "code" and column.refers_to:
        source = _codes(column.refers_to)
    else:
        return
    words = column.kind != "code"
    sheet.data_validation(
        1,
        place,
        last,
        place,
        {
            "validate": "list",
            "source": source,
            "error_type": "stop" if words else "warning",
            "error_title": column.name,
            "error_message": (
                "Pick one from the list."
                if words
                else f"This code is not in the list: see {column.refers_to}."
            ),
        },
    )


def add_limits(sheet: Any, place: int, column: Column, last: int) -> None:
    """
    Ask about a number outside the limits of its column, as it is typed.

    Those of money follow the currency, so they are left to the check.
    """
    if column.kind not in {"number", "integer", "percent", "lon", "lat"}:
        return
    if column.low is None or column.high is None or is_money(column):
        return
    low, high = number_text(column.low), number_text(column.high)
    sheet.data_validation(
        1,
        place,
        last,
        place,
        {
            "validate": "integer" if column.kind == "integer" else "decimal",
            "criteria": "between",
            "minimum": column.low,
            "maximum": column.high,
            "error_type": "warning",
            "error_title": column.name[:32],
            "error_message": f"A number from {low} to {high} {column.unit}".rstrip(),
        },
    )


def _codes(table: str) -> Any:
    """Write the formula for a sheet's codes; the months, as periods may be blank."""
    if table == "periods":
        return months().frame["period"].tolist()
    if table == "materials":
        cells = f"{SHEET}!$B$2:$B${LAST_ROW}"
        return f"=OFFSET({SHEET}!$B$2,0,0,MAX(1,COUNTA({cells})),1)"
    if len(keys_of(table)) > 1:  # seasons, each once
        cells = f"{SHEET}!$A$2:$A${MOST_SEASONS}"
        filled = f'COUNTIF({cells},"?*")'
        return f"=OFFSET({SHEET}!$A$2,0,0,MAX(1,{filled}),1)"
    return f"=OFFSET({table}!$A$2,0,0,MAX(1,COUNTA({table}!$A$2:$A${LAST_ROW})),1)"


def add_lists(book: Any, seasons: list[str], materials: list[str]) -> None:
    """Add the hidden sheet that lists every season once, and the feedstocks."""
    sheet = book.add_worksheet(SHEET)
    sheet.hide()
    sheet.write(0, 0, "season")
    known = [str(code) for code in library("materials").frame["material"]]
    feedstocks = list(dict.fromkeys([*materials, *known]))
    sheet.write_column(0, 1, ["material", *feedstocks])
    calendar = f"calendar!$A$2:$A${LAST_ROW}"
    for row in range(1, MOST_SEASONS):
        above = f"$A$1:$A{row}"
        match = f'MATCH(0,COUNTIF({above},{calendar})+({calendar}=""),0)'
        shown = seasons[row - 1] if row <= len(seasons) else ""
        cell = f"A{row + 1}"
        formula = f'{{=IFERROR(INDEX({calendar},{match}),"")}}'
        sheet.write_array_formula(f"{cell}:{cell}", formula, None, shown)
