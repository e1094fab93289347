"""
Which windrows a yard builds in the year: number, length, and the days of their life.

A charge is set up evenly over the working days of its period. It is cut into windrows
of one length, each no longer than a side of the windrow zone if that is square, and
none built over more than about a week, so that a windrow is of one age. Its age counts
from the middle of its building, as the pad is counted in the programme.
"""

from __future__ import annotations

from datetime import date, timedelta
from math import ceil, sqrt
from typing import TYPE_CHECKING

import pandas as pd

from logistics.composting import section_area
from logistics.scenario import dates_of, records, rows_by

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario

WEEK = 7
COLUMNS = [
    "period",
    "windrow",
    "first_work",
    "last_work",
    "opened",
    "closed",
    "leaves",
    "ready",
    "length_m",
    "volume_m3",
    "share",
]


def calendar_day(working_day: int, days: float, working_days: float) -> int:
    """
    Day of the period on which a working day falls, with the rest days spread evenly.

    Examples
    --------
    >>> [calendar_day(w, 30, 25) for w in (1, 2, 6, 25)]
    [1, 2, 7, 29]
    """
    return int((working_day - 1) * days / working_days + 1e-9) + 1


def period_day(scenario: Scenario, period: str, working_day: int) -> int:
    """
    Day of the period on which a working day falls, from 1.

    By the calendar of the settings; without one, rest days are spread evenly.
    """
    row = rows_by(scenario.periods, "period")[period]
    dates = dates_of(scenario.settings, scenario.periods, period)
    work = max(1, round(float(row["working_days"])))
    if not dates:
        return calendar_day(working_day, float(row["days"]), work)
    before = scenario.periods["days"].iloc[
        : list(scenario.periods["period"]).index(period)
    ]
    first = date.fromisoformat(scenario.settings.work.first_day)
    begins = first + timedelta(days=round(float(before.sum())))
    return (dates[min(working_day, len(dates)) - 1] - begins).days + 1


def longest_m(pad_m2: float, base_m: float, aisle_m: float, reserve: float) -> float:
    """
    Length of the longest windrow: a side of the windrow zone, taken as a square [m].

    Parameters
    ----------
    pad_m2
        Working pad with receiving and curing. [m2]
    base_m, aisle_m
        A zone narrower than these has one windrow. [m]
    reserve
        Receiving and curing on top of the zone. [m2/m2]

    Examples
    --------
    >>> longest_m(1750, 3, 3, 0.75) == 1000**0.5
    True
    """
    return max(sqrt(pad_m2 / (1 + reserve)), base_m + aisle_m)


def count_of(total_m: float, longest: float, base_m: float, days: float) -> int:
    """
    Windrows that a length is cut into: not too long, and each built within a week.

    None is shorter than twice its base, unless all there is does not give that.

    Examples
    --------
    >>> count_of(578, 70, 3, 30), count_of(20, 70, 3, 30), count_of(4, 70, 3, 30)
    (9, 3, 1)
    """
    wanted = max(ceil(total_m / longest - 1e-9), ceil(days / WEEK))
    fewest = max(1, ceil(total_m / longest - 1e-9))
    return max(fewest, min(wanted, int(total_m / (2 * base_m))))


def windrows(result: Result, yard: str) -> pd.DataFrame:
    """
    List the windrows that a yard builds in a year.

    Parameters
    ----------
    result
        A planned scenario.
    yard
        Code of an open yard.

    Returns
    -------
    DataFrame
        period, windrow (from 1), first_work and last_work (working days of the period),
        opened, closed (first and last day of building), leaves (for curing), ready
        [days since the year began, 1 the first; above a year's length the next
        year's], length_m [m], volume_m3 (fresh) [m3], share of the period's charge.
    """
    windrow, process = (
        result.scenario.settings.windrow,
        result.scenario.settings.process,
    )
    sizes = rows_by(result.scenario.yard_sizes, "size")
    area = section_area(windrow.section, windrow.base_m, windrow.height_m)
    mixes = rows_by(result.mixes[result.mixes["yard"] == yard], "period")
    rows: list[tuple[object, ...]] = []
    begin = 0.0
    for period in records(result.scenario.periods):
        code, days = str(period["period"]), float(period["days"])
        if code in mixes:
            mix, work = mixes[code], max(1, round(float(period["working_days"])))
            size = sizes[mix["size"]]
            longest = longest_m(
                size["pad_m2"], windrow.base_m, windrow.aisle_m, windrow.reserve
            )
            total = float(mix["windrow_m3"]) / area
            count = count_of(total, longest, windrow.base_m, days)
            for k in range(count):
                first, last = k * work // count + 1, max(k + 1, (k + 1) * work // count)
                last = min(max(first, last), work)
                middle = begin + (k + 0.5) * days / count
                leaves = int(middle + process.active_days) + 1
                rows.append(
                    (
                        code,
                        k + 1,
                        min(first, work),
                        last,
                        int(begin)
                        + period_day(result.scenario, code, min(first, work)),
                        int(begin) + period_day(result.scenario, code, last),
                        leaves,
                        leaves + round(process.curing_days),
                        total / count,
                        float(mix["windrow_m3"]) / count,
                        1 / count,
                    )
                )
        begin += days
    return pd.DataFrame(rows, columns=COLUMNS)


def turnings(built: pd.DataFrame, every_days: float) -> pd.DataFrame:
    """
    List when windrows are turned: every so many days until they leave for curing.

    Parameters
    ----------
    built
        See `windrows`.
    every_days
        Days between two turnings; the first is as long after the windrow is closed.
        None falls within half of this before the windrow leaves, which turns it too.

    Returns
    -------
    DataFrame
        period, windrow, turning (from 1), day (since the year began, 1 the first).
    """
    rows: list[tuple[object, ...]] = []
    for row in records(built):
        number, day = 1, row["closed"] + every_days
        while day <= row["leaves"] - every_days / 2:
            rows.append((row["period"], row["windrow"], number, int(day)))
            number, day = number + 1, day + every_days
    return pd.DataFrame(rows, columns=["period", "windrow", "turning", "day"])


def events(result: Result, yard: str, period: str) -> pd.DataFrame:
    """
    Say what is due at a yard on the days of a period.

    Returns
    -------
    DataFrame
        day (of the period, from 1), what ("turn", "leaves" for curing, "ready"),
        period and windrow (which one), turning (0 unless turned); by day.
    """
    built = windrows(result, yard)
    turned = turnings(built, result.scenario.settings.process.turning_days)
    parts = [turned.assign(what="turn")]
    for what in ("leaves", "ready"):
        part = built[["period", "windrow"]].assign(
            turning=0, day=built[what], what=what
        )
        parts.append(part)
    table = pd.concat(parts, ignore_index=True)
    periods = result.scenario.periods
    year = float(periods["days"].sum())
    ends = periods["days"].cumsum()
    place = list(periods["period"]).index(period)
    end, days = float(ends.iloc[place]), float(periods["days"].iloc[place])
    day = (table["day"] - 1) % year + 1 - (end - days)
    table = table.assign(day=day.astype(int))[(day >= 1) & (day <= days)]
    columns = ["day", "what", "period", "windrow", "turning"]
    return table.sort_values(["day", "what"], kind="stable")[columns].reset_index(
        drop=True
    )


def date_of(result: Result, day: float) -> tuple[str, int]:
    """
    Period and day of the period of a day since the year began; the year is a circle.

    Parameters
    ----------
    day
        1 the first day of the year. [d]
    """
    days = result.scenario.periods["days"].to_numpy(dtype=float)
    left = (day - 1) % days.sum()
    for code, length in zip(result.scenario.periods["period"], days, strict=True):
        if left < length:
            return str(code), int(left) + 1
        left -= length
    message = f"day {day} is in no period"
    raise ValueError(message)
