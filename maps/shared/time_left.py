"""How long a command may still take: from steps done, time limits and proven gaps."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from time import perf_counter

MOST_MINUTES = 90
"""Minutes from which a time is told in hours."""
LEAST_SPAN = 2.0
"""Seconds over which a gap must have been seen to close before it is believed. [s]"""


def left_words(likely: float | None, most: float | None) -> str:
    """
    Say in plain words how long something may still take.

    Parameters
    ----------
    likely, most
        Time that it will probably take, and that it cannot exceed; None where it is not
        known. [s]

    Examples
    --------
    >>> left_words(100, 530), left_words(None, 530), left_words(20, None)
    ('about 2 minutes left; at most 9', 'at most 9 minutes left', 'under a minute left')
    >>> left_words(300, 40_000), left_words(None, None)
    ('about 5 minutes left; at most 12 hours', '')
    """
    if likely is None:
        return f"at most {_time(most)} left" if most is not None else ""
    likely = likely if most is None else min(likely, most)
    words = f"about {_time(likely)} left" if likely >= 60 else "under a minute left"
    if most is None or _time(most) == _time(likely):
        return words
    number, _, unit = _time(most).rpartition(" ")
    same = likely >= 60 and _time(likely).endswith(unit) and number.isdigit()
    return f"{words}; at most {number if same else _time(most)}"


def _time(seconds: float) -> str:
    """
    Write a time in whole minutes or hours, rounded up.

    >>> _time(61), _time(7_000), _time(59), _time(60)
    ('2 minutes', '2 hours', '1 minute', '1 minute')
    """
    minutes = max(1, math.ceil(seconds / 60))
    if minutes < MOST_MINUTES:
        return f"{minutes} minute" + ("s" if minutes > 1 else "")
    return f"{math.ceil(minutes / 60)} hours"


@dataclass
class TimeLeft:
    """
    What is known of the time a command may still take.

    Attributes
    ----------
    steps
        Plans or searches to be made, one after the other; None where nobody knows.
    limit
        Longest that a step may take; None where there is no limit. [s]
    gap
        Proven gap at which a step ends; None where it has none. [1]
    last
        Longest that the last step may take, if that is not `limit`. [s]
    clock
        Tells the time. [s]
    """

    steps: int | None = 1
    limit: float | None = None
    gap: float | None = None
    last: float | None = None
    clock: Callable[[], float] = perf_counter
    done: list[float] = field(default_factory=list)
    _seen: list[tuple[float, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Begin the first step."""
        self.begun = self._step = self.clock()

    def next(self) -> None:
        """End a step, and begin the next."""
        now = self.clock()
        self.done.append(now - self._step)
        self._step, self._seen = now, []

    def count(self, done: int) -> None:
        """Say how many steps are done by now, where they run beside each other."""
        if done > len(self.done):
            spent = (self.clock() - self.begun) / done
            self.done, self._step = [spent] * done, self.clock()

    def see(self, gap: float | None) -> None:
        """Note the proven gap of the step at hand."""
        if gap is not None and math.isfinite(gap) and gap > 0:
            self._seen.append((self.clock(), gap))

    def left(self) -> tuple[float | None, float | None]:
        """Return the likely time and the most; None where it is not known. [s]"""
        here = self.clock() - self._step
        most = self._most(here)
        likely = self._closing()
        mean = sum(self.done) / len(self.done) if self.done else None
        if likely is None and mean is not None:
            likely = max(mean - here, 0.0)
        if self.steps is None:
            return None, None
        ahead = max(self.steps - len(self.done) - 1, 0)
        if len(self.done) >= self.steps:
            likely = 0.0
        each = mean if mean is not None or likely is None else here + likely
        if likely is not None and each is not None:
            likely += ahead * each
        return likely, most

    def _most(self, here: float) -> float | None:
        """Longest that the step at hand and those ahead may take. [s]"""
        if self.limit is None or self.steps is None:
            return None
        limits = [self.limit] * self.steps
        if self.last is not None:
            limits[-1] = self.last
        now, *ahead = limits[len(self.done) :] or [0.0]
        return max(now - here, 0.0) + sum(ahead)

    def _closing(self) -> float | None:
        """
        Time until the gap is closed at the pace so far; None while there is no pace.

        Gaps close by shares, not by amounts, so it is their logarithm that is drawn on.
        """
        if self.gap is None or len(self._seen) < 2:
            return None
        (begin, wide), (end, narrow) = self._seen[0], self._seen[-1]
        if narrow <= self.gap:
            return 0.0
        if end - begin < LEAST_SPAN or narrow >= wide or self.gap <= 0:
            return None
        pace = math.log(wide / narrow) / (self.clock() - begin)
        return math.log(narrow / self.gap) / pace

    def words(self) -> str:
        """Say how long it may still take; nothing where nothing is known."""
        return left_words(*self.left())
