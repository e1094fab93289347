"""
Files dropped in to be brought in: kept in a private folder until somebody decides.

The folder lies among the computer's passing files, can be read by its owner alone, and
is taken away when the tables are written, when the drop is put aside, when too many
wait, and when the desk closes.
"""

from __future__ import annotations

import secrets
import shutil
import tempfile
import threading
from dataclasses import dataclass, field
from pathlib import Path

from maps.desk.archive import ZipFault
from maps.desk.shelf import NotThere

MOST_DROPS = 8
"""Drops that wait at once; one more takes the place of the oldest."""
MOST_FILES = 20
MOST_BYTES = 200_000_000
"""Of all files of a drop. [byte]"""
ENDINGS = frozenset(
    (
        *(".xlsx", ".xlsm", ".ods", ".csv", ".tsv", ".txt", ".gpx", ".kml", ".kmz"),
        *(".geojson", ".json", ".gpkg", ".pbf", ".osm", ".zip"),
    )
)
"""Files that may be dropped in; a shapefile comes in a ZIP file."""
SHAPE = frozenset(
    (".shp", ".shx", ".dbf", ".prj", ".cpg", ".qpj", ".sbn", ".sbx", ".qix", ".xml")
)
"""Files that a ZIP file with shapefiles may hold."""


@dataclass(frozen=True)
class Drop:
    """
    Files that were dropped in together.

    Attributes
    ----------
    code
        Its part of the address.
    folder
        Holds `files`, and what was proposed of them.
    turn
        Held by whoever reads or writes the proposal: a page may be asked for twice.
    """

    code: str
    folder: Path
    turn: threading.RLock = field(default_factory=threading.RLock, compare=False)

    @property
    def files(self) -> Path:
        """Folder of the files as they came."""
        return self.folder / "files"

    def place(self, name: str) -> Path:
        """
        Return where a file of a name goes.

        Raises
        ------
        ZipFault
            If there is one already, or there are too many.
        """
        there = [path.name.casefold() for path in self.files.iterdir()]
        if name.casefold() in there:
            message = "was dropped twice. Give one of them another name"
            raise ZipFault(message)
        if len(there) >= MOST_FILES:
            message = f"is one too many: {MOST_FILES} files are the most at once"
            raise ZipFault(message)
        return self.files / name

    def check_size(self) -> None:
        """
        Hold the files that are there, the one that just comes too, to the limit.

        Raises
        ------
        ZipFault
            If they are larger together.
        """
        if sum(path.stat().st_size for path in self.files.iterdir()) > MOST_BYTES:
            message = f"is too much: {MOST_BYTES / 1e6:g} MB are the most at once"
            raise ZipFault(message)


class Drops:
    """The drops that wait, each in a folder of its own."""

    def __init__(self) -> None:
        self._held: dict[str, Drop] = {}
        self._turn = threading.Lock()

    def new(self) -> Drop:
        """Make a drop; the oldest gives way where there are too many."""
        folder = Path(tempfile.mkdtemp(prefix="loamhaul-drop-"))
        made = Drop(secrets.token_hex(8), folder)
        made.files.mkdir()
        with self._turn:
            self._held[made.code] = made
            old = list(self._held)[:-MOST_DROPS]
        for code in old:
            self.end(code)
        return made

    def at(self, code: str) -> Drop:
        """
        Return a drop.

        Raises
        ------
        NotThere
            If there is none, or none any more.
        """
        with self._turn:
            if code not in self._held:
                message = "drop of files, or it was put aside,"
                raise NotThere(message)
            return self._held[code]

    def end(self, code: str) -> None:
        """Take a drop away with all its files."""
        with self._turn:
            held = self._held.pop(code, None)
        if held is not None:
            shutil.rmtree(held.folder, ignore_errors=True)

    def close(self) -> None:
        """Take all away."""
        for code in list(self._held):
            self.end(code)
