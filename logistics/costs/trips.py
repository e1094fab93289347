"""Trips: what one truck trip carries, takes and costs, lane by lane."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.composting import spoils
from logistics.costs.calls import call_tonnes
from logistics.costs.emissions import fuel_co2
from logistics.costs.lane_loads import LaneWays, Loads, calling_loads, full_loads
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
    local_km
        From stop to stop of a round to small places, driven loaded. [km]
    stops
        Places that the trip calls at; between whole numbers where it is a mean.
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
    local_km: Floats
    stops: Floats
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

    What keeps waits for a full load. Of what does not, full loads are fetched apart and
    the rest on a round through places nearby (`round_estimate`); the trip of a lane is
    then the mean of both.

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
    feed = feedstocks.iloc[source_feed]
    keep, washed = feed["keep_hours"].to_numpy(dtype=float), spoils(feed)
    waits = scenario.sources["wait_hours"].to_numpy(dtype=float)
    days = scenario.periods["working_days"].to_numpy(dtype=float)
    found = call_tonnes(supply, days, keep)
    parts = []
    for v, truck in enumerate(records(scenario.trucks)):
        may = np.array([may_carry(truck, m) for m in feed["material"]], dtype=bool)
        full = truck_load_t(
            truck["payload_t"], truck["body_m3"], feed["hauled_t_m3"].to_numpy()
        )
        wash = np.where(washed, truck["wash_minutes"], 0.0)
        slack = np.where(
            np.isnan(keep), np.inf, keep - waits - truck["load_minutes"] / 60
        )
        legs = _legs(
            scenario,
            travel,
            truck,
            ("source", np.flatnonzero(may)),
            ("yard", np.arange(len(scenario.yards))),
            slack,
        )
        freight = np.array(feed["feedstock"])
        gathered = found, full, freight
        loads = calling_loads(scenario, travel, truck, legs, gathered, slack)
        parts.append(_trips(scenario, truck, v, legs, loads, wash[legs.start]))
    return _join(parts)


def outbound_trips(scenario: Scenario, travel: Travel) -> Trips:
    """Trips with compost from every yard to every market by every truck."""
    yards, markets = len(scenario.yards), len(scenario.markets)
    density = scenario.settings.process.product_kg_m3 / 1000
    parts = []
    for v, truck in enumerate(records(scenario.trucks)):
        full = float(truck_load_t(truck["payload_t"], truck["body_m3"], density))
        chosen = np.arange(yards if may_carry(truck, "compost") else 0)
        ends = ("yard", chosen), ("market", np.arange(markets))
        legs = _legs(scenario, travel, truck, *ends, np.full(yards, np.inf))
        loads = full_loads(truck, np.full(legs.km.shape, full))
        parts.append(_trips(scenario, truck, v, legs, loads, np.zeros(len(legs.start))))
    return _join(parts)


def may_carry(truck: dict[str, Any], freight: str) -> bool:
    """Whether the truck may carry a material or compost."""
    return "all" in truck["carries"] or freight in truck["carries"]


def _legs(
    scenario: Scenario,
    travel: Travel,
    truck: dict[str, Any],
    start: tuple[str, Integers],
    end: tuple[str, Integers],
    slack_hours: Floats,
) -> LaneWays:
    """Combine every start with every end; the slack in time goes with the start."""
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
    return LaneWays(i, j, km, back, out_h, back_h, fare, usable)


def _trips(
    scenario: Scenario,
    truck: dict[str, Any],
    v: int,
    legs: LaneWays,
    loads: Loads,
    wash_minutes: Floats,
) -> Trips:
    """Put ways and loads together; stops on the way are driven loaded."""
    local_km, local_h = (
        np.where(legs.usable, x, 0.0) for x in (loads.local_km, loads.local_h)
    )
    hours = trip_hours(
        legs.km + local_km,
        legs.km_back,
        legs.out_h + local_h,
        legs.back_h,
        60 * loads.loading_h,
        truck["unload_minutes"],
        wash_minutes[:, None],
    )
    price = scenario.settings.finance.fuel_price_per_l
    cost = trip_cost(truck, legs.km + local_km, legs.km_back, hours, legs.fare, price)
    return Trips(
        origin=legs.start,
        destination=legs.end,
        truck=np.full(len(legs.start), v),
        load_t=loads.load_t,
        km=legs.km,
        km_back=legs.km_back,
        local_km=local_km,
        stops=loads.stops,
        hours=hours,
        fuel_l=cost.fuel_l,
        fuel=cost.fuel,
        repair=cost.repair,
        crew=cost.crew,
        fare=cost.fare,
        usable=legs.usable,
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
