"""Brackwater with and without its flood: what a closed road does to a plan."""

from pathlib import Path

import numpy as np
import pytest

from logistics.edits import set_values
from logistics.pipeline import run
from logistics.road_load import load_on_roads
from logistics.scenario import read_scenario
from logistics.travel import travel

SCENARIO = Path(__file__).resolve().parents[1] / "scenarios" / "brackwater"
LOW = ("d3_yessock", "d3_b2e")
"""The Low Road and the stretch of Delta Road beside it."""
FLOOD = ("m08", "m09")


def with_roads(scenario, codes, column, value):
    rows = scenario.roads["road"].isin(codes).tolist()
    return set_values(scenario, "roads", rows, {column: value})


@pytest.fixture(scope="module")
def brackwater():
    return read_scenario(SCENARIO)


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
def test_the_flood_changes_the_plan_and_costs_money(brackwater):
    dry = run(with_roads(brackwater, LOW, "closed_periods", ""))
    wet = run(with_roads(brackwater, LOW, "closed_periods", " ".join(FLOOD)))
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
    assert used[1] - used[0]
    assert used[0] - used[1]
    loads = []
    for result in (dry, wet):
        load = load_on_roads(result.travel, result.lanes)
        flood = load[load["period"].isin(FLOOD)]
        loads.append(flood.groupby("road")["trips"].sum())
    assert loads[0]["d3_b2e"] > 50
    assert not set(LOW) & set(loads[1].index)
    # the detour inland, over Umberlode Bridge
    assert loads[1]["b7w_b7e"] > 2 * loads[0].get("b7w_b7e", 0.0)


@pytest.mark.slow
def test_load_on_roads_adds_up_to_the_plan(brackwater):
    """Tonne-kilometres on roads and between sites and roads are those of the lanes."""
    result = run(brackwater)
    load = load_on_roads(result.travel, result.lanes)
    lanes = result.lanes
    total = (lanes["tonnes"] * lanes["km"]).sum()
    on_roads = load["tonne_km"].sum()
    assert 0.85 * total < on_roads < total
    assert set(load["road"]) <= set(brackwater.roads["road"])
    ferry = load[load["road"] == "quay_pier"]
    island = lanes["origin"].isin(["fish_plovenacre"])
    assert ferry["trips"].sum() >= lanes.loc[island, "trips"].sum() > 0
