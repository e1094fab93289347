"""What a report is made of: tables of texts, figures, sections; names made safe."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import pandas as pd
from markupsafe import Markup, escape

from logistics.scenario import between
from maps.shared import amount

Cell = str | Markup
LONGEST_NAME = 60
UNSAFE = re.compile(r"[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ue000-\ue002]")
"""Control signs, and those that mark figures (see `origins`)."""


def bdi(name: object) -> Markup:
    """
    Make a name safe to stand in a sentence: escaped, kept apart, not too long.

    >>> print(bdi("<b>Mill"))
    <bdi>&lt;b&gt;Mill</bdi>
    """
    return Markup("<bdi>{}</bdi>").format(shorten(plain(name)))


def plain(text: object) -> str:
    r"""
    Take out signs that steer a terminal or turn the direction of a line.

    >>> plain("Mill\x1b \u202eA")
    'Mill A'
    """
    return UNSAFE.sub("", str(text))


def shorten(text: str, longest: int = LONGEST_NAME) -> str:
    """
    Cut a text that is too long for a line.

    >>> shorten("Upper Ombrel", 8)
    'Upper O…'
    """
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "…"


def listed(items: Sequence[object], last: str = "and") -> Markup:
    """
    Put items into a sentence.

    >>> print(listed(["husk", "straw", "fish"]))
    husk, straw and fish
    >>> print(listed(["Moulin Dao, Est", "Port"]))
    Moulin Dao, Est; and Port
    """
    texts = [escape(item) for item in items]
    if len(texts) < 2:
        return Markup("").join(texts)
    sign = between(texts)
    head = Markup(sign).join(texts[:-1])
    sign = " " if sign == ", " else sign
    return Markup("{}{}{} {}").format(head, sign, last, texts[-1])


@dataclass(frozen=True)
class Table:
    """
    A table of ready texts.

    Attributes
    ----------
    caption
        What it shows, with the unit if all columns share it.
    headings, rows, foot
        Texts; the first cell of a row names it. The foot holds sums.
    words
        Leading columns of words; the rest are numbers, set to the right.
    across
        Whether the last number of every row is the sum of those before it.
    note
        A line below.
    kind
        Style: "" or "wide" (smaller type) or "prose" (no number columns).
    rows_of
        Tables that its figures come from, by name: of the plan, or of the workbook
        that the page goes with; none where a page stands alone.
    """

    caption: Cell
    headings: Sequence[Cell]
    rows: Sequence[Sequence[Cell]]
    foot: Sequence[Cell] | None = None
    words: int = 1
    across: bool = False
    note: Cell = ""
    kind: str = ""
    rows_of: Sequence[str] = field(kw_only=True)


@dataclass(frozen=True)
class Chart:
    """
    A drawing: its heading, the drawing itself, and the key to its signs.

    `rows_of` names the tables that it is drawn from, as in `Table`.
    """

    caption: Cell
    drawing: Markup
    key: Markup = field(default=Markup(""))
    kind: str = ""
    rows_of: Sequence[str] = field(kw_only=True)


@dataclass(frozen=True)
class Words:
    """Paragraphs, or with `marks` the items of a list."""

    lines: Sequence[Cell]
    marks: str = ""


@dataclass(frozen=True)
class Heading:
    """A heading within a section."""

    text: Cell


@dataclass(frozen=True)
class Group:
    """Pieces kept on one page; a "pair" stands side by side, a "keep" does not."""

    heading: Cell
    pieces: Sequence[Chart | Table | Words]
    kind: str = "pair"


Piece = Table | Chart | Words | Heading | Group


@dataclass(frozen=True)
class Section:
    """A numbered part of the report; `code` is its address within the page."""

    code: str
    title: str
    pieces: Sequence[Piece]
    fresh_page: bool = False


def sum_table(
    caption: Cell,
    first: str,
    labels: Iterable[Cell],
    rounded: pd.DataFrame,
    digits: int = 0,
    *,
    total: str = "",
    foot: str = "Total",
    note: Cell = "",
    rows_of: Sequence[str],
) -> Table:
    """
    Make a table of numbers with their sums.

    Parameters
    ----------
    caption, first, labels
        Caption, heading of the first column, name of every row.
    rounded
        Numbers rounded already, see `figures.spread`; columns are the headings.
    digits
        Decimals shown.
    total
        Heading of the column of row sums; none if empty.
    foot
        Name of the row of column sums; none if empty.
    note
        A line below.
    rows_of
        Tables of the plan that its figures come from.
    """
    rows = []
    for label, (_, row) in zip(labels, rounded.iterrows(), strict=True):
        values = [*row, row.sum()] if total else [*row]
        rows.append((label, *(amount(value, digits) for value in values)))
    sums = rounded.sum()
    values = [*sums, sums.sum()] if total else [*sums]
    return Table(
        caption,
        [first, *map(str, rounded.columns), *([total] if total else [])],
        rows,
        (foot, *(amount(value, digits) for value in values)) if foot else None,
        across=bool(total),
        note=note,
        rows_of=rows_of,
    )
