"""The rounds of a month on their page: which are in force, what may be in trouble."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from maps.desk.book import ORDER, PlanEntry
from maps.desk.errand_worker import ANEW, FACTS, ROUNDS, SHEETS
from maps.desk.errands import MONTHS, TODAY, Errand, errand_at, folder_of
from maps.desk.kept import opens
from maps.desk.month_words import FORMAT
from maps.desk.recall import PLAN
from maps.desk.shelf import NotThere
from maps.desk.stock_log import rest_words
from maps.disk import read_json, write_json

IN_FORCE = "in_force.json"
SHARES = (0, 25, 50, 75)
"""What a source has of its load, to choose from. [%]"""
RUN_SHEETS = re.compile(r"run_sheets_day_(\d+)\.html")
PLACES, ROADS = 4, 3
"""Lines of the form for sources and for roads."""


class TroubleFault(ValueError):
    """Trouble that does not fit the month, in words."""


def rounds_in_force(entry: PlanEntry, period: str) -> Path:
    """Folder of the rounds of a month that are in force: as made, or planned anew."""
    made = folder_of(entry, MONTHS, period)
    code = read_json(made / IN_FORCE).get("today")
    if isinstance(code, str) and code:
        anew = folder_of(entry, TODAY, code)
        one = errand_at(anew)
        if one.state == "done" and one.asked.get("period") == period:
            return anew
    return made


def set_in_force(entry: PlanEntry, period: str, code: str) -> None:
    """Put rounds that were planned anew in force; an empty code those first made."""
    write_json(folder_of(entry, MONTHS, period) / IN_FORCE, {"today": code})


def facts_in(folder: Path) -> dict[str, Any]:
    """
    Read what the page shows of rounds.

    Raises
    ------
    NotThere
        If they were not made, or by another version.
    """
    found = read_json(folder / FACTS)
    if found.get("format") != FORMAT:
        raise NotThere(folder.name)
    return found


def changes_in(folder: Path) -> dict[str, Any]:
    """Read what planning anew changed; empty while it is not known."""
    found = read_json(folder / ANEW)
    return found if found.get("format") == FORMAT else {}


def sheets_in(folder: Path) -> dict[str, Any]:
    """List what was written of rounds: pages by day, yard sheets, map, workbook."""
    base = folder / SHEETS
    [inner] = sorted(base.glob("rounds_*"))[:1] or [base]
    names = [path.name for path in sorted(inner.iterdir())] if inner.is_dir() else []
    found = {name: RUN_SHEETS.fullmatch(name) for name in names}
    yards = inner / "yard_sheets"
    return {
        "place": f"{SHEETS}/{inner.name}",
        "days": {int(match[1]): name for name, match in found.items() if match},
        "map": "rounds_map.html" in names,
        "book": "rounds.xlsx" in names,
        "yards": sorted(p.name for p in yards.iterdir()) if yards.is_dir() else [],
    }


def day_words(facts: Mapping[str, Any], day: int) -> str:
    """Write a working day, with its date where it is known."""
    calendar = facts["calendar"]
    return next((calendar_words(one) for one in calendar if one["day"] == day), "")


def calendar_words(one: Mapping[str, Any]) -> str:
    """
    Write a working day of a calendar.

    >>> calendar_words({"day": 3, "date": "2027-04-05"})
    'day 3, Mon 5 Apr'
    """
    if not one["date"]:
        return f"day {one['day']}"
    when = date.fromisoformat(one["date"])
    return f"day {one['day']}, {when:%a} {when.day} {when:%b}"


def likely_day(facts: Mapping[str, Any], logged: Sequence[int]) -> int:
    """Guess the day that is asked about: today's, or the one after the last logged."""
    now = date.today().isoformat()
    days = [one["day"] for one in facts["days"]]
    today = [one["day"] for one in facts["days"] if one["date"] == now]
    later = [day for day in days if day > max(logged, default=0)]
    return next(iter([*today, *later, *days]), 1)


def trouble_asked(form: Mapping[str, str], facts: Mapping[str, Any]) -> dict[str, Any]:
    """
    Read from a form what is in trouble, as an order of the errand "today".

    Raises
    ------
    TroubleFault
        If it does not fit the rounds, or nothing is in trouble.
    """
    choices = facts["choices"]
    days = [one["day"] for one in facts["days"]]
    first, last = (_whole(form, name, days) for name in ("first", "last"))
    closed = "closed" in form
    if last < first:
        message = "The last day lies before the first. Choose it again"
        raise TroubleFault(message)
    down = []
    for n, one in enumerate(choices["trucks"]):
        count = _whole(form, f"down-{n}", range(one["count"] + 1), 0)
        count = one["count"] if closed else count
        if count:
            down.append([one["truck"], one["yard"], count])
    arrives = {}
    for n in range(PLACES):
        place = form.get(f"source-{n}", "")
        if place:
            _one_of(place, choices["sources"], "source")
            share = _whole(form, f"share-{n}", SHARES, 0)
            arrives[place] = share / 100
    roads = [form.get(f"road-{n}", "") for n in range(ROADS)]
    shut = sorted({road for road in roads if road})
    for road in shut:
        _one_of(road, [one["road"] for one in choices["roads"]], "road")
    asked = {
        "period": facts["period"],
        "first": first,
        "last": last,
        "down": down,
        "closed": closed,
        "no_hire": [
            c for n, c in enumerate(choices["hire"]) if closed or f"hire-{n}" in form
        ],
        "arrives": arrives,
        "full": [c for n, c in enumerate(choices["yards"]) if f"full-{n}" in form],
        "shut": shut,
    }
    kinds = ("closed", "down", "no_hire", "arrives", "full", "shut")
    if not any(asked[name] for name in kinds):
        message = "Nothing is in trouble yet. Choose a truck, source, road or yard"
        raise TroubleFault(message)
    return asked


def _whole(
    form: Mapping[str, str], name: str, among: Sequence[int], usual: int | None = None
) -> int:
    """Read a whole number that must be one of some."""
    text = form.get(name, "")
    if not text and usual is not None:
        return usual
    if not (text.isascii() and text.isdigit() and len(text) < 6 and int(text) in among):
        message = f"{name}: {text[:20]!r} is not one of the choices"
        raise TroubleFault(message)
    return int(text)


def _one_of(code: str, among: Sequence[str], what: str) -> None:
    if code not in among:
        message = f"{what}: {code[:40]!r} is not one of this month's"
        raise TroubleFault(message)


def trouble_words(asked: Mapping[str, Any], facts: Mapping[str, Any]) -> list[str]:
    """Say what is in trouble, or was at hand, a line each."""
    if asked.get("what") == "rest":
        return rest_words(asked, facts)
    names, found = facts["names"], []
    if asked.get("closed"):
        return ["Nobody drives"]
    place = names["place"]
    for truck, yard, count in asked.get("down", []):
        kind = names["truck"].get(truck, truck)
        found.append(f"Down: {count} {kind} of {place.get(yard, yard)}")
    for code in asked.get("no_hire", []):
        found.append(f"Not for hire: {names['truck'].get(code, code)}")
    for code, share in dict(asked.get("arrives", {})).items():
        told = f"delivers {share:.0%} of its loads" if share else "delivers nothing"
        found.append(f"{place.get(code, code)} {told}")
    found += [f"{place.get(c, c)} takes nothing in" for c in asked.get("full", [])]
    listed = facts["choices"]["roads"]
    roads = {one["road"]: one["name"] or one["road"] for one in listed}
    found += [f"Shut: {roads.get(c, c)}" for c in asked.get("shut", [])]
    return found


def why_make_anew(entry: PlanEntry, period: str) -> str:
    """Say why the rounds of a month ought to be made anew; empty if they need not."""
    made = folder_of(entry, MONTHS, period)
    if read_json(made / FACTS).get("format") != FORMAT:
        return "These rounds were made by another version of Loamhaul."
    if not opens(made / ROUNDS, f"rounds {entry.code} {period}"):
        return (
            "These rounds were made on another computer or by another version. They "
            "can be read and printed, but no day of them can be planned anew."
        )
    if _moment(entry.folder / PLAN) > _moment(made / ROUNDS):
        return "The plan was made again after these rounds, so its amounts may differ."
    return ""


def _moment(path: Path) -> float:
    """When a file was last written; 0 if it is not there. [s since 1970]"""
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0


def fits(entry: PlanEntry, one: Errand) -> bool:
    """Tell whether days were planned anew from the rounds that the month has now."""
    made = folder_of(entry, MONTHS, str(one.asked.get("period", "")))
    ordered = [read_json(f / ORDER).get("at") for f in (made, one.folder)]
    known = [at for at in ordered if isinstance(at, int | float)]
    return len(known) == 2 and known[0] <= known[1]


def days_anew(entry: PlanEntry, period: str) -> list[Errand]:
    """List the days of a month that were planned anew, the newest first."""
    base = entry.folder / TODAY
    if base.is_symlink() or not base.is_dir():
        return []
    folders = [p for p in base.iterdir() if not p.name.startswith(".")]
    found = [errand_at(p) for p in sorted(folders, reverse=True)]
    return [one for one in found if one.asked.get("period") == period]
