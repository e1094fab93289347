"""Dates for drivers and foremen, where the settings give the year's first day."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

from logistics.scenario import dates_of

if TYPE_CHECKING:
    from logistics.scenario import Scenario

GUESSED = "Dates are estimates; write in the real ones."


def dated(scenario: Scenario) -> bool:
    """Whether working days have dates."""
    return bool(scenario.settings.work.first_day)


def work_date(
    scenario: Scenario, period: str, working_day: int
) -> datetime.date | None:
    """Date of a working day of a period; None where dates are not known."""
    dates = dates_of(scenario.settings, scenario.periods, period)
    return dates[min(working_day, len(dates)) - 1] if dates else None


def year_date(scenario: Scenario, day: float) -> datetime.date:
    """Date of a day since the year began, 1 the first, where dates are known."""
    first = datetime.date.fromisoformat(scenario.settings.work.first_day)
    return first + datetime.timedelta(days=int(day) - 1)


def brief_date(date: datetime.date) -> str:
    """
    Write a date for a table.

    >>> brief_date(datetime.date(2027, 10, 5))
    'Tue 5 Oct'
    """
    return f"{date:%a} {date.day} {date:%b}"


def full_date(date: datetime.date) -> str:
    """
    Write a date for a heading.

    >>> full_date(datetime.date(2027, 10, 5))
    'Tuesday 5 October 2027'
    """
    return f"{date:%A} {date.day} {date:%B} {date.year}"
