"""How a worker tells where it stands: new things at once, the rest now and then."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logistics.model import Progress
    from logistics.scenario import Scenario

Tell = Callable[..., None]
"""Adds an event to the file of a plan."""

EVERY = 1.0
"""Time between two lines that say nothing new but the seconds. [s]"""
LEAST = 0.2
"""Time between any two lines on how solving stands. [s]"""


@dataclass
class Counter:
    """
    Tells how many parts of a step are done, but not more often than can be seen.

    Attributes
    ----------
    told
        Adds an event.
    words, parts
        What is being done, and what is counted.
    """

    told: Tell
    words: str
    parts: str
    _last: float = field(default=0.0)

    def __post_init__(self) -> None:
        """Say that the step begins."""
        self.told("phase", words=self.words)

    def __call__(self, done: int, whole: int) -> None:
        """Tell how many are done, if it is long enough since the last time."""
        now = time.monotonic()
        if now - self._last >= LEAST:
            self._last = now
            self.told("count", words=f"{done} of {whole} {self.parts}")


@dataclass
class Report:
    """
    Tells how solving stands, but not more often than a person can see.

    Attributes
    ----------
    told
        Adds an event.
    step
        "first" or "full": which answer is being made.
    scenario
        Its settings limit time and gap.
    title
        What is being planned, where there are many plans.
    """

    told: Tell
    step: str
    scenario: Scenario
    title: str = ""
    _seen: tuple[object, ...] = ()
    _last: float = field(default=0.0)

    def __post_init__(self) -> None:
        """Begin to reckon the time left."""
        from maps.shared import TimeLeft

        limits = self.scenario.settings.solve
        self._left = TimeLeft(1, limits.seconds, limits.gap)

    def __call__(self, state: Progress) -> None:
        """Tell how solving stands, if there is something new or a second has gone."""
        self._left.see(state.gap)
        new = (state.phase, state.incumbent, state.bound)
        now = time.monotonic()
        same_phase = self._seen[:1] == (state.phase,)
        wait = EVERY if new == self._seen else LEAST
        if same_phase and now - self._last < wait:
            return
        self._seen, self._last = new, now
        self.told(
            "progress",
            step=self.step,
            title=self.title,
            phase=state.phase,
            seconds=round(state.seconds, 2),
            incumbent=_finite(state.incumbent),
            bound=_finite(state.bound),
            gap=_finite(state.gap),
            left=self._left.words(),
        )


def _finite(value: float | None) -> float | None:
    """Return a number that JSON holds."""
    return None if value is None or not abs(value) < 1e300 else float(value)
