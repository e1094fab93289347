"""
Changes that hold for a part of the year only.

A change says what is so for a whole year. Where it is given `from` or `until`, the
district is laid together from two: as it was outside that time, and as changed within.
Only what the tables can hold period by period can be limited so: what arises and what
markets take, prices of compost and feedstock, and when roads are closed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.scenario import (
    Scenario,
    flat_settings,
    keys_of,
    period_day,
    period_prices,
    refuse,
    with_period_prices,
    with_table,
)

Floats = NDArray[np.float64]
WHOLE = 1e-9
SELLERS: tuple[tuple[str, str], ...] = (("sources", "source"), ("markets", "market"))
REMEDY = "Leave out from and until: it then applies all year"


def time_share(scenario: Scenario, start: str, end: str) -> Floats:
    """
    Share of every period that lies between two times, both included.

    Parameters
    ----------
    scenario
        Its periods make up the year, which goes on from its end to its beginning.
    start, end
        Periods by code, name or number, or dates; blank is the year's beginning or end.

    Returns
    -------
    ndarray
        One a period, 0 to 1; a period is taken whole where it is named, and by its days
        where a date is given. [day/day]
    """
    days = scenario.periods["days"].to_numpy(dtype=float)
    ends = np.cumsum(days)
    begins = ends - days
    first = period_day(scenario, "from", start, last=False) if start else 0.0
    last = period_day(scenario, "until", end, last=True) if end else float(ends[-1])
    inside = np.minimum(ends, last) - np.maximum(begins, first)
    if first < last:
        return np.asarray(np.clip(inside, 0, None) / days)
    outside = np.minimum(ends, first) - np.maximum(begins, last)
    return np.asarray(1 - np.clip(outside, 0, None) / days)


def part_changed(
    make: Callable[[Scenario], Scenario], before: Scenario, share: Floats
) -> Scenario:
    """
    Change a district for a part of the year.

    Parameters
    ----------
    make
        The change, as of a whole year.
    before
        The district; periods may have prices of their own.
    share
        Share of every period in which the change holds; see `time_share`.

    Raises
    ------
    ChangeFault
        If the change touches what holds for the whole year.
    """
    plain = with_table(before, "period_prices", before.table("period_prices").head(0))
    after = make(plain)
    whole = bool((share >= 1 - WHOLE).all())
    if whole and before.table("period_prices").empty:
        return after
    if not whole:
        _see_that_it_can_be(plain, after)
        after = _roads(plain, _amounts(plain, after, share), share)
    for table, key in SELLERS:
        prices = _prices(make, before, after, share, table, key)
        after = with_period_prices(after, table, prices)  # type: ignore[arg-type]
    return after


def _see_that_it_can_be(before: Scenario, after: Scenario) -> None:
    """Refuse what has no periods: settings, yards, trucks, all but a few columns."""
    if flat_settings(before.settings) != flat_settings(after.settings):
        _refuse_whole("a setting")
    may = {
        "sources": {"amount", "season", "price_per_t"},
        "markets": {"amount", "season", "price_per_t"},
        "roads": {"closed_periods"},
        "calendar": {"share", "season", "period"},
        "period_prices": set(),
    }
    for name, table in after.tables.items():
        old = before.table(name)
        if old.equals(table) or name == "calendar":
            continue
        if name not in may:
            _refuse_whole(f"the table {name}")
        key = keys_of(name)[0]
        both = table[table[key].isin(old[key])].set_index(key)
        was = old.set_index(key).reindex(both.index)
        for column in both.columns:
            if column not in may[name] and not both[column].equals(was[column]):
                _refuse_whole(f"{column} of the {name}")


def _refuse_whole(what: str) -> None:
    refuse("from", None, f"is not possible: {what} applies to the whole year", REMEDY)


def by_period(scenario: Scenario, table: str) -> dict[str, Floats]:
    """Amount of every source or market in every period, in the unit of its basis."""
    periods = scenario.periods["period"].tolist()
    grid = scenario.calendar.pivot_table(
        index="season", columns="period", values="share", aggfunc="sum"
    )
    grid = grid.reindex(columns=periods).fillna(0.0)
    frame = scenario.table(table)
    key = keys_of(table)[0]
    seasons = grid.reindex(frame["season"]).fillna(0.0).to_numpy(dtype=float)
    amounts = frame["amount"].to_numpy(dtype=float)[:, None] * seasons
    return dict(zip(frame[key], amounts, strict=True))


def _amounts(before: Scenario, after: Scenario, share: Floats) -> Scenario:
    """Lay together what arises, and what markets take, inside and outside the time."""
    for table, _ in SELLERS:
        was, now = by_period(before, table), by_period(after, table)
        for code, inside in now.items():
            outside = was.get(code, np.zeros_like(inside))
            if not np.array_equal(inside, outside):
                mixed = share * inside + (1 - share) * outside
                after = with_amounts(after, table, code, mixed)
    return after


def with_amounts(
    scenario: Scenario, table: str, code: str, amounts: Floats
) -> Scenario:
    """Give a source or market its amount in every period: a season of its own."""
    sites = scenario.table(table).copy()
    row = sites[keys_of(table)[0]] == code
    total = float(amounts.sum())
    sites.loc[row, "amount"] = total
    if total <= 0:
        return with_table(scenario, table, sites)
    calendar, own = scenario.calendar, f"__{code}"
    season = str(sites.loc[row, "season"].iloc[0]).removesuffix(own) + own
    rows = pd.DataFrame(
        {
            "season": season,
            "period": scenario.periods["period"].tolist(),
            "share": amounts / total,
        }
    ).astype(calendar.dtypes.to_dict())
    others = calendar[calendar["season"] != season]
    sites.loc[row, "season"] = season
    changed = with_table(scenario, table, sites)
    both = pd.concat([others, rows[list(calendar.columns)]])
    return with_table(changed, "calendar", both)


def _roads(before: Scenario, after: Scenario, share: Floats) -> Scenario:
    """Close roads inside the time as changed, and outside it as they were."""
    was = dict(zip(before.roads["road"], before.roads["closed_periods"], strict=True))
    if before.roads.equals(after.roads):
        return after
    if not np.isin(share, (0.0, 1.0)).all():
        why = "is within a period, but a road is open or closed for whole periods"
        refuse("from", None, why, "Name a period instead of a date")
    periods = after.periods["period"].tolist()
    roads = after.roads.copy()
    roads["closed_periods"] = [
        tuple(_closed(periods, share, now, was.get(road, now)))
        for road, now in zip(roads["road"], roads["closed_periods"], strict=True)
    ]
    return with_table(after, "roads", roads)


def _closed(
    periods: Sequence[str], share: Floats, now: Sequence[str], was: Sequence[str]
) -> Iterator[str]:
    """Periods in which a road is closed."""
    for period, inside in zip(periods, share, strict=True):
        if period in (now if inside else was):
            yield period


def _prices(
    make: Callable[[Scenario], Scenario],
    before: Scenario,
    after: Scenario,
    share: Floats,
    table: str,
    key: str,
) -> Floats:
    """
    Return the prices of all periods after a change.

    A period with prices of its own is changed as if they were the year's, so that a
    percentage is one of what is paid then.
    """
    old = period_prices(before, table)  # type: ignore[arg-type]
    codes = after.table(table)[key].tolist()
    year = after.table(table)["price_per_t"].to_numpy(dtype=float)
    now = np.repeat(year[:, None], len(share), axis=1)
    own = before.table("period_prices")
    places = {code: n for n, code in enumerate(before.table(table)[key])}
    for t, period in enumerate(before.periods["period"]):
        if (own.loc[own["period"] == period, key] != "").any():
            frame = before.table(table).assign(price_per_t=old[:, t])
            then = make(with_table(before, table, frame)).table(table)
            now[:, t] = then["price_per_t"].to_numpy(dtype=float)
    rows = [places.get(code, -1) for code in codes]
    was = np.where(np.array(rows)[:, None] >= 0, old[rows], now)
    return np.asarray(share * now + (1 - share) * was)
