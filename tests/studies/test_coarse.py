"""A country made coarse: nothing lost, nothing promised that does not hold."""

import sys
from dataclasses import replace

import numpy as np
import pytest
from support.places import TESTS

from logistics.model.rules.blocks import build
from logistics.model.solving.floor import least_goal
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.matrix import matrix_of, relax
from logistics.results.pipeline import run
from logistics.scenario.scenario import Scenario
from logistics.studies.clustering import edge_for, hexagons
from logistics.studies.coarse_district import coarse, nearest_lanes, thinned
from logistics.studies.country import plan_coarse

sys.path.append(str(TESTS / "benchmarks"))

from region import region

from maps.shared.standing_sentences import assumptions


def small(seed: int = 1) -> Scenario:
    """Make a region of a few places."""
    made = region(10, 4, 5, seed=seed)
    solve = made.settings.solve.model_copy(update={"gap": 1e-4, "seconds": 60.0})
    settings = made.settings.model_copy(update={"solve": solve})
    return replace(made, settings=settings)


def test_coarse_keeps_tonnes_demand_and_money() -> None:
    scenario = region(80, 10, 40)
    rows = np.arange(10)
    fine = coarse(scenario, rows, 0, 0).instance
    made = coarse(scenario, rows, 25, 25)
    inst = made.instance
    assert len(inst.supply.codes) < len(fine.supply.codes) == 80
    assert len(inst.markets.codes) < len(fine.markets.codes) == 40
    for m in range(len(fine.feed.codes)):
        one = fine.supply.tonnes[fine.supply.feedstock == m].sum(axis=0)
        assert inst.supply.tonnes[inst.supply.feedstock == m].sum(axis=0) == (
            pytest.approx(one)
        )
    assert inst.markets.demand.sum(axis=0) == pytest.approx(
        fine.markets.demand.sum(axis=0)
    )
    left = [(i.supply.tonnes.sum(axis=1) @ i.supply.left_money_per_t)
            for i in (inst, fine)]  # fmt: skip
    assert left[0] == pytest.approx(left[1])
    sales = [(i.markets.demand.sum(axis=1) @ i.markets.price_per_t)
             for i in (inst, fine)]  # fmt: skip
    assert sales[0] == pytest.approx(sales[1])
    assert len(made.source_group) == 80
    assert inst.supply.hold_t.sum() == pytest.approx(fine.supply.hold_t.sum())
    assert (inst.options.annual == fine.options.annual).all()


def test_lanes_of_a_group_cost_the_mean_of_its_members() -> None:
    scenario = region(80, 4, 10)
    rows = np.arange(4)
    fine = coarse(scenario, rows, 0, 0)
    made = coarse(scenario, rows, 25, 0)
    lanes, members = made.instance.inbound, fine.instance.inbound
    group = made.source_group[np.argsort(fine.source_group)]
    weight = fine.instance.supply.tonnes
    seen = 0
    for a in range(len(lanes)):
        inside = (
            (group[members.site] == lanes.site[a])
            & (members.yard == lanes.yard[a])
            & (members.truck == lanes.truck[a])
        )
        size = int((group == lanes.site[a]).sum())
        if size < 2 or inside.sum() != size or not members.usable[inside].all():
            continue
        w = weight[members.site[inside]] + 1e-9
        mean = (w * members.money[inside]).sum(axis=0) / w.sum(axis=0)
        assert lanes.money[a] == pytest.approx(mean)
        seen += 1
    assert seen > 5


@pytest.mark.parametrize(
    "seed", [pytest.param(s, marks=pytest.mark.thorough) for s in (1, 2, 3, 4)]
)
def test_nothing_merged_is_the_same_optimum_and_bounds_hold(seed: int) -> None:
    scenario = small(seed)
    whole = run(scenario)
    result, how = plan_coarse(scenario, edge=0)
    assert result.plan.objective == pytest.approx(whole.plan.objective, rel=3e-4)
    assert how.coarse_value == pytest.approx(result.plan.objective, rel=3e-4)
    assert how.floor == result.plan.bound <= whole.plan.objective
    assert result.plan.gap > 0
    assert result.audit["passed"].all()
    merged, told = plan_coarse(scenario, edge=20)
    assert merged.plan.objective >= whole.plan.bound - 1e-6
    assert told.floor <= whole.plan.objective
    kept = run(scenario, yards=merged.plan.yard_sizes)  # the same yards, all lanes
    assert merged.plan.objective == pytest.approx(kept.plan.objective, rel=1e-6)
    assert merged.audit["passed"].all()
    assert "loose bound" in told.words()
    rows = assumptions(merged)
    assert told.words() in set(rows["note"])


@pytest.mark.parametrize("goal", ["cost", "co2e", "uncollected"])
@pytest.mark.parametrize(
    "seed", [5, *(pytest.param(s, marks=pytest.mark.slow) for s in range(6, 16))]
)
def test_floor_is_below_the_relaxation_of_every_region(seed: int, goal: str) -> None:
    scenario = region(8, 3, 4, seed=seed)
    inst = replace(coarse(scenario, np.arange(3), 0, 0).instance, goal=goal)
    options = inst.options
    room = float((options.annual / options.pad_m3).min())
    floor = least_goal(inst, room, float(options.handling_per_t.min()))
    found = relax(matrix_of(build(inst)[0]), Session(Effort(), None))
    assert found is not None
    assert floor <= found.value + 1e-6 * abs(found.value)


def test_hexagons_hold_what_is_near_and_follow_the_count_asked_for() -> None:
    scenario = region(200, 5, 6)
    cells = hexagons(scenario.sources, 15)
    at = scenario.sources[["lon", "lat"]].to_numpy() * 111.2
    for cell in np.unique(cells):
        there = at[cells == cell]
        assert np.ptp(there, axis=0).max() <= 2 * 15 * 1.01
    edge = edge_for(scenario.sources, 30)
    assert len(np.unique(hexagons(scenario.sources, edge))) <= 30
    assert edge_for(scenario.yards, 5) == 0


def test_thinning_keeps_yards_that_must_open() -> None:
    scenario = region(5, 12, 5)
    yards = scenario.yards.copy()
    yards.loc[[3, 4], "decision"] = "open"
    yards.loc[5, "decision"] = "closed"
    scenario = replace(scenario, tables={**scenario.tables, "yards": yards})
    rows = thinned(scenario, 500)
    assert {3, 4} <= set(rows.tolist())
    assert len(rows) <= 3
    assert 5 not in thinned(scenario, 0)


def test_nearest_lanes_keep_the_cheapest_yards_of_each_site() -> None:
    inst = coarse(region(10, 6, 5), np.arange(6), 0, 0).instance
    lanes = inst.inbound
    kept = nearest_lanes(lanes, 2)
    for i in range(10):
        mine = lanes.site == i
        cost = {j: np.where(lanes.usable, lanes.money, np.inf)[mine & (lanes.yard == j)]
                .min() for j in set(lanes.yard[mine].tolist())}  # fmt: skip
        best = sorted(cost, key=cost.__getitem__)[:2]
        assert set(lanes.yard[mine & kept].tolist()) == set(best)
