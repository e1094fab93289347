"""
A yard's month as its foreman lives it: arrivals by day, mix, cover for what spoils.

Loads are those of the rounds where the period was driven; else the plan's tonnes are
spread over the working days as the rounds would fetch them.
"""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.composting import feedstocks, source_feedstock, spoils
from logistics.rounds.tables import calls
from logistics.rounds.visit_list import visits
from logistics.rounds.visit_records import Visit
from logistics.scenario import records, rows_by

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds.driving import Driven

Floats = NDArray[np.float64]
ARRIVALS = ["yard", "day", "feedstock", "loads", "tonnes", "first_h"]
COVER = ["day", "spoils_t", "need_m3", "morning_m3", "before_m3", "short_m3", "more_m3"]
LEAST_M3 = 0.05
"""A lack of cover below this is none. [m3]"""


def arrivals(result: Result, period: str, driven: Driven | None = None) -> pd.DataFrame:
    """
    List what arrives at every yard on every working day of a period.

    Parameters
    ----------
    result
        A planned scenario.
    period
        Code of the period.
    driven
        Its rounds; None spreads the plan over the working days.

    Returns
    -------
    DataFrame
        yard, day (working day of the period, from 1), feedstock, loads (trucks that
        unload), tonnes [t], first_h (first of them to arrive [h after midnight]; not
        a number where nothing was driven).
    """
    if driven is None:
        rows = _planned(result, visits(result, period))
    else:
        rows = _driven(result, driven)
    table = pd.DataFrame(rows, columns=ARRIVALS)
    return table.sort_values(["yard", "day", "feedstock"]).reset_index(drop=True)


def _driven(result: Result, driven: Driven) -> list[tuple[object, ...]]:
    """Trucks that unload at the yard, by what they bring."""
    table = calls(driven)
    trip = ["yard", "day", "truck", "trip"]
    back = table[table["kind"] == "yard"].groupby(trip)["arrives_h"].max()
    fetched = table[table["kind"] == "in"]
    fetched = fetched.assign(
        feedstock=fetched["place"].map(source_feedstock(result.scenario)),
        back=pd.MultiIndex.from_frame(fetched[trip]).map(back.to_dict()),
        one=fetched["truck"] + "/" + fetched["trip"].astype(str),
    )
    groups = fetched.groupby(["yard", "day", "feedstock"], sort=True)
    found = groups.agg(
        loads=("one", "nunique"), tonnes=("tonnes", "sum"), first_h=("back", "min")
    )
    return [tuple(row) for row in found.reset_index().itertuples(index=False)]


def _planned(result: Result, made: list[Visit]) -> list[tuple[object, ...]]:
    """Turn visits into loads: small pick-ups of one day share a truck."""
    trucks = rows_by(result.scenario.trucks, "truck")
    kind = source_feedstock(result.scenario)
    tonnes: dict[tuple[str, int, str], float] = {}
    loads: dict[tuple[str, int, str], float] = {}
    for visit in made:
        if visit.kind == "in":
            key = visit.yard, visit.day, str(kind[visit.place])
            truck = trucks[visit.truck]
            part = max(visit.tonnes / truck["payload_t"], visit.m3 / truck["body_m3"])
            tonnes[key] = tonnes.get(key, 0.0) + visit.tonnes
            loads[key] = loads.get(key, 0.0) + part
    return [
        (*key, max(1, ceil(loads[key] - 1e-6)), amount, np.nan)
        for key, amount in tonnes.items()
    ]


def balance(result: Result, yard: str, period: str) -> pd.DataFrame:
    """
    Account for every feedstock of a yard in a period.

    Returns
    -------
    DataFrame
        feedstock, name, start_t (in store), arrives_t, charge_t (into windrows), end_t
        [t], lost_t in store, loose_t_m3 [t/m3], charge_m3 (loose) [m3], structure,
        spoils; rows where something moves, most charged first.
    """
    scenario, plan = result.scenario, result.plan
    codes = list(scenario.periods["period"])
    before = codes[codes.index(period) - 1]
    table = feedstocks(scenario).set_index("feedstock")

    def at_yard(frame: pd.DataFrame, when: str) -> pd.Series[float]:
        here = frame[(frame["yard"] == yard) & (frame["period"] == when)]
        key = "feedstock" if "feedstock" in frame else here["source"].map(kind)
        tonnes = here.groupby(key)["tonnes"].sum()
        return tonnes.reindex(table.index).fillna(0.0).astype(float)

    kind = source_feedstock(scenario)
    start, end = at_yard(plan.stock, before), at_yard(plan.stock, period)
    arrive, charge = at_yard(plan.hauls, period), at_yard(plan.charges, period)
    found = pd.DataFrame(
        {
            "name": table["name"],
            "start_t": start,
            "arrives_t": arrive,
            "charge_t": charge,
            "end_t": end,
            "lost_t": (start + arrive - charge - end).clip(lower=0.0),
            "loose_t_m3": table["loose_t_m3"].astype(float),
            "charge_m3": charge / table["loose_t_m3"].astype(float),
            "structure": table["structure"].astype(bool),
            "spoils": spoils(table),
        }
    )
    moved = found[["start_t", "arrives_t", "charge_t", "end_t"]].max(axis=1) > 1e-3
    found = found[moved].sort_values("charge_t", ascending=False, kind="stable")
    return found.rename_axis("feedstock").reset_index()


def cover(result: Result, yard: str, period: str, coming: pd.DataFrame) -> pd.DataFrame:
    """
    Hold the cover on the pad against what spoils, day by day.

    What is to be covered needs `cover.m3_per_t` of loose structure feedstock on the pad
    before it is unloaded. On hand is the store when the period begins, what has come
    since, less what went into windrows: each day's share by what spoils that day, but
    never more than there is. Where rounds give times, structure feedstock that arrives
    before the first load to be covered counts as well.

    Parameters
    ----------
    result, yard, period
        A planned scenario, an open yard, a period.
    coming
        See `arrivals`.

    Returns
    -------
    DataFrame
        One row a day on which something that spoils comes: day, spoils_t [t]; need_m3,
        morning_m3 (on hand when the day begins), before_m3 (comes in time), short_m3
        [m3]; more_m3, the same on every row: what more in
        store when the period begins would leave no day short.
    """
    scenario = result.scenario
    rows = balance(result, yard, period)
    bulk = rows[rows["structure"] & ~rows["spoils"]]
    loose = dict(zip(bulk["feedstock"], bulk["loose_t_m3"], strict=True))
    here = coming[coming["yard"] == yard]
    spoiling = set(rows.loc[rows["spoils"], "feedstock"])
    length = rows_by(scenario.periods, "period")[period]["working_days"]
    days = max(1, round(float(length)))
    wet, came, first = np.zeros(days), np.zeros(days), np.full(days, np.nan)
    early = np.zeros(days)
    for row in records(here[here["feedstock"].isin(spoiling)]):
        d = row["day"] - 1
        wet[d] += row["tonnes"]
        first[d] = np.fmin(first[d], row["first_h"])
    for row in records(here[here["feedstock"].isin(list(loose))]):
        d, volume = row["day"] - 1, row["tonnes"] / loose[row["feedstock"]]
        came[d] += volume
        if row["first_h"] < first[d]:
            early[d] += volume / row["loads"]
    share = wet / wet.sum() if wet.sum() > 0 else np.full(days, 1 / days)
    used = share * float(bulk["charge_m3"].sum())
    start = float((bulk["start_t"] / bulk["loose_t_m3"]).sum())
    need = scenario.settings.cover.m3_per_t * wet
    morning = on_hand(start, came, used)
    short = np.maximum(0.0, need - morning - early)
    short = np.where(short > LEAST_M3, short, 0.0)
    table = pd.DataFrame(
        {
            "day": np.arange(1, days + 1),
            "spoils_t": wet,
            "need_m3": need,
            "morning_m3": morning,
            "before_m3": early,
            "short_m3": short,
            "more_m3": _more(start, came, used, need - early),
        }
    )
    return table[wet > 0].reset_index(drop=True)[COVER]


def on_hand(start: float, came: Floats, used: Floats) -> Floats:
    """
    Follow a store that is never used below nothing; what waits is used later.

    Parameters
    ----------
    start
        In store before the first day. [m3]
    came, used
        What comes, and what is wanted, on every day. [m3/day]

    Returns
    -------
    ndarray
        In store when every day begins. [m3]

    Examples
    --------
    >>> on_hand(1.0, np.array([0.0, 5.0, 5.0]), np.array([3.0, 2.0, 2.0]))
    array([1., 0., 1.])
    """
    there, waiting, found = start, 0.0, []
    for new, wanted in zip(came.tolist(), used.tolist(), strict=True):
        found.append(there)
        waiting += wanted
        taken = min(waiting, there + new)
        there, waiting = there + new - taken, waiting - taken
    return np.array(found)


def _more(start: float, came: Floats, used: Floats, need: Floats) -> float:
    """Find the least that more in store at the start leaves no day short. [m3]"""

    def lacks(extra: float) -> bool:
        there = on_hand(start + extra, came, used)
        return bool((need - there > LEAST_M3).any())

    if not lacks(0.0):
        return 0.0
    low, high = 0.0, float(used.sum() + np.maximum(need, 0.0).max())
    while high - low > LEAST_M3:
        middle = (low + high) / 2
        low, high = (middle, high) if lacks(middle) else (low, middle)
    return high
