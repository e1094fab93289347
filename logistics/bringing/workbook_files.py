"""Workbooks: values only, nothing is run and no link is followed."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterable, Mapping
from xml.etree import ElementTree

from logistics.bringing.packed import AGAIN, opened, remarks
from logistics.bringing.sheets import ReadSheet, unread
from logistics.scenario import book_sheets, plain_number

OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
MOST_REPEATED = 10_000
EDGES = " \t\r\n\xa0\u200b\ufeff"
Cell = tuple[int, int]


def read_workbook(data: bytes, file: str) -> list[ReadSheet]:
    """
    Read the sheets of an XLSX or XLSM workbook.

    Raises
    ------
    ScenarioError
        If it is damaged, too large, or not to be read without harm.
    """
    with opened(data, file) as packed:
        if "[Content_Types].xml" not in packed.namelist():
            raise unread(file, "is not a workbook", AGAIN)
        said = remarks(packed)
    try:
        sheets = book_sheets(data)
    except Exception as error:  # openpyxl raises almost anything on a damaged workbook
        why = f"cannot be opened as a workbook ({type(error).__name__})"
        raise unread(file, why, AGAIN) from None
    found = []
    for sheet in sheets:
        at = {row: position for position, (row, _) in enumerate(sheet.grid)}
        words = [*said, *_formulas(sheet.formulas)]
        words += ["is a hidden sheet"] if sheet.hidden else []
        found.append(
            ReadSheet(
                file,
                sheet.name,
                [[text.strip(EDGES) for text in cells] for _, cells in sheet.grid],
                [row for row, _ in sheet.grid],
                frozenset(_inside(sheet.numbers, at)),
                {(at[r], p): (at[top], left)
                 for (r, p), (top, left) in sheet.spans.items()
                 if r in at and top in at},
                frozenset(_inside(sheet.uncounted, at)),
                tuple(words),
            )
        )  # fmt: skip
    return found


def _inside(cells: Iterable[Cell], at: Mapping[int, int]) -> set[Cell]:
    return {(at[row], place) for row, place in cells if row in at}


def read_ods(data: bytes, file: str) -> list[ReadSheet]:
    """
    Read the sheets of an ODS workbook.

    The stored value counts and not the text shown, which rounds. That a number is a
    percentage stands beside it; readers of data frames drop that, so that 12 % and 0.12
    would be the same, and is why this does not go through one.

    Raises
    ------
    ScenarioError
        If it is damaged, too large, or not to be read without harm.
    """
    with opened(data, file) as packed:
        said = tuple(remarks(packed))
        try:
            root = ElementTree.fromstring(packed.read("content.xml"))
        except (KeyError, ElementTree.ParseError, zipfile.BadZipFile) as error:
            raise unread(file, f"is not an ODS workbook ({error})", AGAIN) from None
    return [_ods_sheet(table, file, said) for table in root.iter(f"{TABLE}table")]


def _ods_sheet(
    table: ElementTree.Element, file: str, said: tuple[str, ...]
) -> ReadSheet:
    rows: list[list[str]] = []
    numbers: list[int] = []
    stored: set[Cell] = set()
    spans: dict[Cell, Cell] = {}
    open_spans: list[tuple[int, int, int, int, Cell]] = []
    number = formulas = 0
    for line in table.iter(f"{TABLE}table-row"):
        again = int(line.get(f"{TABLE}number-rows-repeated", "1"))
        texts, marks, areas, found = _ods_row(line)
        formulas += found
        if not any(texts):
            number += again
            continue
        for _ in range(min(again, MOST_REPEATED)):
            number += 1
            position = len(rows)
            rows.append(texts)
            numbers.append(number)
            stored |= {(position, place) for place in marks}
            for place, high, wide in areas:
                top = (position, place)
                open_spans.append((number, number + high, place, place + wide, top))
            for first, end, left, right, top in open_spans:
                if first <= number < end:
                    spans |= {(position, p): top for p in range(left, right)
                              if (position, p) != top}  # fmt: skip
    name = table.get(f"{TABLE}name", "")
    return ReadSheet(
        file,
        name,
        rows,
        numbers,
        frozenset(stored),
        spans,
        said=(*said, *_formulas(formulas)),
    )


def _ods_row(
    line: ElementTree.Element,
) -> tuple[list[str], set[int], list[tuple[int, int, int]], int]:
    """Texts of a row, places of numbers, merged areas (place, high, wide), formulas."""
    texts: list[str] = []
    marks: set[int] = set()
    areas = []
    formulas = 0
    for cell in line:
        if cell.tag not in (f"{TABLE}table-cell", f"{TABLE}covered-table-cell"):
            continue
        again = int(cell.get(f"{TABLE}number-columns-repeated", "1"))
        text, is_number = _ods_cell(cell)
        formulas += f"{TABLE}formula" in cell.attrib
        high = int(cell.get(f"{TABLE}number-rows-spanned", "1"))
        wide = int(cell.get(f"{TABLE}number-columns-spanned", "1"))
        if high > 1 or wide > 1:
            areas.append((len(texts), high, min(wide, MOST_REPEATED)))
        if not text and again > 200:
            break
        for _ in range(min(again, MOST_REPEATED)):
            if is_number:
                marks.add(len(texts))
            texts.append(text)
    while texts and not texts[-1]:
        texts.pop()
    return texts, marks, areas, formulas


def _ods_cell(cell: ElementTree.Element) -> tuple[str, bool]:
    """Return the text of a cell and whether it holds a number."""
    kind = cell.get(f"{OFFICE}value-type", "")
    value = cell.get(f"{OFFICE}value", "")
    if kind == "percentage":
        return f"{float(value) * 100:.12g}%", True
    if kind in {"float", "currency"}:
        return plain_number(float(value)), True
    if kind == "date":
        return cell.get(f"{OFFICE}date-value", "")[:10], False
    if kind == "boolean":
        return {"true": "yes"}.get(cell.get(f"{OFFICE}boolean-value", ""), "no"), False
    parts = ["".join(part.itertext()) for part in cell.iter(f"{TEXT}p")]
    return re.sub(r"\s+", " ", " ".join(parts)).strip(EDGES), False


def _formulas(count: int) -> list[str]:
    """Say that formulas were read as their results, where there are any."""
    if not count:
        return []
    if count == 1:
        return ["has one formula, read as the result stored with it"]
    return [f"has {count} formulas, read as the results stored with them"]
