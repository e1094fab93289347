"""Who may carry what, how much of it, and where nothing arises."""

from dataclasses import replace

import numpy as np
import pytest
from support.places import SMALL

from logistics.composting.materials import feedstocks, source_feedstock
from logistics.costs.trips import Trips, inbound_trips, outbound_trips
from logistics.roads.travel_matrices import Travel, travel
from logistics.scenario.scenario import Scenario, read_scenario


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    """Light trucks carry fish only, heavy ones all but fish."""
    base = read_scenario(SMALL)
    carries = {"light": ("fish",), "heavy": ("husk", "manure", "compost")}
    trucks = base.trucks.assign(carries=base.trucks["truck"].map(carries))
    return replace(base, tables={**base.tables, "trucks": trucks})


@pytest.fixture(scope="module")
def ways(scenario) -> Travel:
    return travel(scenario)


def trips_in(scenario: Scenario, ways: Travel, supply: float) -> Trips:
    table = feedstocks(scenario)
    row = {code: m for m, code in enumerate(table["feedstock"])}
    belongs = source_feedstock(scenario).map(row).to_numpy()
    shape = (len(scenario.sources), len(scenario.periods))
    return inbound_trips(scenario, table, belongs, np.full(shape, supply), ways)


def test_a_truck_carries_only_what_it_may(scenario, ways):
    trips = trips_in(scenario, ways, 1e4)
    materials = scenario.sources["material"].to_numpy()[trips.origin]
    trucks = scenario.trucks["truck"].to_numpy()[trips.truck]
    assert set(materials[trucks == "light"]) == {"fish"}
    assert set(materials[trucks == "heavy"]) == {"husk", "manure"}
    yards = len(scenario.yards)
    assert len(materials) == yards * len(scenario.sources)
    out = outbound_trips(scenario, ways)
    assert set(scenario.trucks["truck"].to_numpy()[out.truck]) == {"heavy"}
    assert len(out.truck) == yards * len(scenario.markets)


def test_light_compost_fills_the_body(scenario, ways):
    """A body of 35 m3 at 200 kg/m3 is full at 7 t of the 10 t it may carry."""
    light = scenario.settings.process.model_copy(update={"product_kg_m3": 200.0})
    settings = scenario.settings.model_copy(update={"process": light})
    trips = outbound_trips(replace(scenario, settings=settings), ways)
    assert trips.load_t == pytest.approx(7.0)


def test_where_nothing_arises_a_trip_still_has_a_load(scenario, ways):
    """Cost by tonne is cost by trip over load: never divided by nothing."""
    trips = trips_in(scenario, ways, 0.0)
    assert (trips.load_t > 0).all()
    assert np.isfinite(trips.money / trips.load_t).all()
