"""Yards that stand under what a scenario asks of yards: kept, or refused in words."""

from dataclasses import replace

import numpy as np
import pytest
from support.places import SMALL
from support.small_instances import small_instance

from logistics.changes.files import apply_changes, parse_change
from logistics.model import prepare
from logistics.results.pipeline import run
from logistics.results.standing_yards import cannot_stay
from logistics.scenario.scenario import read_scenario

STANDS = [("shoal", "small")]


@pytest.fixture(scope="module")
def small():
    return read_scenario(SMALL)


def under(scenario, *texts):
    for text in texts:
        scenario = apply_changes(scenario, parse_change(text))
    return scenario


def obstacles(scenario, yards=STANDS, **policy):
    instance = prepare(scenario).instance
    instance = replace(instance, policy=replace(instance.policy, **policy))
    return cannot_stay(scenario, instance, yards)


def test_a_yard_that_must_be_open_is_named(small):
    forced = under(small, "force_yard:yard=reef")
    said = ["Reef yard must be open, but it is not built."]
    assert obstacles(forced) == said
    assert obstacles(under(small, "force_yard:yard=shoal")) == []


def test_a_size_that_is_not_to_be_had_is_named(small):
    forced = under(small, "force_yard:yard=shoal")
    said = obstacles(forced, [("shoal", "vast")])
    assert said == [
        "Shoal yard must be open, but the size it has is not available there."
    ]


def test_a_yard_ruled_out_is_no_obstacle(small):
    assert obstacles(under(small, "close_yard:yard=shoal")) == []


def test_a_yard_ruled_out_and_another_forced_is_one(small):
    both = under(small, "close_yard:yard=shoal", "force_yard:yard=mole")
    assert obstacles(both) == ["Mole yard must be open, but it is not built."]


@pytest.mark.parametrize(("most", "count"), [(1, 0), (0, 1)])
def test_most_yards_just_inside_and_outside(small, most, count):
    said = obstacles(small, max_yards=most)
    assert len(said) == count
    if said:
        assert said[0].startswith("1 yard stands, and at most 0 may be open")


def test_capital_just_inside_and_outside(small):
    instance = prepare(small).instance
    offered = instance.options.size[0]
    code = instance.yards.codes[instance.options.yard[0]]
    spent = float(instance.options.capital[0])
    assert spent > 0
    pair = [(code, offered)]
    assert obstacles(small, pair, capital_limit=spent) == []
    assert "of capital" in obstacles(small, pair, capital_limit=spent - 1)[0]


def test_yards_that_cannot_obey_are_a_shortage_and_no_fault(small):
    """Many futures are run with given yards; none may end in a failed audit."""
    found = run(under(small, "force_yard:yard=reef"), yards=STANDS)
    assert found.plan.status == found.summary["status"] == "shortage"
    words = found.plan.shortages["words"].tolist()
    assert words == ["Reef yard must be open and is not."]


@pytest.mark.parametrize("seed", range(6))
def test_a_start_gets_the_yards_that_must_be_open(seed):
    inst = small_instance(seed)
    nothing = np.zeros(len(inst.options.yard), dtype=bool)
    assert not inst.with_forced(nothing).any() or "open" in inst.yards.decision
    forced = replace(
        inst,
        yards=replace(inst.yards, decision=("open",) * len(inst.yards.codes)),
    )
    added = forced.with_forced(nothing)
    yards = forced.options.yard
    assert sorted(yards[added]) == sorted(set(yards.tolist()))
    assert np.array_equal(forced.with_forced(added), added)
