"""Branch-and-price: the same optimum, and bounds that never lie."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.enumeration import cheapest
from support.small_instances import FISH_RULE, small_instance

from logistics.model.problem.instance import Policy
from logistics.model.rules import blocks
from logistics.model.rules.blocks import build
from logistics.model.solving import branch_and_price, column_choice
from logistics.model.solving import solution as job
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.matrix import matrix_of, optimum, relax
from logistics.model.solving.pool import lane_columns, with_pool
from logistics.results.plan_audit import audit

EXACT = Effort(gap=0.0, seconds=60, threads=1)


@pytest.fixture
def large(monkeypatch):
    """Send small instances the long way, with few lanes to start from."""
    monkeypatch.setattr(job, "is_small", lambda instance: False)
    monkeypatch.setattr(column_choice, "FLOWS", 1)


@pytest.mark.parametrize("seed", range(20, 32))
def test_same_optimum_as_brute_force(large, seed):
    inst = small_instance(seed)
    plan = job.solve_as_held(inst, replace(EXACT, gap=1e-6))
    assert plan.status == "optimal"
    assert plan.gap <= branch_and_price.ACCURACY
    best = cheapest(inst)
    assert plan.bound <= best + 1e-6 * abs(best)
    assert plan.objective >= best - 1e-6 * abs(best)
    assert plan.objective == pytest.approx(best, rel=5e-3)
    assert plan.gap == pytest.approx(
        (plan.objective - plan.bound) / abs(plan.objective), abs=1e-9
    )
    assert audit(inst, plan)["passed"].all()


@pytest.mark.thorough
@pytest.mark.parametrize("tens", range(20))
def test_the_long_way_and_the_plain_one_agree(monkeypatch, tens):
    """Two hundred districts, solved whole and by the tree, within their gaps."""
    effort = replace(EXACT, gap=1e-3)
    for seed in range(100 + 10 * tens, 110 + 10 * tens):
        inst = small_instance(seed)
        with monkeypatch.context() as patch:
            patch.setattr(job, "is_small", lambda instance: False)
            long = job.solve_as_held(inst, effort)
        plain = job.solve_as_held(inst, effort)
        slack = 1e-6 * abs(plain.objective)
        assert long.bound <= plain.objective + slack
        assert plain.bound <= long.objective + slack
        assert long.gap <= 1e-3
        assert audit(inst, long)["passed"].all()


def test_demands_of_the_board_hold_the_long_way_too(large):
    policy = Policy(least_shares=(FISH_RULE,), max_yards=2, capital_limit=80000.0)
    inst = small_instance(21, policy=policy)
    plan = job.solve_as_held(inst, replace(EXACT, gap=1e-6))
    assert plan.bound <= cheapest(inst) * (1 + 1e-4)
    assert plan.objective == pytest.approx(cheapest(inst), rel=5e-3)
    assert audit(inst, plan)["passed"].all()


@pytest.mark.slow
@settings(max_examples=15)
@given(
    seed=st.integers(0, 50),
    share=st.floats(0.0, 1.0),
    noise=st.floats(0.0, 3.0),
)
def test_a_bound_never_exceeds_the_optimum_whatever_the_duals(seed, share, noise):
    """Inexact duals and any lanes left out: the pool stays a relaxation."""
    inst = small_instance(seed)
    session = Session(EXACT)
    programme, variables = build(inst)
    full = matrix_of(programme)
    flows = lane_columns(programme, variables, inst)
    rng = np.random.default_rng(seed)
    relaxed = relax(full, session)
    duals = relaxed.duals * (1 + noise * rng.standard_normal(len(relaxed.duals)))
    duals = np.where(flows.links, 0.0, duals)
    kept = rng.random(flows.lanes) < share
    smaller, _ = with_pool(full, flows, kept, duals)
    bound = optimum(smaller, session=session, integer=True).bound
    whole = job.solve_as_held(inst, EXACT)
    assert bound <= whole.objective + 1e-6 * abs(whole.objective) + 1e-6


def much_husk(p, var, inst):
    """In every period at least half of what all yards take in is husk."""
    for t in range(len(inst.periods)):
        terms = [
            (x, c * (0.5 - (inst.feed.materials[m] == "husk")))
            for (_, m, when), sums in var.sums_of("intake").items()
            if when == t
            for x, c in sums
        ]
        p.at_most(f"trial.{t}", terms)


@pytest.mark.parametrize("seed", range(6))
def test_lanes_left_out_may_have_both_signs_in_a_row(seed, monkeypatch):
    monkeypatch.setattr(blocks, "BLOCKS", [*blocks.BLOCKS, much_husk])
    inst = small_instance(seed)
    session = Session(EXACT)
    programme, variables = build(inst)
    full = matrix_of(programme)
    flows = lane_columns(programme, variables, inst)
    relaxed = relax(full, session)
    husk = np.flatnonzero(inst.supply.feedstock[inst.inbound.site] == 0)
    straw = np.flatnonzero(inst.supply.feedstock[inst.inbound.site] == 2)
    kept = np.ones(flows.lanes, dtype=bool)
    kept[husk] = False  # what enters the row with minus
    kept[straw[-2:]] = False  # some of what enters it with plus
    duals = np.where(flows.links, 0.0, relaxed.duals)
    for y in (duals, np.zeros_like(duals)):
        smaller, _ = with_pool(full, flows, kept, y)
        value = relax(smaller, session).value
        assert value <= relaxed.value + 1e-6 * abs(relaxed.value)


def test_with_the_duals_of_the_relaxation_the_pool_costs_nothing():
    """Left-out lanes that cannot pay leave the relaxed value as it is."""
    inst = small_instance(8)
    session = Session(EXACT)
    programme, variables = build(inst)
    full = matrix_of(programme)
    flows = lane_columns(programme, variables, inst)
    relaxed = relax(full, session)
    duals = np.where(flows.links, 0.0, relaxed.duals)
    kept = flows.least(full.reduced_cost(duals)) <= 1e-6
    assert 0 < kept.sum() < flows.lanes
    smaller, _ = with_pool(full, flows, kept, duals)
    value = relax(smaller, session).value
    assert value == pytest.approx(relaxed.value, rel=1e-4)


def test_a_matrix_is_its_programme():
    inst = small_instance(3)
    programme, _ = build(inst)
    full = matrix_of(programme)
    assert full.rows.shape == (len(full.below), len(full.cost))
    assert full.integer.sum() == len(inst.options.yard)
    loose = replace(full, integer=np.zeros_like(full.integer))
    assert (
        relax(loose, Session(EXACT)).value <= job.solve_as_held(inst, EXACT).objective
    )


@pytest.mark.parametrize("seed", range(5))
def test_the_bound_of_inexact_duals_is_safe(seed):
    """A hundred sets of wrong duals: none bounds higher than the relaxation."""
    inst = small_instance(seed)
    programme, _ = build(inst)
    full = matrix_of(programme)
    relaxed = relax(full, Session(EXACT))
    most = inst.most
    rng = np.random.default_rng(seed)
    true = full.safe_bound(relaxed.duals, most)
    assert true == pytest.approx(relaxed.value, rel=1e-4)
    for noise in np.geomspace(1e-9, 10, 100):
        inexact = relaxed.duals + noise * rng.standard_normal(len(relaxed.duals))
        assert full.safe_bound(inexact, most) <= relaxed.value * (1 + 1e-7) + 1e-3
