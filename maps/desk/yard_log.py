"""What foremen saw on their pads: temperatures and turnings, beside what was due."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

from maps.desk.log_book import cells_of, number_of
from maps.desk.log_file import NO, YES, LogFault, LogFile, lines_typed, plain_text

COLUMNS = ("day", "yard", "windrow", "temperature", "turned", "note")
LEAST_COLUMNS = 4
COLDEST, HOTTEST = -30.0, 110.0
"""Temperatures that a thermometer in a windrow may show. [degrees C]"""
FIRE_C = 70.0
"""Above it a windrow is turned and wetted (common practice, no source). [degrees C]"""
LONGEST_NOTE = 200


@dataclass(frozen=True)
class Sight:
    """
    What was seen of a windrow on a day.

    Attributes
    ----------
    period, day
        Code of the period, day in it from 1, rest days counted.
    yard, windrow
        Code of the yard, name of the windrow as on the yard sheet.
    temperature_c
        In its core [degrees C]; None if it was not measured.
    turned
        Whether it was turned.
    note
        Anything else.
    """

    period: str
    day: int
    yard: str
    windrow: str
    temperature_c: float | None
    turned: bool
    note: str

    @property
    def key(self) -> tuple[object, ...]:
        """What a line of the log is about."""
        return self.period, self.day, self.yard, self.windrow


@dataclass(frozen=True)
class Pile:
    """
    A windrow of a month: what was due, and what was logged.

    Attributes
    ----------
    yard, windrow
        As of a `Sight`.
    due, turned
        Days of the month on which it was to be turned, and was.
    last_c
        Last temperature [degrees C]; None without one.
    hot_days
        Days logged at the temperature of the settings or above.
    words
        What to look at.
    """

    yard: str
    windrow: str
    due: tuple[int, ...]
    turned: tuple[int, ...]
    last_c: float | None
    hot_days: int
    words: str


def read_seen(text: str, facts: Mapping[str, Any]) -> list[Sight]:
    """
    Read a block that was typed or pasted in.

    Raises
    ------
    LogFault
        With all its faults; nothing of it is used then.
    """
    rows = cells_of(text)
    first = 1 if rows[0][0].strip().casefold() in ("day", "date") else 0
    about = "day, yard and windrow"
    found = lines_typed(rows, first, lambda row: _sight(row, facts), about)
    if not found:
        raise LogFault(["There is no line below the headings"])
    return found


def _sight(row: Sequence[str], facts: Mapping[str, Any]) -> Sight:
    """Read one line; a ValueError names the column, the value and a remedy."""
    if not LEAST_COLUMNS <= len(row) <= len(COLUMNS):
        message = f"columns: {len(row)} of them. Give {', '.join(COLUMNS)}"
        raise ValueError(message)
    blank = [""] * (len(COLUMNS) - len(row))
    day, yard, windrow, warm, turned, note = (c.strip() for c in [*row, *blank])
    pad, names = facts["pad"], facts["names"]["place"]
    if not (day.isascii() and day.isdigit() and 1 <= int(day[:4]) <= pad["days"]):
        message = f"day: {day[:20]!r} is not from 1 to {pad['days']}"
        raise ValueError(message)
    yards = {
        word.casefold(): y for y in pad["windrows"] for word in (y, names.get(y, y))
    }
    code = yards.get(yard.casefold())
    if code is None:
        message = f"yard: {yard[:40]!r} is not a yard of the plan. Write code or name"
        raise ValueError(message)
    if windrow not in pad["windrows"][code]:
        message = f"windrow: {windrow[:20]!r} is not on the sheet of this yard"
        raise ValueError(message)
    if turned.casefold() not in YES + NO:
        message = f"turned: {turned[:20]!r} is neither yes nor no"
        raise ValueError(message)
    heat = number_of(warm, "temperature", COLDEST, HOTTEST) if warm else None
    return Sight(
        period=facts["period"],
        day=int(day),
        yard=code,
        windrow=windrow,
        temperature_c=heat,
        turned=turned.casefold() in YES,
        note=plain_text(note, LONGEST_NOTE),
    )


def _kept(row: Mapping[str, str]) -> Sight:
    """Read a line of the log."""
    warm = row["temperature_c"]
    return Sight(
        period=row["period"],
        day=int(row["day"]),
        yard=row["yard"],
        windrow=row["windrow"],
        temperature_c=number_of(warm, "temperature", COLDEST, HOTTEST)
        if warm
        else None,
        turned=row["turned"].casefold() in YES,
        note=row["note"],
    )


SIGHTS = LogFile(
    "yards.csv",
    tuple(field.name for field in fields(Sight)),
    _kept,
    lambda one: (one.period, one.day, one.yard, one.windrow),
)
"""What was seen on the pads."""


def piles_of(facts: Mapping[str, Any], seen: Sequence[Sight]) -> list[Pile]:
    """Set the log of a month against what was due; what to look at comes first."""
    pad = facts["pad"]
    due: dict[tuple[str, str], list[int]] = {}
    for one in pad["due"]:
        if one["what"] == "turn":
            due.setdefault((one["yard"], one["windrow"]), []).append(one["day"])
    logged: dict[tuple[str, str], list[Sight]] = {}
    for sight in sorted(seen, key=lambda s: s.day):
        logged.setdefault((sight.yard, sight.windrow), []).append(sight)
    last = {
        yard: max(s.day for s in seen if s.yard == yard)
        for yard in {s.yard for s in seen}
    }
    found = []
    for key in sorted({*due, *logged}):
        lines, days = logged.get(key, []), sorted(due.get(key, []))
        warm = [s.temperature_c for s in lines if s.temperature_c is not None]
        turned = tuple(s.day for s in lines if s.turned)
        late = len([d for d in days if d <= last.get(key[0], 0)]) - len(turned)
        words = []
        if warm and warm[-1] > FIRE_C:
            words.append("too hot: turn and wet it, with water at hand")
        if late > 0:
            words.append(f"{late} turning{'s' if late > 1 else ''} not logged")
        found.append(
            Pile(
                *key,
                due=tuple(days),
                turned=turned,
                last_c=warm[-1] if warm else None,
                hot_days=sum(value >= pad["hot_c"] for value in warm),
                words="; ".join(words),
            )
        )
    return sorted(found, key=lambda p: (not p.words, p.last_c is None, not p.turned))
