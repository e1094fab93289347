"""Tables of a scenario read whole, kept for as long as its files stay as they are."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from maps.desk.seen import State, state_of_files

if TYPE_CHECKING:
    from logistics.scenario import Scenario

MOST = 2
"""Scenarios that are kept."""


@dataclass(frozen=True, eq=False)
class ReadTables:
    """
    What reading gave.

    Attributes
    ----------
    scenario
        None if the tables have faults.
    faults
        In the words of `check`.
    """

    scenario: Scenario | None
    faults: tuple[str, ...] = ()


class KnownTables:
    """Remembers the last scenarios read; reads again when their files changed."""

    def __init__(self) -> None:
        self._known: dict[Path, tuple[State, ReadTables]] = {}
        self._turn = threading.Lock()

    def at(self, folder: Path) -> ReadTables:
        """Read a scenario, or a plan's inputs, if its files changed since."""
        from logistics.scenario import ScenarioError, read_scenario

        with self._turn:
            state = state_of_files(folder)
            held = self._known.pop(folder, None)
            if held is None or held[0] != state:
                try:
                    held = state, ReadTables(read_scenario(folder))
                except ScenarioError as error:
                    faults = tuple(str(problem) for problem in error.problems)
                    held = state, ReadTables(None, faults)
            self._known[folder] = held
            while len(self._known) > MOST:
                del self._known[next(iter(self._known))]
            return held[1]
