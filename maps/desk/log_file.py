"""A log of a scenario: a plain CSV of lines, a line a thing, whole or not at all."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from maps.disk import write_whole

FOLDER = "log"


class LogFault(ValueError):
    """A log or block that cannot be read; `lines` names every fault."""

    def __init__(self, lines: Sequence[str]) -> None:
        super().__init__("; ".join(lines))
        self.lines = list(lines)


class LogLine(Protocol):
    """A line of a log."""

    @property
    def key(self) -> tuple[object, ...]:
        """What the line is about: a later one of the same takes its place."""


def lines_typed[Kind: LogLine](
    rows: Sequence[Sequence[str]],
    first: int,
    read: Callable[[list[str]], Kind],
    about: str,
) -> list[Kind]:
    """
    Read the rows of a block that was typed or pasted: all of them, or none.

    Parameters
    ----------
    rows, first
        Its cells; how many rows are headings. Rows are told by number, from 1.
    read
        Reads the cells of a row; a ValueError says why it cannot.
    about
        What a line is about, as a person says it: no two may be about the same.

    Raises
    ------
    LogFault
        With every fault.
    """
    found: list[Kind] = []
    faults, seen = [], dict[tuple[object, ...], int]()
    for number, row in enumerate(rows[first:], first + 1):
        try:
            line = read([cell.strip() for cell in row])
        except ValueError as fault:
            faults.append(f"row {number}, {fault}")
            continue
        if line.key in seen:
            faults.append(f"row {number}, {about}: as in row {seen[line.key]}")
        seen[line.key] = number
        found.append(line)
    if faults:
        raise LogFault(faults)
    return found


@dataclass(frozen=True)
class LogFile[Kind: LogLine]:
    """
    A log of a scenario.

    Attributes
    ----------
    name
        Of its file.
    columns
        Of its table, in order; fields of a line.
    read
        Reads a line; a ValueError, TypeError or KeyError says why it cannot be one.
    order
        Gives the place of a line in the file.
    folder
        In the scenario.
    """

    name: str
    columns: tuple[str, ...]
    read: Callable[[Mapping[str, str]], Kind]
    order: Callable[[Kind], tuple[Any, ...]]
    folder: str = FOLDER

    def path(self, scenario: Path) -> Path:
        """
        Return the file in a scenario; it need not be there.

        Raises
        ------
        LogFault
            If a link leads elsewhere.
        """
        path = scenario / self.folder / self.name
        for one in (path.parent, path):
            if one.is_symlink() or one.is_junction():
                raise LogFault([f"{one.name} is a link. Put a plain file in its place"])
        return path

    def lines(self, scenario: Path) -> list[Kind]:
        """
        Read all lines; none where there is no file.

        Raises
        ------
        LogFault
            If the file was changed to something that is no log.
        """
        from logistics.scenario import in_list

        path = self.path(scenario)
        if not path.is_file():
            return []
        try:
            reader = csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig")))
            if tuple(reader.fieldnames or ()) != self.columns:
                message = f"its columns are not {in_list(self.columns)}"
                raise ValueError(message)
            return [self.read(row) for row in reader]
        except (OSError, ValueError, LookupError, TypeError, AttributeError) as error:
            message = f"{self.folder}/{self.name} cannot be read ({error})"
            raise LogFault([f"{message}. Mend it or move it"]) from None
        except csv.Error as error:
            message = f"{self.folder}/{self.name} is no table ({error})"
            raise LogFault([f"{message}. Mend it or move it"]) from None

    def add(self, scenario: Path, more: Sequence[Kind]) -> tuple[int, int]:
        """
        Write lines into the log, in its order.

        Returns
        -------
        int, int
            How many lines are new, and how many took the place of an older one.
        """
        old = {one.key: one for one in self.lines(scenario)}
        new = {one.key: one for one in more}
        replaced = len(old.keys() & new.keys())
        self.write(scenario, sorted({**old, **new}.values(), key=self.order))
        return len(new) - replaced, replaced

    def write(self, scenario: Path, lines: Sequence[Kind]) -> None:
        """Write all lines in place of those that were there."""
        text = io.StringIO()
        writer = csv.DictWriter(text, self.columns, lineterminator="\n")
        writer.writeheader()
        for one in lines:
            writer.writerow({c: _cell(getattr(one, c)) for c in self.columns})
        path = self.path(scenario)
        path.parent.mkdir(exist_ok=True)
        write_whole(path, text.getvalue().encode())


def _cell(value: object) -> object:
    """Write a yes as a word, a no as nothing."""
    if isinstance(value, bool):
        return "yes" if value else ""
    return value


YES, NO = ("yes", "y", "x", "1", "true"), ("no", "n", "0", "false", "")
"""Words of a block for yes and no."""


def plain_text(text: str, most: int) -> str:
    """
    Shorten a text, and see that no spreadsheet takes it for a formula.

    >>> plain_text("=1+1", 9), plain_text("dry", 2)
    ("'=1+1", 'dr')
    """
    words = " ".join(text.split())[:most]
    return f"'{words}" if words.startswith(("=", "+", "-", "@")) else words
