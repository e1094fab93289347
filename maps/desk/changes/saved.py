"""Change files of a scenario: read with their stories, and new ones saved."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from maps.desk.share import CHANGES
from maps.desk.shelf import NameFault, NotThere, safe_name
from maps.disk import write_whole

if TYPE_CHECKING:
    from logistics.changes import ChangeSet
    from logistics.scenario import Scenario

LONGEST = 2_000
"""Of a story. [letter]"""
LARGEST = 200_000
"""Of a change file. [byte]"""
_turn = threading.Lock()
_tried: WeakKeyDictionary[Scenario, dict[tuple[Path, bytes], SavedChange]]
_tried = WeakKeyDictionary()
"""What came of trying files, by the tables that they were tried on."""


@dataclass(frozen=True)
class SavedChange:
    """
    A change file.

    Attributes
    ----------
    code
        Its name without the ending.
    title, story, lines
        Heading, what happened, and a sentence for each step.
    faults
        Why it cannot be used; empty if it can.
    """

    code: str
    title: str
    story: str
    lines: tuple[str, ...]
    faults: tuple[str, ...]


def _files(scenario: Path) -> dict[str, Path]:
    """Change files of a scenario by their name; links are none."""
    folder = scenario / CHANGES
    if folder.is_symlink() or folder.is_junction() or not folder.is_dir():
        return {}
    return {
        path.stem: path
        for path in sorted(folder.glob("*.toml"))
        if path.is_file() and not path.is_symlink() and path.stat().st_size <= LARGEST
    }


def saved_changes(folder: Path, scenario: Scenario | None) -> list[SavedChange]:
    """
    List the change files of a scenario; None where its tables have faults.

    Each is tried once on a scenario that stays in memory: trying takes much longer than
    reading.
    """
    files = _files(folder).values()
    if scenario is None:
        return [_saved(path, None) for path in files]
    with _turn:
        known, found = _tried.get(scenario, {}), {}
        for path in files:
            at = path, path.read_bytes()
            found[at] = known.get(at) or _saved(path, scenario)
        _tried[scenario] = found
    return list(found.values())


def _saved(path: Path, scenario: Scenario | None) -> SavedChange:
    """Read a change file and try it."""
    from logistics.changes import apply_changes, read_change_file, title_of
    from logistics.scenario import ScenarioError

    try:
        found = read_change_file(path)
    except ScenarioError as error:
        faults = tuple(str(problem) for problem in error.problems)
        return SavedChange(path.stem, path.stem, "", (), faults)
    faults = ()
    if scenario is not None:
        try:
            apply_changes(scenario, found)
        except ScenarioError as error:
            faults = tuple(str(problem) for problem in error.problems)
    lines = tuple(title_of(step, scenario) or step.name for step in found.steps)
    return SavedChange(found.code, found.title, found.story, lines, faults)


def saved_change(folder: Path, code: str) -> ChangeSet:
    """
    Read one change file of a scenario.

    Raises
    ------
    NotThere
        If there is none of that name.
    """
    from logistics.changes import read_change_file

    path = _files(folder).get(code)
    if path is None:
        raise NotThere(code)
    return read_change_file(path)


def save_change(folder: Path, name: str, found: ChangeSet) -> Path:
    """
    Save changes as a change file of a scenario; no older one is overwritten.

    Raises
    ------
    NameFault
        If the name cannot be one or is taken, or the story is too long.
    """
    from logistics.changes import change_text

    stem = safe_name(name.strip().removesuffix(".toml"))
    if not found.steps:
        message = "There is nothing to save. Add a change first"
        raise NameFault(message)
    if len(found.title) > LONGEST or len(found.story) > LONGEST:
        message = f"The story is too long. Use {LONGEST} letters at most"
        raise NameFault(message)
    place = folder / CHANGES
    with _turn:
        place.mkdir(exist_ok=True)
        if place.is_symlink() or place.is_junction():
            raise NotThere(CHANGES)
        taken = {path.name.casefold() for path in place.iterdir()}
        target = place / f"{stem}.toml"
        if target.name.casefold() in taken:
            message = f"There is a change {stem!r} already. Choose another name"
            raise NameFault(message)
        write_whole(target, change_text(found).encode())
    return target
