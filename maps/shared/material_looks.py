"""Colours and textures of materials, the same on every map and chart."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logistics.results import Result

COMPOST_COLOUR = "#3B2A1D"
"""Colour of compost on every map and chart."""

FEEDSTOCK_COLOURS = (
    "#BB7700",
    "#002277",
    "#339977",
    "#7744AA",
    "#3388EE",
    "#884400",
    "#997799",
    "#445566",
    "#222233",
    "#446655",
)
"""Colours of feedstocks that state none.

Contrast with the land colour of the map is at least 3 (WCAG 2.2, 1.4.11). Any two, and
compost, differ by at least 14 by CIEDE2000 to normal, deuteranope and protanope eyes;
neighbours differ in lightness too, for print in grey. Texture, shape and text carry the
rest.
"""

TEXTURES = (
    "",
    "M0,6 L6,0",
    "M0,3 h6",
    "M1,1 h2 M4,4 h2",
    "M3,0 v6",
    "M0,0 L6,6",
    "M0,3 h6 M3,0 v6",
    "M0,0 L6,6 M0,6 L6,0",
    "M0,4.5 L3,1.5 L6,4.5",
    "M1.5,3 h3",
)
"""Pale lines on a colour, in a square of 6 by 6; the first colour has none."""


def looks(result: Result) -> dict[str, int]:
    """
    Give every material the number of its look, from 0.

    Feedstocks that arise have looks of their own while there are enough; where a
    material stands in its table says which, so that a plan after a change looks alike.
    """
    tables = result.scenario.tables
    order = {str(c): n for n, c in enumerate(tables["materials"]["material"])}
    used = set(tables["sources"]["material"].astype(str))
    count, found = len(FEEDSTOCK_COLOURS), {c: n for c, n in order.items()}
    taken: set[int] = set()
    for code in (code for code in order if code in used):
        if len(taken) == count:
            taken = set()
        free = (order[code] + step for step in range(count))
        found[code] = next(n for n in free if n % count not in taken)
        taken.add(found[code] % count)
    return {code: number % count for code, number in found.items()}


def colours(result: Result) -> dict[str, str]:
    """
    Colour of every material as ``#rrggbb``, with compost's.

    A material's own colour is kept if it is written as ``#rrggbb``.
    """
    table = result.scenario.tables["materials"]
    own = {
        str(c): str(x) for c, x in zip(table["material"], table["colour"], strict=True)
    }
    return {"compost": COMPOST_COLOUR} | {
        code: own[code] if is_colour(own[code]) else FEEDSTOCK_COLOURS[number]
        for code, number in looks(result).items()
    }


def is_colour(text: str) -> bool:
    """
    Say whether a text is a colour written ``#rrggbb``.

    >>> is_colour("#B5690B"), is_colour("red;}"), is_colour("")
    (True, False, False)
    """
    digits = set("0123456789abcdefABCDEF")
    return len(text) == 7 and text[0] == "#" and set(text[1:]) <= digits
