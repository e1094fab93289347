"""What the figures of a column say where its heading is none of our words."""

from __future__ import annotations

from logistics.bringing.numbers import NumberFault, parted
from logistics.bringing.sheets import ReadSheet
from logistics.bringing.units import split_heading, unit_of
from logistics.bringing.words import aliases, plain, values_named

LOOKED_AT = 50
"""Cells of a column that are looked at."""


def only_figures(sheet: ReadSheet, place: int, first: int) -> bool:
    """Whether a column holds numbers alone, with a unit or without, and some."""
    rows = range(first, min(len(sheet.rows), first + LOOKED_AT))
    cells = [text for row in rows if (text := sheet.cell(row, place))]
    return bool(cells) and all(map(_is_figure, cells))


def _is_figure(text: str) -> bool:
    try:
        parted(text)
    except NumberFault:
        return False
    return True


def is_weighed(heading: str) -> bool:
    """
    Whether the unit of a heading is a weight.

    >>> is_weighed("Fish waste t/week"), is_weighed("Waste %"), is_weighed("Waste")
    (True, False, False)
    """
    told = split_heading(heading)[1]
    unit = unit_of(told) if told else None
    return unit is not None and unit.measures("mass")


def speaks_of_amount(heading: str, table: str) -> bool:
    """
    Whether a heading with a weight as its unit names what sources or markets weigh.

    >>> speaks_of_amount("Fish waste t/week", "sources")
    True
    >>> speaks_of_amount("Capacity t/day", "sources")
    False
    >>> speaks_of_amount("Compost wanted (t per year)", "markets")
    True
    """
    words = plain(split_heading(heading)[0]).split()
    runs = {
        " ".join(words[a:b])
        for a in range(len(words))
        for b in range(a + 1, len(words) + 1)
    }
    if table == "sources":
        return bool(runs & {*values_named("material"), *aliases("sources", "material")})
    return table == "markets" and bool(runs & set(aliases("word", "compost")))
