"""Own trucks as a decision: against trying every number, and laws."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from support.small_instances import small_instance

from logistics.model.solving import fleet_choice
from logistics.model.solving.consistent_plan import solve
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.own_trucks import OwnTrucks, decide_own, with_own
from logistics.results.pipeline import run
from logistics.results.plan_audit import audit
from logistics.scenario.edits import with_table
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting
from logistics.scenario.starter import new_scenario

EXACT = Effort(gap=0.0, seconds=60)
HOURS = np.array([[50.0, 50.0, 50.0], [40.0, 40.0, 40.0]])


def fleet(most=(3, 2), fixed=(900.0, 650.0)):
    return OwnTrucks(
        least=np.array([0, 0]),
        most=np.array(most),
        fixed=np.array(fixed),
        hours=HOURS,
    )


def best_by_trying(inst, own):
    """Plan for every number of own trucks: the least net cost, and its numbers."""
    ranges = [range(a, b + 1) for a, b in zip(own.least, own.most, strict=True)]
    found = [
        (solve(with_own(inst, own, np.array(counts)), EXACT).objective, counts)
        for counts in product(*ranges)
    ]
    return min(found)


@pytest.mark.parametrize(
    ("seed", "price"),
    [pytest.param(*p, marks=pytest.mark.thorough) for p in ((1, 1700.0), (4, 900.0))],
)
def test_yards_and_trucks_together_against_trying_every_fleet(seed, price):
    inst, own = small_instance(seed), fleet(fixed=(price, 650.0))
    decided = decide_own(inst, own, Session(EXACT))
    assert 0 < decided.counts[0] < own.most[0]  # no end of the range
    value, counts = best_by_trying(inst, own)
    assert tuple(decided.counts) == counts
    assert decided.answer.incumbent == pytest.approx(value, rel=1e-6)
    plan = solve(with_own(inst, own, decided.counts), EXACT)
    assert plan.objective == pytest.approx(value, rel=1e-6)
    assert audit(with_own(inst, own, decided.counts), plan)["passed"].all()


@pytest.mark.slow
def test_some_trucks_are_worth_owning_and_dear_ones_are_not():
    inst = small_instance(4)
    cheap = decide_own(inst, fleet(fixed=(1.0, 1.0)), Session(EXACT))
    dear = decide_own(inst, fleet(fixed=(1e6, 1e6)), Session(EXACT))
    middle = decide_own(inst, fleet(), Session(EXACT))
    assert cheap.counts.sum() > 0
    assert dear.counts.tolist() == [0, 0]
    assert cheap.answer.incumbent <= middle.answer.incumbent <= dear.answer.incumbent


def test_given_yards_are_kept_and_cost_no_less():
    inst, own = small_instance(1), fleet()
    free = decide_own(inst, own, Session(EXACT))
    fixed = decide_own(inst, own, Session(EXACT), free.opened)
    assert (fixed.opened == free.opened).all()
    assert fixed.answer.incumbent == pytest.approx(free.answer.incumbent, rel=1e-6)
    other = np.zeros_like(free.opened)
    other[0] = True
    worse = decide_own(inst, own, Session(EXACT), other)
    assert worse is None or worse.answer.incumbent >= free.answer.incumbent - 1e-6


def test_least_and_limit_of_hire_hold():
    """A type that may not be hired is owned if it is needed; the least is kept."""
    inst = small_instance(4)
    none = replace(inst.trucks, hire_hours=np.zeros_like(inst.trucks.hire_hours))
    alone = replace(inst, trucks=none)
    own = replace(fleet(fixed=(1.0, 1.0)), least=np.array([1, 0]))
    decided = decide_own(alone, own, Session(EXACT))
    assert decided.counts[0] >= 1
    plan = solve(with_own(alone, own, decided.counts), EXACT)
    assert plan.hired.empty
    assert plan.objective == pytest.approx(decided.answer.incumbent, rel=1e-6)


@pytest.fixture(scope="module")
def starter(tmp_path_factory):
    """A small district that owns more trucks than it can use."""
    folder = tmp_path_factory.mktemp("district") / "starter"
    new_scenario(folder, "csv")
    scenario = read_scenario(folder)
    decide = change_setting(scenario.settings, "fleet.decide", "yes")
    exact = decide.solve.model_copy(update={"gap": 1e-6})
    many = with_table(scenario, "trucks", scenario.trucks.assign(owned=3))
    return replace(many, settings=decide.model_copy(update={"solve": exact}))


@pytest.mark.slow
def test_a_plan_that_decides_is_never_dearer_and_the_money_agrees(starter, monkeypatch):
    """Together, and in turns as for a large district: the ledger has the new fleet."""
    told = replace(
        starter, settings=change_setting(starter.settings, "fleet.decide", "no")
    )
    as_it_is, together = run(told), run(starter)
    monkeypatch.setattr(fleet_choice, "is_small", lambda _: False)
    in_turns = run(starter)
    cost = [r.summary["total_cost"] for r in (together, in_turns, as_it_is)]
    assert cost[0] <= cost[1] + 0.01 <= cost[2] + 0.02
    assert together.summary["own_trucks"] != as_it_is.summary["own_trucks"]
    for result in (together, in_turns):
        assert result.audit["passed"].all()
        trucks = result.scenario.trucks
        lines = result.ledger[result.ledger["line"] == "owned trucks"]
        fixed = (trucks["owned"] * trucks["fixed_cost_per_year"]).sum()
        assert lines["amount"].sum() == pytest.approx(fixed)
        assert (
            dict(zip(trucks["truck"], trucks["owned"], strict=True))
            == (result.summary["own_trucks"])
        )


@pytest.mark.slow
def test_given_yards_decide_trucks_alone(starter):
    free = run(starter)
    again = run(starter, yards=free.plan.yard_sizes)
    assert again.summary["own_trucks"] == free.summary["own_trucks"]
    assert again.summary["total_cost"] == pytest.approx(free.summary["total_cost"])


def test_other_goals_keep_the_table(starter):
    green = change_setting(starter.settings, "goal.minimise", "co2e")
    result = run(replace(starter, settings=green))
    trucks = starter.trucks
    table = dict(zip(trucks["truck"], trucks["owned"], strict=True))
    assert result.summary["own_trucks"] == table
