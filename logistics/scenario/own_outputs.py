"""Workbooks and GeoPackages that Loamhaul wrote as outputs: never read as tables."""

from __future__ import annotations

import re
import sqlite3
import zipfile
from contextlib import closing
from pathlib import Path

from logistics.scenario.faults import Problem
from logistics.scenario.raw import Remark

CHECK = "own_output"
TITLE = re.compile(rb"<dc:title>Loamhaul [a-z]")
"""How every workbook of outputs names itself, since version 0.1.0."""
LAYERS = {"lanes", "yards", "sources", "markets"}
"""Layers of `plan.gpkg`; there is no table of lanes."""
CORE, MOST_BYTES = "docProps/core.xml", 100_000


def own_output(path: Path) -> bool:
    """
    Tell whether a file is an output of Loamhaul, of this or an older version.

    Parameters
    ----------
    path
        A workbook or GeoPackage. What cannot be opened is none: its reader says why.
    """
    if not path.is_file():
        return False
    try:
        return _titled(path) if path.suffix.lower() == ".xlsx" else _with_lanes(path)
    except (OSError, ValueError, KeyError, zipfile.BadZipFile, sqlite3.Error):
        return False


def _titled(path: Path) -> bool:
    """Whether a workbook bears the title of an output."""
    with zipfile.ZipFile(path) as book, book.open(CORE) as core:
        return TITLE.search(core.read(MOST_BYTES)) is not None


def _with_lanes(path: Path) -> bool:
    """Whether a GeoPackage has the layers of a plan, lanes among them."""
    address = f"{path.absolute().as_uri()}?mode=ro&immutable=1"
    with closing(sqlite3.connect(address, uri=True)) as book:
        rows = book.execute("SELECT table_name FROM gpkg_contents LIMIT 100").fetchall()
    return {str(name) for (name,) in rows} >= LAYERS


def not_read(path: Path) -> Remark:
    """Say that an output beside the tables is not read."""
    why = "is an output of Loamhaul, not a table, and is not read"
    remedy = "Move it to another folder, such as out"
    return Remark(CHECK, Problem(path.name, None, "", None, why, remedy))
