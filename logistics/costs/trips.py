"""Trips: what one truck trip carries, takes and costs, lane by lane."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.composting import spoils
from logistics.costs.emissions import fuel_co2
from logistics.costs.money import trip_cost, trip_hours, truck_load_t
from logistics.scenario import records

if TYPE_CHECKING:
    from logistics.roads import Travel
    from logistics.scenario import Scenario

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Trips:
    """
    One lane by one truck type a row, one period a column, shape (l, t).

    Attributes
    ----------
    origin, destination, truck
        Row numbers in the tables sources and yards (inbound) or yards and
        markets (outbound), and in trucks, shape (l,).
    load_t
        What a trip carries. [t]
    km, km_back
        Loaded and empty leg. [km]
    hours
        Truck hours of the trip. [h]
    fuel_l
        Diesel. [L]
    fuel, repair, crew, fare
        Lines of money. [money/trip]
    usable
        Whether a road leads there and the freight arrives in time.
    """

    origin: Integers
    destination: Integers
    truck: Integers
    load_t: Floats
    km: Floats
    km_back: Floats
    hours: Floats
    fuel_l: Floats
    fuel: Floats
    repair: Floats
    crew: Floats
    fare: Floats
    usable: NDArray[np.bool_]

    @property
    def money(self) -> Floats:
        """Cost of a trip, all lines. [money/trip]"""
        return self.fuel + self.repair + self.crew + self.fare

    def co2(self, factors: pd.DataFrame) -> Floats:
        """Carbon dioxide of a trip's diesel. [kg CO2/trip]"""
        return fuel_co2(self.fuel_l, factors)


def inbound_trips(
    scenario: Scenario,
    feedstocks: pd.DataFrame,
    source_feed: Integers,
    supply: Floats,
    travel: Travel,
) -> Trips:
    """
    Trips from every source to every yard by every truck that may carry its freight.

    Parameters
    ----------
    scenario
        The tables.
    feedstocks
        See `materials.feedstocks`.
    source_feed
        Row of each source's feedstock, shape (i,).
    supply
        What arises, shape (i, t). [t]
    travel
        Distances and times.
    """
    sources = scenario.sources
    feed = feedstocks.iloc[source_feed]
    keep, washed = feed["keep_hours"].to_numpy(dtype=float), spoils(feed)
    batch = _pickup_t(scenario, keep, supply)
    parts = []
    for v, truck in enumerate(records(scenario.trucks)):
        may = [may_carry(truck, m) for m in feed["material"]]
        full = truck_load_t(
            truck["payload_t"], truck["body_m3"], feed["hauled_t_m3"].to_numpy()
        )
        load = np.minimum(np.broadcast_to(full[:, None], supply.shape), batch)
        wash = np.where(washed, truck["wash_minutes"], 0.0)
        slack = keep - sources["wait_hours"].to_numpy() - truck["load_minutes"] / 60
        parts.append(
            _legs(
                scenario,
                travel,
                truck,
                v,
                ("source", np.flatnonzero(may)),
                ("yard", np.arange(len(scenario.yards))),
                load,
                wash,
                np.where(np.isnan(keep), np.inf, slack),
            )
        )
    return _join(parts)


def outbound_trips(scenario: Scenario, travel: Travel) -> Trips:
    """Trips with compost from every yard to every market by every truck."""
    yards, markets = len(scenario.yards), len(scenario.markets)
    density = scenario.settings.process.product_kg_m3 / 1000
    parts = []
    for v, truck in enumerate(records(scenario.trucks)):
        load = float(truck_load_t(truck["payload_t"], truck["body_m3"], density))
        chosen = np.arange(yards if may_carry(truck, "compost") else 0)
        parts.append(
            _legs(
                scenario,
                travel,
                truck,
                v,
                ("yard", chosen),
                ("market", np.arange(markets)),
                np.full((yards, len(scenario.periods)), load),
                np.zeros(yards),
                np.full(yards, np.inf),
            )
        )
    return _join(parts)


def may_carry(truck: dict[str, Any], freight: str) -> bool:
    """Whether the truck may carry a material or compost."""
    return "all" in truck["carries"] or freight in truck["carries"]


def _pickup_t(scenario: Scenario, keep_hours: Floats, supply: Floats) -> Floats:
    """
    Most that a trip finds at sources whose freight cannot wait for a full load.

    Such freight is fetched every `pickup_days`, or at half the time it keeps if
    that is longer, but no later than it keeps; what one working day brings counts
    as landed at once. A round visits `stops_per_round` like places.
    """
    travel = scenario.settings.travel
    every = np.maximum(travel.pickup_days, keep_hours / 24 / 2)
    every = np.minimum(every, np.maximum(keep_hours / 24, min(1, travel.pickup_days)))
    daily = supply / scenario.periods["working_days"].to_numpy(dtype=float)
    found = daily * every[:, None] * travel.stops_per_round
    never = np.isnan(found) | (supply <= 0)
    return np.where(never, np.inf, found)


def _legs(
    scenario: Scenario,
    travel: Travel,
    truck: dict[str, Any],
    v: int,
    start: tuple[str, Integers],
    end: tuple[str, Integers],
    load: Floats,
    wash_minutes: Floats,
    slack_hours: Floats,
) -> Trips:
    """Combine every start with every end; load, wash and slack go with the start."""
    tables = {"source": "sources", "yard": "yards", "market": "markets"}

    def codes(kind: str) -> list[str]:
        return list(scenario.table(tables[kind])[kind])

    a, b = travel.index(start[0], codes(start[0])), travel.index(end[0], codes(end[0]))
    i, j = (grid.ravel() for grid in np.meshgrid(start[1], end[1], indexing="ij"))
    shape = (len(i), len(scenario.periods))
    km, back, out_h, back_h, fare = (np.empty(shape) for _ in range(5))
    for t, period in enumerate(scenario.periods["period"]):
        state = travel.pick(truck["truck"], period)
        km[:, t], back[:, t] = state.km[a[i], b[j]], state.km[b[j], a[i]]
        out_h[:, t], back_h[:, t] = state.hours[a[i], b[j]], state.hours[b[j], a[i]]
        fare[:, t] = state.fare[a[i], b[j]] + state.fare[b[j], a[i]]
    usable = np.isfinite(km) & np.isfinite(back) & (out_h <= slack_hours[i][:, None])
    limit = scenario.settings.travel.lane_limit_km
    if limit is not None:
        usable &= km <= limit
    km, back, out_h, back_h, fare = (
        np.where(usable, x, 0.0) for x in (km, back, out_h, back_h, fare)
    )
    hours = trip_hours(
        km,
        back,
        out_h,
        back_h,
        truck["load_minutes"],
        truck["unload_minutes"],
        wash_minutes[i][:, None],
    )
    cost = trip_cost(
        truck, km, back, hours, fare, scenario.settings.finance.fuel_price_per_l
    )
    return Trips(
        origin=i,
        destination=j,
        truck=np.full(len(i), v),
        load_t=load[i],
        km=km,
        km_back=back,
        hours=hours,
        fuel_l=cost.fuel_l,
        fuel=cost.fuel,
        repair=cost.repair,
        crew=cost.crew,
        fare=cost.fare,
        usable=usable,
    )


def _join(parts: list[Trips]) -> Trips:
    return Trips(
        *(
            _thin(np.concatenate([getattr(p, f.name) for p in parts]))
            for f in fields(Trips)
        )
    )


def _thin(values: Any) -> Any:
    """Hold one column for all periods where these are equal: a province has many."""
    if values.ndim == 1 or not (values == values[:, :1]).all():
        return values
    return np.broadcast_to(values[:, :1].copy(), values.shape)
