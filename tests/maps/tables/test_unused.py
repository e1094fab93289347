"""What keeps a site from any use is said where the tables or the plan can tell."""

from dataclasses import replace

import pytest
from support.fake_result import result
from support.places import SMALL

from logistics.results.pipeline import Result, run
from logistics.scenario.edits import set_values
from logistics.scenario.scenario import Scenario, read_scenario
from logistics.scenario.settings import change_setting
from maps.geo.map_contents import map_data
from maps.report.plan_facts import facts
from maps.report.sections import yards
from maps.tables.unused import why_unused


def with_yard(scenario: Scenario, code: str, **values: object) -> Scenario:
    """Write values into the row of a yard."""
    return set_values(scenario, "yards", scenario.yards["yard"] == code, values)


@pytest.fixture(scope="module")
def planned() -> Result:
    """Shoal is built; mole is too small for any size, and reef has no water."""
    scenario = read_scenario(SMALL)
    unscreened = change_setting(scenario.settings, "siting.screen", "off")
    scenario = with_yard(replace(scenario, settings=unscreened), "mole", area_m2=300)
    return run(with_yard(scenario, "reef", water_m3_per_day=0))


def test_too_small_and_nothing_to_mix(planned):
    found = why_unused(planned)
    least = f"{planned.scenario.yard_sizes['site_m2'].min():,.0f}"
    assert found["yard:mole"] == (
        "Its 300 m² are too small for a yard of any size: the smallest needs "
        f"{least} m²."
    )
    assert found["yard:reef"].startswith("It cannot compost anything: ")
    assert "yard:shoal" not in found


def test_map_and_report_say_it(planned):
    assert map_data(planned)["unused"] == why_unused(planned)
    section = str(yards.section(facts(planned)))
    assert "Sites that cannot be used: " in section
    assert "Its 300 m² are too small" in section


def test_a_site_just_large_enough_is_not_too_small(planned):
    least = float(planned.scenario.yard_sizes["site_m2"].min())
    scenario = with_yard(planned.scenario, "mole", area_m2=least)
    assert "yard:mole" not in why_unused(replace(planned, scenario=scenario))


def test_as_many_yards_as_may_be_open():
    """Only of sites that nothing else keeps from use, and only at the limit."""
    planned = result()
    settings = planned.scenario.settings
    assert why_unused(planned) == {}
    full = {"yard:shore": "At most 1 yard may be open, and that many are."}
    for most, said in ((1, full), (2, {})):
        planned.scenario.settings = change_setting(settings, "policy.max_yards", most)
        assert why_unused(planned) == said


def test_closed_by_the_scenario_or_given_up():
    planned = result()
    table = planned.scenario.tables["yards"]
    table["decision"] = ["free", "closed"]
    assert why_unused(planned) == {"yard:shore": "The scenario keeps this site closed."}
    table["decision"] = "free"
    table["existing_size"] = ["", "small"]
    said = why_unused(planned)["yard:shore"]
    assert said.startswith("The plan gives this yard up. A plan with it may be as good")
    assert said.endswith("beat this one by at most 40 shells a year.")
