"""A share file: a scenario with one plan, which another office opens by dropping it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from maps.desk.archive import ZipFault
from maps.desk.book import (
    CLAIM,
    INPUTS,
    LABEL,
    ORDER,
    OUTPUTS,
    TABLES,
    PlanEntry,
    input_files,
)
from maps.desk.events import EVENTS
from maps.desk.recall import MONEY
from maps.desk.shelf import PLANS, SETTINGS_FILE
from maps.disk import read_json, write_json

KEPT = (ORDER, LABEL, EVENTS, MONEY)
"""Files of a plan's folder that are shared beside inputs and outputs."""
CHANGES = "changes"


def files_of_plan(entry: PlanEntry) -> Iterator[tuple[str, Path]]:
    """Every output of a plan, by its name in the folder of outputs."""
    folder = entry.folder / OUTPUTS
    yield from _below(folder, folder)


def _below(folder: Path, top: Path) -> Iterator[tuple[str, Path]]:
    """Plain files below a folder, by their path from the top, in order."""
    if not folder.is_dir() or folder.is_symlink():
        return
    for path in sorted(folder.iterdir()):
        if path.is_symlink() or path.is_junction():
            continue
        if path.is_dir():
            yield from _below(path, top)
        elif not path.name.startswith("."):
            yield path.relative_to(top).as_posix(), path


def files_to_share(
    scenario: Path, entry: PlanEntry | None
) -> Iterator[tuple[str, Path]]:
    """
    Files of a share file.

    The tables are those the plan was made of, so that the other office sees a plan that
    is not older than its data.
    """
    whole = scenario if entry is None else entry.folder / INPUTS
    for path in input_files(whole):
        yield path.name, path
    changes = scenario / CHANGES
    for name, path in _below(changes, changes):
        if path.suffix == ".toml" and "/" not in name:
            yield f"{CHANGES}/{name}", path
    if entry is None:
        return
    place = f"{PLANS}/{entry.code}"
    for name in KEPT:
        if (entry.folder / name).is_file():
            yield f"{place}/{name}", entry.folder / name
    for part in (INPUTS, OUTPUTS):
        for name, path in _below(entry.folder / part, entry.folder):
            yield f"{place}/{name}", path


def settle(folder: Path) -> None:
    """
    Make a scenario of what a share file was unpacked to.

    Its plan counts as made: nothing that was shared is ever set to work by itself.

    Raises
    ------
    ZipFault
        If it is no share file, or holds more than one has.
    """
    for path in sorted(folder.rglob("*")):
        if path.is_file() and not _belongs(path.relative_to(folder).parts):
            message = f"holds {path.name!r}, which no share file has"
            raise ZipFault(message)
    if not (folder / SETTINGS_FILE).is_file():
        message = f"holds no {SETTINGS_FILE}, so it is no share file of a desk"
        raise ZipFault(message)
    for order in folder.glob(f"{PLANS}/*/{ORDER}"):
        (order.parent / CLAIM).touch()
        os.utime(order.parent / CLAIM, (0, 0))  # long ago: no worker is on its way
        kept = read_json(order)
        write_json(order, {name: kept.get(name) for name in ("at", "digest", "asked")})


def _belongs(parts: tuple[str, ...]) -> bool:
    """
    Whether a share file may hold a file at this place.

    >>> _belongs(("sources.csv",)), _belongs(("map.html",)), _belongs(("x", "a.csv"))
    (True, False, False)
    """
    ending = Path(parts[-1]).suffix.lower()
    if len(parts) == 1:
        return ending in TABLES or ending in (".md", ".txt")
    if parts[0] == CHANGES:
        return len(parts) == 2 and ending == ".toml"
    if parts[0] != PLANS or len(parts) < 3:
        return False
    if len(parts) == 3:
        return parts[2] in KEPT
    return parts[2] == OUTPUTS or (parts[2] == INPUTS and ending in TABLES)
