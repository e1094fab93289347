"""A plan with the rounds of its year: as one by one, or a reason why not."""

from dataclasses import replace

import pytest
from support.places import SMALL

from logistics.results.pipeline import run
from logistics.rounds import driven_year
from logistics.rounds.driven_money import above_plan, as_driven, haulage_by_period
from logistics.rounds.driven_year import NotDrivenError, drive_year, plan_as_driven
from logistics.rounds.driving import drive
from logistics.rounds.visit_list import visits
from logistics.scenario.scenario import read_scenario


@pytest.fixture(scope="module")
def result():
    return run(read_scenario(SMALL))


@pytest.fixture(scope="module")
def done(result):
    return drive_year(result)


@pytest.fixture(scope="module")
def calls(result):
    return sum(len(visits(result, p)) for p in result.scenario.periods["period"])


@pytest.mark.slow
def test_periods_are_driven_as_one_by_one_and_in_order(result, done):
    assert [one.period for one in done] == list(result.scenario.periods["period"])
    for one in done:
        alone = drive(result, one.period, workers=1, iterations=driven_year.STEPS)
        assert one.answers == alone.answers


@pytest.mark.slow
def test_other_processes_give_the_same_rounds(monkeypatch, result, done):
    monkeypatch.setattr(driven_year, "ALONE", 0)
    seen = []
    there = drive_year(result, lambda *state: seen.append(state), workers=2)
    assert [one.answers for one in there] == [one.answers for one in done]
    assert seen == [(n, len(done)) for n in range(1, len(done) + 1)]


@pytest.mark.slow
def test_a_brief_search_costs_about_what_a_long_one_costs(result, done):
    """On the demos within half a percent in every month, see RESULTS.md."""
    brief = above_plan(result, done)["driven"].sum()
    long = above_plan(result, drive_year(result, steps=300))["driven"].sum()
    assert brief == pytest.approx(long, rel=0.02)


@pytest.mark.slow
def test_the_plan_takes_what_they_cost(result, done):
    found, made = plan_as_driven(result), as_driven(result, done)
    assert found.ledger.equals(made.ledger)
    assert found.summary == made.summary
    table = above_plan(result, done).groupby("period")[["planned", "driven"]].sum()
    by_period = haulage_by_period(found).set_index("period")
    assert by_period["estimate"].to_dict() == pytest.approx(table["planned"].to_dict())
    assert by_period["driven"].to_dict() == pytest.approx(table["driven"].to_dict())
    shares = table["driven"] / table["planned"] - 1
    assert found.summary["rounds_share"]["least"] == pytest.approx(shares.min())
    assert found.summary["rounds_share"]["most"] == pytest.approx(shares.max())
    assert haulage_by_period(result).empty


@pytest.mark.slow
def test_too_many_calls_are_not_driven(monkeypatch, result, calls):
    monkeypatch.setattr(driven_year, "MOST", calls)
    assert drive_year(result)
    monkeypatch.setattr(driven_year, "MOST", calls - 1)
    with pytest.raises(NotDrivenError, match=f"its {calls:,} calls a year"):
        drive_year(result)


def test_one_process_does_few_calls(monkeypatch, result, calls):
    def others(*_):
        raise AssertionError

    monkeypatch.setattr(driven_year, "processes", others)
    monkeypatch.setattr(driven_year, "ALONE", calls)
    assert drive_year(result, workers=2)
    monkeypatch.setattr(driven_year, "ALONE", calls - 1)
    with pytest.raises(AssertionError):
        drive_year(result, workers=2)


def test_a_plan_that_hauls_nothing_says_so(result):
    empty = replace(result, lanes=result.lanes.iloc[:0])
    with pytest.raises(NotDrivenError, match="nothing is hauled"):
        plan_as_driven(empty)


def test_rounds_that_break_a_rule_are_not_counted(monkeypatch, result, done):
    bad = replace(done[0], faults=("truck 7 drives all night",))
    monkeypatch.setattr(driven_year, "_driven", lambda *_: iter([bad, *done[1:]]))
    with pytest.raises(NotDrivenError, match="truck 7 drives all night"):
        plan_as_driven(result)
