"""What limits a plan, in sentences."""

from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from logistics.scenario import Scenario, read_scenario
from logistics.words import explain_shortages, explain_worth

SMALL = Path(__file__).parent / "good_small"


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
        ("cost", "least_share", -3.0, "one tonne less under x would save 3.00"),
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
        ("t", "alone", "If only this gives: ask falls short by 1,234.5 t."),
        ("money", "together", "If all give: ask must rise by 1,234.5 {currency}."),
        ("yards", "alone", "If only this gives: ask must rise by 1,234.5 yards."),
    ],
)
def test_what_falls_short_and_what_must_rise(unit, how, says):
    scenario = with_goal("cost")
    row = {
        "how": how,
        "what": "ask",
        "where": "district",
        "when": "year",
        "amount": 1234.5,
        "unit": unit,
    }
    words = explain_shortages(pd.DataFrame([row]), scenario)["words"].item()
    assert words == says.format(currency=scenario.settings.currency)
