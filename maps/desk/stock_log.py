"""What somebody counted: tonnes that lay at a source or in a yard on a morning."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

from maps.desk.log_book import (
    Delivery,
    Known,
    cells_of,
    day_in,
    known_of,
    number_of,
)
from maps.desk.log_file import LogFault, LogFile, lines_typed

MOST_T = 100_000.0
"""Of one count; more is a slip of the pen. [t]"""


@dataclass(frozen=True)
class StockCount:
    """
    What lay at a place before the first truck of a day came.

    Attributes
    ----------
    period, day
        Code of the period, working day in it.
    place, material
        Code of a source or yard, and of a feedstock or compost.
    tonnes
        Weighed or judged. [t]
    """

    period: str
    day: int
    place: str
    material: str
    tonnes: float

    @property
    def key(self) -> tuple[object, ...]:
        """What a line of the log is about."""
        return self.period, self.day, self.place, self.material


def _kept(row: Mapping[str, str]) -> StockCount:
    """Read a line of the log."""
    return StockCount(
        period=row["period"],
        day=int(row["day"]),
        place=row["place"],
        material=row["material"],
        tonnes=number_of(row["tonnes"], "tonnes", 0.0, MOST_T),
    )


COUNTS = LogFile(
    "stocks.csv",
    tuple(field.name for field in fields(StockCount)),
    _kept,
    lambda one: (one.period, one.day, one.place, one.material),
)
"""Stocks that were counted."""


def read_counts(text: str, facts: Mapping[str, Any]) -> list[StockCount]:
    """
    Read a block that was typed or pasted in: day, place, feedstock, tonnes.

    The feedstock may be left out where a place has one.

    Raises
    ------
    LogFault
        With all its faults; nothing of it is used then.
    """
    rows, known = cells_of(text), known_of(facts)
    first = 1 if rows[0][0].strip().casefold() in ("day", "date") else 0
    found = lines_typed(
        rows, first, lambda row: _count(row, facts, known), "day and place"
    )
    if not found:
        raise LogFault(["There is no line below the headings"])
    return found


def _count(row: Sequence[str], facts: Mapping[str, Any], known: Known) -> StockCount:
    """Read one line; a ValueError names the column, the value and a remedy."""
    if len(row) not in (3, 4):
        message = f"columns: {len(row)} of them. Give day, place, feedstock, tonnes"
        raise ValueError(message)
    day, place, *middle, tonnes = row
    names, may = facts["names"], facts["countable"]
    places = {
        word.casefold(): code
        for code in may
        for word in (names["place"].get(code, code), code)
    }
    at = places.get(place.casefold())
    if at is None:
        message = f"place: {place[:40]!r} is no source or yard of this month. "
        raise ValueError(message + "Write its code or name as on the sheets")
    text = middle[0] if middle else ""
    codes = [
        code
        for code in may[at]
        if text.casefold()
        in ("", code.casefold(), names["material"].get(code, code).casefold())
    ]
    if not codes:
        message = f"feedstock: {text[:40]!r} is not counted at this place. "
        raise ValueError(message + "What spoils goes into a windrow the day it comes")
    if len(codes) > 1:
        message = "feedstock: this place has several. Name one"
        raise ValueError(message)
    return StockCount(
        period=known.period,
        day=day_in(day, known),
        place=at,
        material=codes[0],
        tonnes=number_of(tonnes, "tonnes", 0.0, MOST_T),
    )


def rest_asked(
    form: Mapping[str, str],
    facts: Mapping[str, Any],
    log: Sequence[Delivery],
    counts: Sequence[StockCount],
) -> dict[str, Any]:
    """
    Read from a form from which day the month is planned anew, as an order.

    Raises
    ------
    ValueError
        If the month has no such day.
    """
    days = [one["day"] for one in facts["calendar"]]
    text = form.get("first", "")
    if not (text.isascii() and text.isdigit() and len(text) < 6 and int(text) in days):
        message = f"From: {text[:20]!r} is no working day of this month"
        raise ValueError(message)
    period, first = facts["period"], int(text)
    return {
        "what": "rest",
        "period": period,
        "first": first,
        "last": days[-1],
        "fetch_all": "all" in form,
        "hauled": [
            [d.day, d.kind, d.place, d.material, d.yard, d.tonnes]
            for d in log
            if d.period == period and d.day < first
        ],
        "counted": [
            [c.day, c.place, c.material, c.tonnes]
            for c in counts
            if c.period == period and c.day <= first
        ],
    }


def rest_words(asked: Mapping[str, Any], facts: Mapping[str, Any]) -> list[str]:
    """Say from what the rest of a month was planned anew, a line each."""
    hauled, counted = asked.get("hauled", []), asked.get("counted", [])
    names, first = facts["names"], asked.get("first", 1)
    tonnes = sum(float(row[-1]) for row in hauled if row[1] == "in")
    out = sum(float(row[-1]) for row in hauled if row[1] == "out")
    found = [
        f"Hauled by the log before day {first}: {tonnes:,.1f} t fetched, "
        f"{out:,.1f} t of compost brought"
    ]
    for day, place, material, t in counted:
        where = names["place"].get(place, place)
        what = names["material"].get(material, material)
        found.append(f"Counted on day {day}: {where}, {what}, {float(t):,.1f} t")
    if asked.get("fetch_all"):
        found.append("What was counted at sources beyond the plan is fetched as well")
    return found
