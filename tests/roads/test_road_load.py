"""Planned trips are laid on the roads they take."""

import pandas as pd
import pytest
from support.ground_tables import points, roads, scenario

from logistics.roads.geometry import geodesic_km
from logistics.roads.load import COLUMNS, load_on_roads
from logistics.roads.travel_matrices import travel

LOW = {"road": "low", "wkt": "LINESTRING (0 0, 0.1 0)", "closed_periods": ("wet",)}
HIGH = {"road": "high", "wkt": "LINESTRING (0 0, 0 0.05, 0.1 0.05, 0.1 0)"}
ON = {"road": "on", "wkt": "LINESTRING (0.1 0, 0.3 0)"}
LANES = pd.DataFrame(
    {
        "kind": ["in", "in", "out"],
        "origin": ["a", "a", "b"],
        "destination": ["b", "b", "c"],
        "truck": ["t4"] * 3,
        "period": ["dry", "wet", "wet"],
        "tonnes": [40.0, 20.0, 8.0],
        "trips": [10.0, 5.0, 2.0],
    }
)


@pytest.fixture
def made():
    return scenario(
        sources=points("source", {"a": (0.0, 0.0)}),
        yards=points("yard", {"b": (0.2, 0.001)}),
        markets=points("market", {"c": (0.1, 0.0)}),
        roads=roads(LOW, HIGH, ON),
    )


def test_load_follows_the_season(made):
    load = load_on_roads(travel(made), LANES)
    assert load.columns.tolist() == COLUMNS
    plain = load[["road", "period", "tonnes", "trips", "empty_trips"]]
    assert plain.to_numpy().tolist() == [
        ["low", "dry", 40, 10, 10],
        ["high", "wet", 20, 5, 5],
        ["on", "dry", 40, 10, 10],
        ["on", "wet", 28, 7, 7],
    ]


def test_tonne_km_are_those_of_the_lanes_without_the_access_leg(made):
    result = travel(made)
    load = load_on_roads(result, LANES)
    leg = float(geodesic_km(0.2, 0, 0.2, 0.001))
    expected = sum(
        tonnes * (result.pick("t4", period).km[a, b] - leg)
        for (a, b), tonnes, period in zip(
            [(0, 1), (0, 1), (1, 2)], LANES["tonnes"], LANES["period"], strict=True
        )
    )
    assert load["tonne_km"].sum() == pytest.approx(expected, rel=1e-6)


def test_empty_trucks_come_back_their_own_way(made):
    made.roads.loc[0, "oneway"] = True
    load = load_on_roads(travel(made), LANES).set_index(["road", "period"])
    assert load.loc[("low", "dry"), ["trips", "empty_trips"]].tolist() == [10, 0]
    assert load.loc[("high", "dry"), ["trips", "empty_trips"]].tolist() == [0, 10]
    assert load.loc[("high", "dry"), "tonne_km"] == 0


def test_no_roads_and_no_lanes_give_no_load(made):
    assert load_on_roads(travel(made), LANES.iloc[:0]).empty
    made.roads = made.roads.iloc[:0]
    assert load_on_roads(travel(made), LANES).empty
