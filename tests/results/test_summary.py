"""The key figures, each counted again from the tables of the result."""

from dataclasses import replace

import pandas as pd
import pytest
from support.places import SMALL

from logistics.results import pipeline
from logistics.results.pipeline import Result, _summary, run
from logistics.results.plan_audit import audit
from logistics.scenario.scenario import read_scenario


@pytest.fixture(scope="module")
def result() -> Result:
    """Three piers with dear disposal and an existing yard that may grow."""
    base = read_scenario(SMALL)
    sources = base.sources.assign(
        disposal_cost_per_t=base.sources["disposal_cost_per_t"] + 5
    )
    return run(replace(base, tables={**base.tables, "sources": sources}))


def test_money(result):
    """Gross and income are the two signs of the programme's own money."""
    theirs = result.ledger["line"].isin(["present disposal", "fee paid"])
    amounts, paid = result.ledger["amount"], result.ledger["amount"][~theirs]
    of_account = amounts.groupby(result.ledger["account"]).sum()
    hauling = ["haulage in", "haulage out", "fleet"]
    said = result.summary
    assert of_account["fleet"] > 0
    assert said["haul_cost"] == pytest.approx(of_account[hauling].sum())
    assert said["gross_cost"] == pytest.approx(paid[paid > 0].sum())
    assert said["income"] == pytest.approx(paid[paid < 0].sum())
    assert said["income"] < 0 < said["gross_cost"]
    assert said["total_cost"] == pytest.approx(amounts.sum())
    assert 0 < theirs.sum() < len(amounts)
    assert said["programme_cost"] == pytest.approx(paid.sum())
    assert said["sources_pay"] == pytest.approx(amounts[theirs].sum())
    per_tonne = paid.sum() / result.plan.hauls["tonnes"].sum()
    assert said["cost_per_t_collected"] == pytest.approx(per_tonne)


def test_the_gap_in_money(result):
    """Four hundredths of the objective not proven, whatever its sign."""
    for sign in (1.0, -1.0):
        objective = sign * 5000.0
        open_ = replace(
            result.plan, objective=objective, bound=objective - 200, gap=0.04
        )
        tables = (result.mixes, result.lanes, result.ledger)
        said = _summary(result.scenario, result.travel, result.instance, open_, *tables)
        assert said["gap_money"] == pytest.approx(200)


def test_capital(result):
    """Works and machines of each yard, less what stands there already."""
    sizes = result.scenario.yard_sizes.set_index("size")
    yards = result.scenario.yards.set_index("yard")
    capital = 0.0
    for yard, size in result.summary["yards"].items():
        row, before = yards.loc[yard], yards.loc[yard, "existing_size"]
        new = sizes.loc[size, ["works_cost", "machine_cost"]]
        if before:
            new = new - sizes.loc[before, ["works_cost", "machine_cost"]]
        capital += new["works_cost"] * row["works_factor"] + new["machine_cost"]
    assert result.summary["yards"]
    assert result.summary["capital"] == pytest.approx(capital)


def test_tonnes(result):
    """Compost is what the charges make; each material counts its own sources."""
    scenario, plan, said = result.scenario, result.plan, result.summary
    feed = scenario.materials.set_index("material")
    dry = (1 - feed["moisture"]) * (1 - feed["dry_matter_loss"])
    made = plan.charges["feedstock"].map(dry) * plan.charges["tonnes"]
    moist = scenario.settings.process.product_moisture
    assert said["compost_t"] == pytest.approx(made.sum() / (1 - moist))
    assert said["delivered_t"] + said["leftover_t"] == pytest.approx(said["compost_t"])
    material = scenario.sources.set_index("source")["material"]
    taken = plan.hauls.groupby(plan.hauls["source"].map(material))["tonnes"].sum()
    supply = result.supply.groupby("material")["tonnes_per_year"].sum()
    assert len(taken) >= 2
    for name, tonnes in taken.items():
        assert said["collected_t"][name] == pytest.approx(tonnes)
        assert said["collected_share"][name] == pytest.approx(tonnes / supply[name])
    assert said["collected_t"]["all"] == pytest.approx(taken.sum())
    assert said["uncollected_t"] == pytest.approx(plan.uncollected["tonnes"].sum())
    assert said["vehicle_km"] == pytest.approx(
        (2 * result.lanes["km"] * result.lanes["trips"]).sum()
    )


def test_the_ends_of_the_windows(result):
    mixes, said = result.mixes, result.summary
    assert said["cn_min"] == mixes["cn"].min() <= said["cn_max"] == mixes["cn"].max()
    assert said["moisture_min"] == mixes["moisture"].min()
    assert said["moisture_max"] == mixes["moisture"].max()
    assert said["cn_min"] < said["cn_max"]


def test_the_density_of_a_mix_is_in_kilograms(result):
    """Wet mass over the loose volume of its parts."""
    scenario, plan = result.scenario, result.plan
    loose = scenario.materials.set_index("material")["loose_kg_m3"]
    volume = plan.charges["tonnes"] * 1000 / plan.charges["feedstock"].map(loose)
    volume = volume.groupby([plan.charges["yard"], plan.charges["period"]]).sum()
    for row in result.mixes.to_dict("records"):
        mass = 1000 * (row["charge_t"] + row["water_t"])
        m3 = volume[row["yard"], row["period"]]
        assert row["density_kg_m3"] == pytest.approx(mass / m3)


@pytest.mark.slow
def test_the_demands_of_the_board_are_audited_too(result, monkeypatch):
    """Only a plan with shortages may leave them out."""
    asked = []

    def watch(inst, plan, *, demands=True):
        asked.append(demands)
        return audit(inst, plan, demands=demands)

    monkeypatch.setattr(pipeline, "audit", watch)
    yards = list(result.summary["yards"].items())
    run(result.scenario, yards=yards)
    rule = {"rule": "least_share", "material": "", "district": "", "share": 1.0}
    tables = {**result.scenario.tables, "policy": pd.DataFrame([rule])}
    short = run(replace(result.scenario, tables=tables), yards=yards)
    assert short.summary["status"] == "shortage"
    assert asked == [True, False]
