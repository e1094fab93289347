"""
The log of a scenario: tonnes delivered and what was seen in the yards, as plain CSV.

A block pasted from a spreadsheet is read as a whole or not at all; every fault names
its row and column. A line for a day, place, yard and feedstock that the log has already
takes its place, and the page says how often that happened.
"""

from __future__ import annotations

import csv
import datetime
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

from maps.desk.log_file import LogFault, LogFile, lines_typed

MOST_ROWS, MOST_LETTERS = 5_000, 400_000
"""Of a block."""
MOST_T = 100_000.0
"""Of one line; more is a slip of the pen. [t]"""
HEADINGS = {
    "day": ("day", "date", "working day"),
    "place": ("place", "source", "market", "mill"),
    "yard": ("yard",),
    "material": ("feedstock", "material", "freight"),
    "tonnes": ("tonnes", "t", "tonnes [t]", "tons", "tonnes delivered"),
}
"""What the columns of a block may be called."""
SHAPES = {
    3: ("day", "place", "tonnes"),
    4: ("day", "place", "yard", "tonnes"),
    5: ("day", "place", "yard", "material", "tonnes"),
}
"""Columns of a block without headings, by their number."""


@dataclass(frozen=True)
class Delivery:
    """
    What came to a yard, or went to a market, on a day.

    Attributes
    ----------
    period, day
        Code of the period, working day in it.
    kind
        "in" to a yard, "out" to a market.
    place, yard, material
        Codes.
    tonnes
        Weighed or judged. [t]
    """

    period: str
    day: int
    kind: str
    place: str
    yard: str
    material: str
    tonnes: float

    @property
    def key(self) -> tuple[object, ...]:
        """What a line of the log is about."""
        return self.period, self.day, self.kind, self.place, self.yard, self.material


@dataclass(frozen=True)
class Known:
    """
    What a block may name.

    Attributes
    ----------
    period, days, dates
        Code of the period, its working days, and the day of each date.
    places
        Code or name in small letters -> code, of sources and markets.
    yards, materials
        The same of yards, and of feedstocks and compost.
    ways
        Kind, yard and material of every way of a place in the plan of the period.
    """

    period: str
    days: frozenset[int]
    dates: Mapping[str, int]
    places: Mapping[str, str]
    yards: Mapping[str, str]
    materials: Mapping[str, str]
    ways: Mapping[str, frozenset[tuple[str, str, str]]]


def known_of(facts: Mapping[str, Any]) -> Known:
    """Gather from the rounds of a month what its log may name."""
    planned, names = facts["planned"], facts["names"]
    ways: dict[str, set[tuple[str, str, str]]] = {}
    columns = (planned[c] for c in ("place", "kind", "yard", "material"))
    for place, *way in zip(*columns, strict=True):
        ways.setdefault(place, set()).add((way[0], way[1], way[2]))
    yards = set(planned["yard"])

    def spelt(codes: Iterable[str], kind: str) -> dict[str, str]:
        pairs = [(code, names[kind].get(code, code)) for code in codes]
        return {word.casefold(): code for code, name in pairs for word in (name, code)}

    return Known(
        period=facts["period"],
        days=frozenset(one["day"] for one in facts["calendar"]),
        dates={one["date"]: one["day"] for one in facts["calendar"] if one["date"]},
        places=spelt(ways, "place"),
        yards=spelt(yards, "place"),
        materials=spelt(set(planned["material"]), "material"),
        ways={place: frozenset(found) for place, found in ways.items()},
    )


def read_block(text: str, known: Known) -> list[Delivery]:
    """
    Read a block that was typed or pasted in.

    Raises
    ------
    LogFault
        With all its faults; nothing of it is used then.
    """
    rows = cells_of(text)
    names = _heading(rows[0])
    first = 1 if names else 0
    if not names:
        names = SHAPES.get(len(rows[0]), ())
    if not {"day", "place", "tonnes"} <= set(names):
        message = "Give columns day, place, yard, feedstock, tonnes, or these three: "
        raise LogFault([message + "day, place, tonnes"])

    def one(row: list[str]) -> Delivery:
        return _line(dict(zip(names, row, strict=False)), known)

    found = lines_typed(rows, first, one, "day and place")
    if not found:
        raise LogFault(["There is no line below the headings"])
    return found


def cells_of(text: str) -> list[list[str]]:
    """
    Part a block into cells: at tabs, else at semicolons, else at commas.

    >>> cells_of("1;North mill;2,5")
    [['1', 'North mill', '2,5']]
    """
    if len(text) > MOST_LETTERS:
        raise LogFault([f"More than {MOST_LETTERS:,} letters. Paste a month at a time"])
    mark = next((sign for sign in "\t;" if sign in text), ",")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    try:
        rows = list(csv.reader([x for x in lines if x.strip()], delimiter=mark))
    except csv.Error as error:
        raise LogFault([f"The block cannot be read as a table ({error})"]) from None
    rows = [row for row in rows if any(cell.strip() for cell in row)]
    if not rows:
        raise LogFault(["Nothing was pasted in"])
    if len(rows) > MOST_ROWS:
        raise LogFault([f"More than {MOST_ROWS:,} rows. Paste a month at a time"])
    return rows


def _heading(row: Sequence[str]) -> tuple[str, ...]:
    """Columns of a block by its headings; none if its first row is no heading."""
    words = [cell.strip().casefold() for cell in row]
    names = [
        next((name for name, others in HEADINGS.items() if word in others), word)
        for word in words
    ]
    return tuple(names) if len(set(names) & set(HEADINGS)) >= 3 else ()


def _line(given: Mapping[str, str], known: Known) -> Delivery:
    """Read one line; a ValueError names the column, the value and a remedy."""
    day = day_in(given["day"], known)
    place = known.places.get(given["place"].casefold())
    if place is None:
        message = f"place: {given['place'][:40]!r} has no round this month. "
        raise ValueError(message + "Write its code or name as on the run sheet")
    ways = known.ways[place]
    columns = (("yard", 1, known.yards), ("material", 2, known.materials))
    for column, at, words in columns:
        text = given.get(column, "")
        if text:
            code = words.get(text.casefold())
            ways = frozenset(way for way in ways if way[at] == code)
            if code is None or (column == "material" and not ways):
                shown = "feedstock" if column == "material" else column
                message = f"{shown}: {text[:40]!r} is not one of this place's"
                raise ValueError(message)
            if not ways:  # it went to a yard that was not planned
                kinds = {(kind, code, m) for kind, _, m in known.ways[place]}
                ways = frozenset(kinds)
    if len(ways) != 1:
        parts = {way[1] for way in ways}
        column = "yard" if len(parts) > 1 else "feedstock"
        message = f"{column}: this place has several. Name one"
        raise ValueError(message)
    ((kind, yard, material),) = ways
    tonnes = number_of(given["tonnes"], "tonnes", 0.0, MOST_T)
    return Delivery(known.period, day, kind, place, yard, material, tonnes)


def day_in(text: str, known: Known) -> int:
    """
    Read a working day by its number or date.

    Raises
    ------
    ValueError
        If the month has no such day.
    """
    if text.isascii() and text.isdigit() and int(text) in known.days:
        return int(text)
    for form in ("%Y-%m-%d", "%d.%m.%Y", "%d/%m/%Y"):
        try:
            date = datetime.datetime.strptime(text, form).date().isoformat()
        except ValueError:
            continue
        if date in known.dates:
            return known.dates[date]
    message = f"day: {text[:20]!r} is no working day of this month. "
    raise ValueError(message + "Write its number, from the run sheet, or its date")


def number_of(text: str, column: str, least: float, most: float) -> float:
    """
    Read a number with a decimal point or comma.

    >>> number_of("2,5", "tonnes", 0, 10)
    2.5
    """
    try:
        value = float(text.replace(",", ".").replace(" ", ""))
    except ValueError:
        value = math.nan
    if not least <= value <= most:
        message = f"{column}: {text[:20]!r} is not a number from {least:g} to {most:g}"
        raise ValueError(message)
    return value


def _kept(row: Mapping[str, str]) -> Delivery:
    """Read a line of the log."""
    return Delivery(
        period=row["period"],
        day=int(row["day"]),
        kind=row["kind"],
        place=row["place"],
        yard=row["yard"],
        material=row["material"],
        tonnes=number_of(row["tonnes"], "tonnes", 0.0, MOST_T),
    )


DELIVERIES = LogFile(
    "delivered.csv",
    tuple(field.name for field in fields(Delivery)),
    _kept,
    lambda one: (one.period, one.day, one.yard, one.place),
)
"""Tonnes delivered."""
