"""What a proven gap leaves open is said in one way: on cards and in the report."""

from types import SimpleNamespace

import pytest
from support.fake_result import result

from logistics.studies.comparison import left_open
from maps.geo.map_contents import map_data
from maps.report.plan_facts import facts
from maps.report.sections import limits, yards
from maps.shared.ties import other_yards


@pytest.mark.parametrize(
    ("bound", "objective", "room"),
    [
        (99_472.0, 100_000.0, 528.0),
        (99_999.95, 100_000.0, 0.0),  # within what plans are solved to
        (99_999.85, 100_000.0, pytest.approx(0.15)),
        (-1_000.0, -472.0, 528.0),
        (float("-inf"), 100_000.0, None),
    ],
)
def test_what_a_proof_leaves_open(bound, objective, room):
    plan = SimpleNamespace(status="optimal", floor=bound, objective=objective)
    assert left_open(plan) == room
    assert left_open(SimpleNamespace(**{**vars(plan), "status": "shortage"})) is None


def of(**changes):
    return result(**{"bound": 9_450.0, "objective": 10_000.0, **changes})


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, "A plan with other yards may be as good as equal: it can beat "
             "this one by at most 550 shells a year."),
        ({"bound": 10_000.0},
         "It is proven that no plan with other yards is better than this one."),
        ({"status": "shortage"}, "Nothing is proven about a plan with other yards."),
    ],
)  # fmt: skip
def test_report_and_cards_say_it(changes, said):
    planned = of(**changes)
    assert other_yards(planned) == said
    assert said in str(yards.section(facts(planned)))
    choice = map_data(planned)["choice"]
    assert choice["site"] == said.replace("other yards", "this site")
    assert choice["yard"] == other_yards(planned, "without this yard")


def test_what_limits_a_plan_holds_for_its_yards_alone():
    assert "by at most 550 shells a year" in str(limits.section(facts(of())))


@pytest.mark.parametrize(
    ("goal", "unit"), [("uncollected", "t a year"), ("co2e", "kg CO2e a year")]
)
def test_the_unit_is_that_of_the_goal(goal, unit):
    planned = of(bound=9_990.0)
    settings = planned.scenario.settings
    other = settings.model_copy(
        update={"goal": settings.goal.model_copy(update={"minimise": goal})}
    )
    planned.scenario.settings = other
    assert other_yards(planned).endswith(f"by at most 10 {unit}.")
