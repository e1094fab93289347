"""Brackwater with and without its flood: what a closed road does to a plan."""

import numpy as np
import pytest
from support.places import DEMO

from logistics.results.pipeline import run
from logistics.roads.load import load_on_roads
from logistics.roads.travel_matrices import travel
from logistics.scenario.edits import set_values
from logistics.scenario.scenario import read_scenario

LOW = ["low_road", "d3_yessock", "d3_b2e"]
"""Low Road, over the flats to the island; Marsh Road, and Delta Road beside it."""
FLOOD = ("m08", "m09")


def with_roads(scenario, codes, column, value):
    rows = scenario.roads["road"].isin(codes).tolist()
    return set_values(scenario, "roads", rows, {column: value})


@pytest.fixture(scope="module")
def brackwater():
    return read_scenario(DEMO)


def test_a_five_tonne_bridge_keeps_the_heavy_truck_off(brackwater):
    """The Long Bridge posted at 5 t: 19.2 t and 7.4 t stay off, 2.5 t may cross."""
    posted = with_roads(brackwater, ["b1n_b1s"], "max_gross_t", 5)
    before, after = travel(brackwater), travel(posted)
    name = brackwater.sources.set_index("source")["name"]
    north, south = after.index("yard", ["yard_wexilow", "yard_d1"])
    km = {
        t: after.pick(t, "m01").km[north, south] for t in ("pickup", "light", "heavy")
    }
    free = {t: before.pick(t, "m01").km[north, south] for t in km}
    assert name.notna().all()
    assert km["pickup"] == free["pickup"]
    assert km["light"] > free["light"] + 10  # round by the Iron Bridge upstream
    assert np.isfinite(free["heavy"])
    assert np.isinf(km["heavy"])  # no other bridge bears it


@pytest.mark.slow
def test_the_flood_changes_the_plan_and_costs_money(brackwater, brackwater_planned):
    wet = brackwater_planned
    open_ = with_roads(brackwater, LOW, "closed_periods", "")
    dry = run(
        open_, yards=wet.plan.yard_sizes, warm_start=wet.plan.warm_start
    )  # the best without the flood is no dearer
    assert dry.summary["status"] == wet.summary["status"] == "optimal"
    # dearer beyond doubt: even the bound of the flooded plan is above the dry plan
    assert wet.summary["bound"] > dry.summary["objective"]
    assert wet.summary["haul_cost"] > dry.summary["haul_cost"]
    used = [
        set(
            result.lanes.loc[
                result.lanes["period"].isin(FLOOD), ["kind", "origin", "destination"]
            ].itertuples(index=False, name=None)
        )
        for result in (dry, wet)
    ]
    assert used[0] - used[1]
    assert used[1] - used[0]
    trips = []
    for result in (dry, wet):
        load = load_on_roads(result.travel, result.lanes)
        by_road = load.pivot_table("trips", "road", "period", "sum", fill_value=0.0)
        trips.append(by_road.reindex(["low_road", "quay_pier"], fill_value=0.0))
    assert (trips[0].loc["low_road"] > 5).all()
    assert (trips[0].loc["quay_pier"] == 0).all()
    flooded = trips[1].columns.isin(FLOOD)
    assert (trips[1].loc["low_road", flooded] == 0).all()
    assert (trips[1].loc["quay_pier", flooded] > 1).all()
    assert (trips[1].loc["quay_pier", ~flooded] == 0).all()


@pytest.mark.slow
def test_load_on_roads_adds_up_to_the_plan(brackwater, brackwater_planned):
    """Tonne-kilometres on roads and between sites and roads are those of the lanes."""
    result = brackwater_planned
    load = load_on_roads(result.travel, result.lanes)
    lanes = result.lanes
    total = (lanes["tonnes"] * lanes["km"]).sum()
    on_roads = load["tonne_km"].sum()
    assert 0.85 * total < on_roads < total
    assert set(load["road"]) <= set(brackwater.roads["road"])
    over = load[load["road"].isin(["quay_pier", "low_road"])]
    island = lanes["origin"].isin(["fish_plovenacre"])
    assert over["trips"].sum() >= lanes.loc[island, "trips"].sum() > 0
