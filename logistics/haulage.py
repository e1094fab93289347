"""What the planned tonnes mean on the road: trips, kilometres, hours and money."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from logistics.lanes import Trips, Whole

if TYPE_CHECKING:
    from logistics.model.plan import Plan
    from logistics.scenario import Scenario

COLUMNS = [
    "kind",
    "origin",
    "destination",
    "material",
    "truck",
    "period",
    "tonnes",
    "km",
    "trips",
    "vehicle_km",
    "hours",
    "fuel_l",
    "fuel",
    "repair",
    "crew",
    "fare",
    "money",
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
        vehicle_km=(km + trips.km_back[row, t]) * count,
        **each,
        money=each["fuel"] + each["repair"] + each["crew"] + each["fare"],
    )


def _rows(
    scenario: Scenario, flows: pd.DataFrame, trips: Trips, start: str, end: str
) -> Whole:
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
