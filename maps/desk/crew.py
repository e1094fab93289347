"""
Who and what is there: named trucks, drivers, and days on which they are not.

Plain tables in the folder `crew` of the scenario. They name people, so no share file
holds them. A table that is typed or pasted is kept whole or not at all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from maps.desk.log_book import cells_of, day_in, known_of
from maps.desk.log_file import LogFile, LogLine, lines_typed, plain_text

FOLDER = "crew"
OWN, HIRED, WITH_DRIVER = "own", "hired", "hired with driver"
WHOSE = (OWN, HIRED, WITH_DRIVER)
ALL = "all"
LONGEST = {"plate": 20, "name": 60, "phone": 30, "why": 80}
"""Of a text. [letter]"""


@dataclass(frozen=True)
class NamedTruck:
    """
    A truck that is there.

    Attributes
    ----------
    plate
        As on the truck.
    truck
        Code of its type.
    yard
        Code of the yard at which it stands at night; empty for a hired one that serves
        any.
    whose
        One of `WHOSE`.
    """

    plate: str
    truck: str
    yard: str
    whose: str

    @property
    def key(self) -> tuple[object, ...]:
        """What the line is about."""
        return (self.plate.casefold(),)


@dataclass(frozen=True)
class Driver:
    """
    Somebody who drives.

    Attributes
    ----------
    name, phone
        As printed on sheets.
    yard
        Code of the yard from which they drive; empty for any.
    drives
        Codes of truck types, with blanks between; empty for all.
    """

    name: str
    phone: str
    yard: str
    drives: str

    @property
    def key(self) -> tuple[object, ...]:
        """What the line is about."""
        return (self.name.casefold(),)


@dataclass(frozen=True)
class DayOff:
    """
    Working days on which a driver or truck is not there, or nobody drives.

    Attributes
    ----------
    period
        Code of the period.
    who
        Name of a driver, plate of a truck, or "all".
    first, last
        Working days of the period.
    why
        Anything.
    """

    period: str
    who: str
    first: int
    last: int
    why: str

    @property
    def key(self) -> tuple[object, ...]:
        """What the line is about."""
        return self.period, self.who.casefold(), self.first


@dataclass(frozen=True)
class Crew:
    """All that is known of who is there."""

    trucks: tuple[NamedTruck, ...] = ()
    drivers: tuple[Driver, ...] = ()
    off: tuple[DayOff, ...] = ()


def _columns(kind: type[Any]) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind))


def _texts(row: Mapping[str, str], kind: type[Any]) -> dict[str, str]:
    """Take the texts of a line; a TypeError tells that one is missing."""
    found = {name: row[name] for name in _columns(kind)}
    if not all(isinstance(text, str) for text in found.values()):
        message = "a line is short"
        raise TypeError(message)
    return found


def _day_off(row: Mapping[str, str]) -> DayOff:
    given = _texts(row, DayOff)
    days = {name: int(given.pop(name)) for name in ("first", "last")}
    return DayOff(period=given["period"], who=given["who"], why=given["why"], **days)


TRUCKS = LogFile(
    "trucks.csv",
    _columns(NamedTruck),
    lambda row: NamedTruck(**_texts(row, NamedTruck)),
    lambda one: (one.whose != OWN, one.truck, one.yard, one.plate),
    FOLDER,
)
DRIVERS = LogFile(
    "drivers.csv",
    _columns(Driver),
    lambda row: Driver(**_texts(row, Driver)),
    lambda one: (one.yard, one.name),
    FOLDER,
)
DAYS_OFF = LogFile(
    "days_off.csv",
    _columns(DayOff),
    _day_off,
    lambda one: (one.period, one.first, one.who),
    FOLDER,
)


def crew_of(scenario: Path) -> Crew:
    """
    Read who is there.

    Raises
    ------
    LogFault
        If a table cannot be read.
    """
    return Crew(
        tuple(TRUCKS.lines(scenario)),
        tuple(DRIVERS.lines(scenario)),
        tuple(DAYS_OFF.lines(scenario)),
    )


def read_trucks(text: str, facts: Mapping[str, Any]) -> list[NamedTruck]:
    """
    Read named trucks: plate, type, yard, whose (own if it is left out).

    Raises
    ------
    LogFault
        With all faults; nothing of the block is used then.
    """

    def one(row: Sequence[str]) -> NamedTruck:
        plate, kind, yard, whose = _cells(row, 2, 4)
        named = _words(plate, "plate")
        truck = _code(kind, facts["names"]["truck"], facts["choices"]["hire"], "type")
        whose = whose.casefold() or OWN
        if whose not in WHOSE:
            from logistics.scenario import in_list

            message = f"whose: {whose[:20]!r} is none of {in_list(WHOSE)}"
            raise ValueError(message)
        at = _yard(yard, facts)
        if whose == OWN and not at:
            message = "yard: an own truck has one. Write where it stands at night"
            raise ValueError(message)
        return NamedTruck(named, truck, at, whose)

    return _read(text, one, "plate")


def read_drivers(text: str, facts: Mapping[str, Any]) -> list[Driver]:
    """
    Read drivers: name, telephone, yard, truck types; all but the name may be left out.

    Raises
    ------
    LogFault
        With all faults; nothing of the block is used then.
    """

    def one(row: Sequence[str]) -> Driver:
        name, phone, yard, drives = _cells(row, 1, 4)
        named = _words(name, "name")
        if named.casefold() == ALL:
            message = f"name: {ALL!r} stands for everybody. Write another name"
            raise ValueError(message)
        types = [] if drives.casefold() in ("", ALL) else drives.split()
        known = facts["choices"]["hire"]
        codes = [_code(t, {}, known, "types") for t in types]
        dial = plain_text(phone, LONGEST["phone"]).removeprefix("'")
        return Driver(named, dial, _yard(yard, facts), " ".join(codes))

    return _read(text, one, "name")


def read_days_off(text: str, facts: Mapping[str, Any], crew: Crew) -> list[DayOff]:
    """
    Read days off of a month: who, first day, and if need be last day and why.

    Raises
    ------
    LogFault
        With all faults; nothing of the block is used then.
    """
    known = known_of(facts)
    names = {d.name.casefold(): d.name for d in crew.drivers}
    names |= {t.plate.casefold(): t.plate for t in crew.trucks} | {ALL: ALL}

    def one(row: Sequence[str]) -> DayOff:
        who, first, last, why = _cells(row, 2, 4)
        name = names.get(plain_text(who, 99).casefold())
        if name is None:
            message = (
                f"who: {who[:40]!r} is no driver and no plate. Write one, or {ALL}"
            )
            raise ValueError(message)
        begins = day_in(first, known)
        ends = day_in(last, known) if last else begins
        if ends < begins:
            message = f"last day: {last[:20]!r} lies before the first"
            raise ValueError(message)
        words = plain_text(why, LONGEST["why"])
        return DayOff(facts["period"], name, begins, ends, words)

    return _read(text, one, "who and first day")


def _read[Kind: LogLine](
    text: str, one: Callable[[Sequence[str]], Kind], about: str
) -> list[Kind]:
    """Read every line of a block; an empty block has none."""
    rows = cells_of(text) if text.strip() else []
    heading = (about.split()[0], "driver", "date", "truck")
    first = 1 if rows and rows[0][0].strip().casefold() in heading else 0
    return lines_typed(rows, first, one, about)


def _cells(row: Sequence[str], least: int, most: int) -> list[str]:
    """Take the cells of a row, blank where the last are left out."""
    cells = [cell.strip() for cell in row]
    while len(cells) > least and not cells[-1]:
        cells.pop()
    if not least <= len(cells) <= most:
        message = f"columns: {len(cells)} of them, {least} to {most} are wanted"
        raise ValueError(message)
    return [*cells, *[""] * (most - len(cells))]


def _words(text: str, column: str) -> str:
    """Read a text that must be there."""
    if not text or len(text) > LONGEST[column]:
        least = f"1 to {LONGEST[column]} are wanted"
        message = f"{column}: {text[:20]!r} has {len(text)} letters, {least}"
        raise ValueError(message)
    return plain_text(text, LONGEST[column])


def _code(
    text: str, names: Mapping[str, str], codes: Sequence[str], column: str
) -> str:
    """Read a code, or the name of one."""
    from logistics.scenario import in_list

    known = {names.get(code, code).casefold(): code for code in codes}
    known |= {code.casefold(): code for code in codes}
    if text.casefold() not in known:
        message = f"{column}: {text[:40]!r} is none of {in_list(codes)}"
        raise ValueError(message)
    return known[text.casefold()]


def _yard(text: str, facts: Mapping[str, Any]) -> str:
    """Read a yard of the plan; empty where there is none."""
    codes = list(facts["pad"]["windrows"])
    return _code(text, facts["names"]["place"], codes, "yard") if text else ""
