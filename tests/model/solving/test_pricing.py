"""Bounds of a large district: for every flow and scope, however rough the prices."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.small_instances import small_instance

from logistics.model.solving import solution as job
from logistics.model.solving.bound import bound_of
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.master import wide_of
from logistics.model.solving.pricing import first_of, likely, price, run_yards

EXACT = Effort(gap=0.0, seconds=60, threads=1)


@cache
def solved(seed):
    """An instance laid out wide, its optimum, and good prices of its rows."""
    inst = small_instance(seed)
    wide = wide_of(inst)
    every = np.ones(len(wide.flows), dtype=bool)
    priced = price(wide, wide.anywhere(), every, Session(EXACT), 1e-9)
    return inst, wide, job.solve(inst, EXACT), priced


@settings(max_examples=500)
@given(
    seed=st.integers(0, 9),
    draw=st.integers(0, 2**31),
    noise=st.floats(1e-9, 10.0),
    each=st.floats(0.0, 3.0),
)
def test_rough_prices_never_bound_above_the_optimum(seed, draw, noise, each):
    """500 sets of wrong prices, off by a constant and by a share of each."""
    _, wide, plan, priced = solved(seed)
    rng = np.random.default_rng(draw)
    rough = priced.prices * (1 + each * rng.standard_normal(len(wide.names)))
    rough += noise * rng.standard_normal(len(wide.names))
    bound = bound_of(wide, rough, wide.anywhere()).bound
    assert bound <= plan.objective + 1e-6 * abs(plan.objective)


@pytest.mark.parametrize("seed", range(10))
def test_good_prices_bound_as_high_as_the_relaxation(seed):
    _, _, plan, priced = solved(seed)
    assert priced.proven.bound == pytest.approx(priced.value, rel=1e-6)
    assert priced.value <= plan.objective + 1e-6 * abs(plan.objective)


@settings(max_examples=60)
@given(seed=st.integers(0, 9), draw=st.integers(0, 2**31))
def test_a_scope_is_bounded_no_higher_than_its_best_yards(seed, draw):
    """Any yards within a scope, run for their true cost, are above its bound."""
    inst, wide, _, priced = solved(seed)
    rng = np.random.default_rng(draw)
    every = np.ones(len(wide.flows), dtype=bool)
    chosen = np.zeros(len(wide.opened), dtype=bool)
    for yard in np.unique(wide.yard):
        if rng.random() < 0.6:
            chosen[rng.choice(np.flatnonzero(wide.yard == yard))] = True
    free = wide.anywhere()
    shut = ~chosen & (rng.random(len(chosen)) < 0.5)
    forced = chosen & (rng.random(len(chosen)) < 0.5)
    scope = replace(free, low=forced * 1.0, high=np.where(shut, 0.0, free.high))
    true = run_yards(wide, chosen, every, Session(EXACT), 1e-9)
    if not np.isfinite(true.value):
        return
    plan = job.operate(inst, chosen, EXACT)
    assert true.value == pytest.approx(plan.objective, rel=1e-6)
    bounded = bound_of(wide, priced.prices, scope)
    assert bounded.bound <= true.value + 1e-6 * abs(true.value)
    # what it says of opening one more holds as well
    for o in np.flatnonzero(chosen & ~forced):
        assert bounded.bound + bounded.excess[o] <= true.value * (1 + 1e-6) + 1e-3


@pytest.mark.parametrize("seed", range(6))
def test_few_flows_to_begin_with_come_to_the_same_value(seed):
    inst, wide, _, priced = solved(seed)
    few = likely(wide, None, inst) & (np.arange(len(wide.flows)) % 3 > 0)
    again = price(wide, wide.anywhere(), few, Session(EXACT), 1e-7)
    assert again.value == pytest.approx(priced.value, rel=1e-6)
    assert again.proven.bound == pytest.approx(priced.value, rel=1e-6)


@settings(max_examples=40)
@given(seed=st.integers(0, 9), draw=st.integers(0, 2**31))
def test_few_options_to_begin_with_come_to_the_same_value(seed, draw):
    """Whatever options begin, also where a yard must open in a size not among them."""
    inst, wide, _, _ = solved(seed)
    rng = np.random.default_rng(draw)
    some = rng.random(len(wide.opened)) < 0.3
    must = wide.anywhere().must | (rng.random(len(wide.anywhere().must)) < 0.2)
    scope = replace(wide.anywhere(), must=must)
    few = likely(wide, None, inst)
    whole = price(wide, scope, few, Session(EXACT), 1e-7)
    again = price(wide, scope, few, Session(EXACT), 1e-7, some=some)
    if not np.isfinite(whole.value):
        assert not np.isfinite(again.value)
        return
    assert again.value == pytest.approx(whole.value, rel=1e-4)
    assert again.proven.bound == pytest.approx(whole.value, rel=1e-4)
    assert again.proven.bound <= whole.value + 1e-6 * abs(whole.value)


def test_a_better_bound_from_elsewhere_makes_no_option_dearer():
    _, _, _, priced = solved(3)
    known = priced.proven
    better = known.at_least(known.bound + 100.0)
    assert better.bound == pytest.approx(known.bound + 100.0)
    assert better.bound + better.excess == pytest.approx(known.bound + known.excess)
    worse = known.at_least(known.bound - 100.0)
    assert worse.bound == known.bound
    assert (worse.excess == known.excess).all()


def test_first_of_takes_the_least_of_every_group():
    group = np.array([2, 1, 2, 1, 2, 7])
    room = np.array([5.0, 1.0, 3.0, 0.0, 4.0, 9.0])
    assert first_of(group, room, 1).tolist() == [False, False, True, True, False, True]
    assert first_of(group, room, 2).sum() == 5


def test_no_plan_with_the_options_carried_is_not_yet_no_plan():
    """
    One small yard cannot take in what must be collected; with all yards open it can.

    And where no yard can, that is said.
    """
    inst = small_instance(3)
    must = np.array([True, True, False, False, False])
    inst = replace(inst, supply=replace(inst.supply, must_collect=must))
    wide = wide_of(inst)
    every = np.ones(len(wide.flows), dtype=bool)
    scope, session = wide.anywhere(), Session(EXACT)
    whole = price(wide, scope, every, session, 1e-7)
    assert np.isfinite(whole.value)
    one = np.arange(len(wide.opened)) == 0
    small = replace(scope, high=np.where(one, scope.high, 0.0))
    none = price(wide, small, every, session, 1e-7)
    assert none.value == none.proven.bound == np.inf
    assert not none.opened.any()
    again = price(wide, scope, every, session, 1e-7, some=one)
    assert again.value == pytest.approx(whole.value, rel=1e-6)
    few = every & (np.arange(len(every)) % 7 == 0)
    again = price(wide, scope, few, session, 1e-7)
    assert again.value == pytest.approx(whole.value, rel=1e-6)
    assert price(wide, small, few, session, 1e-7).value == np.inf
