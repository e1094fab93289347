"""
Trips worth pairing: what a truck saves that goes on from a market to a source.

Two trips that come back empty drive yard to source and market to yard without freight.
Paired they drive market to source instead. Few backhauls matter: those offered save
money, and a fair share of the empty ways, and are among the best of a lane.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from logistics.composting import spoils
from logistics.costs import fuel_co2, trip_cost
from logistics.model.problem import Backhauls, Flags, Floats, Integers, Options
from logistics.scenario import records

if TYPE_CHECKING:
    from logistics.costs import Trips
    from logistics.roads import Travel
    from logistics.scenario import Scenario

PARTNERS = 3
"""
Backhauls offered on a lane: those that save most for what both trips cost.

The score is money saved over the root of money spent: by savings alone far lanes win
that no plan uses, by shares alone short ones.
"""

NEAREST = 6
"""
Yards whose lanes are paired, for each site and truck: those cheapest to haul to.

On brackwater, with its yards given, 3 backhauls a lane to 6 yards of 18 come within
0.2 % of the cost with all of them, with 16,035 columns in place of 265,357.
"""

LEAST_SAVED = 0.1
"""Share of the two empty ways that a backhaul must save, in kilometres. [1]"""


@dataclass(frozen=True, eq=False)
class _Part:
    """Backhauls of one truck and yard."""

    source: Integers
    market: Integers
    money: Floats
    hours: Floats
    litres: Floats
    km: Floats
    usable: Flags


def offered_backhauls(
    scenario: Scenario,
    feedstocks: pd.DataFrame,
    source_feed: Integers,
    travel: Travel,
    inbound: Trips,
    outbound: Trips,
    options: Options,
) -> Backhauls:
    """
    List the backhauls that a plan may choose.

    Parameters
    ----------
    scenario, feedstocks, source_feed
        As for `lanes.inbound_trips`.
    travel
        Distances and times.
    inbound, outbound
        Trips by lane and truck; only lanes that can be driven are paired.
    options
        Yards without a size are left out.

    Returns
    -------
    Backhauls
        Up to `PARTNERS` a lane, counted from either side.
    """
    short = spoils(feedstocks)[source_feed]
    washed = scenario.settings.fleet.pairing == "washed"
    has_size = np.isin(np.arange(len(scenario.yards)), options.yard)
    found: list[tuple[int, int, _Part]] = []
    for v, truck in enumerate(records(scenario.trucks)):
        wash_h = np.where(short, truck["wash_minutes"] / 60, 0.0)
        may = ~short | washed
        into = _nearest(inbound, v, has_size, outward=False)
        out = _nearest(outbound, v, has_size, outward=True)
        for j in sorted(set(options.yard.tolist())):
            rows_in = into[(inbound.destination[into] == j) & may[inbound.origin[into]]]
            rows_out = out[outbound.origin[out] == j]
            if len(rows_in) and len(rows_out):
                source, market = inbound.origin[rows_in], outbound.destination[rows_out]
                both = inbound.usable[rows_in][:, None] & outbound.usable[rows_out]
                cost = inbound.money[rows_in][:, None] + outbound.money[rows_out]
                part = _saved(
                    scenario,
                    travel,
                    truck,
                    j,
                    (source, market),
                    (both, cost),
                    wash_h[source],
                )
                found.append((v, j, part))
    return _joined(scenario, found)


def _nearest(trips: Trips, v: int, has_size: Flags, *, outward: bool) -> Integers:
    """Rows of a truck's trips between each site and the yards cheapest to reach."""
    yard = trips.origin if outward else trips.destination
    there = (trips.truck == v) & trips.usable.any(axis=1) & has_size[yard]
    rows = np.flatnonzero(there)
    site = trips.destination if outward else trips.origin
    cost = np.where(trips.usable, trips.money, np.nan)[rows]
    mean = np.nanmean(cost, axis=1)
    order = np.lexsort((mean, site[rows]))
    sorted_ = site[rows][order]
    first = np.searchsorted(sorted_, sorted_)
    nearest = np.arange(len(rows)) - first < NEAREST
    return np.asarray(np.sort(rows[order[nearest]]), dtype=np.int64)


def _saved(
    scenario: Scenario,
    travel: Travel,
    truck: dict[str, Any],
    yard: int,
    places: tuple[Integers, Integers],
    trips: tuple[Flags, Floats],
    wash_h: Floats,
) -> _Part:
    """
    Reckon every source of a yard with every market; keep the best of each.

    Parameters
    ----------
    scenario, travel, truck, yard
        Where and with what.
    places
        Sources and markets.
    trips
        Whether both trips can be driven, and what both cost apart, shape (i, n, t).
        [money]
    wash_h
        Wash-out before compost, shape (i,). [h]
    """
    (source, market), (usable, cost) = places, trips
    i = travel.index("source", scenario.sources["source"])[source]
    n = travel.index("market", scenario.markets["market"])[market]
    j = travel.index("yard", [scenario.yards["yard"].iloc[yard]])[0]
    km, hours, fare, share = (np.zeros(usable.shape) for _ in range(4))
    for t, period in enumerate(scenario.periods["period"]):
        state = travel.pick(truck["truck"], period)
        for table, way in ((km, state.km), (hours, state.hours), (fare, state.fare)):
            with np.errstate(invalid="ignore"):
                apart = way[j, i][:, None] + way[n, j]
                table[:, :, t] = apart - way[n][:, i].T
            if table is km:
                share[:, :, t] = km[:, :, t] / np.maximum(apart, 1e-9)
    there = usable & np.isfinite(km) & np.isfinite(hours) & np.isfinite(fare)
    there &= share >= LEAST_SAVED
    km, hours, fare = (np.where(there, x, 0.0) for x in (km, hours, fare))
    hours = hours - np.where(there, wash_h[:, None, None], 0.0)
    price = scenario.settings.finance.fuel_price_per_l
    spared = trip_cost(truck, 0.0, km, hours, fare, price)
    money = spared.total
    there &= money > 0
    score = money / np.sqrt(np.maximum(cost, 1e-9))
    kept = _best(np.where(there, score, 0.0).sum(axis=2))
    a, b = np.nonzero(kept)
    return _Part(
        source=source[a],
        market=market[b],
        money=money[a, b],
        hours=hours[a, b],
        litres=spared.fuel_l[a, b],
        km=km[a, b],
        usable=there[a, b],
    )


def _best(score: Floats) -> Flags:
    """Mark the best few of each row and of each column, all above 0."""
    kept = np.zeros(score.shape, dtype=bool)
    for axis in (0, 1):
        order = np.argsort(-score, axis=axis, kind="stable")
        first = np.take(order, np.arange(min(PARTNERS, score.shape[axis])), axis=axis)
        np.put_along_axis(kept, first, True, axis=axis)
    return kept & (score > 0)


def _joined(scenario: Scenario, found: list[tuple[int, int, _Part]]) -> Backhauls:
    periods = len(scenario.periods)

    def column(name: str, like: Any) -> Any:
        return np.concatenate([like, *(getattr(part, name) for _, _, part in found)])

    none, empty = np.zeros(0, dtype=np.int64), np.zeros((0, periods))
    count = [len(part.source) for _, _, part in found]
    return Backhauls(
        source=column("source", none),
        yard=np.repeat(np.array([j for _, j, _ in found], dtype=np.int64), count),
        market=column("market", none),
        truck=np.repeat(np.array([v for v, _, _ in found], dtype=np.int64), count),
        money=column("money", empty),
        hours=column("hours", empty),
        co2e=fuel_co2(column("litres", empty), scenario.factors),
        km=column("km", empty),
        usable=column("usable", empty.astype(bool)),
    )
