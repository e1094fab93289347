"""A yard and period with all that its sheet is written from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from logistics.rounds import (
    area_by_day,
    balance,
    cover,
    date_of,
    windrows,
    zone_m2,
)
from logistics.scenario import rows_by
from maps.field.dates import brief_date, dated, year_date
from maps.shared import feedstock_name, names

if TYPE_CHECKING:
    from logistics.results import Result


@dataclass(frozen=True, eq=False)
class Month:
    """
    A yard's period: arrivals, stock, cover, windrows to build, mix.

    `needed_m2` is the area that windrows take on every day of the period, `zone_m2`
    that of the windrow zone. [m2]
    """

    result: Result
    yard: str
    period: str
    coming: pd.DataFrame
    rounds: bool
    stock: pd.DataFrame
    cover: pd.DataFrame
    built: pd.DataFrame
    mix: dict[str, Any] | None
    needed_m2: pd.Series[float]
    zone_m2: float

    @property
    def days(self) -> tuple[float, float]:
        """Days and working days of the period."""
        row = rows_by(self.result.scenario.periods, "period")[self.period]
        return float(row["days"]), max(1.0, round(float(row["working_days"])))

    def date(self, day: float) -> str:
        """Write a day since the year began as a date: "Apr 14", or "Wed 14 Apr"."""
        if dated(self.result.scenario):
            return brief_date(year_date(self.result.scenario, day))
        code, number = date_of(self.result, day)
        return f"{brief(names(self.result, 'period'))[code]} {number}"

    def on_day(self, day: int) -> str:
        """Write a day of the period as a date."""
        periods = self.result.scenario.periods
        before = periods["days"].iloc[: list(periods["period"]).index(self.period)]
        if dated(self.result.scenario):
            return self.date(float(before.sum()) + day)
        return f"{names(self.result, 'period')[self.period]} {day}"

    def dates(self, first: float, last: float) -> str:
        """Write a span of days, as in "Apr 14 to 17"."""
        if dated(self.result.scenario):
            return f"{self.date(first)} to {self.date(last)}"
        end = self.date(last)
        if date_of(self.result, first)[0] == date_of(self.result, last)[0]:
            end = end.rpartition(" ")[2]
        return f"{self.date(first)} to {end}"


def brief(labels: dict[str, str]) -> dict[str, str]:
    """
    Cut names to three letters where they stay apart.

    >>> brief({"m01": "January", "m02": "February"})
    {'m01': 'Jan', 'm02': 'Feb'}
    >>> brief({"a": "Week 1", "b": "Week 2"})
    {'a': 'Week 1', 'b': 'Week 2'}
    """
    short = {code: label[:3] for code, label in labels.items()}
    return short if len(set(short.values())) == len(labels) else labels


def month_of(
    result: Result, yard: str, period: str, coming: pd.DataFrame, *, rounds: bool
) -> Month:
    """Gather a yard's month; `coming` as from `yard_month.arrivals`."""
    stock = balance(result, yard, period)
    stock = stock.assign(name=feedstock_name(result, stock["feedstock"]))
    built = windrows(result, yard)
    here = result.mixes[result.mixes["yard"] == yard]
    periods = result.scenario.periods
    ends = periods["days"].astype(float).cumsum()
    place = list(periods["period"]).index(period)
    begin = int(ends.iloc[place] - float(periods["days"].iloc[place]))
    area = pd.Series(area_by_day(result, built)).iloc[begin : int(ends.iloc[place])]
    return Month(
        result=result,
        yard=yard,
        period=period,
        coming=coming[coming["yard"] == yard],
        rounds=rounds,
        stock=stock,
        cover=cover(result, yard, period, coming),
        built=built[built["period"] == period],
        mix=rows_by(here, "period").get(period),
        needed_m2=area.set_axis(range(1, len(area) + 1)),
        zone_m2=zone_m2(result, yard),
    )
