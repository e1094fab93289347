"""Loads too small to be worth driving: left out where no demand needs them."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from support.places import SMALL

from logistics.model import Plan, prepare, solve
from logistics.model.problem import Instance, LeastLoads
from logistics.results.plan_audit import audit, require
from logistics.scenario.scenario import read_scenario

EDGE = 1e-4
"""Just inside and just outside a limit. [1]"""


@pytest.fixture(scope="module")
def asked() -> Instance:
    """A small district in which no load is too small."""
    made = prepare(read_scenario(SMALL)).instance
    return replace(made, least_loads=None)


@pytest.fixture(scope="module")
def free(asked: Instance) -> Plan:
    """Its plan."""
    return solve(asked)


def planned(asked: Instance, lane_t: float = 0.0, trip_t: float = 0.0) -> Plan:
    """Plan with a least of tonnes, the same in every period."""
    periods = len(asked.periods)
    return solve(
        replace(asked, least_loads=LeastLoads(np.full(periods, lane_t), trip_t))
    )


def between(flows: pd.DataFrame) -> pd.Series:
    """Tonnes between two places in a period, all trucks together."""
    places = [c for c in flows.columns if c not in ("truck", "tonnes")]
    return flows.groupby(places)["tonnes"].sum()


@pytest.mark.slow
def test_nothing_small_changes_nothing(asked, free):
    least = min(between(free.hauls).min(), between(free.deliveries).min())
    plan = planned(asked, least * (1 - EDGE))
    assert plan.small_loads.left_out == plan.small_loads.kept == 0
    assert plan.small_loads.cost == 0
    pd.testing.assert_frame_equal(plan.hauls, free.hauls)
    assert planned(asked, least * (1 + EDGE)).small_loads.left_out > 0


@pytest.mark.slow
@pytest.mark.parametrize("lane_t", [5.0, 40.0, 90.0])
def test_what_is_small_goes_at_a_price_that_is_told(asked, free, lane_t):
    plan = planned(asked, lane_t)
    small = [x for x in (*between(plan.hauls), *between(plan.deliveries)) if x < lane_t]
    assert len(small) == plan.small_loads.kept
    if plan.small_loads.left_out:
        assert plan.objective > free.objective
    assert plan.small_loads.cost == pytest.approx(plan.objective - free.objective)
    assert plan.bound == pytest.approx(free.bound)
    assert plan.gap >= free.gap
    require(audit(asked, plan))  # of the district without the rule: it holds as well


@pytest.mark.slow
def test_a_source_that_must_be_collected_stays(asked):
    source = "pier"  # fish cannot wait until there is more
    at = asked.supply.codes.index(source)
    tonnes = asked.supply.tonnes.copy()
    tonnes[at] = 0.2
    must = np.zeros(len(asked.supply.codes), dtype=bool)
    crumb = replace(asked.supply, tonnes=tonnes, must_collect=must)
    asked = replace(asked, supply=crumb)
    assert source not in set(planned(asked, 1.0).hauls["source"])
    must = must.copy()
    must[at] = True
    plan = planned(replace(asked, supply=replace(crumb, must_collect=must)), 1.0)
    carried = plan.hauls.loc[plan.hauls["source"] == source, "tonnes"].sum()
    assert carried == pytest.approx(tonnes[at].sum())
    assert plan.small_loads.kept > 0
    assert plan.status != "shortage"


@pytest.mark.slow
def test_a_goal_other_than_cost_keeps_every_load(asked):
    plan = planned(replace(asked, goal="uncollected"), 1e6)
    assert plan.small_loads.left_out == 0
    assert len(plan.hauls) > 0


@pytest.mark.slow
def test_a_least_no_truck_can_load_leaves_out_nothing_that_is_full(asked):
    lanes = asked.inbound
    load = np.repeat(lanes.load_t.max(axis=1, keepdims=True), len(asked.periods), 1)
    full = replace(asked, inbound=replace(lanes, load_t=load))
    every = planned(full, trip_t=1e3)
    pd.testing.assert_frame_equal(every.hauls, solve(full).hauls)
    assert every.small_loads.left_out == 0


@pytest.mark.slow
def test_rounds_short_of_the_fullest_are_left_out_where_no_truck_can_load_more(asked):
    """Fish is fetched as it comes: what its rounds gather differs by period."""
    lanes, pier = asked.inbound, asked.supply.codes.index("pier")
    gathered = lanes.load_t[lanes.site == pier].max(axis=0)
    fullest = {
        period
        for period, load in zip(asked.periods, gathered, strict=True)
        if load == gathered.max()
    }
    hauls = planned(asked, trip_t=1e3).hauls
    assert set(hauls.loc[hauls["source"] == "pier", "period"]) == fullest
    assert 0 < len(fullest) < len(asked.periods)


@pytest.mark.slow
def test_the_least_of_a_trip_is_what_the_truck_can_load(asked):
    lanes, source = asked.inbound, "mill_south"
    site = asked.supply.codes.index(source)
    load = lanes.load_t.copy()
    load[lanes.site == site] *= 0.1
    light = replace(asked, inbound=replace(lanes, load_t=load))
    least = load[lanes.site == site].min()
    inside = planned(light, trip_t=least * (1 - EDGE))
    outside = planned(light, trip_t=load[lanes.site == site].max() * (1 + EDGE))
    assert source in set(inside.hauls["source"])
    assert inside.small_loads.left_out == 0
    assert source not in set(outside.hauls["source"])


def test_no_load_of_the_demo_is_small(brackwater_planned):
    plan, scenario = brackwater_planned.plan, brackwater_planned.scenario
    days = scenario.periods.set_index("period")["days"]
    least = scenario.settings.haul.least_t_per_30_days
    for flows in (plan.hauls, plan.deliveries):
        loads = between(flows).reset_index()
        a_month = loads["tonnes"] / loads["period"].map(days) * 30
        assert a_month.min() >= least * (1 - 1e-6)
    assert plan.small_loads.left_out > 0
    assert plan.small_loads.kept == 0
    lanes = brackwater_planned.lanes
    load = lanes["tonnes"] / lanes["trips"]
    assert load.min() >= scenario.settings.haul.least_load_t
