"""Districts go by their name wherever their code was shown; by the code without one."""

import shutil
from types import SimpleNamespace

import pandas as pd
import pytest
from support.accented import accented
from support.places import SMALL

from logistics.model.assembly.policy import least_shares
from logistics.scenario.faults import ScenarioError
from logistics.scenario.scenario import read_scenario
from logistics.studies.coalitions import Coalition, Sharing
from maps.geo.map_contents import map_data
from maps.report.report import report_html
from maps.shared.place_names import names, names_of
from maps.studies import comparison_lines
from maps.studies.shares_page import share_tables
from maps.tables.budget_workbook import _cuts
from maps.tables.flows import supply, yards

NORTH = "Région du Nord-Est"


@pytest.fixture(scope="module")
def planned():
    return accented()


def test_a_name_is_optional(planned):
    assert names(planned, "district") == {"north": NORTH, "south": "south"}


def test_two_of_one_name_are_told_apart(planned):
    other = accented()
    other.scenario.tables["districts"]["name"] = "Nord"
    assert names(other, "district") == {
        "north": "Nord (north)",
        "south": "Nord (south)",
    }


def test_a_district_without_a_row_keeps_its_code():
    other = accented()
    other.scenario.tables["districts"] = pd.DataFrame({"district": [], "name": []})
    assert names(other, "district") == {"north": "north", "south": "south"}


@pytest.mark.slow
def test_tables_report_and_map_show_it(planned):
    assert NORTH in set(yards(planned)["district"])
    assert set(supply(planned)["district"]) == {NORTH, "south"}
    assert map_data(planned)["districts"]["north"] == NORTH
    page = report_html(planned)
    assert page.count(NORTH) >= 3
    assert "<bdi>north</bdi>" not in page


def test_the_budgets_cut_by_district_is_headed_by_it(planned):
    """The parts keep the code: formulas look for it, and a name may hold a *."""
    parts = SimpleNamespace(
        table=pd.DataFrame({"yard": [""], "district": ["north"], "period": ["p00"]})
    )
    cuts = {name: headings for name, _, headings in _cuts(planned, parts)}
    assert cuts["districts"] == [("north", NORTH)]


def test_plans_side_by_side_show_it(planned, monkeypatch):
    """Among who gains by a change."""
    moved = {"collected_before": 0.0, "collected_after": 100.0}
    still = {"compost_before": 5.0, "compost_after": 5.0}
    found = pd.DataFrame([{"district": "north", **moved, **still}])
    nobody = pd.DataFrame({"source": ["a"], "difference": [0.0]})
    monkeypatch.setattr(comparison_lines, "by_district", lambda *_: found)
    monkeypatch.setattr(comparison_lines, "winners", lambda *_: nobody)
    plan = SimpleNamespace(outcome=object(), result=planned)
    said = list(comparison_lines._gainers(planned, plan, 1))
    assert said == [f"Districts, feedstock: {NORTH} +100.0"]


def test_cost_shares_show_it(planned):
    def one(*codes):
        return Coalition(frozenset(codes), 10.0 * len(codes), 10.0 * len(codes), 1, "")

    groups = [one("north"), one("south"), one("north", "south")]
    figures = dict.fromkeys(
        ["arises", "tonnes", "tonne_km", "alone", "by_tonnes", "by_tonne_km"], 10.0
    ) | dict.fromkeys(["shapley", "low", "high", "standing"], 10.0)
    table = pd.DataFrame([{"district": c, **figures} for c in ("north", "south")])
    found = Sharing(
        ("north", "south"), {each.group: each for each in groups}, table, 20.0, 0.0
    )
    shown = share_tables(found.renamed(names(planned, "district")), planned.scenario)
    assert shown["shares"]["district"].tolist() == [NORTH, "south"]
    assert f"{NORTH}, south" in set(shown["groups"]["group"])
    assert found.parties == ("north", "south")


def test_a_rule_for_a_district_names_it(tmp_path):
    """As read from the files; the code alone where the table has no such row."""
    folder = tmp_path / "named"
    shutil.copytree(SMALL, folder)
    sources = pd.read_csv(folder / "sources.csv").assign(district="n1")
    sources.to_csv(folder / "sources.csv", index=False)
    (folder / "policy.csv").write_text("rule,district,share_pct\nleast_share,n1,10\n")
    (rule,) = least_shares(read_scenario(folder))
    assert rule.name == "all feedstock in n1"
    (folder / "districts.csv").write_text("district,name\nn1,Ñuñoa\n", "utf-8")
    scenario = read_scenario(folder)
    assert names_of(scenario, "district")["n1"] == "Ñuñoa"
    (rule,) = least_shares(scenario)
    assert rule.name == "all feedstock in Ñuñoa"


@pytest.mark.parametrize(("code", "faulty"), [("nort", True), ("harbour", False)])
def test_a_named_district_of_no_place_is_asked_about(tmp_path, code, faulty):
    """Only where it is likely a slip: a list of all districts of a country is fine."""
    folder = tmp_path / "named"
    shutil.copytree(SMALL, folder)
    (folder / "districts.csv").write_text(f"district,name\nsouth,S\n{code},N\n")
    if not faulty:
        read_scenario(folder)
        return
    with pytest.raises(ScenarioError) as caught:
        read_scenario(folder)
    assert [str(problem) for problem in caught.value.problems] == [
        "districts.csv, row 3, column 'district': 'nort' is not the district of any "
        "source, yard or market. Write 'north' if you meant that, or delete the row."
    ]
