"""Texts for a terminal: no control signs, numbers with separators, tables that fit."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from rich.table import Table

from maps.shared.headlines import number

if TYPE_CHECKING:
    pass

PIPED_WIDTH = 100


def clean(text: object) -> str:
    r"""
    Take control signs out of a text, so that a name cannot steer the terminal.

    >>> clean("Mill\x1b[31m \u202eA")
    'Mill[31m A'
    """
    return re.sub(r"[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", "", str(text))


def grouped(value: object, digits: int = 0) -> str:
    """
    Write a number with thousands separators, a dash if it is missing.

    >>> grouped(12345.6), grouped(-0.2), grouped(float("nan"))
    ('12,346', '0', '–')
    """
    known = number(value)
    return f"{known:z,.{digits}f}" if math.isfinite(known) else "–"


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


def keep_numbers_whole(table: Table) -> None:
    """Let a narrow terminal break names, never the numbers or headings' words."""
    for column in table.columns:
        if column.justify == "right":
            words = " ".join([str(column.header), *map(str, column.cells)]).split()
            column.min_width = max(len(word) for word in words)
