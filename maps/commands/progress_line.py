"""How the solving stands, on one line of a terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import perf_counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logistics.model import Progress


def progress_text(state: Progress) -> str:
    """One line on how the solving stands."""
    words = [state.phase or "solving", f"{state.seconds:,.0f} s"]
    if state.incumbent is not None:
        words.append(f"best {state.incumbent:,.0f}")
    if state.gap is not None:
        words.append(f"proven gap {state.gap * 100:.2f} %")
    return " · ".join([*words, "Ctrl-C keeps the best plan"])


@contextmanager
def progress() -> Iterator[Callable[[Progress], None] | None]:
    """Give a callback that shows progress on a terminal; None when piped."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.text import Text

    with Console(stderr=True).status(Text("Reading travel and supply")) as status:
        yield lambda state: status.update(Text(progress_text(state)))


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
    ('; about 3 minutes to go', '; about 4 s to go', '')
    """
    rest = (whole - done) * seconds / max(done, 1)
    if done >= whole:
        return ""
    if rest < 90:
        return f"; about {rest:,.0f} s to go"
    return f"; about {rest / 60:,.0f} minutes to go"


@contextmanager
def rounds_progress() -> Iterator[Callable[[int, int], None] | None]:
    """Give a callback that counts yards on a terminal; None when piped."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.text import Text

    begun = perf_counter()
    with Console(stderr=True).status(Text("rounds · making visits")) as status:
        yield lambda done, yards: status.update(
            Text(rounds_text(done, yards, perf_counter() - begun))
        )


@contextmanager
def busy(words: str) -> Iterator[None]:
    """Show on a terminal what is going on; nothing when piped."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console
    from rich.text import Text

    with Console(stderr=True).status(Text(words)):
        yield
