"""Rules, limits and emissions as the instance has them, by hand."""

from dataclasses import replace

import pandas as pd
import pytest
from support.places import SMALL

from logistics.accounts.emissions import values_of
from logistics.model.assembly.assembler import assemble
from logistics.roads.travel_matrices import Travel, travel
from logistics.scenario.scenario import Scenario, read_scenario
from logistics.scenario.settings import change_setting


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return read_scenario(SMALL)


@pytest.fixture(scope="module")
def ways(scenario) -> Travel:
    return travel(scenario)


def with_table(scenario: Scenario, name: str, table: pd.DataFrame) -> Scenario:
    return replace(scenario, tables={**scenario.tables, name: table})


@pytest.mark.parametrize(
    ("material", "district", "sources", "name"),
    [
        ("husk", "", ["mill_north", "mill_south"], "Rice husk"),
        ("", "south", ["mill_south", "pier"], "all feedstock in south"),
        ("husk", "south", ["mill_south"], "Rice husk in south"),
        ("", "", ["mill_north", "mill_south", "pier", "herd"], "all feedstock"),
    ],
)
def test_a_least_share_counts_its_own_sources(
    scenario, ways, material, district, sources, name
):
    """Material and district together mean both, not either."""
    rule = {"rule": "least_share", "share": 0.4}
    row = {**rule, "material": material, "district": district}
    inst = assemble(with_table(scenario, "policy", pd.DataFrame([row])), ways).instance
    (found,) = inst.policy.least_shares
    assert [inst.supply.codes[i] for i in found.sources] == sources
    assert (found.share, found.name) == (0.4, name)


def test_limits_of_a_mix_in_the_units_of_the_programme(scenario, ways):
    values = {"density_high_kg_m3": 650.0, "structure_low": 0.3, "salt_high": 0.02}
    mix = scenario.settings.mix.model_copy(update=values)
    settings = scenario.settings.model_copy(update={"mix": mix})
    inst = assemble(replace(scenario, settings=settings), ways).instance
    assert inst.mix.density_t_m3 == pytest.approx(0.65)
    assert (inst.mix.structure, inst.mix.salt) == (0.3, 0.02)
    assert assemble(scenario, ways).instance.mix.density_t_m3 is None


def test_a_closed_yard_has_no_size(scenario, ways):
    shut = scenario.yards["yard"] == "reef"
    yards = scenario.yards.assign(
        decision=scenario.yards["decision"].mask(shut, "closed")
    )
    inst = assemble(with_table(scenario, "yards", yards), ways).instance
    built = {inst.yards.codes[j] for j in inst.options.yard.tolist()}
    assert built == {"mole", "shoal"}


def test_emissions_of_a_tonne(scenario, ways):
    """
    Diesel of a trip over its load; 4 g CH4 and 0.24 g N2O a kilogram composted.

    A yard's machines burn diesel too, and 15 % of the nitrogen that composting leaves
    replaces mineral nitrogen, of 3.5 kg CO2e a kilogram.
    """
    made = assemble(scenario, ways)
    inst, inward = made.instance, made.inbound
    rates = values_of(scenario.factors)
    burnt = 4 * 28 + 0.24 * 265 + rates["machine_l_per_t"] * 2.67
    kept = inst.feed.dry * (0.1 * inst.feed.nitrogen + 0.0225 * inst.feed.carbon)
    assert inst.charge_co2e == pytest.approx(burnt - 1000 * kept * 0.15 * 3.5)
    said = 1000 * (1 - 0.35) * 0.012
    assert inst.leftover_co2e == pytest.approx(said * 0.15 * 3.5)
    a = 0
    same = (
        (inward.origin == inst.inbound.site[a])
        & (inward.destination == inst.inbound.yard[a])
        & (inward.truck == inst.inbound.truck[a])
    )
    assert same.sum() == 1
    diesel = inward.fuel_l[same][0] * 2.67 / inward.load_t[same][0]
    assert diesel.min() > 0
    assert inst.inbound.co2e[a] == pytest.approx(diesel)
    fish = list(inst.supply.codes).index("pier")
    herd = list(inst.supply.codes).index("herd")
    methane = 0.24 * 1000 * 0.382 * 0.5 * 0.5 * 16 / 12 * 0.4
    assert inst.supply.left_co2e_per_t[fish] == pytest.approx(methane * 28)
    assert inst.supply.left_co2e_per_t[herd] == 0


def test_a_most_share_counts_every_feedstock_of_its_material(scenario, ways):
    """A source with a laboratory of its own has a feedstock of its own."""
    sources = scenario.sources.copy()
    sources.loc[sources["source"] == "mill_south", "lab_moisture"] = 0.2
    lab = with_table(scenario, "sources", sources)
    assert assemble(lab, ways).instance.policy.most_share is None
    settings = change_setting(lab.settings, "policy.most_share_material", "husk")
    half = replace(lab, settings=settings)
    assert assemble(half, ways).instance.policy.most_share is None
    settings = change_setting(settings, "policy.most_share_pct", 40)
    inst = assemble(replace(lab, settings=settings), ways).instance
    rule = inst.policy.most_share
    assert (rule.name, rule.share) == ("Rice husk", 0.4)
    assert [inst.feed.codes[m] for m in rule.feedstocks] == ["husk", "husk__mill_south"]
