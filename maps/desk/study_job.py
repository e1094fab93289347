"""What a study is to work on, and what it tells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from maps.desk.book import STOP
from maps.desk.telling import Report, Tell

if TYPE_CHECKING:
    from logistics.scenario import Scenario


@dataclass(frozen=True)
class StudyJob:
    """
    What a study is to work on.

    Attributes
    ----------
    scenario, order
        Tables with the settings asked for, and what was asked.
    folder
        Folder of the study.
    told
        Adds an event.
    """

    scenario: Scenario
    order: Mapping[str, Any]
    folder: Path
    told: Tell

    @property
    def stopped(self) -> bool:
        """Whether the planner asked to stop."""
        return (self.folder / STOP).exists()

    def step(self, done: int, whole: int, words: str) -> None:
        """Tell how many parts are done, and which is next."""
        self.told("step", done=done, whole=whole, words=words)

    def report(self, title: str = "") -> Report:
        """Give what solving reports to."""
        return Report(self.told, "full", self.scenario, title)

    def number(self, name: str, usual: float, least: float, most: float) -> float:
        """Read a number of the order, kept within its limits."""
        value = self.order.get(name, usual)
        whole = isinstance(value, int | float) and not isinstance(value, bool)
        return min(max(float(value), least), most) if whole else usual
