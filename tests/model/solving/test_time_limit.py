"""
The time limit of a plan is one clock: its steps get what is left, and do not add up.

In these tests the clock moves only when a step is done, and every step takes all of the
time that it is given.
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from support.places import SMALL
from support.small_instances import FISH_RULE, small_instance

from logistics.model.problem.instance import Policy
from logistics.model.solving import consistent_plan, elastic, fleet_choice, highs
from logistics.model.solving.highs import Effort, Session
from logistics.results import pipeline
from logistics.scenario.edits import with_settings
from logistics.scenario.scenario import read_scenario
from logistics.studies import country

LIMIT = 100.0
EFFORT = Effort(gap=0.0, seconds=LIMIT, threads=1)


class Clock:
    """A clock that stands still until a step has taken its time."""

    def __init__(self):
        self.now, self.given = 0.0, []

    def __call__(self):
        return self.now

    def taking_all(self, real, where):
        """Wrap a step: it gets ample real time, and takes all that it was given."""

        def step(*words, **named):
            words = list(words)
            effort = words[where]
            self.given.append(effort.seconds)
            words[where] = replace(effort, seconds=60.0)
            found = real(*words, **named)
            self.now += effort.seconds
            return found

        return step


@pytest.fixture
def clock(monkeypatch):
    made = Clock()
    for module in (highs, pipeline):
        monkeypatch.setattr(module, "time", SimpleNamespace(monotonic=made))
    return made


@pytest.mark.parametrize(
    ("spent", "left", "over"), [(99.0, 1.0, False), (99.5, 1.0, False), (100, 1, True)]
)
def test_a_part_is_a_share_of_what_is_left_and_of_a_second_at_least(
    clock, spent, left, over
):
    session = Session(EFFORT)
    clock.now = 60.0
    assert session.part() == replace(EFFORT, seconds=40.0)
    assert session.part(0.25).seconds == 10.0
    clock.now = spent
    assert session.part().seconds == left
    assert session.over == over


def short_instance():
    every = replace(FISH_RULE, share=1.0)
    return small_instance(0, policy=Policy(least_shares=(every,), capital_limit=15_000))


@pytest.mark.parametrize("spent", [0.0, 70.0, 98.0])
def test_shortages_are_named_in_the_time_left(clock, monkeypatch, spent):
    real = highs.run_solver

    def taking_all(programme, session, *, seconds=None, mip=True, **named):
        clock.given.append(session.left if seconds is None else seconds)
        found = real(programme, session, mip=mip, seconds=60.0, **named)
        clock.now += clock.given[-1] if mip else 0.0  # flows take what they take
        return found

    monkeypatch.setattr(elastic, "run_solver", taking_all)
    session = Session(EFFORT)
    clock.now = spent
    plan = elastic.least_shortages(short_instance(), session)
    assert set(plan.shortages["how"]) == {"together", "alone"}
    assert len(clock.given) > 4
    assert clock.now <= LIMIT + 1e-6


def test_nothing_is_tried_alone_when_the_time_is_over(clock, monkeypatch):
    real = highs.run_solver
    monkeypatch.setattr(
        elastic, "run_solver", lambda *w, **n: real(*w, **{**n, "seconds": 60.0})
    )
    session = Session(EFFORT)
    clock.now = LIMIT
    plan = elastic.least_shortages(short_instance(), session)
    assert set(plan.shortages["how"]) == {"together"}


def test_given_yards_are_planned_twice_in_one_limit(clock, monkeypatch):
    held = clock.taking_all(consistent_plan.operate_as_held, 2)
    monkeypatch.setattr(consistent_plan, "operate_as_held", held)
    monkeypatch.setattr(consistent_plan, "contents_are_free", lambda _: True)
    monkeypatch.setattr(consistent_plan, "_free", lambda instance: instance)
    monkeypatch.setattr(consistent_plan, "_as_it_is", lambda *_: None)
    monkeypatch.setattr(
        consistent_plan, "_holding", lambda inst, first, *_: (inst, first.warm_start)
    )
    inst = small_instance(1)
    opened = np.ones(len(inst.options.yard), dtype=bool)
    consistent_plan.operate(inst, opened, EFFORT)
    assert clock.given == [LIMIT, 1.0]


@pytest.mark.slow
@pytest.mark.parametrize("large", [False, True])
def test_own_trucks_are_chosen_in_the_time_of_the_plan(clock, monkeypatch, large):
    monkeypatch.setattr(fleet_choice, "is_small", lambda _: not large)
    settled = clock.taking_all(fleet_choice.settled, 2)
    monkeypatch.setattr(fleet_choice, "settled", settled)
    monkeypatch.setattr(fleet_choice, "solve", clock.taking_all(fleet_choice.solve, 1))
    real = fleet_choice.decide_own

    def decide(instance, own, session, opened=None):
        clock.given.append(session.effort.seconds)
        clock.now += session.effort.seconds
        return real(instance, own, Session(Effort(seconds=60.0)), opened)

    monkeypatch.setattr(fleet_choice, "decide_own", decide)
    last = clock.taking_all(pipeline.solve, 1)
    monkeypatch.setattr(pipeline, "solve", last)
    wanted = {"fleet.decide": "yes", "solve.seconds": LIMIT}
    pipeline.run(with_settings(read_scenario(SMALL), wanted))
    assert len(clock.given) >= 3
    assert clock.given[-1] > 1.0
    assert clock.now <= LIMIT + 1e-6


@pytest.mark.slow
def test_a_country_is_planned_coarse_and_true_in_one_limit(clock, monkeypatch):
    monkeypatch.setattr(country, "solve", clock.taking_all(country.solve, 1))
    monkeypatch.setattr(country, "operate", clock.taking_all(country.operate, 2))
    monkeypatch.setattr(country, "neighbours", lambda _, rows, *__: [*rows, -1])
    monkeypatch.setattr(
        country, "coarse", lambda scenario, rows, *edges, real=country.coarse: real(
            scenario, np.asarray([r for r in rows if r >= 0]), *edges
        )
    )  # fmt: skip
    scenario = with_settings(read_scenario(SMALL), {"solve.seconds": LIMIT})
    country.plan_coarse(scenario)
    assert len(clock.given) == 3
    assert clock.now <= LIMIT + 1e-6


def test_reading_and_travel_count(clock, monkeypatch):
    scenario = with_settings(read_scenario(SMALL), {"solve.seconds": LIMIT})
    monkeypatch.setattr(pipeline, "solve", clock.taking_all(pipeline.solve, 1))
    clock.now = 130.0
    pipeline.run(scenario, begun=100.0)
    assert clock.given == [70.0]


def test_travel_counts_without_being_asked(clock, monkeypatch):
    scenario = with_settings(read_scenario(SMALL), {"solve.seconds": LIMIT})
    monkeypatch.setattr(pipeline, "solve", clock.taking_all(pipeline.solve, 1))
    real = pipeline.prepare

    def slow(*words):
        clock.now = 25.0
        return real(*words)

    monkeypatch.setattr(pipeline, "prepare", slow)
    pipeline.run(scenario)
    assert clock.given == [75.0]
