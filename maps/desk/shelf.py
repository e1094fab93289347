"""
The opened folder: the scenarios in it, and paths that may not leave it.

Names from addresses are never joined to a path before they have been found in the
folder's own listing, and every path is looked at again after links are followed.
"""

from __future__ import annotations

import os
import re
import sys
from dataclasses import dataclass
from pathlib import Path

SETTINGS_FILE = "scenario.toml"
PLANS = "plans"
"""Folder of the plan book in a scenario."""
STUDIES = "studies"
"""Folder of the studies, which are kept as plans are."""
DRAFTS = ".draft"
"""Folder of edits that are not saved yet, a journal a table."""
LONGEST_NAME = 80
"""Of a scenario's folder. [letter]"""
DEVICES = re.compile(
    r"(con|prn|aux|nul|clock\$|conin\$|conout\$|com[0-9¹²³]|lpt[0-9¹²³])(\..*)?",
    re.IGNORECASE,
)
"""Names that some systems take for devices, with any ending."""
STRANGE = re.compile(r'[\x00-\x1f\x7f<>:"/\\|?*]')
"""Signs that no name of a file may have on some system."""


class NameFault(ValueError):
    """A name that cannot be a file's or folder's on every system."""


class NotThere(LookupError):
    """There is no such scenario, plan or file in the opened folder."""


def edits_wait(scenario: Path) -> bool:
    """Whether a scenario has edits that are not saved to its tables yet."""
    return any((scenario / DRAFTS).glob("*.jsonl"))


def safe_name(name: str) -> str:
    """
    Return a name of one file or folder as it is, if it may be one on every system.

    Raises
    ------
    NameFault
        If it climbs, is a device, is hidden, is too long or has strange signs.

    Examples
    --------
    >>> safe_name("North district 2027")
    'North district 2027'
    >>> safe_name("con.csv")
    Traceback (most recent call last):
    maps.desk.shelf.NameFault: 'con.csv' is the name of a device. Choose another name
    """
    shown = repr(name[:LONGEST_NAME])
    if not name.strip():
        message = "A name is needed. Write one"
        raise NameFault(message)
    if len(name) > LONGEST_NAME or len(name.encode()) > 2 * LONGEST_NAME:
        message = f"{shown} … is too long. Use {LONGEST_NAME} letters at most"
        raise NameFault(message)
    if STRANGE.search(name) or name != name.strip():
        message = f"{shown} holds signs that no file name may. Use letters and digits"
        raise NameFault(message)
    if name.startswith((".", "~")) or name.endswith("."):
        message = f"{shown} begins or ends with a point. Choose another name"
        raise NameFault(message)
    if DEVICES.fullmatch(name):
        message = f"{shown} is the name of a device. Choose another name"
        raise NameFault(message)
    return name


def inside(base: Path, relative: str) -> Path:
    """
    Return a file below a folder; no link on the way may lead anywhere.

    Raises
    ------
    NotThere
        If there is no such file, or the way to it leaves the folder.
    """
    place = base
    for part in relative.split("/"):
        try:
            place = place / safe_name(part)
        except NameFault as fault:
            raise NotThere(relative) from fault
        if _is_link(place):
            raise NotThere(relative)
    if not place.is_file():
        raise NotThere(relative)
    return place


def _is_link(path: Path) -> bool:
    """Whether a path is a link or a junction."""
    return path.is_symlink() or path.is_junction()


@dataclass(frozen=True)
class Shelf:
    """
    The opened folder.

    Attributes
    ----------
    folder
        It, or the folder around it if a single scenario was opened. No link.
    only
        Name of the scenario if a single one was opened.
    """

    folder: Path
    only: str | None = None

    def names(self) -> list[str]:
        """Names of all scenarios, in the order of the alphabet."""
        if self.only is not None:
            return [self.only]
        with os.scandir(self.folder) as entries:
            found = [one.name for one in entries if _may_be(one)]
        return sorted(found, key=str.casefold)

    def scenario(self, name: str) -> Path:
        """
        Return the folder of a scenario.

        Raises
        ------
        NotThere
            If there is none of that name.
        """
        if name not in self.names():
            raise NotThere(name)
        return self.folder / name

    def free(self, name: str) -> Path:
        """
        Return the folder of a new scenario; it is not made.

        Raises
        ------
        NameFault
            If it cannot be one, or is taken.
        """
        if self.only is not None:
            message = "Only one scenario is opened. Open the folder around it"
            raise NameFault(message)
        taken = {entry.casefold() for entry in os.listdir(self.folder)}
        if safe_name(name).casefold() in taken:
            message = f"There is a {name!r} already. Choose another name"
            raise NameFault(message)
        return self.folder / name


def _may_be(entry: os.DirEntry[str]) -> bool:
    """Whether an entry of the opened folder is the folder of a scenario."""
    try:
        safe_name(entry.name)
    except NameFault:
        return False
    path = Path(entry.path)
    return (
        entry.is_dir(follow_symlinks=False)
        and not _is_link(path)
        and (path / SETTINGS_FILE).is_file()
    )


def open_shelf(folder: Path | None) -> Shelf:
    """
    Open a scenario, a folder of scenarios, or the person's own, which is made.

    Raises
    ------
    OSError
        If there is no such folder.
    """
    if folder is None:
        own = documents() / "Loamhaul"
        own.mkdir(parents=True, exist_ok=True)
        return Shelf(own.resolve())
    if not folder.is_dir():
        message = f"There is no folder {folder}. Name a scenario or a folder of them"
        raise NotADirectoryError(message)
    whole = folder.resolve()
    if (whole / SETTINGS_FILE).is_file():
        return Shelf(whole.parent, safe_name(whole.name))
    return Shelf(whole)


def documents() -> Path:
    """Folder of the person's documents; the home folder where there is none."""
    home = Path.home()
    if sys.platform not in ("win32", "darwin"):
        told = Path(os.environ.get("XDG_CONFIG_HOME") or home / ".config")
        try:
            text = (told / "user-dirs.dirs").read_text(encoding="utf-8")
        except OSError:
            text = ""
        found = re.search(r'^XDG_DOCUMENTS_DIR="(.+)"', text, re.MULTILINE)
        if found:
            named = Path(found[1].replace("$HOME", str(home)))
            return named if named.is_dir() else home
    usual = home / "Documents"
    return usual if usual.is_dir() else home
