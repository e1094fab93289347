"""Workbooks that would hang or fill the memory: told at once, or made lean."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path
from typing import IO

from logistics.scenario.faults import Problem

MOST_BYTES = 400_000_000
"""Of one part of a workbook, unpacked; 200,000 rows of sources take 60 million."""
MOST_MERGED = 100_000
"""Cells that the merged ranges of a sheet may cover."""
DEEPEST = 100
"""Elements inside each other; a sheet has seven."""
LEAN_FROM = 2_000_000
"""Bytes of a sheet from which its empty styled cells are left out before reading."""
OLD = b"\xd0\xcf\x11\xe0"
STRICT = b"purl.oclc.org/ooxml"
SHEETS = "xl/worksheets/"
EMPTY_CELL = re.compile(rb"<c(?:\s[^<>]*)?(?:/>|>\s*</c>)")
EMPTY_ROW = re.compile(rb"<row(?:\s[^<>]*)?(?:/>|>\s*</row>)")
MERGED = re.compile(rb'<mergeCell\s+ref="([A-Z]+)(\d+):([A-Z]+)(\d+)"')
TAG = re.compile(rb"<(/?)[A-Za-z][^<>]*?(/?)>")


def unfit(path: Path) -> list[Problem]:
    """
    Say why a workbook cannot be read, by its first bytes and its parts.

    Parameters
    ----------
    path
        Workbook.

    Returns
    -------
    list of Problem
        One fault; none where it can be tried.
    """
    data = path.read_bytes()
    if data.startswith(OLD):
        locked = "EncryptedPackage".encode("utf-16-le") in data
        why = "is protected by a password" if locked else "is an old workbook (.xls)"
        remedy = "Save it without a password" if locked else "Save it as .xlsx"
        return [Problem(path.name, None, "", None, why, remedy)]
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            return _unfit_parts(path.name, parts)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError):
        return []  # told as what cannot be opened


def _unfit_parts(name: str, parts: zipfile.ZipFile) -> list[Problem]:
    for part in parts.infolist():
        if part.file_size > MOST_BYTES:
            why = f"would unpack to {part.file_size / 1e6:,.0f} million bytes"
            remedy = "Save the sheets with the tables alone"
            return [Problem(name, None, "", None, why, remedy)]
    names = parts.namelist()
    book = parts.read("xl/workbook.xml") if "xl/workbook.xml" in names else b""
    if STRICT in book:
        why = "is saved as Strict Open XML, which few programs read"
        remedy = "Save it as Excel Workbook (.xlsx)"
        return [Problem(name, None, "", None, why, remedy)]
    for part_name in names:
        if part_name.startswith(SHEETS) and part_name.endswith(".xml"):
            found = too_much_merged(parts.read(part_name))
            if found:
                why = f"{found} in sheet {_sheet_name(parts, part_name)!r}"
                remedy = "Unmerge them and write a value in each cell"
                return [Problem(name, None, "", None, why, remedy)]
        elif part_name.endswith("sharedStrings.xml") and _deep(parts.read(part_name)):
            why = f"nests its texts more than {DEEPEST} deep"
            remedy = "Save it again from the spreadsheet"
            return [Problem(name, None, "", None, why, remedy)]
    return []


def too_much_merged(sheet: bytes) -> str:
    """Say that a sheet merges too many cells; nothing where it does not."""
    total, first = 0, ""
    for left, top, right, bottom in MERGED.findall(sheet):
        wide = _column(right) - _column(left) + 1
        total += wide * (int(bottom) - int(top) + 1)
        first = first or f"{(left + top).decode()}:{(right + bottom).decode()}"
    if total <= MOST_MERGED:
        return ""
    return f"has {total:,} merged cells, {MOST_MERGED:,} are the most (first: {first})"


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters[:3]:
        number = number * 26 + letter - 64
    return number


def _deep(text: bytes) -> bool:
    """Whether elements stand inside each other deeper than any sheet needs."""
    depth = 0
    for close, alone in TAG.findall(text):
        depth += -1 if close else 0 if alone else 1
        if depth > DEEPEST:
            return True
    return False


def _sheet_name(parts: zipfile.ZipFile, part_name: str) -> str:
    """Return the name of the sheet that a part holds, else that of the part."""
    try:
        links = parts.read("xl/_rels/workbook.xml.rels").decode("utf-8", "replace")
        book = parts.read("xl/workbook.xml").decode("utf-8", "replace")
    except KeyError:
        return part_name
    file = re.escape(part_name.rpartition("/")[2])
    for link in re.findall(r"<Relationship\s[^>]*>", links):
        number = re.search(r'\bId="([^"]+)"', link)
        if number and re.search(rf'Target="[^"]*\b{file}"', link):
            for sheet in re.findall(r"<sheet\s[^>]*>", book):
                named = re.search(r'\bname="([^"]*)"', sheet)
                if named and f'"{number[1]}"' in sheet:
                    return named[1]
    return part_name


def lean(path: Path) -> Path | IO[bytes]:
    """
    Return a workbook without the empty cells and rows that only have a style.

    A sheet that was formatted to its end has a million of them, none a table's.
    """
    with zipfile.ZipFile(path) as parts:
        large = {
            part.filename
            for part in parts.infolist()
            if part.filename.startswith(SHEETS) and part.file_size > LEAN_FROM
        }
        if not large:
            return path
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as copy:
            for part in parts.infolist():
                data = parts.read(part.filename)
                if part.filename in large:
                    data = EMPTY_ROW.sub(b"", EMPTY_CELL.sub(b"", data))
                copy.writestr(part.filename, data)
    out.seek(0)
    return out
