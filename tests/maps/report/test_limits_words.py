"""What limits the plan, in the report: names in place of codes."""

from dataclasses import replace

import pandas as pd
import pytest
from support.pages import Page
from support.places import SMALL

from logistics.results.pipeline import run
from logistics.results.words import explain_worth
from logistics.scenario.scenario import read_scenario
from maps.report.report import report_html


@pytest.mark.slow
def test_a_demand_of_the_board_is_named_and_not_coded():
    found = run(read_scenario(SMALL))
    scenario = found.scenario
    material = str(scenario.materials["material"].iloc[0])
    rule = {"rule": "least_share", "material": material, "district": "", "share": 0.5}
    scenario = replace(
        scenario, tables={**scenario.tables, "policy": pd.DataFrame([rule])}
    )
    row = {"kind": "least_share", "where": "rule_1", "when": "year", "value": -90.0}
    worth = explain_worth(pd.DataFrame([{**row, "unit": "t"}]), scenario)
    plan = replace(found.plan, worth=worth)
    text = Page(report_html(replace(found, scenario=scenario, plan=plan))).text
    assert "rule_1" not in text
    assert "Asking for one tonne less than 50% of" in text
