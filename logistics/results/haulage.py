"""What the planned tonnes mean on the road: trips, kilometres, hours and money."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.composting import feedstocks, source_feedstock, spoils
from logistics.costs import Integers, Trips, trip_cost
from logistics.scenario import records, rows_by

if TYPE_CHECKING:
    from logistics.model import Plan
    from logistics.roads import Travel
    from logistics.scenario import Scenario

LINES = ["hours", "fuel_l", "fuel", "repair", "crew", "fare", "money"]
COLUMNS = [
    *("kind", "origin", "destination", "material", "truck", "period"),
    *("tonnes", "km", "trips", "vehicle_km"),
    *LINES,
]


def lane_table(
    scenario: Scenario, plan: Plan, inbound: Trips, outbound: Trips
) -> pd.DataFrame:
    """
    Turn the tonnes of a plan into trips.

    Parameters
    ----------
    scenario, plan
        Tables and plan.
    inbound, outbound
        Trips by lane, truck type and period.

    Returns
    -------
    DataFrame
        kind ("in" or "out"), origin, destination, material (or "compost"), truck,
        period, tonnes [t], km (one way, loaded), trips, vehicle_km (there and
        back), hours, fuel_l [L], and money by line: fuel, repair, crew, fare, and
        their sum money. Hire and the fixed cost of owned trucks are not in it.
    """
    sources = scenario.sources.set_index("source")["material"]
    hauls = plan.hauls.rename(columns={"source": "origin", "yard": "destination"})
    hauls = hauls.assign(kind="in", material=hauls["origin"].map(sources))
    out = plan.deliveries.rename(columns={"yard": "origin", "market": "destination"})
    out = out.assign(kind="out", material="compost")
    tables = [
        _trips(scenario, hauls, inbound, "source", "yard"),
        _trips(scenario, out, outbound, "yard", "market"),
    ]
    filled = [table for table in tables if len(table)]
    return pd.concat(filled or tables, ignore_index=True)[COLUMNS]


def _trips(
    scenario: Scenario, flows: pd.DataFrame, trips: Trips, start: str, end: str
) -> pd.DataFrame:
    """Look each flow up in the trips and multiply by the number of trips."""
    row = _rows(scenario, flows, trips, start, end)
    periods = {p: t for t, p in enumerate(scenario.periods["period"])}
    t = flows["period"].map(periods).to_numpy(dtype=np.int64)
    count = flows["tonnes"].to_numpy(dtype=float) / trips.load_t[row, t]
    each = {
        name: getattr(trips, name)[row, t] * count
        for name in ("hours", "fuel_l", "fuel", "repair", "crew", "fare")
    }
    km = trips.km[row, t]
    return flows.assign(
        km=km,
        trips=count,
        vehicle_km=(km + trips.km_back[row, t] + trips.local_km[row, t]) * count,
        **each,
        money=each["fuel"] + each["repair"] + each["crew"] + each["fare"],
    )


def _rows(
    scenario: Scenario, flows: pd.DataFrame, trips: Trips, start: str, end: str
) -> Integers:
    """Find each flow's row in the trips by origin, destination and truck."""
    places = {
        kind: {code: n for n, code in enumerate(scenario.table(f"{kind}s")[kind])}
        for kind in (start, end, "truck")
    }
    ends, trucks = len(places[end]), len(places["truck"])
    key = (trips.origin * ends + trips.destination) * trucks + trips.truck
    order = np.argsort(key)
    wanted = (
        flows["origin"].map(places[start]).to_numpy(dtype=np.int64) * ends
        + flows["destination"].map(places[end]).to_numpy(dtype=np.int64)
    ) * trucks + flows["truck"].map(places["truck"]).to_numpy(dtype=np.int64)
    return np.asarray(order[np.searchsorted(key[order], wanted)], dtype=np.int64)


PAIR_COLUMNS = ["source", "yard", "market", "truck", "period", "trips", "km", *LINES]


def paired_trip_table(scenario: Scenario, plan: Plan, travel: Travel) -> pd.DataFrame:
    """
    Say what the paired trips of a plan save, counted afresh from the ways.

    Returns
    -------
    DataFrame
        source, yard, market, truck, period, trips (paired), and what they save against
        empty ways to and from the yard: km, hours, fuel_l [L], and money by line: fuel,
        repair, crew, fare, and their sum money. Hire saved is in hired hours.
    """
    trucks = rows_by(scenario.trucks, "truck")
    table = feedstocks(scenario)
    short = set(table.loc[spoils(table), "feedstock"])
    washed = (source_feedstock(scenario).isin(short)).to_dict()
    place = {site: n for n, site in enumerate(travel.sites)}
    price = scenario.settings.finance.fuel_price_per_l
    rows = []
    for row in records(plan.paired):
        truck, trips = trucks[row["truck"]], row["trips"]
        state = travel.pick(row["truck"], row["period"])
        source, yard, market = (
            place[f"{kind}:{row[kind]}"] for kind in ("source", "yard", "market")
        )
        km, hours, fare = (
            float(way[yard, source] + way[market, yard] - way[market, source])
            for way in (state.km, state.hours, state.fare)
        )
        if washed[row["source"]]:  # washed out once more, before compost
            hours -= truck["wash_minutes"] / 60
        cost = trip_cost(truck, 0.0, km, hours, fare, price)
        lines = [km, hours, cost.fuel_l, cost.fuel, cost.repair, cost.crew, cost.fare]
        values = [trips * x for x in [*lines, cost.total]]
        rows.append((*(row[c] for c in PAIR_COLUMNS[:5]), trips, *values))
    if not rows:
        return no_savings()
    return pd.DataFrame(rows, columns=PAIR_COLUMNS).astype(no_savings().dtypes)


def net_of_paired_trips(
    lanes: pd.DataFrame, paired_trips: pd.DataFrame
) -> pd.DataFrame:
    """
    Put what pairing saves below the lanes, as rows of kind "pair" below 0.

    Sums of the table over trucks, yards or periods are then those of the trucks on the
    road; `lanes` alone counts every trip there and back.
    """
    if paired_trips.empty:
        return lanes
    saved = paired_trips.assign(
        kind="pair",
        origin=paired_trips["yard"],
        destination=paired_trips["market"],
        material="compost",
        tonnes=0.0,
        trips=0.0,
        vehicle_km=-paired_trips["km"],
        km=0.0,
    )
    each = ["hours", "fuel_l", "fuel", "repair", "crew", "fare", "money"]
    saved[each] = -saved[each]
    return pd.concat([lanes, saved[COLUMNS]], ignore_index=True)


def no_savings() -> pd.DataFrame:
    """Return a table of what pairing saves, without any."""
    kinds = dict.fromkeys(PAIR_COLUMNS[:5], "str")
    return pd.DataFrame(columns=PAIR_COLUMNS).astype(
        {**kinds, **dict.fromkeys(PAIR_COLUMNS[5:], "float64")}
    )


def paired_trip_figures(
    lanes: pd.DataFrame, paired_trips: pd.DataFrame
) -> dict[str, float]:
    """
    Key figures of pairing.

    Returns
    -------
    dict
        vehicle_km and empty_km as driven, trips paired, and km and money (fuel, repair,
        crew, fares) saved against no pairing of the same trips.
    """
    there = float((lanes["km"] * lanes["trips"]).sum())
    saved, whole = float(paired_trips["km"].sum()), float(lanes["vehicle_km"].sum())
    return {
        "vehicle_km": whole - saved,
        "empty_km": whole - there - saved,
        "paired_trips": float(paired_trips["trips"].sum()),
        "paired_km_saved": saved,
        "paired_money_saved": float(paired_trips["money"].sum()),
    }
