"""Check a scenario with its drafts by the words of `check`, each fault at its cell."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logistics.scenario import (
    SETTINGS_NAME,
    Problem,
    ScenarioError,
    TableText,
    plain_name,
    read_scenario,
)
from maps.desk.grid.drafts import Draft, Drafts, Signature, drafts_of
from maps.desk.settings.draft import settings_of_folder

if TYPE_CHECKING:
    from logistics.diagnosis import Settled
    from logistics.scenario import Scenario

FIRST_ROW = 2
"""Row of a file in which the first row of a table in memory stands."""


@dataclass(frozen=True, eq=False)
class Checked:
    """
    What was found in one state of a scenario.

    Attributes
    ----------
    signature
        State of the files and journals.
    versions
        Version of every table that was checked, and of the settings.
    problems
        All faults, in the words of `check`.
    scenario
        The scenario with its drafts; None if there is a fault.
    settled
        What may be a slip and what of it is accepted, where there is no fault.
    """

    signature: Signature
    versions: Mapping[str, str]
    problems: tuple[Problem, ...]
    scenario: Scenario | None
    settled: Settled


class Checker:
    """Checks one scenario, each state once; keeps the last state without faults."""

    def __init__(self, drafts: Drafts) -> None:
        self.drafts = drafts
        self.lock = threading.Lock()
        self.last: Checked | None = None
        self.good: Scenario | None = None

    def check(self) -> Checked:
        """Return what there is to say of the state of now."""
        with self.lock:
            with self.drafts.lock:
                tables = self.drafts.all()
                signature = self.drafts.signature()
                edited = self.drafts.edited()
                settings = settings_of_folder(self.drafts.folder).now()
            if self.last is not None and self.last.signature == signature:
                return self.last
            text = settings.text if settings.edited else None
            scenario, problems = _read(self.drafts.folder, edited, text)
            versions = {name: one.version for name, one in tables.items()}
            versions["settings"] = settings.version
            settled = _doubted(scenario, edited=bool(edited or text))
            self.last = Checked(signature, versions, problems, scenario, settled)
            self.good = scenario or self.good
            return self.last


def _read(
    folder: Path, edited: Mapping[str, TableText], settings: str | None
) -> tuple[Scenario | None, tuple[Problem, ...]]:
    try:
        return read_scenario(folder, edited, settings), ()
    except ScenarioError as error:
        return None, tuple(error.problems)


def _doubted(scenario: Scenario | None, *, edited: bool) -> Settled:
    """Doubt the tables as they are now; the files only where nothing was edited."""
    from logistics.diagnosis import Settled, doubts

    if scenario is None:
        return Settled((), ())
    return doubts(replace(scenario, path=None) if edited else scenario)


@cache
def checker_of(folder: Path) -> Checker:
    """Return the checker of a scenario folder, one object for all requests."""
    return Checker(drafts_of(folder))


def placed(
    problems: tuple[Problem, ...], tables: Mapping[str, Draft]
) -> list[dict[str, Any]]:
    """
    Find the cell of every fault.

    Returns
    -------
    list of dict
        table (empty if it is none's), row and column as positions in the grid
        (-1 for the headings, None for a whole table), setting (its dotted name; None if
        the fault is not of the settings), place in words, said (value and fault),
        remedy.
    """
    homes = {one.disk.label: one for one in tables.values()}
    return [_placed(problem, homes.get(problem.file)) for problem in problems]


def doubted(
    problems: tuple[Problem, ...], tables: Mapping[str, Draft]
) -> list[dict[str, Any]]:
    """Find the cell of everything that may be a slip, told by tables in memory."""
    found = []
    for problem in problems:
        home = tables.get(problem.file.removesuffix(".csv"))
        if home is not None and problem.file.endswith(".csv"):
            problem = _in_file(problem, home)
        found.append(_placed(problem, home))
    return found


def _in_file(problem: Problem, home: Draft) -> Problem:
    """Name the row of the file, which may have blank rows, and the file itself."""
    row = problem.row
    if row is not None:
        filled = [n for n, cells in enumerate(home.text.rows) if any(cells)]
        place = row - FIRST_ROW
        at = filled[place] if place < len(filled) else None
        row = None if at is None else at + home.disk.heading_row + 1
    return replace(problem, file=home.disk.label, row=row)


def _placed(problem: Problem, home: Draft | None) -> dict[str, Any]:
    where = str(replace(problem, value=None, why="", remedy="")).split(": ")[0]
    found: dict[str, Any] = {
        "table": home.disk.table if home else "",
        "row": None,
        "column": None,
        "setting": problem.column if problem.file == SETTINGS_NAME else None,
        "place": where,
        "said": said(problem),
        "remedy": problem.remedy,
    }
    if home is not None and problem.row is not None:
        found["row"] = problem.row - home.disk.heading_row - 1
    if home is not None and problem.column:
        found["column"] = column_at(home.text, problem.column)
    return found


def said(problem: Problem) -> str:
    """Return value and fault of a problem in words, without place and remedy."""
    bare = replace(problem, file="", row=None, column="", remedy="")
    return str(bare).removeprefix(": ").removesuffix(". .")


def column_at(text: TableText, name: str) -> int | None:
    """Position of a column that a fault names by its name, heading or letter."""
    names = [plain_name(heading) for heading in text.headings]
    if name in names:
        return names.index(name)
    return text.headings.index(name) if name in text.headings else None


def table_faults(checked: Checked, table: str, label: str) -> list[Problem]:
    """Faults in the file of a table, or of the table where it is not named."""
    return [p for p in checked.problems if p.file in (label, f"{table}.csv")]
