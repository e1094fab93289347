"""How many trucks to own: against every number tried, as an errand, on the page."""

import itertools
from dataclasses import replace

import pytest
from support.desk import Desk
from support.desk_plan import planned_small, with_plan

from logistics.results.pipeline import run
from logistics.scenario.edits import set_values, with_settings
from maps.desk.book import plans
from maps.desk.errands import FLEET, FLEET_FACTS, OWN
from maps.desk.events import tell
from maps.desk.fleet import (
    NoFleetAnswerError,
    change_between,
    fleet_change,
    fleet_facts,
)
from maps.desk.recall import changed
from maps.disk import write_json

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    return planned_small(tmp_path_factory.mktemp("planned"))


@pytest.fixture(scope="module")
def facts(result):
    told = []
    found = fleet_facts(result, lambda *kind, **values: told.append((*kind, values)))
    assert told[0] == ("phase", {"words": "planning the same yards with other trucks"})
    return found


@pytest.fixture
def desk(tmp_path, result):
    """A desk with the plan; its scenario and plan."""
    scenario, entry = with_plan(tmp_path, result)
    return Desk(tmp_path), scenario, entry


def reckoned(entry, facts):
    """Leave the answer of an errand as its program does."""
    folder = entry.folder / FLEET / OWN
    folder.mkdir(parents=True)
    write_json(folder / FLEET_FACTS, facts)
    tell(folder, "end", how="done", note="")


@pytest.mark.slow
def test_one_truck_fewer_is_what_its_plan_says_and_the_best_is_no_worse(result, facts):
    scenario = result.scenario
    rows = scenario.trucks["truck"] == "heavy"
    fewer = set_values(scenario, "trucks", rows, {"owned": 1})
    cost = run(fewer, yards=result.plan.yard_sizes).ledger["amount"].sum()
    told = facts["rows"][1]["fewer"]["amount"]
    assert told == pytest.approx(cost - result.ledger["amount"].sum())
    each = [
        row[which]["amount"] for row in facts["rows"] for which in ("fewer", "more")
    ]
    assert facts["best"]["amount"] <= min(each)


@pytest.mark.thorough
def test_the_best_numbers_are_those_of_trying_all(result, facts):
    """Every pair of 0 to 2 trucks is planned; the answer is the cheapest of them."""
    scenario, yards = result.scenario, result.plan.yard_sizes
    costs = {}
    for light, heavy in itertools.product(range(3), repeat=2):
        own = scenario
        for code, number in (("light", light), ("heavy", heavy)):
            rows = own.trucks["truck"] == code
            own = set_values(own, "trucks", rows, {"owned": number})
        costs[light, heavy] = run(own, yards=yards).ledger["amount"].sum()
    best = min(costs, key=costs.get)
    assert best == tuple(row["best"] for row in facts["rows"])
    now = tuple(row["owned"] for row in facts["rows"])
    assert facts["net"] == pytest.approx(costs[now])
    assert facts["best"]["amount"] == pytest.approx(costs[best] - costs[now])
    light, heavy = facts["rows"]
    assert light["fewer"]["amount"] == pytest.approx(costs[1, 2] - costs[2, 2])
    assert heavy["fewer"]["amount"] == pytest.approx(costs[2, 1] - costs[2, 2])


def test_what_is_known_is_between_the_proofs(result):
    """Costs 100 (proven 90) and 104 (proven 95): 4 more, from 5 less to 14 more."""
    one, other = (
        replace(result, plan=replace(result.plan, objective=cost, bound=low))
        for cost, low in ((100.0, 90.0), (104.0, 95.0))
    )
    told = change_between(one, other)
    assert (told["amount"], told["low"], told["high"]) == (4.0, -5.0, 14.0)
    low = replace(other, plan=replace(other.plan, any_bound=80.0))
    assert change_between(one, low)["low"] == -20.0


def test_a_plan_for_another_goal_has_no_answer(result):
    other = with_settings(result.scenario, {"goal.minimise": "co2e"})
    with pytest.raises(NoFleetAnswerError, match="least cost"):
        fleet_facts(replace(result, scenario=other), lambda *_, **__: None)


def test_the_best_trucks_become_a_plan_with_these_trucks(desk, facts, result):
    window, scenario, entry = desk
    place = f"/s/small/plans/{entry.code}/money/fleet"
    assert window.post(f"{place}/plan").status == 422
    reckoned(entry, facts)
    assert window.post(f"{place}/plan").status == 303
    (fresh,) = [one for one in plans(scenario) if one.code != entry.code]
    trucks = changed(result.scenario, fresh.order).trucks
    assert trucks["owned"].tolist() == [row["best"] for row in facts["rows"]]
    as_planned = [{**row, "best": row["owned"]} for row in facts["rows"]]
    assert fleet_change({"rows": as_planned}) == ("", "")


def test_the_page_shows_the_answer_and_no_name_as_markup(desk, facts):
    window, _, entry = desk
    page = window.get("/s/small/money").text
    assert "Reckon how many trucks to own" in page
    assert 'href="/s/small/district#accounts"' in page
    rows = [{**row, "name": "<b>x</b>"} for row in facts["rows"]]
    wide = {**facts["best"], "low": -30_000.0, "high": 9.0}
    reckoned(entry, {**facts, "rows": rows, "best": wide})
    page = window.get("/s/small/money").text
    assert "<b>x" not in page
    assert "19,295" in page
    assert "the proof leaves room for no saving" in page
    told = window.get(f"/s/small/api/plans/{entry.code}/money/fleet").json()
    assert told == {"state": "done", "words": "", "count": ""}


@pytest.mark.parametrize("text", ["{}", '{"rows": 3}', '{"rows": [{"code": 1}]}', "["])
def test_an_answer_from_elsewhere_that_cannot_be_read_is_asked_anew(desk, text):
    window, _, entry = desk
    reckoned(entry, {})
    (entry.folder / FLEET / OWN / FLEET_FACTS).write_text(text)
    page = window.get("/s/small/money")
    assert page.status == 200
    assert "Reckon how many trucks to own" in page.text
