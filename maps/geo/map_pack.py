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
"""From so many lanes on, tonnes by period are kept to 0.1 t (on roads: 1 t), else
to 0.01 t (0.1 t)."""
COLUMNS = {
    "yards": (
        *("code", "name", "at", "district", "status", "screening", "size"),
        *("charge", "cn", "usable"),
        *("moisture", "water", "turning", "pad", "made", "leftover", "money"),
    ),
    "sources": (
        *("code", "name", "at", "district", "material", "supply", "uncollected"),
        "worth",
        *("reckoned", "from", "today"),
    ),
    "markets": ("code", "name", "at", "district", "crop", "demand", "worth"),
}
"""Table -> columns written; what sources gave and markets got is in the lanes."""
TONNES = (
    *("charge", "water", "turning", "made", "leftover"),
    *("supply", "uncollected", "demand"),
)
PARTS = {"cn": 10, "usable": 10, "moisture": 10, "pad": 1000, "worth": 100}
"""Lists by period that are no tonnes -> parts of a unit kept."""
TEXTS = ("district", "status", "material", "reckoned", "from", "today", "crop", "size")


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


def by_period(
    values: Sequence[float | None], parts: int, *, signed: bool = False
) -> str:
    """
    Write a list by period: a missing value is 0, all others are one more.

    A list of zeros alone is no sign at all. What is never below zero need not be
    `signed`, and is shorter.

    >>> by_period([None, 0.0, 0.2], 10) == signs([0, 1, 3])
    True
    >>> by_period([0.0, 0.1, -0.1], 10, signed=True) == signs([1, 3, 2])
    True
    >>> by_period([0.0, 0.0], 10)
    ''
    """
    fold = both_ways if signed else _never_below
    found = [0 if value is None else fold(round(value * parts)) + 1 for value in values]
    return "" if set(found) == {1} else signs(found)


def _never_below(value: int) -> int:
    return max(value, 0)


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
    parts = 10 if len(data["lanes"]) >= MANY_LANES else 100
    lanes = _lanes(data, parts, texts)  # first: its texts get the short numbers
    tables: dict[str, Any] = {
        name: [
            [_cell(column, row.get(column), parts, texts) for column in columns]
            for row in data[name]
        ]
        for name, columns in COLUMNS.items()
    }
    return {
        **data,
        **tables,
        "columns": {name: list(columns) for name, columns in COLUMNS.items()},
        "parts": parts,
        "lanes": lanes,
        "roads": [_road(row, parts // 10, texts) for row in data["roads"]],
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


def _cell(column: str, value: Any, parts: int, texts: Texts) -> object:
    """Write one cell of a yard, source or market small; a yard unused has gaps."""
    if value is None:
        return None
    if column == "at":
        return line([value[::-1]])
    if column in TEXTS:
        return texts.of(value)
    if column == "money":
        return [[texts.of(name), round(amount)] for name, amount in value]
    if column in TONNES:
        return by_period(value, parts)
    if column in PARTS:
        return by_period(value, PARTS[column], signed=column == "worth")
    return value


def _lanes(data: Mapping[str, Any], parts: int, texts: Texts) -> dict[str, Any]:
    """Write the lanes as columns: ends by their row, numbers as signs."""
    rows = data["lanes"]
    row_of = {
        name: {row["code"]: i for i, row in enumerate(data[name])} for name in COLUMNS
    }
    materials = [row["code"] for row in data["materials"]] + ["compost"]
    inward = [row["kind"] == "in" for row in rows]
    starts = [row_of["sources" if here else "yards"] for here in inward]
    ends = [row_of["yards" if here else "markets"] for here in inward]
    return {
        "count": len(rows),
        "from": signs(
            ends[row["from"]] for row, ends in zip(rows, starts, strict=True)
        ),
        "to": signs(known[row["to"]] for row, known in zip(rows, ends, strict=True)),
        "material": signs(materials.index(row["material"]) for row in rows),
        "km": signs(round((row["km"] or 0) * 10) for row in rows),
        "money": signs(both_ways(round(row["money"])) for row in rows),
        "trips": signs(round(row["trips"] * 10) for row in rows),
        "trucks": signs(texts.of("; ".join(row["trucks"])) for row in rows),
        "t": signs(round(t * parts) for row in rows for t in row["t"]),
    }


def _road(row: Mapping[str, Any], parts: int, texts: Texts) -> dict[str, Any]:
    """Write a road small: its line, and its load by material where it has one."""
    out: dict[str, Any] = {
        "code": row["code"],
        "name": texts.of(row["name"]),
        "class": texts.of(row["class"]),
        "parts": [line(part) for part in row["parts"]],
    }
    if row["load"]:
        out["load"] = {code: by_period(t, parts) for code, t in row["load"].items()}
        out["trips"] = by_period(row["trips"], 10)
        out["empty"] = by_period(row["empty"], 10)
    return out
