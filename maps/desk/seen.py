"""
What is known of a scenario's data: faults, places for the small map, a fingerprint.

Looking takes up to seconds, so it is done once for each state of the files, one
scenario at a time, away from the pages that wait for it.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from maps.desk.book import digest_of, input_files
from maps.desk.ground import ground_of
from maps.desk.small_map import Ground

if TYPE_CHECKING:
    from logistics.scenario import RawTable

State = tuple[tuple[str, int, int], ...]
KINDS = {"sources": "source", "yards": "yard", "markets": "market"}
"""Tables with places on the small map, and what they are called there."""
MOST_PLACES = 3_000


@dataclass(frozen=True)
class Seen:
    """
    What a look at a scenario's files found.

    Attributes
    ----------
    title
        Name of the district; empty if the settings cannot be read.
    currency
        Currency of its money.
    faults
        In the words of `check`.
    places
        Kind, longitude and latitude [degree] of sources, yards and markets.
    ground
        Coast, water, rivers and roads beneath them, see `ground_of`.
    yards
        Places of the yards by their code. [degree]
    names
        Names of the yards by their code; codes where they have none.
    counts
        Rows of these tables, and of the table years.
    digest, fingerprint
        Of the files' bytes, and of what they say; None if they have faults.
    """

    title: str
    currency: str
    faults: tuple[str, ...]
    places: tuple[tuple[str, float, float], ...]
    ground: Ground
    yards: dict[str, tuple[float, float]]
    names: dict[str, str]
    counts: dict[str, int]
    digest: str
    fingerprint: str | None


def look(folder: Path) -> Seen:
    """Read a scenario's files and check them as far as reading does."""
    from logistics.changes import read_ranges
    from logistics.scenario import (
        ScenarioError,
        fingerprint,
        read_scenario,
        read_tables,
    )

    digest = digest_of(folder)
    found = read_tables(folder).raw
    places = tuple(
        (kind, *place)
        for table, kind in KINDS.items()
        for place in places_of(found.get(table))
    )[:MOST_PLACES]
    ground = ground_of(found, places)
    yards = yards_of_table(found.get("yards"))
    names = names_of_table(found.get("yards"))
    counted = (*KINDS, "years")
    counts = {name: len(found[name].rows) if name in found else 0 for name in counted}
    try:
        scenario = read_scenario(folder)
        read_ranges(scenario)
    except ScenarioError as error:
        faults = tuple(str(problem) for problem in error.problems)
        return Seen("", "", faults, places, ground, yards, names, counts, digest, None)
    told = scenario.settings
    mark = fingerprint(scenario)
    return Seen(
        title=told.name,
        currency=told.currency,
        faults=(),
        places=places,
        ground=ground,
        yards=yards,
        names=names,
        counts=counts,
        digest=digest,
        fingerprint=mark,
    )


def places_of(table: RawTable | None) -> list[tuple[float, float]]:
    """Return the points of a table as far as they can be read. [degree]"""
    if table is None:
        return []
    cells = zip(table.cells.get("lon", []), table.cells.get("lat", []), strict=False)
    return [point for east, north in cells if (point := _point(east, north))]


def _point(east: str, north: str) -> tuple[float, float] | None:
    """Read a point; None where its cells hold something else. [degree]"""
    try:
        point = float(east.replace(",", ".")), float(north.replace(",", "."))
    except ValueError:
        return None
    return point if abs(point[0]) <= 360 and abs(point[1]) <= 90 else None


def yards_of_table(table: RawTable | None) -> dict[str, tuple[float, float]]:
    """Return the points of yards by their codes. [degree]"""
    if table is None:
        return {}
    columns = (table.cells.get(name, []) for name in ("yard", "lon", "lat"))
    rows = zip(*columns, strict=False)
    found = {code: _point(east, north) for code, east, north in rows}
    return {code: point for code, point in found.items() if point}


def names_of_table(table: RawTable | None) -> dict[str, str]:
    """Return the names of yards by their codes."""
    if table is None:
        return {}
    codes = table.cells.get("yard", [])
    given = table.cells.get("name", codes)
    return {c: name or c for c, name in zip(codes, given, strict=False)}


class Looks:
    """Remembers the last look at each scenario; looks again when its files changed."""

    def __init__(self) -> None:
        self._known: dict[Path, tuple[State, Seen]] = {}
        self._turn = threading.Lock()

    def known(self, folder: Path) -> Seen | None:
        """Return what is known without looking; None if the files changed since."""
        held = self._known.get(folder)
        return held[1] if held and held[0] == state_of_files(folder) else None

    def at(self, folder: Path) -> Seen:
        """Look at a scenario, if nothing is known of its files as they are."""
        if (seen := self.known(folder)) is not None:
            return seen
        with self._turn:
            if (seen := self.known(folder)) is not None:
                return seen
            state = state_of_files(folder)
            seen = look(folder)
            self._known[folder] = state, seen
            return seen


def state_of_files(folder: Path) -> State:
    """Name, size and time of every input file: they differ when it was written."""
    stats = [(path.name, path.stat()) for path in input_files(folder)]
    return tuple((name, one.st_size, one.st_mtime_ns) for name, one in stats)
