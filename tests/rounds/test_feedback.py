"""Planning with what driving takes, on the starter district."""

from dataclasses import replace

import numpy as np
import pytest

from logistics.model.assembly.calibration import as_reckoned
from logistics.results.pipeline import run
from logistics.rounds.driving import drive
from logistics.rounds.feedback_loop import by_turn, cheapest, feedback
from logistics.rounds.measured import measure
from logistics.rounds.tables import calls, tours
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting
from logistics.scenario.starter import new_scenario
from maps.field.feedback import first_words, turn_line

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def scenario(tmp_path_factory):
    folder = tmp_path_factory.mktemp("feedback") / "starter"
    new_scenario(folder, "csv")
    return read_scenario(folder)


@pytest.fixture(scope="module")
def turns(scenario):
    chosen = list(scenario.periods["period"])[:2]
    return feedback(scenario, most=2, periods=chosen, workers=1, iterations=20)


def test_factors_of_one_change_nothing(scenario, turns):
    same = run(scenario, realised=as_reckoned(scenario))
    assert same.summary["objective"] == pytest.approx(
        turns[0].result.summary["objective"]
    )


def test_pairs_are_left_out_and_that_is_said(scenario, turns):
    """Measured factors hold what shared trips save; counted twice it would be wrong."""
    settings = change_setting(scenario.settings, "fleet.pairing", "yes")
    paired = replace(scenario, settings=settings)
    result = run(paired, realised=as_reckoned(scenario))
    assert result.summary["objective"] == turns[0].result.summary["objective"]
    assert first_words(scenario) == []
    (words,) = first_words(paired)
    assert "no paired trips" in words


def test_planned_comes_nearer_to_driven(turns):
    assert len(turns) > 1
    assert abs(turns[-1].above_plan) <= abs(turns[0].above_plan) + 1e-6
    assert turns[-1].worst_hours <= turns[0].worst_hours + 1e-6


@pytest.mark.parametrize(
    ("driven", "said"), [(110.0, "10.0% above plan"), (80.0, "20.0% below plan")]
)
def test_what_driving_costs_is_a_share_of_the_plan(turns, driven, said):
    """Of 100 planned: what is driven is set against what is planned, as elsewhere."""
    sums = turns[0].freight.assign(planned_money=0.0, driven_money=0.0)
    sums.loc[sums.index[0], ["planned_money", "driven_money"]] = 100.0, driven
    turn = replace(turns[0], freight=sums)
    assert turn.above_plan == pytest.approx(driven / 100 - 1)
    assert said in turn_line(turn, 1)


def test_measured_factors_are_sound(scenario, turns):
    found = measure(turns[0].result, turns[0].driven, as_reckoned(scenario))
    for values in (found.source_hours, found.source_money, found.market_money):
        assert np.isfinite(values).all()
        assert (values > 0).all()
    assert ((found.usable >= 0) & (found.usable <= 1.25)).all()


def test_the_table_adds_up_turn_by_turn(turns):
    """Feedstocks add up to all; all is what the tours cost, counted again."""
    table = by_turn(turns)
    for n, turn in enumerate(turns, start=1):
        here = table[table["turn"] == n].set_index("material")
        parts, whole = here.drop(index="all"), here.loc["all"]
        for column in ("planned_t", "driven_t", "planned_money", "driven_money"):
            assert parts[column].sum() == pytest.approx(whole[column])
        paid = sum(float(tours(done)["money"].sum()) for done in turn.driven)
        assert whole["driven_money"] == pytest.approx(paid)
        assert whole["driven_per_t"] == pytest.approx(paid / whole["driven_t"])


def test_the_cheapest_to_drive_is_given_not_the_last(turns):
    """Net cost as driven: the plan's own with its haulage taken out and the real in."""
    for turn in turns:
        left = [done.left[done.left["kind"] == "in"] for done in turn.driven]
        if not sum(map(len, left)):
            swapped = turn.driven_money - turn.planned_money
            assert turn.whole_cost == pytest.approx(
                turn.result.summary["total_cost"] + swapped
            )
    last_but_dear = replace(turns[-1], whole_cost=turns[0].whole_cost + 1)
    assert cheapest([turns[0], last_but_dear]) == 0
    first_but_dear = replace(turns[0], whole_cost=turns[-1].whole_cost + 1)
    assert cheapest([first_but_dear, turns[-1]]) == 1


@pytest.mark.thorough
def test_seed_steps_and_separate_trips_count_in_the_loop(scenario, turns):
    """The first turn again: the same alone, and as `drive` does it with each option."""
    period = str(scenario.periods["period"].iloc[0])
    first = turns[0].driven[0]
    for how in ({}, {"seed": 7}, {"pair": False}, {"iterations": 10}):
        given = {"workers": 1, "iterations": 20, **how}
        (turn,) = feedback(scenario, most=0, periods=[period], **given)
        alone = drive(turns[0].result, period, **given)
        assert turn.driven[0].answers == alone.answers
        if not how:
            assert alone.answers == first.answers
        if "pair" in how:
            assert not any(
                {"in", "out"} <= set(kinds)
                for _, kinds in calls(turn.driven[0])
                .query("kind != 'yard'")
                .groupby(["day", "truck", "trip"])["kind"]
            )
