"""Files to sheets: each kind by its own reader."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from logistics.bringing.geo_files import DRIVERS, read_geodata
from logistics.bringing.sheets import ReadSheet, unread
from logistics.bringing.text_files import read_text
from logistics.bringing.workbook_files import read_ods, read_workbook

TEXTS = {".csv", ".tsv", ".txt"}
KINDS = ".xlsx .xlsm .ods .csv .tsv .txt .gpx .kml .kmz .geojson .gpkg .shp"
BOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
SAVE_AS = "Open it in a spreadsheet program and save it as .xlsx"


def read_file(path: Path, encodings: Mapping[str, str]) -> list[ReadSheet]:
    """
    Read all tables that a file holds.

    Parameters
    ----------
    path
        The file; it is only read.
    encodings
        Encodings that the recipe gives, by name of the file.

    Raises
    ------
    ScenarioError
        If nothing can be brought in from it.
    OSError
        If it cannot be opened.
    """
    kind = path.suffix.lower()
    if kind in DRIVERS:
        return read_geodata(path)
    if kind in {".xls", ".xlsb", ".numbers"}:
        raise unread(path.name, "is a kind of workbook that is not read", SAVE_AS)
    if kind not in TEXTS | {".xlsx", ".xlsm", ".ods"}:
        raise unread(path.name, "is of no kind that is read", f"Give {KINDS}")
    data = path.read_bytes()
    if kind in TEXTS:
        if data.startswith(BOOKS):
            raise unread(path.name, "is a workbook, not text", SAVE_AS)
        return [read_text(data, path.name, encodings.get(path.name, ""))]
    if not data.startswith(BOOKS[0]):
        raise unread(path.name, "is not a workbook of its kind", SAVE_AS)
    return (
        read_ods(data, path.name) if kind == ".ods" else read_workbook(data, path.name)
    )
