"""From a scenario folder to a result, on the small district of three piers."""

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from support.places import SMALL

from logistics.composting.windrow_life import batches, life
from logistics.model.assembly.assembler import assemble
from logistics.results.haulage import lane_table
from logistics.results.mixes import mix_table
from logistics.results.pipeline import run
from logistics.results.plan_amounts import AuditError
from logistics.results.plan_ledger import budget, ledger, net_cost
from logistics.roads.travel_matrices import travel
from logistics.scenario.identity import fingerprint
from logistics.scenario.scenario import Scenario, read_scenario


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    """Take the three piers, with a price on everything left behind."""
    base = read_scenario(SMALL)
    sources = base.sources.assign(
        disposal_cost_per_t=base.sources["disposal_cost_per_t"] + 5
    )
    return with_table(base, "sources", sources)


@pytest.fixture(scope="module")
def result(scenario):
    return run(scenario)


def with_table(scenario: Scenario, name: str, table: pd.DataFrame) -> Scenario:
    return replace(scenario, tables={**scenario.tables, name: table})


def test_ledger_equals_the_objective(result):
    assert net_cost(result.ledger) == pytest.approx(result.plan.objective, rel=1e-6)
    assert result.summary["total_cost"] == pytest.approx(result.plan.objective)


def test_ledger_rows_add_up_by_any_cut(result):
    table = result.ledger
    for cut in ("account", "line", "place", "period"):
        assert table.groupby(cut)["amount"].sum().sum() == pytest.approx(
            table["amount"].sum()
        )
    np.testing.assert_allclose(table["rate"] * table["quantity"], table["amount"])
    assert budget(table)["amount"].sum() == pytest.approx(table["amount"].sum())


@pytest.mark.parametrize(
    ("table", "column"),
    [
        ("hauls", "tonnes"),
        ("deliveries", "tonnes"),
        ("uncollected", "tonnes"),
        ("charges", "tonnes"),
        ("water", "tonnes"),
    ],
)
def test_a_tampered_plan_no_longer_adds_up(scenario, result, table, column):
    """The recount sees what the programme did not say."""
    frame = getattr(result.plan, table)
    assert len(frame), table
    changed = frame.assign(**{column: frame[column] * 1.1})
    plan = replace(result.plan, **{table: changed})
    made = assemble(scenario, result.travel)
    inbound, outbound = made.inbound, made.outbound
    lanes = lane_table(scenario, plan, inbound, outbound)
    cost = net_cost(ledger(scenario, plan, lanes))
    assert cost != pytest.approx(plan.objective, rel=1e-6)


def test_trips_by_hand(scenario, result):
    """Tonnes over load, there and back, litres by leg: recomputed from the tables."""
    trucks = scenario.trucks.set_index("truck")
    materials = scenario.materials.set_index("material")
    process = scenario.settings.process
    for row in result.lanes.to_dict("records"):
        truck = trucks.loc[row["truck"]]
        density = process.product_kg_m3
        if row["kind"] == "in":
            density = materials.loc[row["material"], "hauled_kg_m3"]
        full = min(truck["payload_t"], truck["body_m3"] * density / 1000)
        assert row["trips"] >= row["tonnes"] / full * (1 - 1e-9)
        assert row["vehicle_km"] == pytest.approx(2 * row["km"] * row["trips"])
        litres = truck["fuel_l_per_km_loaded"] + truck["fuel_l_per_km_empty"]
        assert row["fuel_l"] == pytest.approx(litres * row["km"] * row["trips"])
        assert row["crew"] == pytest.approx(row["hours"] * truck["crew_cost_per_hour"])


def test_mixes_hold_their_windows(scenario, result):
    mix = scenario.settings.mix
    assert len(result.mixes)
    assert result.mixes["cn"].between(mix.cn_low - 1e-6, mix.cn_high + 1e-6).all()
    assert (
        result.mixes["moisture"]
        .between(mix.moisture_low - 1e-8, mix.moisture_high + 1e-8)
        .all()
    )
    assert (result.mixes["pad_used"] <= 1 + 1e-6).all()
    made = result.plan.compost["made_t"].sum()
    assert result.mixes["product_t"].sum() == pytest.approx(made)


def test_the_pad_is_as_full_as_the_fullest_day_of_the_month(scenario, result):
    """Counted from the batches one by one, also where one month is charged alone."""
    days = scenario.periods["days"].to_numpy().astype(int)
    owner = np.repeat(np.arange(len(days)), days)
    periods = list(scenario.periods["period"])
    charges = result.plan.charges.copy()
    charges.loc[charges["period"] != "m01", "tonnes"] *= 0.1
    alone = mix_table(scenario, replace(result.plan, charges=charges))
    for mixes, limit in ((result.mixes, 1 + 1e-6), (alone, np.inf)):
        for _, rows in mixes.groupby("yard"):
            volume = rows.set_index("period")["windrow_m3"].reindex(periods).fillna(0.0)
            lying = np.zeros(len(owner))
            for batch in batches(scenario):
                first, part = life(batch)
                for n, share in enumerate(part):
                    of_charge = volume.iloc[batch.period] * batch.share
                    lying[(first - 1 + n) % len(owner)] += of_charge * share
            for row in rows.to_dict("records"):
                peak = lying[owner == periods.index(row["period"])].max()
                assert row["pad_used"] == pytest.approx(peak / row["pad_m3"])
                assert row["pad_used"] <= limit
    assert result.mixes["pad_used"].max() > 0.9


def test_fish_is_taken_in_time(scenario, result):
    """Waiting, loading and driving fit the hours that fish keeps."""
    keeps = scenario.materials.set_index("material")["keep_hours"]
    waits = scenario.sources.set_index("source")["wait_hours"]
    loads = scenario.trucks.set_index("truck")["load_minutes"]
    rows = result.lanes[result.lanes["material"].map(keeps).notna()]
    assert len(rows)
    for row in rows.to_dict("records"):
        state = result.travel.pick(row["truck"], row["period"])
        a = result.travel.index("source", [row["origin"]])
        b = result.travel.index("yard", [row["destination"]])
        hours = waits[row["origin"]] + loads[row["truck"]] / 60
        assert hours + state.hours[a, b].item() <= keeps[row["material"]]


def test_summary_is_complete_and_plain(result):
    wanted = (
        "status objective bound gap seconds currency yards_open collected_t "
        "collected_share uncollected_t compost_t haul_cost total_cost "
        "cost_per_t_collected cn_min cn_max moisture_min moisture_max audit_passed "
        "versions"
    )
    assert set(wanted.split()) <= set(result.summary)
    json.dumps(result.summary, allow_nan=False)


def test_worth_speaks_in_names(result):
    assert len(result.plan.worth)
    assert result.plan.worth["words"].str.contains("would (?:save|cost)").all()


@pytest.mark.slow
def test_a_failed_audit_is_not_shown(scenario, monkeypatch):
    from logistics.results import pipeline

    real = pipeline.solve

    def cheat(*arguments):
        plan = real(*arguments)
        return replace(plan, uncollected=plan.uncollected.iloc[:0])

    monkeypatch.setattr(pipeline, "solve", cheat)
    with pytest.raises(AuditError):
        run(scenario)


def test_fingerprint_sees_any_change(scenario):
    assert fingerprint(read_scenario(SMALL)) == fingerprint(read_scenario(SMALL))
    sources = scenario.sources.assign(amount=scenario.sources["amount"] + 1)
    assert fingerprint(with_table(scenario, "sources", sources)) != fingerprint(
        scenario
    )


@pytest.mark.slow
def test_lab_values_make_a_feedstock_of_their_own(scenario):
    """A laboratory value beats the default and changes the mix."""
    fish = scenario.sources["material"] == "fish_waste_mixed"
    if not fish.any():
        fish = scenario.sources["material"].str.contains("fish")
    sources = scenario.sources.copy()
    sources.loc[fish, "lab_nitrogen"] = 0.07
    changed = with_table(scenario, "sources", sources)
    instance = assemble(changed, travel(changed)).instance
    base = assemble(scenario, travel(scenario)).instance
    assert any("__" in code for code in instance.feed.codes)
    assert instance.feed.nitrogen.max() < base.feed.nitrogen.max()
    assert run(changed).summary["audit_passed"]


@pytest.mark.slow
def test_a_ledger_that_disagrees_is_not_shown(scenario, monkeypatch):
    """The money is counted from tables and from the instance; both must agree."""
    from logistics.results import pipeline

    true_ledger = pipeline.ledger

    def wrong(*args):
        table = true_ledger(*args)
        table.loc[0, "amount"] += 0.001 * table["amount"].abs().sum()
        return table

    monkeypatch.setattr(pipeline, "ledger", wrong)
    with pytest.raises(AuditError, match="money in the ledger"):
        pipeline.run(scenario)


def test_a_market_that_is_closed_has_no_limit_a_hectare():
    """It has no hectares: dividing by them warned, in the middle of a study."""
    small = read_scenario(SMALL)
    farms = small.markets["market"] == "farms"
    assert set(run(small).limited["market"]) == {"farms"}
    markets = small.markets.assign(amount=small.markets["amount"].where(~farms, 0.0))
    assert run(with_table(small, "markets", markets)).limited.empty
