"""Drivers and plates on the page of a month and on its run sheets."""

from __future__ import annotations

import hashlib
import html
import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from markupsafe import Markup

from maps.desk.assigning import (
    WEEK,
    Given,
    HandLimits,
    assigned,
    rounds_of,
)
from maps.desk.crew import (
    DAYS_OFF,
    DRIVERS,
    TRUCKS,
    Crew,
    crew_of,
    read_days_off,
    read_drivers,
    read_trucks,
)
from maps.desk.log_file import LogFault

CREW_TABLES = {
    "trucks": ("plate", "truck", "yard", "whose"),
    "drivers": ("name", "phone", "yard", "drives"),
    "off": ("who", "first", "last", "why"),
}
"""Tables of the page, and the columns that are typed."""
CHANGED = (
    "The table was changed meanwhile, by another page or program. Look at it as it is "
    "now and type your change again"
)
BLANKS = re.compile(
    r'<p class="fill" data-truck="([^"]*)"><span>Plate</span><span>Driver</span>'
)
"""Where a run sheet leaves room for plate and driver."""


@dataclass(frozen=True)
class DriverHours:
    """
    What a driver has in a month.

    Attributes
    ----------
    name, days
        The driver, and how many days they are out.
    driving_h, week_h
        Driving of the month, and the most in any seven days. [h]
    """

    name: str
    days: int
    driving_h: float
    week_h: float


def given_in(scenario: Path, facts: Mapping[str, Any]) -> dict[tuple[int, str], Given]:
    """
    Give the rounds of a month to the crew of a scenario.

    Raises
    ------
    LogFault
        If a table of the crew cannot be read.
    """
    crew = _of_period(crew_of(scenario), str(facts["period"]))
    if not (crew.trucks or crew.drivers or crew.off):
        return {}
    return assigned(rounds_of(facts), crew, HandLimits(**facts["limits"]))


def _of_period(crew: Crew, period: str) -> Crew:
    """Keep the days off of one period."""
    return replace(crew, off=tuple(o for o in crew.off if o.period == period))


def crew_shown(scenario: Path, facts: Mapping[str, Any]) -> dict[str, Any]:
    """Gather what the page shows of drivers and plates."""
    try:
        given = given_in(scenario, facts)
        texts = {name: table_text(scenario, name, facts) for name in CREW_TABLES}
    except LogFault as fault:
        return {"log_faults": fault.lines, "texts": {}, "nobody": [], "hours": []}
    rows = {(one["day"], one["name"]): one for one in facts["tours"]}
    nobody = [(rows[key], one.why) for key, one in given.items() if one.why]
    return {
        "log_faults": [],
        "texts": texts,
        "seen": {name: digest(text) for name, text in texts.items()},
        "nobody": nobody,
        "hours": hours_of(facts, given),
    }


def hours_of(
    facts: Mapping[str, Any], given: Mapping[tuple[int, str], Given]
) -> list[DriverHours]:
    """Sum the driving of everybody who drives."""
    rounds = {(one.day, one.truck): one for one in rounds_of(facts)}
    by: dict[str, list[tuple[int, float]]] = defaultdict(list)
    for key, one in given.items():
        if one.driver:
            by[one.driver].append((rounds[key].date, rounds[key].driving_h))
    return [
        DriverHours(
            name,
            len({date for date, _ in out}),
            sum(h for _, h in out),
            max(sum(h for d, h in out if e - WEEK < d <= e) for e, _ in out),
        )
        for name, out in sorted(by.items())
    ]


def table_text(scenario: Path, name: str, facts: Mapping[str, Any]) -> str:
    """Write a table of the crew as it is typed, days off of the month alone."""
    crew = _of_period(crew_of(scenario), str(facts["period"]))
    lines: Mapping[str, Sequence[Any]] = {
        "trucks": crew.trucks,
        "drivers": crew.drivers,
        "off": crew.off,
    }
    rows = [[str(getattr(one, c)) for c in CREW_TABLES[name]] for one in lines[name]]
    return "\n".join("\t".join(row) for row in rows)


def digest(text: str) -> str:
    """Name a text, to tell whether a table is still as it was shown."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def keep_table(
    scenario: Path, name: str, block: str, seen: str, facts: Mapping[str, Any]
) -> int:
    """
    Put a typed table in place of the one that was shown; say how many lines it has.

    Raises
    ------
    LogFault
        If it has faults, or the table is another one by now. Nothing is written then.
    """
    if digest(table_text(scenario, name, facts)) != seen:
        raise LogFault([CHANGED])
    if name == "trucks":
        trucks = sorted(read_trucks(block, facts), key=TRUCKS.order)
        TRUCKS.write(scenario, trucks)
        return len(trucks)
    if name == "drivers":
        drivers = sorted(read_drivers(block, facts), key=DRIVERS.order)
        DRIVERS.write(scenario, drivers)
        return len(drivers)
    crew = crew_of(scenario)
    new = read_days_off(block, facts, crew)
    kept = [one for one in crew.off if one.period != facts["period"]]
    DAYS_OFF.write(scenario, sorted([*kept, *new], key=DAYS_OFF.order))
    return len(new)


def with_names(page: str, day: int, given: Mapping[tuple[int, str], Given]) -> str:
    """Fill plates and drivers of a day into a run sheet; blanks stay blank."""

    def filled(found: re.Match[str]) -> str:
        one = given.get((day, html.unescape(found[1])))
        if one is None:
            return found[0]
        head = f'<p class="fill" data-truck="{found[1]}">'
        dial = f", {one.phone}" if one.phone else ""
        return head + _line("Plate", one.plate) + _line("Driver", one.driver + dial)

    return BLANKS.sub(filled, page)


def _line(what: str, text: str) -> str:
    """Write what is known, or a line to write on."""
    if not text:
        return f"<span>{what}</span>"
    tag = '<span class="known">{} <strong><bdi>{}</bdi></strong></span>'
    return str(Markup(tag).format(what, text))
