"""
One table of a scenario as text: read to be edited, written back as it came.

Headings that are no columns, notes and blank rows are kept, so that a table edited
here and one edited in a spreadsheet program are the same file but for the edits.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from logistics.scenario.csv_reader import MAGIC, CsvForm, csv_bytes, csv_grid
from logistics.scenario.faults import Problem
from logistics.scenario.raw import EDGES, Grid, RawTable, raw_table
from logistics.scenario.schema import columns_of, plain_name, tables
from logistics.scenario.wide_calendar import long_form, period_places

MOST_ROWS, MOST_COLUMNS = 20_000, 200
PLAIN_CSV = CsvForm()
CSV_ENDINGS = (".csv", ".tsv")
BOOK_ENDINGS = (".xlsx", ".xlsm")


@dataclass(frozen=True, eq=False)
class TableText:
    """
    One table as text.

    Attributes
    ----------
    table
        Its name in `columns.csv`.
    path, sheet
        File that holds it or would hold it; sheet of a workbook, else empty.
    heading_row
        Row of the headings as a spreadsheet counts.
    headings, rows
        Texts as they stand in the file, every row as long as the headings.
    stored
        For each row, the positions of cells that hold numbers and no text.
    form
        How the file is written, for CSV.
    view_only
        Why it cannot be edited here; empty if it can.
    """

    table: str
    path: Path
    sheet: str = ""
    heading_row: int = 1
    headings: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    stored: tuple[frozenset[int], ...] = ()
    form: CsvForm = PLAIN_CSV
    view_only: str = ""

    @property
    def label(self) -> str:
        """What faults call the file."""
        if self.sheet:
            return f"{self.path.name} sheet '{self.sheet}'"
        return self.path.name

    @cached_property
    def stamp(self) -> str:
        """Digest of headings and rows: the same only if no text differs."""
        text = json.dumps([self.headings, self.rows], ensure_ascii=True)
        return hashlib.sha256(text.encode("ascii")).hexdigest()[:32]

    def raw(self) -> tuple[RawTable | None, list[Problem]]:
        """Recognise the headings and drop what is blank, as for a file."""
        first = self.heading_row
        grid: list[tuple[int, Sequence[str]]] = [(first, self.headings)]
        grid += list(enumerate(self.rows, start=first + 1))
        numbers = frozenset(
            (first + 1 + row, place)
            for row, places in enumerate(self.stored)
            for place in places
        )
        return raw_table(self.table, self.label, grid, numbers=numbers)


def table_texts(folder: Path) -> dict[str, TableText]:
    """
    Read every table of a folder as text.

    Returns
    -------
    dict
        Table -> its text, for all tables of `columns.csv`: a table that no file holds
        has no rows and the file it would be written to.
    """
    found: dict[str, list[TableText]] = {}
    for path in sorted(folder.iterdir()):
        if not path.name.startswith((".", "~")) and path.is_file():
            for text in _texts_of(path):
                found.setdefault(text.table, []).append(text)
    return {table: _one(folder, table, found.get(table, [])) for table in tables()}


def _one(folder: Path, table: str, texts: list[TableText]) -> TableText:
    """Return the only text of a table; of two that have rows neither can be edited."""
    full = [text for text in texts if text.rows or text.view_only] or texts[:1]
    if not full:
        headings = tuple(c.name for c in columns_of(table) if c.required)
        return TableText(table, folder / f"{table}.csv", headings=headings)
    if len(full) > 1:
        both = " and ".join(text.label for text in full)
        why = f"This table is in {both}: keep one and move the other away."
        return TableText(table, full[0].path, view_only=why)
    return full[0]


def _texts_of(path: Path) -> list[TableText]:
    """Texts of the tables that a file holds."""
    ending, table = path.suffix.lower(), plain_name(path.stem)
    if path.is_symlink():
        why = f"{path.name} is a link to another place: put the file itself here."
        named = table in tables() and ending in CSV_ENDINGS
        return [TableText(table, path, view_only=why)] if named else []
    if ending in CSV_ENDINGS and table in tables():
        return [_csv_text(path, table)]
    if ending in BOOK_ENDINGS:
        from logistics.scenario.xlsx_editor import sheet_grids

        return [
            text_of(plain_name(sheet), path, grid, sheet=sheet, stored=stored)
            for sheet, grid, stored in sheet_grids(path)
        ]
    if ending == ".gpkg":
        from logistics.scenario.gpkg_reader import layer_tables

        why = f"This table is a layer of {path.name}: edit it in the map program that "
        why += "made it, or save it as CSV."
        return [TableText(name, path, view_only=why) for name in layer_tables(path)]
    return []


def _csv_text(path: Path, table: str) -> TableText:
    data = path.read_bytes()
    read = None if data.startswith(tuple(MAGIC)) else csv_grid(data, table)
    if read is None:
        why = f"{path.name} cannot be read as CSV: save the table again from the "
        return TableText(table, path, view_only=why + "spreadsheet program.")
    return text_of(table, path, read[0], form=read[1])


def text_of(
    table: str,
    path: Path,
    grid: Grid,
    *,
    sheet: str = "",
    form: CsvForm = PLAIN_CSV,
    stored: Mapping[int, frozenset[int]] | None = None,
) -> TableText:
    """
    Make a table's text of the rows of its file; rows left out are blank.

    A calendar with a column a period gets a row a period, here and when it is saved.
    """
    lines = {row: [cell.strip(EDGES) for cell in cells] for row, cells in grid}
    lines = {row: cells for row, cells in lines.items() if any(cells)}
    if not lines:
        headings = tuple(c.name for c in columns_of(table) if c.required)
        return TableText(table, path, sheet, headings=headings, form=form)
    first = min(lines)
    if table == "calendar" and period_places(lines[first]):
        rows, _, _ = long_form(sorted(lines.items()))
        lines = {first + down: cells for down, (_, cells) in enumerate(rows)}
        stored = None
    last = max(lines)
    width = max(_filled(cells) for cells in lines.values())
    if last - first > MOST_ROWS or width > MOST_COLUMNS:
        why = f"This table has more than {MOST_ROWS:,} rows or {MOST_COLUMNS} columns: "
        return TableText(
            table, path, sheet, view_only=why + "edit it in the program that made it."
        )
    whole = [_padded(lines.get(row, []), width) for row in range(first, last + 1)]
    marks = stored or {}
    kept = tuple(marks.get(row, frozenset()) for row in range(first + 1, last + 1))
    return TableText(table, path, sheet, first, whole[0], tuple(whole[1:]), kept, form)


def _filled(cells: Sequence[str]) -> int:
    return max((place + 1 for place, cell in enumerate(cells) if cell), default=0)


def _padded(cells: Sequence[str], width: int) -> tuple[str, ...]:
    short = list(cells[:width])
    return tuple(short + [""] * (width - len(short)))


def table_file(text: TableText, *others: TableText) -> bytes:
    """
    Return the whole file that holds a table, or some of a workbook, with these texts.

    A workbook keeps its other sheets as they are on the disk now; formulas in sheets
    that are tables become the results they had, as those of a changed row would be
    wrong until a spreadsheet program reckons them anew.
    """
    if text.sheet:
        from logistics.scenario.xlsx_editor import edited_book

        sheets = {one.sheet: _lines(one) for one in (text, *others)}
        return edited_book(text.path, sheets)
    return csv_bytes(_lines(text), text.form)


def _lines(text: TableText) -> list[tuple[str, ...]]:
    """Return all rows of a file or sheet, blank ones above the headings too."""
    above: list[tuple[str, ...]] = [()] * (text.heading_row - 1)
    return [*above, text.headings, *text.rows]
