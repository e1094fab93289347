"""
A workbook from elsewhere: looked at as a ZIP file before anything reads it as a table.

Nothing in a workbook is ever run: cells are read as the values that stand in them.
"""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

from maps.desk.archive import PIECE, ZipFault, ZipLimits, checked, opened

LIMITS = ZipLimits(files=2_000, depth=8, whole=120_000_000, ratio=200.0)
MOST_ROWS, MOST_CELLS = 200_000, 3_000_000
"""Of all sheets together."""
TYPES = ("[Content_Types].xml", "xl/workbook.xml")
"""Files that every workbook holds."""
OVERLAP = 16
"""Bytes by which pieces overlap, so that no mark is cut in two."""


def check_workbook(path: Path, rows: int = MOST_ROWS, cells: int = MOST_CELLS) -> None:
    """
    See that a workbook may be read without harm.

    Parameters
    ----------
    path
        The file.
    rows, cells
        How many all sheets may have.

    Raises
    ------
    ZipFault
        If it is no workbook, is damaged, or holds too much.
    """
    with opened(path) as file:
        infos = checked(file, LIMITS, kinds=frozenset())
        names = {info.filename for info in infos}
        if not names.issuperset(TYPES):
            message = "is not a workbook"
            raise ZipFault(message)
        counted = {b"<row": 0, b"<c": 0}
        for info in infos:
            if info.filename.lower().endswith((".xml", ".rels")):
                _count(file, info, counted)
    for mark, most, what in ((b"<row", rows, "rows"), (b"<c", cells, "cells")):
        if counted[mark] > most:
            message = f"holds {counted[mark]:,} {what}; {most:,} are the most"
            raise ZipFault(message)


def _count(
    file: zipfile.ZipFile, info: zipfile.ZipInfo, counted: dict[bytes, int]
) -> None:
    """Count rows and cells of a part; entities, which may multiply, are refused."""
    in_sheet = info.filename.lower().startswith("xl/worksheets/")
    rest, left = b"", info.file_size
    try:
        with file.open(info) as packed:
            while piece := packed.read(PIECE):
                left -= len(piece)
                if left < 0:
                    message = "holds more than it says"
                    raise ZipFault(message)
                text = rest + piece
                if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
                    message = "holds definitions of its own, as no workbook needs"
                    raise ZipFault(message)
                for mark in counted if in_sheet else ():
                    found = len(re.findall(mark + rb"[\s/>]", text))
                    again = len(re.findall(mark + rb"[\s/>]", rest))
                    counted[mark] += found - again
                rest = text[-OVERLAP:]
    except (zipfile.BadZipFile, EOFError, ValueError) as error:
        if isinstance(error, ZipFault):
            raise
        message = f"is damaged at {info.filename!r} ({error})"
        raise ZipFault(message) from None
