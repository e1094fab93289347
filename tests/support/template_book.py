"""The workbook of a new scenario, filled in as a planner would."""

import openpyxl

from logistics.scenario import new_scenario
from logistics.scenario.starter import PLACES


def filled_book(folder):
    """A new workbook in which the grey examples were made rows of one's own."""
    new_scenario(folder, "xlsx")
    book = openpyxl.load_workbook(folder / "tables.xlsx")
    for table in PLACES:
        for (cell,) in book[table].iter_rows(min_row=2, max_col=1):
            if cell.value:
                cell.value = cell.value.removeprefix("e.g. ")
    book.save(folder / "tables.xlsx")
    return folder
