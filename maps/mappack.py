"""
The map's data written small: whole numbers as runs of signs, texts once each.

A number from 0 to 44 is one sign, up to 2,024 two signs, and so on; a list by period
becomes one short text instead of a dozen numbers with commas. `static/unpack.js` is
the other half.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

SIGNS = "".join(sign for sign in map(chr, range(32, 127)) if sign not in '"\\<>&')
"""The signs a number may be written with: none needs care in JSON or HTML."""
HALF = len(SIGNS) // 2
DEGREES = 100_000
"""Places are kept to this part of a degree, about a metre."""
MANY_LANES = 1000
"""From so many lanes on, tonnes by period are kept to 0.1 t, else to 0.01 t."""
BY_PERIOD = {
    "yards": {
        "charge": 10,
        "cn": 10,
        "moisture": 10,
        "water": 10,
        "pad": 1000,
        "made": 10,
        "leftover": 10,
    },
    "sources": {"supply": 100, "collected": 100, "uncollected": 100, "worth": 100},
    "markets": {"demand": 100, "delivered": 100, "worth": 100},
}
"""Table -> list by period -> parts of a unit kept."""


def signs(numbers: Iterable[int]) -> str:
    """
    Write whole numbers from 0 on as signs, one after the other.

    >>> signs([0, 1, 2]), [len(signs([value])) for value in (44, 45, 2024, 2025)]
    (' !#', [1, 2, 2, 3])
    """
    out = []
    for value in numbers:
        rest = value
        while rest >= HALF:
            out.append(SIGNS[HALF + rest % HALF])
            rest //= HALF
        out.append(SIGNS[rest])
    return "".join(out)


def both_ways(value: int) -> int:
    """
    Fold a whole number so that none is below zero: 0, -1, 1, -2, … become 0, 1, 2, 3.

    >>> [both_ways(value) for value in (0, -1, 1, -2)]
    [0, 1, 2, 3]
    """
    return 2 * value if value >= 0 else -2 * value - 1


def by_period(values: Sequence[float | None], parts: int) -> str:
    """
    Write a list by period; a missing value is 0, all others are one more.

    >>> by_period([None, 0.0, 0.1, -0.1], 10) == signs([0, 1, 3, 2])
    True
    """
    return signs(
        0 if value is None else both_ways(round(value * parts)) + 1 for value in values
    )


def line(points: Sequence[Sequence[float]]) -> str:
    """Write the points (lon, lat) of a line [degrees], each as steps from the last."""
    lon = lat = 0
    steps = []
    for point in points:
        x, y = round(point[0] * DEGREES), round(point[1] * DEGREES)
        steps += [both_ways(x - lon), both_ways(y - lat)]
        lon, lat = x, y
    return signs(steps)


class Texts:
    """Texts that are written once and named by their number."""

    def __init__(self) -> None:
        self.found: dict[str, int] = {}

    def of(self, text: str) -> int:
        """Return the number of a text."""
        return self.found.setdefault(text, len(self.found))


def packed(data: Mapping[str, Any]) -> dict[str, Any]:
    """
    Write the block of `mapdata.map_data` small; the block itself stays as it is.

    Returns
    -------
    dict
        Plain values for JSON, to be read by ``unpack.js``.
    """
    texts = Texts()
    tables: dict[str, Any] = {
        name: [_site(row, lists, texts) for row in data[name]]
        for name, lists in BY_PERIOD.items()
    }
    return {
        **data,
        **tables,
        "lanes": _lanes(data, texts),
        "roads": [_road(row, texts) for row in data["roads"]],
        "land": [
            {
                "kind": texts.of(row["kind"]),
                "name": row["name"],
                "shape": row["shape"],
                "parts": [line(part) for part in row["parts"]],
            }
            for row in data["land"]
        ],
        "texts": list(texts.found),
    }


def _site(row: Mapping[str, Any], lists: Mapping[str, int], texts: Texts) -> object:
    """Write a yard, source or market small."""
    out = dict(row)
    for name, parts in lists.items():
        if name in row:
            out[name] = by_period(row[name], parts)
    for name in ("reckoned", "from", "today", "crop", "size"):
        if name in row:
            out[name] = texts.of(row[name])
    if "money" in row:
        out["money"] = [
            [texts.of(text), round(amount)] for text, amount in row["money"]
        ]
    return out


def _lanes(data: Mapping[str, Any], texts: Texts) -> dict[str, Any]:
    """Write the lanes as columns: ends by their row, numbers as signs."""
    rows = data["lanes"]
    row_of = {
        name: {row["code"]: i for i, row in enumerate(data[name])} for name in BY_PERIOD
    }
    materials = [row["code"] for row in data["materials"]] + ["compost"]
    inward = [row["kind"] == "in" for row in rows]
    starts = [row_of["sources" if here else "yards"] for here in inward]
    ends = [row_of["yards" if here else "markets"] for here in inward]
    parts = 10 if len(rows) >= MANY_LANES else 100
    return {
        "count": len(rows),
        "parts": parts,
        "from": signs(
            ends[row["from"]] for row, ends in zip(rows, starts, strict=True)
        ),
        "to": signs(known[row["to"]] for row, known in zip(rows, ends, strict=True)),
        "material": signs(materials.index(row["material"]) for row in rows),
        "km": by_period([row["km"] for row in rows], 10),
        "money": by_period([row["money"] for row in rows], 1),
        "trips": by_period([row["trips"] for row in rows], 10),
        "trucks": signs(texts.of("; ".join(row["trucks"])) for row in rows),
        "t": "".join(by_period(row["t"], parts) for row in rows),
    }


def _road(row: Mapping[str, Any], texts: Texts) -> dict[str, Any]:
    """Write a road small: its line, and its load by material where it has one."""
    out: dict[str, Any] = {
        "code": row["code"],
        "name": texts.of(row["name"]),
        "class": texts.of(row["class"]),
        "parts": [line(part) for part in row["parts"]],
    }
    if row["load"]:
        out["load"] = {code: by_period(t, 10) for code, t in row["load"].items()}
        out["trips"] = by_period(row["trips"], 10)
        out["empty"] = by_period(row["empty"], 10)
    return out
