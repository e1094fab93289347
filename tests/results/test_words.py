"""What limits a plan, in sentences."""

from dataclasses import replace
from types import SimpleNamespace

import pandas as pd
import pytest
from support.places import SMALL

from logistics.model.assembly.policy import least_shares
from logistics.results.words import explain_shortages, explain_worth
from logistics.scenario.scenario import Scenario, read_scenario
from maps.shared.shortages import shortage_sentences


def with_goal(goal: str) -> Scenario:
    base = read_scenario(SMALL)
    chosen = base.settings.goal.model_copy(update={"minimise": goal})
    settings = base.settings.model_copy(update={"goal": chosen})
    return replace(base, settings=settings)


def sentence(scenario: Scenario, kind: str, value: float) -> str:
    row = {"kind": kind, "where": "x", "when": "year", "value": value, "unit": "t"}
    return explain_worth(pd.DataFrame([row]), scenario)["words"].item()


@pytest.mark.parametrize(
    ("goal", "kind", "value", "says"),
    [
        ("cost", "demand", 12.345, "would save 12.35 {currency}."),
        ("cost", "demand", -3.0, "would cost 3.00 {currency}."),
        ("cost", "least_share", -3.0, "one tonne less than x would save 3.00"),
        ("cost", "least_share", 3.0, "would cost 3.00 {currency}."),
        ("cost", "budget", 0.0042, "would save 0.0042 {currency}."),
        ("uncollected", "budget", 0.0271, "would collect 0.027 t more."),
        ("uncollected", "supply", -1.0, "would leave 1.00 t more."),
        ("co2e", "pad", 120.0, "would save 120.00 kg CO2e."),
        ("co2e", "supply", -80.0, "would emit 80.00 kg CO2e more."),
    ],
)
def test_worth_speaks_the_unit_of_the_goal(goal, kind, value, says):
    scenario = with_goal(goal)
    said = sentence(scenario, kind, value)
    assert says.format(currency=scenario.settings.currency) in said


@pytest.mark.parametrize(
    ("unit", "how", "says"),
    [
        ("t", "alone", "If only this is relaxed: ask falls short by 1,234.5 t."),
        (
            "money",
            "together",
            "If all are relaxed: ask must rise by 1,234.5 {currency}.",
        ),
        ("yards", "alone", "If only this is relaxed: ask must rise by 1,235 yards."),
        ("t at most", "alone", "If only this is relaxed: ask must rise by 1,234.5 t."),
    ],
)
def test_what_falls_short_and_what_must_rise(unit, how, says):
    """A cap rises whatever its unit, and a least amount falls short."""
    scenario = with_goal("cost")
    unit, cap, _ = unit.partition(" at most")
    row = {
        "how": how,
        "limit": "most" if cap or unit != "t" else "least",
        "what": "ask",
        "where": "district",
        "when": "year",
        "amount": 1234.5,
        "unit": unit,
    }
    other = {**row, "what": "more"}
    words = explain_shortages(pd.DataFrame([row, other]), scenario)["words"][0]
    assert words == says.format(currency=scenario.settings.currency)


def asked(*rows: dict[str, object]) -> list[str]:
    base = {"how": "together", "where": "district", "when": "year", "unit": "t"}
    base["limit"] = "least"
    table = pd.DataFrame([{**base, "amount": 1.0, **row} for row in rows])
    scenario = with_goal("cost")
    plan = SimpleNamespace(shortages=table)
    return shortage_sentences(SimpleNamespace(plan=plan, scenario=scenario))


def test_a_single_demand_is_not_told_as_all():
    one = {"what": "most yards open", "amount": 2.0000001, "unit": "yards"}
    one["limit"] = "most"
    said = asked(one, {**one, "how": "alone"})
    assert said == ["Most yards open must rise by 2 yards."]


def test_it_is_said_when_no_demand_suffices_alone():
    two = [
        {"what": "collect fish"},
        {"what": "capital limit", "unit": "money", "limit": "most"},
    ]
    said = asked(*two)
    assert said[0] == "If all are relaxed: collect fish falls short by 1.0 t."
    assert said[-1] == (
        "Relaxing just one of these demands was not found to be enough."
    )
    assert len(asked(*two, {**two[0], "how": "alone"})) == 3


def test_places_of_the_same_name_are_told_apart():
    scenario = with_goal("cost")
    yards = scenario.yards.assign(name="Same")
    scenario = replace(scenario, tables={**scenario.tables, "yards": yards})
    code = yards["yard"].iloc[0]
    row = {"kind": "pad", "where": code, "when": "m01", "value": 2.0, "unit": "m3"}
    said = explain_worth(pd.DataFrame([row]), scenario)["words"].item()
    assert f"at Same ({code}) in" in said


def test_least_shares_speak_names():
    scenario = with_goal("cost")
    rule = {"material": "husk", "district": "north", "share": 0.5}
    policy = pd.DataFrame([rule])
    scenario = replace(scenario, tables={**scenario.tables, "policy": policy})
    (found,) = least_shares(scenario)
    assert found.name == "Rice husk in north"
    row = {"kind": "least_share", "where": found.code, "when": "year", "value": -2.0}
    said = explain_worth(pd.DataFrame([{**row, "unit": "t"}]), scenario)["words"].item()
    assert "one tonne less than 50% of Rice husk in north would save" in said
