"""
Which windrows a yard builds in the year: number, lengths, and the days of their life.

A charge is built in batches of about a week (see `composting.windrow_life`), which the
programme counts on the pad. A batch is cut into windrows of one length, none longer
than a side of the windrow zone if that is square. They are turned, and become shorter,
on the days of their batch.
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil, sqrt
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.composting import WEEK, Batch, batches_of, section_area, year_days
from logistics.scenario import records, rows_by, work_days

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario, WindrowSettings

Floats = NDArray[np.float64]
COLUMNS = [
    "period",
    "windrow",
    "batch",
    "first_work",
    "last_work",
    "opened",
    "closed",
    "leaves",
    "ready",
    "length_m",
    "volume_m3",
    "share",
    "built",
    "there",
    "turned",
    "lengths_m",
]


def period_day(scenario: Scenario, period: str, working_day: int) -> int:
    """Day of the period, from 1, on which a working day of it falls."""
    days = _work_days(scenario, period)
    return days[min(working_day, len(days)) - 1]


@lru_cache(maxsize=64)
def _work_days(scenario: Scenario, period: str) -> list[int]:
    """Days of the period on which its working days fall; looked up once."""
    return work_days(scenario.settings, scenario.periods, period)


def longest_m(pad_m2: float, windrow: WindrowSettings) -> float:
    """
    Length of the longest windrow: a side of the windrow zone, taken as a square [m].

    Parameters
    ----------
    pad_m2
        Working pad with receiving and curing. [m2]
    windrow
        Settings: a zone narrower than base and aisle has one windrow; reserve is
        receiving and curing on top of the zone. [m2/m2]
    """
    side = sqrt(pad_m2 / (1 + windrow.reserve))
    return max(side, windrow.base_m + windrow.aisle_m)


def count_of(total_m: float, base_m: float, days: float) -> int:
    """
    Batches that a length is built in: one a week, unless each would be very short.

    None is shorter than twice its base, unless all there is does not give that.

    Examples
    --------
    >>> count_of(578, 3, 30), count_of(20, 3, 30), count_of(4, 3, 30)
    (5, 3, 1)
    """
    return max(1, min(ceil(days / WEEK), int(total_m / (2 * base_m))))


def windrows(result: Result, yard: str) -> pd.DataFrame:
    """
    List the windrows that a yard builds in a year.

    Little is built in fewer batches than the plan assumes, if the zone holds them.

    Parameters
    ----------
    result
        A planned scenario.
    yard
        Code of an open yard.

    Returns
    -------
    DataFrame
        period, windrow (from 1), batch (from 1), first_work and last_work (working days
        of the period), opened, closed (first and last day of building), leaves (for
        curing), ready [days since the year began, 1 the first; above a year's length
        the next year's], length_m (fresh) [m], volume_m3 (fresh) [m3], share of the
        period's charge, built (days), there (share of it by each of their evenings),
        turned (days), lengths_m (after each turning) [m].
    """
    few = _windrows(result, yard, fewer=True)
    if area_by_day(result, few).max(initial=0.0) <= zone_m2(result, yard):
        return few
    return _windrows(result, yard, fewer=False)


def _windrows(result: Result, yard: str, *, fewer: bool) -> pd.DataFrame:
    """Lay out the windrows in the batches of the plan, or in fewer where short."""
    scenario = result.scenario
    windrow = scenario.settings.windrow
    area = section_area(windrow.section, windrow.base_m, windrow.height_m)
    mixes = rows_by(result.mixes[result.mixes["yard"] == yard], "period")
    longest = longest_m(_pad_m2(result, yard), windrow)
    rows: list[tuple[object, ...]] = []
    for place, period in enumerate(records(scenario.periods)):
        code, days = str(period["period"]), float(period["days"])
        if code not in mixes:
            continue
        total = float(mixes[code]["windrow_m3"]) / area
        count = ceil(days / WEEK)
        if fewer:
            count = count_of(total, windrow.base_m, days)
        number = 0
        for batch in batches_of(scenario, place, count):
            rows += _of_batch(code, batch, number, total, longest, area)
            number = int(str(rows[-1][1]))
    return pd.DataFrame(rows, columns=COLUMNS)


def _of_batch(
    code: str, batch: Batch, before: int, total: float, longest: float, area: float
) -> list[tuple[object, ...]]:
    """Cut a batch into windrows of one length, built one after the other."""
    metres, work = total * batch.share, len(batch.work)
    count = max(1, ceil(metres / longest - 1e-9))
    rows: list[tuple[object, ...]] = []
    length = metres / count
    for k in range(count):
        first, last = k * work // count, ceil((k + 1) * work / count - 1e-9) - 1
        there = [(n + 1) * count / work - k for n in range(first, last + 1)]
        rows.append(
            (
                code,
                before + k + 1,
                batch.number,
                batch.work[first],
                batch.work[last],
                batch.built[first],
                batch.built[last],
                batch.leaves,
                batch.ready,
                length,
                length * area,
                batch.share / count,
                batch.built[first : last + 1],
                tuple(min(1.0, part) for part in there),
                batch.turned,
                tuple(length * part for part in batch.length),
            )
        )
    return rows


def zone_m2(result: Result, yard: str) -> float:
    """Area of a yard's windrow zone, with its aisles. [m2]"""
    return _pad_m2(result, yard) / (1 + result.scenario.settings.windrow.reserve)


def _pad_m2(result: Result, yard: str) -> float:
    size = dict(result.plan.yard_sizes)[yard]
    return float(rows_by(result.scenario.yard_sizes, "size")[size]["pad_m2"])


def area_by_day(result: Result, built: pd.DataFrame) -> Floats:
    """
    Area that windrows take with their aisles on every day of the year.

    Parameters
    ----------
    built
        See `windrows`.

    Returns
    -------
    ndarray
        One value a day, at its fullest moment: what is to be turned or cleared on it
        still lies there, and what is built on it does already. [m2]
    """
    windrow = result.scenario.settings.windrow
    year = year_days(result.scenario)
    metres = np.zeros(year)
    for row in records(built):
        day = np.arange(row["opened"], row["leaves"] + 1)
        there = np.array([0.0, *row["there"]])
        length = np.array([row["length_m"], *row["lengths_m"]])
        lying = there[np.searchsorted(row["built"], day, side="right")]
        lying = lying * length[np.searchsorted(row["turned"], day, side="left")]
        np.add.at(metres, (day - 1) % year, lying)
    return metres * (windrow.base_m + windrow.aisle_m)


def turnings(built: pd.DataFrame) -> pd.DataFrame:
    """
    List when windrows are turned, and how long they are then.

    Parameters
    ----------
    built
        See `windrows`.

    Returns
    -------
    DataFrame
        period, windrow, turning (from 1), day (since the year began, 1 the first),
        length_m (after it) [m].
    """
    rows = [
        (row["period"], row["windrow"], number, day, length)
        for row in records(built)
        for number, (day, length) in enumerate(
            zip(row["turned"], row["lengths_m"], strict=True), 1
        )
    ]
    columns = ["period", "windrow", "turning", "day", "length_m"]
    return pd.DataFrame(rows, columns=columns)


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
    turned = turnings(built)
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
