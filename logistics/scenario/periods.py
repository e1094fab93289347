"""Find a period as people name it: by code, name, number, or a date in it."""

from __future__ import annotations

import calendar
import re
import unicodedata
from typing import TYPE_CHECKING

import numpy as np

from logistics.scenario.edits import ChangeFault, refuse
from logistics.scenario.faults import choose_from
from logistics.scenario.lists import in_list
from logistics.scenario.rows import records

if TYPE_CHECKING:
    from logistics.scenario.scenario import Scenario

DATE = re.compile(r"(?:\d{4}-)?(\d{1,2})-(\d{1,2})")
FEWEST_LETTERS = 3
"""Letters of a name that may stand for it, if no other name begins with them."""
LONGEST_YEAR = 2000
"""Any leap year: 29 February is a date that can be named."""


def period_named(scenario: Scenario, text: str | int, argument: str = "period") -> str:
    """
    Return the code of a period that was named by a person.

    Parameters
    ----------
    scenario
        Its periods are looked through.
    text
        A period's code or name in any case, without accents if need be; the first
        letters of a name; its number, counted from 1; or a date, 2026-10-15 or 10-15,
        which lies in the period.
    argument
        What the fault calls the text.

    Raises
    ------
    ChangeFault
        If no period, or more than one, is named so; lists those that are there.
    """
    return str(scenario.periods["period"].iloc[period_number(scenario, argument, text)])


def period_number(scenario: Scenario, argument: str, text: str | int) -> int:
    """Return a period's place, counted from 0; see `period_named`."""
    words = str(text).strip()
    if DATE.fullmatch(words):
        return int(day_number(scenario, argument, words)[0])
    codes = [str(code) for code in scenario.periods["period"]]
    if words in codes:
        return codes.index(words)
    if words.isdigit() and 1 <= int(words) <= len(codes):
        return int(words) - 1
    names = [str(name or "") for name in scenario.periods["name"]]
    for fits in (str.__eq__, str.startswith):
        if fits is str.startswith and len(words) < FEWEST_LETTERS:
            break
        found = {
            place
            for known in (codes, names)
            for place, name in enumerate(known)
            if name and fits(_plain(name), _plain(words))
        }
        if len(found) == 1:
            return found.pop()
        if found:
            some = in_list(codes[place] for place in sorted(found))
            why, remedy = "names more than one period", f"Use one of: {some}"
            refuse(argument, text, why, remedy)
    known = dict(zip(codes, names, strict=True))
    raise ChangeFault(argument, text, "is not a period", _remedy(words, known))


def period_day(
    scenario: Scenario, argument: str, text: str | int, *, last: bool
) -> float:
    """
    Return the days of the year gone when a period or date begins, or ends if `last`.

    Of a period that is named, all its days count; of a date, that one day. [day]
    """
    words = str(text).strip()
    days = scenario.periods["days"].to_numpy(dtype=float)
    place = period_number(scenario, argument, words)
    before = float(days[:place].sum())
    if DATE.fullmatch(words):
        _, gone = day_number(scenario, argument, words)
        return before + min(gone + last, float(days[place]))
    return before + last * float(days[place])


def day_number(scenario: Scenario, argument: str, date: str) -> tuple[int, float]:
    """
    Return the place of the period that holds a date, and the days of it gone by then.

    The year begins where the first period that is named after a month says so.

    Raises
    ------
    ChangeFault
        If it is not a date, or no period is named after a month.
    """
    found = DATE.fullmatch(date)
    month, day = (int(part) for part in found.groups()) if found else (0, 0)
    if (
        not 1 <= month <= 12
        or not 1 <= day <= calendar.monthrange(LONGEST_YEAR, month)[1]
    ):
        refuse(
            argument,
            date,
            "is not a date",
            "Write it as year-month-day, such as 2026-10-15",
        )
    days = scenario.periods["days"].to_numpy(dtype=float)
    ends = np.cumsum(days)
    offset = _gone_in_year(month, day) - _year_begins(scenario, argument, date)
    since = min(offset % 365, float(ends[-1]) - 1)
    place = int(np.searchsorted(ends, since, side="right"))
    return place, since - float(ends[place] - days[place])


def _year_begins(scenario: Scenario, argument: str, date: str) -> float:
    """Days from 1 January to the first day of the first period."""
    gone = 0.0
    for row in records(scenario.periods):
        for word in re.findall(r"\w+", f"{row['name'] or ''} {row['period']}"):
            month = _month(word)
            if month:
                return _gone_in_year(month, 1) - gone
        gone += float(row["days"])
    why = "cannot be placed: no period is named after a month"
    codes = [str(code) for code in scenario.periods["period"]]
    raise ChangeFault(argument, date, why, choose_from("", codes))


def _month(word: str) -> int:
    """Return the number of a month by its English name or first letters; else 0."""
    plain = word.casefold()
    for number, name in enumerate(calendar.month_name):
        whole = name.casefold()
        if number and (plain == whole or plain == whole[:3]):
            return number
    return 0


def _gone_in_year(month: int, day: int) -> int:
    """Days of a common year gone before a date; 29 February counts as the 28th."""
    before = sum(calendar.monthrange(2001, m)[1] for m in range(1, month))
    return before + min(day, calendar.monthrange(2001, month)[1]) - 1


def _plain(text: str) -> str:
    """Write a name in small letters without accents, as people type it."""
    apart = unicodedata.normalize("NFKD", text.strip())
    return "".join(c for c in apart if not unicodedata.combining(c)).casefold()


def _remedy(text: str, known: dict[str, str]) -> str:
    """Offer the nearest code or name, or all codes with their names."""
    offered = choose_from(text, [*known, *filter(None, known.values())])
    if not offered.startswith("Use one of"):
        return offered
    named = [
        f"{code} ({name})" if name and name != code else code
        for code, name in known.items()
    ]
    return choose_from("", named)
