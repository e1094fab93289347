"""What keeps a district from composting anything is told before planning."""

import re
from dataclasses import replace

import numpy as np
import pytest
from support.places import SMALL
from typer.testing import CliRunner

from logistics.diagnosis.feasibility import (
    idle_yards,
    nothing_possible,
    yards_without_mix,
)
from logistics.model.assembly.assembler import assemble
from logistics.results.pipeline import run
from logistics.roads.travel_matrices import travel
from logistics.scenario.scenario import Scenario, read_scenario, write_scenario
from maps.commands.command_line import app


def change(scenario: Scenario, group: str, **values: object) -> Scenario:
    made = getattr(scenario.settings, group).model_copy(update=values)
    settings = scenario.settings.model_copy(update={group: made})
    return replace(scenario, settings=settings)


def with_column(scenario: Scenario, table: str, **values: object) -> Scenario:
    changed = scenario.tables[table].assign(**values)
    return replace(scenario, tables={**scenario.tables, table: changed})


def base() -> Scenario:
    return change(read_scenario(SMALL), "goal", minimise="uncollected")


def without_husk_and_straw(scenario: Scenario) -> Scenario:
    """Leave only what is like fish."""
    keep = scenario.sources["material"].str.contains("fish")
    sources = scenario.sources[keep].reset_index(drop=True)
    return replace(scenario, tables={**scenario.tables, "sources": sources})


CASES = {
    "C:N too low": (
        without_husk_and_straw,
        r"in every mix of Fish waste, C:N is at most 3.604, below mix.cn_low = 20; ",
    ),
    "C:N too high": (
        lambda s: change(s, "mix", cn_low=2.0, cn_high=2.5),
        r"in every mix of .*C:N is at least .* above mix.cn_high = 2.5",
    ),
    "density": (
        lambda s: change(s, "mix", density_high_kg_m3=100.0),
        r"in every mix of .*density is at least .* above mix.density_high_kg_m3 = 100",
    ),
    "nitrogen": (
        lambda s: change(s, "mix", product_n_low=0.10),
        r"every mix of .*nitrogen of the compost is at most .*product_n_low_pct = 10",
    ),
    "no water": (
        lambda s: with_column(s, "yards", water_m3_per_day=0.0),
        r"cannot be mixed without water",
    ),
    "margin": (
        lambda s: change(
            with_column(s, "materials", nitrogen_range=0.3),
            "mix",
            cn_low=25.0,
            cn_high=30.0,
        ),
        r"no mix of .* anywhere in its range \(mix.margin_pct\). Lower mix.margin_pct",
    ),
    "too far": (
        lambda s: change(s, "travel", lane_limit_km=0.001),
        r"no truck can bring any feedstock in time",
    ),
    "all closed": (
        lambda s: with_column(s, "yards", decision="closed"),
        r"No yard may be built",
    ),
}


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_the_cause_is_named_and_no_plan_takes_anything_in(case):
    changed, says = CASES[case]
    scenario = changed(base())
    (said,) = nothing_possible(scenario, assemble(scenario, travel(scenario)).instance)
    assert re.search(says, said), said
    result = run(scenario)
    assert result.plan.charges.empty
    assert result.summary["nothing_possible"] == [said]


@pytest.mark.slow
def test_a_district_that_can_compost_is_told_nothing():
    scenario = base()
    instance = assemble(scenario, travel(scenario)).instance
    assert nothing_possible(scenario, instance) == []
    assert idle_yards(scenario, instance) == []
    assert run(scenario).summary["nothing_possible"] == []


@pytest.mark.parametrize("end", [0.6, 0.75, 0.9])
def test_the_best_ratio_told_is_the_brink(end):
    """Just beyond the C:N told a mix can be made, just before it none."""
    scenario = change(base(), "mix", cn_low=1.0, cn_high=1.5, moisture_high=end)
    instance = assemble(scenario, travel(scenario)).instance
    (said,) = nothing_possible(scenario, instance)
    found = re.search(r"at least ([\d.]+), above mix.cn_high", said)
    assert found, said
    brink = float(found[1])
    for high, idle in ((brink * 0.999, True), (brink * 1.001, False)):
        mix = replace(instance.mix, cn=(1.0, high))
        closer = replace(instance, mix=mix)
        assert bool(yards_without_mix(closer)) is idle


def test_what_never_meets_in_time_cannot_be_mixed():
    """Husk that spoils at once and fish of another month never share a windrow."""
    instance = assemble(base(), travel(base())).instance
    feed, supply = instance.feed, instance.supply
    fish = np.array(["fish" in feed.materials[m] for m in supply.feedstock])
    tonnes = np.zeros_like(supply.tonnes)
    husk = np.array(["husk" in feed.materials[m] for m in supply.feedstock])
    tonnes[fish, 0], tonnes[husk, 5] = 100.0, 100.0
    kept = replace(instance, supply=replace(supply, tonnes=tonnes))
    assert yards_without_mix(kept) == []  # husk keeps
    spoils = replace(feed, store_periods=np.zeros_like(feed.store_periods))
    assert yards_without_mix(replace(kept, feed=spoils))


@pytest.mark.slow
def test_check_and_plan_tell_it_the_same_way(tmp_path, summary_only):
    """Both leave with 3 and the same sentence."""
    scenario = with_column(base(), "yards", water_m3_per_day=0.0)
    write_scenario(scenario, tmp_path / "dry")
    call = CliRunner().invoke
    said = [call(app, ["check", str(tmp_path / "dry")])]
    said.append(
        call(app, ["plan", str(tmp_path / "dry"), "--out", str(tmp_path / "o")])
    )
    for answer in said:
        assert answer.exit_code == 3
        text = " ".join(answer.output.split())
        assert "No yard can compost anything:" in text
        assert "cannot be mixed without water. Give water_m3_per_day." in text
