"""Texts for a terminal: no control signs, numbers with separators, tables that fit."""

from __future__ import annotations

import re
import shlex
import sys
from collections.abc import Iterator, Sequence
from itertools import zip_longest
from pathlib import Path
from subprocess import list2cmdline
from textwrap import wrap

from rich.console import Console
from rich.table import Table
from rich.text import Text

from maps.shared.figures import amount

PIPED_WIDTH = 100
LEAST_ROOM = 18
"""Signs that a name must have in a column of its own, if it is longer."""


def clean(text: object) -> str:
    r"""
    Take control signs out of a text, so that a name cannot steer the terminal.

    >>> clean("Mill\x1b[31m \u202eA")
    'Mill[31m A'
    """
    return re.sub(r"[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", "", str(text))


def typed(path: Path) -> str:
    """
    Write a path as it is typed into a terminal: in quotes if it needs them.

    >>> typed(Path("my_district")), typed(Path("my district"))[1:-1]
    ('my_district', 'my district')
    """
    told = str(path)
    return list2cmdline([told]) if sys.platform == "win32" else shlex.quote(told)


def grouped(value: object, digits: int = 0) -> str:
    """
    Write a number with thousands separators, a dash if it is missing.

    >>> grouped(12345.6), grouped(-0.2), grouped(-12), grouped(float("nan"))
    ('12,346', '0', '−12', '–')
    """
    return amount(value, digits)


def span(low: object, high: object, digits: int = 0) -> str:
    """
    Write a range.

    >>> span(25, 31.4), span(float("nan"), 1)
    ('25–31', '–')
    """
    parts = grouped(low, digits), grouped(high, digits)
    return "–" if "–" in parts else "–".join(parts)


def window(low: float, high: float) -> str:
    """
    Write a window as it was set, without rounding its ends away.

    >>> window(24.5, 30), window(45.0, 62.5)
    ('24.5–30', '45–62.5')
    """
    return f"{low:.6g}–{high:.6g}"


def text_console(console: Console | None = None, *, wider: int = 0) -> Console:
    """
    Return a console on which every text is text: `[b]` in a name is no markup.

    Parameters
    ----------
    console
        Where to print; the standard output if left out.
    wider
        What is added to `PIPED_WIDTH` where no terminal says how wide it is. [signs]

    Examples
    --------
    >>> text_console().print("The [red]mill[/red]", highlight=False)
    The [red]mill[/red]
    """
    given = console or Console()
    if not given.is_terminal:
        width = PIPED_WIDTH + wider
        return Console(file=given.file, width=width, no_color=True, markup=False)
    if console is None:
        return Console(markup=False)
    return console


def print_table(console: Console, table: Table) -> None:
    """
    Print a table so that nothing is cut, however narrow the terminal.

    Cells and headings are text, never markup.

    Names break between words. Where that leaves them fewer than `LEAST_ROOM` signs, or
    a word would not fit, a row's name stands on lines of its own, with its figures
    below; where the figures do not fit side by side either, below each other.
    """
    columns = [(_plain(c.header), c.justify == "right", [_plain(x) for x in c.cells])
               for c in table.columns]  # fmt: skip
    least = [_least(head, cells) for head, _, cells in columns]
    words = [n for n, (_, right, _) in enumerate(columns) if not right]
    for column in table.columns:
        column.overflow = "fold"
    table.padding = (0, 2, 0, 0)
    gaps = 2 * (len(columns) - 1)
    wide = [max(map(len, [head, *cells]), default=0) for head, _, cells in columns]
    needed = [min(wide[n], max(least[n], LEAST_ROOM)) if n in words else least[n]
              for n in range(len(columns))]  # fmt: skip
    spare = console.width - sum(needed) - gaps
    if spare >= 0:
        for n, column in enumerate(table.columns):
            more = min(spare, wide[n] - needed[n])
            column.width, spare = needed[n] + more, spare - more
        console.print(table, highlight=False, markup=False)
        return
    for line in _stacked(columns, least, console.width):
        console.print(line, highlight=False)


def _least(head: str, cells: Sequence[str]) -> int:
    """Width in which no word of a column is cut, and no number broken."""
    return max((len(word) for text in [head, *cells] for word in text.split()),
               default=0)  # fmt: skip


def _plain(text: object) -> str:
    """Text of a cell."""
    return text.plain if isinstance(text, Text) else str(text)


def _stacked(
    columns: Sequence[tuple[str, bool, list[str]]], least: Sequence[int], width: int
) -> Iterator[Text]:
    """Give every row's name on lines of its own, and what else it holds below."""
    name, *rest = range(len(columns))
    figures = [n for n in rest if columns[n][1]]
    fits = sum(least[n] + 2 for n in figures) <= width
    yield from _wrapped(columns[name][0], width, "", bold=True)
    if fits:
        heads = [wrap(columns[n][0], max(least[n], 1)) for n in figures]
        for line in zip_longest(*heads, fillvalue=""):
            heads_of = zip(line, figures, strict=True)
            row_of_heads = "".join(f"  {text:>{least[n]}}" for text, n in heads_of)
            yield Text(row_of_heads, "bold")
    for row, said in enumerate(columns[name][2]):
        yield from _wrapped(said, width, "")
        cells = {n: columns[n][2][row] for n in rest}
        below = [n for n in figures if fits and len(cells[n]) <= least[n]]
        shown = [(cells[n] if n in below else "", least[n] + 2) for n in figures]
        values = "".join(f"{value:>{wide}}" for value, wide in shown).rstrip()
        if values:
            yield Text(values)
        for n in rest:
            if cells[n] and n not in below:
                words = f"{columns[n][0]}: {cells[n]}".removeprefix(": ")
                yield from _wrapped(words, width, "  ")


def _wrapped(
    text: str, width: int, indent: str, *, bold: bool = False
) -> Iterator[Text]:
    """Break a text between words; a word that is too long is broken, not cut."""
    for line in wrap(text, width, initial_indent=indent, subsequent_indent=indent):
        yield Text(line, "bold" if bold else "")
