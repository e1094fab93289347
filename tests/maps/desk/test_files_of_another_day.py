"""Files that version 0.1.0 wrote, before there was a desk: read, or told what to do."""

import json
import shutil

import pytest
from support.desk import Desk, finish, make_scenario
from support.places import DATA

from logistics.changes import apply_changes, read_change_file
from logistics.scenario import read_scenario
from maps.desk.book import order_plan, plan_of, plans
from maps.desk.events import EVENTS
from maps.desk.line import in_line
from maps.desk.shelf import Shelf

OLD = DATA / "made_by_0_1_0"
SUMMARY = json.loads((OLD / "summary.json").read_text())


def test_the_fixture_is_of_that_version():
    assert SUMMARY["versions"]["loamhaul"] == "0.1.0"


def test_its_plan_is_shown_and_compared_beside_one_of_today(tmp_path):
    scenario = make_scenario(tmp_path)
    old, new = order_plan(scenario, {}), order_plan(scenario, {})
    finish(old, SUMMARY)
    finish(new)
    desk = Desk(tmp_path)
    assert desk.get("/s/small/plan").status == 200
    page = desk.get(f"/s/small/plans/{old.code}")
    assert page.status == 200
    asked = f"/s/small/compare?plan={old.code}&plan={new.code}"
    compared = desk.get(asked)
    assert compared.status == 200
    assert "8,339" in compared.text  # total_cost of the old plan
    assert desk.get(f"/s/small/plans/{old.code}/take").status == 200


@pytest.mark.parametrize("place", ["", "outputs"])
def test_a_folder_put_into_the_book_by_hand_is_left_alone(tmp_path, place):
    """It was taken for an order before: claimed, locked and failed."""
    scenario = make_scenario(tmp_path)
    put = scenario / "plans" / "old"
    shutil.copytree(OLD, put / place)
    before = sorted(put.rglob("*"))
    (entry,) = plans(scenario)
    assert (entry.state, entry.title) == ("failed", "old")
    assert in_line(Shelf(tmp_path)) == []
    desk = Desk(tmp_path)
    page = desk.get("/s/small/plans/old")
    assert page.status == 200
    assert "it has no order.json" in page.text
    assert "Plan again with the tables of today" in page.text
    assert sorted(put.rglob("*")) == before
    again = desk.post("/s/small/plans/old/again")
    assert again.status == 303
    assert len(plans(scenario)) == 2
    assert sorted(put.rglob("*")) == before
    assert not (put / EVENTS).exists()


def test_an_order_is_still_an_order(tmp_path):
    """Just inside: order.json alone is enough to wait."""
    entry = order_plan(make_scenario(tmp_path), {})
    assert plan_of(entry.folder.parents[1], entry.code).state == "waiting"


@pytest.mark.parametrize(
    "path", sorted((OLD / "stress_futures").glob("*.toml")), ids=lambda p: p.stem
)
def test_its_futures_are_changes_of_today(tmp_path, path):
    scenario = read_scenario(make_scenario(tmp_path))
    changed = apply_changes(scenario, read_change_file(path))
    assert any(
        not changed.tables[name].equals(table)
        for name, table in scenario.tables.items()
    ) or (changed.settings != scenario.settings)
