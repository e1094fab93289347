"""
How a long command stands and how long it may still take: one line on the error output.

On a terminal the line is live; where there is none, a line comes every `EVERY` seconds,
so that short runs say nothing.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import perf_counter
from typing import TYPE_CHECKING

import typer

from maps.shared import TimeLeft, left_words

if TYPE_CHECKING:
    from rich.text import Text

    from logistics.model import Progress
    from logistics.scenario import Scenario

EVERY = 60.0
"""Time between two lines where there is no terminal. [s]"""


def progress_text(state: Progress) -> str:
    """One line on how the solving stands."""
    words = [state.phase or "solving", f"{state.seconds:,.0f} s"]
    if state.incumbent is not None:
        words.append(f"best {state.incumbent:,.0f}")
    if state.gap is not None:
        words.append(f"proven gap {state.gap * 100:.2f} %")
    return " · ".join(words)


def rounds_text(done: int, yards: int, seconds: float) -> str:
    """
    One line on how the search for rounds stands.

    >>> rounds_text(2, 5, 7.4)
    'rounds · 2 of 5 yards searched · 7 s'
    """
    return f"rounds · {done} of {yards} yards searched · {seconds:,.0f} s"


def still_needed(done: int, whole: int, seconds: float) -> str:
    """
    Say how long the rest may take, at the mean of what is done; nothing at the end.

    >>> still_needed(3, 12, 60.0), still_needed(11, 12, 44.0), still_needed(12, 12, 9.0)
    ('; about 3 minutes left', '; under a minute left', '')
    """
    rest = (whole - done) * seconds / max(done, 1)
    return f"; {left_words(rest, None)}" if done < whole else ""


class ProgressLine:
    """
    The line of a command: what is done, and the time that is left.

    Parameters
    ----------
    said
        What is said until something is known.
    left
        The time that is left.
    end
        What is said at the end, such as what Ctrl-C does.
    """

    def __init__(self, said: str, left: TimeLeft, end: str = "") -> None:
        self._said, self._title, self._end = said, "", end
        self.left, self._begun = left, perf_counter()
        self._last = self._begun

    def __call__(self, state: Progress) -> None:
        """Show how the solving of the step at hand stands."""
        self.left.see(state.gap)
        self.say(progress_text(state))

    def of(self, title: str, state: Progress) -> None:
        """Show how the solving of a step stands; another title is the next step."""
        if title != self._title:
            if self._title:
                self.left.next()
            self._title = title
        self(state)

    def step(self, number: int, steps: int) -> None:
        """Say that a step begins, counted from 0, and how many there are."""
        self.left.steps = steps
        if number:
            self.left.next()

    def counted(self, done: int, steps: int | None, words: str) -> None:
        """Show how many of the steps are done, and in which words."""
        self.left.steps = steps
        self.left.count(done)
        self.say(words)

    def run(self, done: int, runs: int, left: float | None) -> None:
        """Show how many runs are done, where their maker knows what they take. [s]"""
        time = left_words(left, None) if done < runs else ""
        words = [f"{done} of {runs} runs", time]
        self.say(" · ".join(filter(None, words)))

    def say(self, words: str) -> None:
        """Show words; without a terminal, now and then."""
        self._said = words
        now = perf_counter()
        if not sys.stderr.isatty() and now - self._last >= EVERY:
            self._last = now
            typer.echo(self.words(), err=True)

    def words(self) -> str:
        """Return the whole line."""
        number = ""
        if self.left.steps and self.left.steps > 1:
            at = min(len(self.left.done) + 1, self.left.steps)
            number = f"{at} of {self.left.steps}"
        parts = [number, self._title, self._said, self.left.words(), self._end]
        return " · ".join(filter(None, parts))

    def __rich__(self) -> Text:
        """Draw the line, with the time as it is at that moment."""
        from rich.text import Text

        words = self.words()
        if self.left.limit is None and not self.left.words():
            words += f" · {perf_counter() - self._begun:,.0f} s so far"
        return Text(words)


@contextmanager
def live(line: ProgressLine) -> Iterator[ProgressLine]:
    """Keep a line on a terminal up to date."""
    if not sys.stderr.isatty():
        yield line
        return
    from rich.console import Console

    with Console(stderr=True).status(line):
        yield line


@contextmanager
def progress(
    scenario: Scenario | None = None,
    steps: int = 1,
    *,
    solves: int = 1,
    last: float | None = None,
) -> Iterator[ProgressLine]:
    """
    Give a line to which solving reports.

    Parameters
    ----------
    scenario
        Its settings limit the time and the gap of every plan; nothing is said of the
        time left without them.
    steps
        Plans to be made, one after the other.
    solves
        Plans within a step.
    last
        Longest that the last step may take, where it is not as those before. [s]
    """
    left = TimeLeft(steps)
    if scenario is not None:
        limits = scenario.settings.solve
        left = TimeLeft(steps, solves * limits.seconds, limits.gap, last=last)
    line = ProgressLine("reading travel and supply", left, "Ctrl-C keeps the best plan")
    with live(line):
        yield line


def ends_text(done: int, whole: int, seconds: float) -> str:
    """
    One line on how many ranges have been taken to their ends.

    >>> ends_text(3, 40, 7.4)
    'ranges · 3 of 40 taken to both ends · 7 s'
    """
    return f"ranges · {done} of {whole} taken to both ends · {seconds:,.0f} s"


@contextmanager
def ends_progress() -> Iterator[Callable[[int, int], None]]:
    """Give a callback that counts ranges."""
    begun, line = perf_counter(), ProgressLine("ranges", TimeLeft(None))
    with live(line):
        yield lambda done, whole: line.counted(
            done, whole, ends_text(done, whole, perf_counter() - begun)
        )


@contextmanager
def year_progress() -> Iterator[Callable[[int, int], None]]:
    """Give a callback that counts periods driven."""
    begun, line = perf_counter(), ProgressLine("rounds of the year", TimeLeft(None))
    with live(line):
        yield lambda done, whole: line.counted(
            done, whole, year_text(done, whole, perf_counter() - begun)
        )


def year_text(done: int, whole: int, seconds: float) -> str:
    """
    One line on how many periods are driven.

    >>> year_text(3, 12, 7.4)
    'rounds of the year · 3 of 12 periods driven · 7 s'
    """
    words = f"{done} of {whole} periods driven"
    return f"rounds of the year · {words} · {seconds:,.0f} s"


@contextmanager
def rounds_progress() -> Iterator[Callable[[int, int], None]]:
    """Give a callback that counts yards."""
    begun, line = perf_counter(), ProgressLine("rounds · making visits", TimeLeft(None))
    with live(line):
        yield lambda done, yards: line.counted(
            done, yards, rounds_text(done, yards, perf_counter() - begun)
        )


@contextmanager
def busy(words: str) -> Iterator[None]:
    """Show what is going on, and for how long: how long it takes is not known."""
    with live(ProgressLine(words, TimeLeft(None))):
        yield
