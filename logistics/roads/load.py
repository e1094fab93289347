"""What a plan puts on each road: tonnes and trips by period."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logistics.roads.paths import legs
from logistics.roads.travel_matrices import Travel

COLUMNS = ["road", "period", "tonnes", "trips", "empty_trips", "tonne_km"]
ENDS = {"in": ("source", "yard"), "out": ("yard", "market")}


def load_on_roads(travel: Travel, lanes: pd.DataFrame) -> pd.DataFrame:
    """
    Lay the trips of a plan on the roads they take.

    Parameters
    ----------
    travel
        The ways of every truck and period.
    lanes
        One row a lane, truck and period: kind ("in" or "out"), origin, destination,
        truck, period, tonnes, trips. See `haulage.lane_table`.

    Returns
    -------
    DataFrame
        road, period, tonnes [t] and trips that use any part of the road loaded,
        empty_trips on the way back (which may be another road), tonne_km over the parts
        used [t km]. Roads without load have no row; without roads there are none.
    """
    driven = travel.driven
    if driven is None or lanes.empty:
        return pd.DataFrame(columns=COLUMNS)
    flows = lanes[["period", "tonnes", "trips"]].reset_index(drop=True)
    when = zip(lanes["truck"], lanes["period"], strict=True)
    state = np.array([travel.state_of[truck, period] for truck, period in when])
    place = {site: i for i, site in enumerate(travel.sites)}
    start, end = (
        np.array(
            [
                place[f"{ENDS[kind][side]}:{code}"]
                for kind, code in zip(lanes["kind"], lanes[name], strict=True)
            ]
        )
        for side, name in enumerate(("origin", "destination"))
    )
    loaded = _used(travel, state, start, end)
    empty = _used(travel, state, end, start)
    there = flows.loc[loaded["flow"]].reset_index(drop=True)
    back = flows.loc[empty["flow"]].reset_index(drop=True)
    one = pd.DataFrame(
        {
            "road": pd.concat([loaded["road"], empty["road"]], ignore_index=True),
            "period": pd.concat([there["period"], back["period"]], ignore_index=True),
            "tonnes": np.append(there["tonnes"], np.zeros(len(back))),
            "trips": np.append(there["trips"], np.zeros(len(back))),
            "empty_trips": np.append(np.zeros(len(there)), back["trips"]),
            "tonne_km": np.append(there["tonnes"] * loaded["km"], np.zeros(len(back))),
        }
    )
    periods = list(dict.fromkeys(period for _, period in travel.state_of))
    total = one.groupby(["road", "period"], as_index=False)[COLUMNS[2:]].sum()
    order = np.lexsort((total["period"].map(periods.index), total["road"]))
    total = total.iloc[order].reset_index(drop=True)
    codes = np.array(driven.codes, dtype=object)
    return total.assign(road=codes[total["road"].to_numpy(dtype=np.int64)])[COLUMNS]


def shifted_by_paired_trips(travel: Travel, paired_trips: pd.DataFrame) -> pd.DataFrame:
    """
    Move empty trips to the ways that paired trips take.

    Parameters
    ----------
    travel
        As for `load_on_roads`.
    paired_trips
        source, yard, market, truck, period, trips. See `haulage.paired_trip_table`.

    Returns
    -------
    DataFrame
        As `load_on_roads`: empty_trips below 0 from yard to source and from market to
        yard, above 0 from market to source; nothing else.
    """
    if travel.driven is None or paired_trips.empty:
        return pd.DataFrame(columns=COLUMNS)
    when = zip(paired_trips["truck"], paired_trips["period"], strict=True)
    state = np.array([travel.state_of[pair] for pair in when], dtype=np.int64)
    place = {site: i for i, site in enumerate(travel.sites)}
    source, yard, market = (
        np.array(
            [place[f"{kind}:{code}"] for code in paired_trips[kind]], dtype=np.int64
        )
        for kind in ("source", "yard", "market")
    )
    codes = np.array(travel.driven.codes, dtype=object)
    found = []
    for sign, start, end in (
        (-1.0, yard, source),
        (-1.0, market, yard),
        (1.0, market, source),
    ):
        used = _used(travel, state, start, end)
        trips = paired_trips.iloc[used["flow"].to_numpy(dtype=np.int64)]
        found.append(
            pd.DataFrame(
                {
                    "road": codes[used["road"].to_numpy(dtype=np.int64)],
                    "period": trips["period"].to_numpy(),
                    "tonnes": 0.0,
                    "trips": 0.0,
                    "empty_trips": sign * trips["trips"].to_numpy(),
                    "tonne_km": 0.0,
                }
            )
        )
    return pd.concat(found, ignore_index=True)


def _used(
    travel: Travel,
    state: NDArray[np.int64],
    start: NDArray[np.int64],
    end: NDArray[np.int64],
) -> pd.DataFrame:
    """Roads that each flow uses: flow, road (row), km of it."""
    driven = travel.driven
    found = [pd.DataFrame({"flow": [], "road": [], "km": []}).astype({"road": int})]
    if driven is None:
        return found[0]
    for number in np.unique(state):
        flow = np.flatnonzero(state == number)
        way = legs(driven.ways[number], start[flow], end[flow])
        used = pd.DataFrame(
            {
                "flow": flow[way.lane],
                "road": driven.road[way.edge],
                "km": driven.km[way.edge],
            }
        )
        used = used[used["road"] >= 0]
        found.append(used.groupby(["flow", "road"])[["km"]].sum().reset_index())
    return pd.concat([f for f in found if len(f)] or found, ignore_index=True)
