"""Bounds of a large district: for every flow and scope, however inexact the prices."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.small_instances import small_instance

from logistics.model.solving import solution as job
from logistics.model.solving.column_choice import initial_columns, least_of_group
from logistics.model.solving.column_generation import (
    ColumnGeneration,
    generate_columns,
    run_yards,
)
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.lagrangian import lagrangian_bound
from logistics.model.solving.master import master_of

EXACT = Effort(gap=0.0, seconds=60, threads=1)


@cache
def solved(seed):
    """An instance, its full master and optimum, and optimal duals of its rows."""
    inst = small_instance(seed)
    master = master_of(inst)
    every = np.ones(len(master.flows), dtype=bool)
    solution = generate_columns(
        master, master.root_branch(), every, Session(EXACT), ColumnGeneration(1e-9)
    )
    return inst, master, job.solve_as_held(inst, EXACT), solution


@pytest.mark.thorough
@settings(max_examples=500)
@given(
    seed=st.integers(0, 9),
    draw=st.integers(0, 2**31),
    noise=st.floats(1e-9, 10.0),
    each=st.floats(0.0, 3.0),
)
def test_inexact_duals_never_bound_above_the_optimum(seed, draw, noise, each):
    """500 sets of wrong duals, off by a constant and by a share of each."""
    _, master, plan, solution = solved(seed)
    rng = np.random.default_rng(draw)
    inexact = solution.duals * (1 + each * rng.standard_normal(len(master.names)))
    inexact += noise * rng.standard_normal(len(master.names))
    bound = lagrangian_bound(master, inexact, master.root_branch()).bound
    assert bound <= plan.objective + 1e-6 * abs(plan.objective)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10))
def test_optimal_duals_bound_as_high_as_the_relaxation(seed):
    _, _, plan, solution = solved(seed)
    assert solution.proven.bound == pytest.approx(solution.value, rel=1e-6)
    assert solution.value <= plan.objective + 1e-6 * abs(plan.objective)


@pytest.mark.slow
@settings(max_examples=60)
@given(seed=st.integers(0, 9), draw=st.integers(0, 2**31))
def test_a_branch_is_bounded_no_higher_than_its_best_yards(seed, draw):
    """Any yards within a branch, run for their true cost, are above its bound."""
    inst, master, _, solution = solved(seed)
    rng = np.random.default_rng(draw)
    every = np.ones(len(master.flows), dtype=bool)
    opened = np.zeros(len(master.opened), dtype=bool)
    for yard in np.unique(master.yard):
        if rng.random() < 0.6:
            opened[rng.choice(np.flatnonzero(master.yard == yard))] = True
    free = master.root_branch()
    shut = ~opened & (rng.random(len(opened)) < 0.5)
    forced = opened & (rng.random(len(opened)) < 0.5)
    branch = replace(free, low=forced * 1.0, high=np.where(shut, 0.0, free.high))
    true = run_yards(master, opened, every, Session(EXACT), ColumnGeneration(1e-9))
    if not np.isfinite(true.value):
        return
    plan = job.operate_as_held(inst, opened, EXACT)
    assert true.value == pytest.approx(plan.objective, rel=1e-6)
    bounded = lagrangian_bound(master, solution.duals, branch)
    assert bounded.bound <= true.value + 1e-6 * abs(true.value)
    # what it says of opening one more holds as well
    for o in np.flatnonzero(opened & ~forced):
        assert bounded.bound + bounded.excess[o] <= true.value * (1 + 1e-6) + 1e-3


@pytest.mark.parametrize("seed", range(6))
def test_few_flows_to_begin_with_come_to_the_same_value(seed):
    inst, master, _, solution = solved(seed)
    few = initial_columns(master, None, inst) & (np.arange(len(master.flows)) % 3 > 0)
    again = generate_columns(
        master, master.root_branch(), few, Session(EXACT), ColumnGeneration(1e-7)
    )
    assert again.value == pytest.approx(solution.value, rel=1e-6)
    assert again.proven.bound == pytest.approx(solution.value, rel=1e-6)


@pytest.mark.slow
@settings(max_examples=40)
@given(seed=st.integers(0, 9), draw=st.integers(0, 2**31))
def test_few_options_to_begin_with_come_to_the_same_value(seed, draw):
    """Whatever options begin, also where a yard must open in a size not among them."""
    inst, master, _, _ = solved(seed)
    rng = np.random.default_rng(draw)
    options = rng.random(len(master.opened)) < 0.3
    must = master.root_branch().must | (
        rng.random(len(master.root_branch().must)) < 0.2
    )
    branch = replace(master.root_branch(), must=must)
    few = initial_columns(master, None, inst)
    every_option = generate_columns(
        master, branch, few, Session(EXACT), ColumnGeneration(1e-7)
    )
    again = generate_columns(
        master, branch, few, Session(EXACT), ColumnGeneration(1e-7, options=options)
    )
    if not np.isfinite(every_option.value):
        assert not np.isfinite(again.value)
        return
    assert again.value == pytest.approx(every_option.value, rel=1e-4)
    assert again.proven.bound == pytest.approx(every_option.value, rel=1e-4)
    assert again.proven.bound <= every_option.value + 1e-6 * abs(every_option.value)


def test_a_better_bound_from_elsewhere_makes_no_option_dearer():
    _, _, _, solution = solved(3)
    known = solution.proven
    better = known.at_least(known.bound + 100.0)
    assert better.bound == pytest.approx(known.bound + 100.0)
    assert better.bound + better.excess == pytest.approx(known.bound + known.excess)
    worse = known.at_least(known.bound - 100.0)
    assert worse.bound == known.bound
    assert (worse.excess == known.excess).all()


def test_least_of_group_takes_the_least_of_every_group():
    group = np.array([2, 1, 2, 1, 2, 7])
    reduced_cost = np.array([5.0, 1.0, 3.0, 0.0, 4.0, 9.0])
    assert least_of_group(group, reduced_cost, 1).tolist() == [
        False,
        False,
        True,
        True,
        False,
        True,
    ]
    assert least_of_group(group, reduced_cost, 2).sum() == 5


def test_no_plan_with_the_options_carried_is_not_yet_no_plan():
    """
    One small yard cannot take in what must be collected; with all yards open it can.

    And where no yard can, that is said.
    """
    inst = small_instance(3)
    must = np.array([True, True, False, False, False])
    inst = replace(inst, supply=replace(inst.supply, must_collect=must))
    master = master_of(inst)
    every = np.ones(len(master.flows), dtype=bool)
    branch = master.root_branch()

    def run(branch, kept, **more):
        params = ColumnGeneration(1e-7, **more)
        return generate_columns(master, branch, kept, Session(EXACT), params)

    whole = run(branch, every)
    assert np.isfinite(whole.value)
    one = np.arange(len(master.opened)) == 0
    small = replace(branch, high=np.where(one, branch.high, 0.0))
    none = run(small, every)
    assert none.value == none.proven.bound == np.inf
    assert not none.opened.any()
    again = run(branch, every, options=one)
    assert again.value == pytest.approx(whole.value, rel=1e-6)
    few = every & (np.arange(len(every)) % 7 == 0)
    assert run(branch, few).value == pytest.approx(whole.value, rel=1e-6)
    assert run(small, few).value == np.inf
