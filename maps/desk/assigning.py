"""
Rounds of a month given to trucks by their plate, and to drivers.

Day by day, rounds that carry what spoils first. A truck has one round a day, so that it
stays as clean as its round has it. A driver may have several that do not overlap,
within the driving of a day, that of any seven days, and a day's hours. On each day as
many rounds as can have a driver of their own get one; who drove least lately is asked
first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from maps.desk.crew import (
    ALL,
    HIRED,
    OWN,
    WITH_DRIVER,
    Crew,
    Driver,
    NamedTruck,
)

WEEK = 7
TINY = 1e-6
NO_TRUCK = "no named truck is free"
NO_HIRED = "no hired truck is named"
NO_DRIVER = "no driver is there who has the hours"
CLOSED = "nobody drives on this day"


@dataclass(frozen=True)
class Round:
    """
    What one truck does on a day.

    Attributes
    ----------
    day, date
        Working day of the period, and the day of the period on which it falls.
    truck, type, home, whose
        Name in the plan of the month, code of the type, yard where it starts, "owned"
        or "hired".
    starts_h, ends_h, driving_h
        Out from and to [h after midnight], and driving [h].
    spoils
        Whether it carries what spoils.
    """

    day: int
    date: int
    truck: str
    type: str
    home: str
    whose: str
    starts_h: float
    ends_h: float
    driving_h: float
    spoils: bool

    @property
    def hours(self) -> float:
        """Time out. [h]"""
        return self.ends_h - self.starts_h


@dataclass(frozen=True)
class HandLimits:
    """Most driving in a day and in seven days, most time out in a day. [h]"""

    day_h: float
    week_h: float
    shift_h: float


@dataclass(frozen=True)
class Given:
    """
    Who drives a round with what.

    Attributes
    ----------
    plate, driver, phone
        Empty where there is none.
    why
        What is missing, in words; empty where nothing is.
    """

    plate: str = ""
    driver: str = ""
    phone: str = ""
    why: str = ""


Rounds = Sequence[Round]
Takes = dict[int, NamedTruck]


def rounds_of(facts: Mapping[str, Any]) -> list[Round]:
    """Read the rounds of a month from its record, see `month_facts`."""
    dates = {one["day"]: one["in_period"] for one in facts["calendar"]}
    return [
        Round(
            day=one["day"],
            date=dates[one["day"]],
            truck=one["name"],
            type=one["type"],
            home=one["home"],
            whose=one["whose"],
            starts_h=one["starts_h"],
            ends_h=one["ends_h"],
            driving_h=one["driving_h"],
            spoils=one["spoils"],
        )
        for one in facts["tours"]
    ]


def assigned(
    rounds: Rounds, crew: Crew, limits: HandLimits
) -> dict[tuple[int, str], Given]:
    """
    Give the rounds of a month to trucks and drivers.

    Parameters
    ----------
    rounds
        Of one period.
    crew
        Who is there; days off of that period alone.
    limits
        Of every driver.

    Returns
    -------
    dict
        Day and name of the truck in the plan -> who and what. Without a table of trucks
        no plate is given and none is missing; so with drivers.
    """
    found: dict[tuple[int, str], Given] = {}
    plates: dict[str, str] = {}
    book = Hours(limits)
    for day in sorted({one.day for one in rounds}):
        here = [one for one in rounds if one.day == day]
        here.sort(key=lambda r: (not r.spoils, -r.hours, r.home, r.truck))
        away = {off.who for off in crew.off if off.first <= day <= off.last}
        if ALL in away:
            found |= {(day, one.truck): Given(why=CLOSED) for one in here}
            continue
        takes = _trucks(here, [t for t in crew.trucks if t.plate not in away], plates)
        free = [d for d in crew.drivers if d.name not in away]
        wanting = [
            n
            for n in range(len(here))
            if crew.drivers
            and (not crew.trucks or n in takes)
            and not (n in takes and takes[n].whose == WITH_DRIVER)
        ]
        drives = _drivers(here, wanting, free, book)
        for n, one in enumerate(here):
            truck, driver = takes.get(n), drives.get(n)
            why = ""
            if crew.trucks and truck is None:
                why = NO_TRUCK if one.whose == "owned" else NO_HIRED
            if n in wanting and driver is None:
                why = NO_DRIVER
            found[day, one.truck] = Given(
                truck.plate if truck else "",
                driver.name if driver else "",
                driver.phone if driver else "",
                why,
            )
            if truck:
                plates[one.truck] = truck.plate
            if driver:
                book.add(driver.name, one)
    return found


def _trucks(
    rounds: Rounds, there: Sequence[NamedTruck], last: Mapping[str, str]
) -> Takes:
    """Give each round a truck of its type and yard: the one of last time, if it can."""
    found: Takes = {}
    used: set[str] = set()
    ways: list[tuple[int, list[NamedTruck]]] = []
    for n, one in enumerate(rounds):
        may = [t for t in there if _fits(t, one)]
        may.sort(key=lambda t: (t.yard == "", t.whose != WITH_DRIVER, t.plate))
        ways.append((n, may))
    for n, may in ways:
        same = [t for t in may if t.yard and t.plate == last.get(rounds[n].truck)]
        if same and same[0].plate not in used:
            found[n] = same[0]
            used.add(same[0].plate)
    for n, may in ways:
        free = [t for t in may if t.plate not in used]
        if n not in found and free:
            found[n] = free[0]
            used.add(free[0].plate)
    return found


def _fits(truck: NamedTruck, one: Round) -> bool:
    """Whether a truck is of the type and place of a round."""
    own = one.whose == "owned"
    whose = truck.whose == OWN if own else truck.whose in (HIRED, WITH_DRIVER)
    return whose and truck.truck == one.type and truck.yard in (one.home, "")


class Hours:
    """What drivers have driven in a month, and whether they may drive more."""

    def __init__(self, limits: HandLimits) -> None:
        self.limits = limits
        self.driven: dict[str, list[Round]] = defaultdict(list)
        self._weeks: dict[tuple[str, int], float] = {}

    def add(self, name: str, one: Round) -> None:
        """Write down that a driver drives a round."""
        self.driven[name].append(one)
        self._weeks.clear()

    def lately(self, name: str, date: int) -> float:
        """Driving of the seven days that end on a date. [h]"""
        if (name, date) not in self._weeks:
            here = [r for r in self.driven[name] if date - WEEK < r.date <= date]
            self._weeks[name, date] = sum(r.driving_h for r in here)
        return self._weeks[name, date]

    def may(self, driver: Driver, one: Round, also: Rounds = ()) -> bool:
        """Tell whether a driver can take a round besides others of the same day."""
        if driver.yard not in ("", one.home):
            return False
        if driver.drives and one.type not in driver.drives.split():
            return False
        if any(o.home != one.home or _overlap(o, one) for o in also):
            return False
        day = [one, *also]
        driving = sum(r.driving_h for r in day)
        return (
            driving <= self.limits.day_h + TINY
            and driving + self.lately(driver.name, one.date)
            <= self.limits.week_h + TINY
            and sum(r.hours for r in day) <= self.limits.shift_h + TINY
        )


def _overlap(one: Round, other: Round) -> bool:
    """Whether two rounds are out at the same time."""
    return one.starts_h < other.ends_h - TINY and other.starts_h < one.ends_h - TINY


def _drivers(
    rounds: Rounds, wanting: Sequence[int], free: Sequence[Driver], book: Hours
) -> dict[int, Driver]:
    """Find a driver for as many rounds of a day as can be, the first ones first."""
    date = rounds[0].date if rounds else 0
    order = sorted(free, key=lambda d: (book.lately(d.name, date), d.name))
    by: dict[str, list[int]] = {}

    def find(n: int, asked: set[str]) -> bool:
        """Take a driver for a round, who may leave another to somebody else."""
        for driver in order:
            if driver.name in asked or not book.may(driver, rounds[n]):
                continue
            asked.add(driver.name)
            if driver.name not in by or find(by[driver.name][0], asked):
                by[driver.name] = [n]
                return True
        return False

    rest = [n for n in wanting if not find(n, set())]
    for n in rest:
        for driver in order:
            also = [rounds[k] for k in by.get(driver.name, [])]
            if also and book.may(driver, rounds[n], also):
                by[driver.name].append(n)
                break
    known = {driver.name: driver for driver in free}
    return {n: known[name] for name, taken in by.items() for n in taken}
