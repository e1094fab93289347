"""The logs of a scenario as the page of a month shows them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from maps.desk.deviation import deviation, picture
from maps.desk.log_book import DELIVERIES
from maps.desk.log_file import LogFault
from maps.desk.month_view import calendar_words
from maps.desk.stock_log import COUNTS
from maps.desk.yard_log import SIGHTS, piles_of


def logged_days(scenario: Path, period: str) -> list[int]:
    """List the days of a month that the log tells of; none where it cannot be read."""
    try:
        return [one.day for one in DELIVERIES.lines(scenario) if one.period == period]
    except LogFault:
        return []


def log_shown(scenario: Path, facts: dict[str, Any], period: str) -> dict[str, Any]:
    """Set the log of a month against its rounds."""
    try:
        lines = [one for one in DELIVERIES.lines(scenario) if one.period == period]
    except LogFault as fault:
        return {"apart": None, "picture": "", "lines": [], "log_faults": fault.lines}
    apart = deviation(facts["planned"], lines)
    return {
        "apart": apart,
        "picture": picture(apart, facts["names"]),
        "lines": lines,
        "log_faults": [],
        "log_name": f"{DELIVERIES.folder}/{DELIVERIES.name}",
    }


def stock_shown(scenario: Path, facts: dict[str, Any]) -> dict[str, Any]:
    """Gather what was logged and counted of a month, and the day that is next."""
    period, names = facts["period"], facts["names"]
    days = [(d["day"], calendar_words(d)) for d in facts["calendar"]]
    try:
        log = [one for one in DELIVERIES.lines(scenario) if one.period == period]
        counts = [one for one in COUNTS.lines(scenario) if one.period == period]
    except LogFault as fault:
        return {"counts": [], "log_faults": fault.lines, "lines": [], "all_days": days}
    last = max((one.day for one in log), default=0)
    places = [
        (names["place"].get(place, place), [names["material"].get(c, c) for c in codes])
        for place, codes in facts["countable"].items()
    ]
    return {
        "counts": counts,
        "lines": log,
        "log_faults": [],
        "all_days": days,
        "next_day": min(last + 1, days[-1][0]),
        "countable": places,
    }


def yards_shown(scenario: Path, facts: dict[str, Any]) -> dict[str, Any]:
    """Set the log of the yards against what is due in a month."""
    try:
        seen = [s for s in SIGHTS.lines(scenario) if s.period == facts["period"]]
    except LogFault as fault:
        return {"piles": [], "log_faults": fault.lines, "seen": []}
    return {"piles": piles_of(facts, seen), "log_faults": [], "seen": seen}
