"""Cover in store for what spoils: the rule of the programme, and the visits."""

from dataclasses import replace

import numpy as np
import pytest
from support.small_instances import small_instance

from logistics.model.solving.consistent_plan import solve
from logistics.model.solving.highs import Effort
from logistics.results.pipeline import run
from logistics.results.plan_amounts import AuditError
from logistics.results.plan_audit import audit, require
from logistics.rounds.visit_list import visits
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting
from logistics.scenario.starter import new_scenario

EXACT = Effort(gap=0.0, seconds=60)
FISH = 1


def covered(inst, m3_per_t):
    """So much cover for every tonne of fish of a period."""
    need = np.zeros((len(inst.feed.codes), len(inst.periods)))
    need[FISH] = m3_per_t
    return replace(inst, cover=need)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 4])
def test_cover_is_in_store_when_a_period_begins(seed):
    """By hand from the tables: last period's stock, aged, against the fish."""
    inst = covered(small_instance(seed), 0.6)
    free, plan = solve(small_instance(seed), EXACT), solve(inst, EXACT)
    assert plan.objective >= free.objective - 1e-6
    require(audit(inst, plan))
    fish = plan.hauls[plan.hauls["source"].isin(["s2", "s3"])]
    brought = fish.groupby(["yard", "period"])["tonnes"].sum()
    assert len(brought)
    stock = plan.stock.set_index(["yard", "feedstock", "period"])["tonnes"]
    for (yard, period), tonnes in brought.items():
        t = inst.periods.index(period)
        there = sum(
            stock.get((yard, code, inst.periods[t - 1]), 0.0)
            * inst.feed.keep[m, t]
            / inst.feed.loose_t_m3[m]
            for m, code in enumerate(inst.feed.codes)
            if inst.feed.structure[m]
        )
        assert there >= 0.6 * tonnes - 1e-4


@pytest.mark.slow
def test_a_plan_without_cover_fails_the_audit():
    inst = small_instance(4)
    plan = solve(inst, EXACT)
    require(audit(inst, plan))
    with pytest.raises(AuditError, match="cover for what spoils"):
        require(audit(covered(inst, 30.0), plan))


@pytest.mark.slow
def test_no_cover_asked_for_changes_nothing():
    inst = small_instance(1)
    one, other = solve(inst, EXACT), solve(covered(inst, 0.0), EXACT)
    assert other.objective == pytest.approx(one.objective)
    assert other.yard_sizes == one.yard_sizes


@pytest.fixture(scope="module")
def starter(tmp_path_factory):
    folder = tmp_path_factory.mktemp("district") / "starter"
    new_scenario(folder, "csv")
    scenario = read_scenario(folder)
    # husk that keeps for ever, so that it comes load by load
    keeps = scenario.materials.assign(
        keep_hours=scenario.materials["keep_hours"].where(
            scenario.materials["keep_hours"] < 100
        )
    )
    return replace(scenario, tables={**scenario.tables, "materials": keeps})


def with_days(scenario, days):
    settings = change_setting(scenario.settings, "cover.days", days)
    return replace(scenario, settings=settings)


@pytest.mark.slow
def test_days_of_cover_are_kept_in_the_plan_and_loads_come_in_time(starter):
    off, on = run(with_days(starter, 0)), run(with_days(starter, 2))
    assert on.summary["total_cost"] >= off.summary["total_cost"] - 1e-6
    assert "cover for what spoils" in set(on.audit["check"])
    assert "cover for what spoils" not in set(off.audit["check"])
    each = on.scenario.settings.cover.m3_per_t
    periods = on.scenario.periods
    loose = on.scenario.materials.set_index("material")["loose_kg_m3"] / 1000
    stock = on.plan.stock.set_index(["yard", "feedstock", "period"])["tonnes"]
    codes = list(periods["period"])
    fish = on.plan.charges[on.plan.charges["feedstock"] == "fish_waste_mixed"]
    for row in fish.to_dict("records"):
        before = codes[codes.index(row["period"]) - 1]
        days = periods.set_index("period")["working_days"][row["period"]]
        held = stock.get((row["yard"], "rice_husk", before), 0.0) / loose["rice_husk"]
        assert held >= row["tonnes"] / days * 2 * each - 0.1
    period = str(on.lanes.groupby("period")["tonnes"].sum().idxmax())
    husk = [v for v in visits(on, period) if v.material == "rice_husk"]
    for place in {v.place for v in husk}:
        days = sorted(v.day for v in husk if v.place == place)
        whole = round(periods.set_index("period")["working_days"][period])
        for k, day in enumerate(days):
            assert day <= (k + 0.5) / len(days) * whole + 1
