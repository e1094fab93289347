"""The dates of the plan's year: rest days, holidays, and the working days between."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from logistics.scenario.faults import Problem
from logistics.scenario.lists import in_list
from logistics.scenario.number_text import CellFault
from logistics.scenario.raw import IS_MISSING, RawTable
from logistics.scenario.table_set import Tables

if TYPE_CHECKING:
    import pandas as pd

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
FIRST, REST, HOLIDAYS = "work.first_day", "work.rest_days", "work.holidays"
NAMES = (FIRST, REST, HOLIDAYS)
NONE = "none"
DAY = datetime.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class WorkCalendar:
    """
    Dates of the plan's year.

    Attributes
    ----------
    first
        The first day of the first period.
    rest
        Days of the week on which nobody drives, Monday 0.
    holidays
        Dates on which nobody drives.
    """

    first: datetime.date
    rest: frozenset[int]
    holidays: frozenset[datetime.date]

    def works(self, date: datetime.date) -> bool:
        """Whether trucks drive on a date."""
        return date.weekday() not in self.rest and date not in self.holidays

    def working_dates(self, days: Sequence[float]) -> list[list[datetime.date]]:
        """
        List the working days of every period, whose lengths in days are given.

        >>> june = WorkCalendar(datetime.date(2027, 6, 1), frozenset({6}), frozenset())
        >>> (dates,) = june.working_dates([7.0])
        >>> [f"{date:%a %d}" for date in dates]
        ['Tue 01', 'Wed 02', 'Thu 03', 'Fri 04', 'Sat 05', 'Mon 07']
        """
        found, start = [], self.first
        for length in days:
            dates = [start + DAY * n for n in range(round(length))]
            found.append([date for date in dates if self.works(date)])
            start += DAY * round(length)
        return found


def setting_text(value: object, name: str) -> str:
    """
    Read a setting of the calendar: dates and weekdays, separated by blanks.

    Dates and lists as TOML writes them will do as well.

    Examples
    --------
    >>> setting_text(datetime.date(2027, 1, 4), FIRST)
    '2027-01-04'
    >>> setting_text(["Friday", "sat"], REST)
    'fri sat'
    """
    parts = value if isinstance(value, list) else [value]
    words = [word for part in parts for word in re.split(r"[\s,;]+", str(part)) if word]
    if name == REST and words == [NONE]:
        return NONE
    if name == REST:
        return " ".join(map(_weekday, words))
    dates = [_date(word).isoformat() for word in words]
    if name == FIRST and len(dates) > 1:
        why, remedy = "is more than one date", "Write the first day of the year"
        raise CellFault(why, remedy)
    return " ".join(dates)


def _weekday(word: str) -> str:
    """Read a day of the week by its first three letters in English."""
    short = word.casefold()[:3]
    if short not in WEEKDAYS or len(word) < 3:
        why = "is not a day of the week"
        remedy = f"Use {in_list(WEEKDAYS)}, or {NONE}"
        raise CellFault(why, remedy)
    return short


def _date(word: str) -> datetime.date:
    """Read a date."""
    try:
        return datetime.date.fromisoformat(word)
    except ValueError:
        why, remedy = "is not a date", "Write it as year-month-day, such as 2027-01-04"
        raise CellFault(why, remedy) from None


def work_calendar(values: Mapping[str, Any]) -> WorkCalendar | None:
    """Make the calendar of settings by their dotted name; None without a first day."""
    first = str(values.get(FIRST) or "")
    if not first:
        return None
    rest = values.get(REST)
    days = [d for d in ("sun" if rest is None else str(rest)).split() if d != NONE]
    free = str(values.get(HOLIDAYS) or "").split()
    return WorkCalendar(
        datetime.date.fromisoformat(first),
        frozenset(WEEKDAYS.index(day) for day in days),
        frozenset(map(datetime.date.fromisoformat, free)),
    )


def check_work_calendar(tables: Tables) -> list[Problem]:
    """Find a year of another length than its periods, or a period without work."""
    calendar, periods = work_calendar(tables.settings), tables.cells.get("periods")
    if calendar is None or periods is None:
        return []
    days = periods.frame["days"].tolist()
    if len(periods.good("days")) < len(days):
        return []
    try:
        year = (_next_year(calendar.first) - calendar.first).days
    except (ValueError, OverflowError):
        year = 365
    found = []
    if sum(days) != year:
        why = f"begins a year of {year} days, but the periods have {sum(days):g}"
        remedy = "Give every period the days it has in that year"
        line = tables.line(FIRST)
        value = calendar.first.isoformat()
        found.append(Problem("scenario.toml", line, FIRST, value, why, remedy))
    for place, dates in enumerate(calendar.working_dates(days)):
        if not dates:
            why = "has no working day left after rest days and holidays"
            remedy = "Take some days out of work.rest_days or work.holidays"
            found.append(periods.problem(place, "period", why, remedy))
    return found


def _next_year(date: datetime.date) -> datetime.date:
    """Return the same date a year on; 1 March for 29 February."""
    if (date.month, date.day) == (2, 29):
        return datetime.date(date.year + 1, 3, 1)
    return date.replace(year=date.year + 1)


def days_to_count(
    raw: RawTable, problems: Sequence[Problem], calendar: WorkCalendar | None
) -> tuple[RawTable, list[Problem]]:
    """
    Excuse blank working days, or a missing column of them, if a calendar counts them.

    Parameters
    ----------
    raw
        The table periods.
    problems
        Faults found so far.
    calendar
        Without one, table and faults stay as they are.

    Returns
    -------
    RawTable
        With the days of the period in place of blank working days, until
        `with_working_days` counts those of every period.
    list of Problem
        Without the fault that the column is missing.
    """
    days = raw.cells.get("days")
    if calendar is None or days is None:
        return raw, list(problems)
    blank = [""] * len(days)
    given = raw.cells.get("working_days", blank)
    texts = [text or day for text, day in zip(given, days, strict=True)]
    kept = [
        problem
        for problem in problems
        if (problem.file, problem.column, problem.why)
        != (raw.file, "working_days", IS_MISSING)
    ]
    cells = {**raw.cells, "working_days": texts}
    return replace(raw, cells=cells, missing=raw.missing - {"working_days"}), kept


def with_working_days(
    periods: pd.DataFrame, calendar: WorkCalendar | None
) -> pd.DataFrame:
    """Count the working days of every period in the calendar, if there is one."""
    if calendar is None:
        return periods
    dates = calendar.working_dates(periods["days"].tolist())
    return periods.assign(working_days=[float(len(some)) for some in dates])


def dates_of(
    settings: Any, periods: pd.DataFrame, period: str
) -> list[datetime.date] | None:
    """List the dates of a period's working days in order; None if none are known."""
    work = settings.work
    calendar = work_calendar(
        {FIRST: work.first_day, REST: work.rest_days, HOLIDAYS: work.holidays}
    )
    if calendar is None:
        return None
    place = list(periods["period"]).index(period)
    return calendar.working_dates(periods["days"].tolist())[place]


def calendar_day(working_day: int, days: float, working_days: float) -> int:
    """
    Day of the period on which a working day falls, with the rest days spread evenly.

    Examples
    --------
    >>> [calendar_day(w, 30, 25) for w in (1, 2, 6, 25)]
    [1, 2, 7, 29]
    """
    return int((working_day - 1) * days / working_days + 1e-9) + 1


def work_days(settings: Any, periods: pd.DataFrame, period: str) -> list[int]:
    """
    List the days of a period, from 1, on which its working days fall.

    By the calendar of the settings; without one, rest days are spread evenly.
    """
    place = list(periods["period"]).index(period)
    row = periods.iloc[place]
    days, work = float(row["days"]), max(1, round(float(row["working_days"])))
    dates = dates_of(settings, periods, period)
    if not dates:
        return [calendar_day(w, days, work) for w in range(1, work + 1)]
    before = float(periods["days"].iloc[:place].sum())
    first = datetime.date.fromisoformat(settings.work.first_day)
    begins = first + datetime.timedelta(days=round(before))
    known = [(date - begins).days + 1 for date in dates]
    return [known[min(w, len(known)) - 1] for w in range(1, work + 1)]
