"""Planning again from what an earlier plan left: faster, never another answer."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.enumeration import cheapest
from support.small_instances import small_instance

from logistics.model.problem.warm_start import Basis, WarmStart
from logistics.model.solving import column_choice, fixed_yards
from logistics.model.solving import solution as job
from logistics.model.solving.highs import Effort
from logistics.results.plan_audit import audit

EXACT = Effort(gap=1e-6, seconds=60, threads=1)


def changed(inst, seed):
    """Another market, another supply, a source gone."""
    rng = np.random.default_rng(seed)
    tonnes = inst.supply.tonnes * rng.uniform(0.6, 1.4, inst.supply.tonnes.shape)
    tonnes[rng.integers(len(tonnes))] = 0.0
    price = inst.markets.price_per_t * rng.uniform(0.5, 1.5, 2)
    return replace(
        inst,
        supply=replace(inst.supply, tonnes=tonnes),
        markets=replace(inst.markets, price_per_t=price),
    )


@pytest.mark.parametrize("seed", range(8))
def test_the_same_flows_from_an_old_basis(seed):
    inst = small_instance(seed)
    base = job.solve_as_held(inst, EXACT)
    assert base.warm_start.basis is not None
    after = changed(inst, seed)
    opened = after.options_of(base.yard_sizes)
    cold = job.operate_as_held(after, opened, EXACT)
    warm = job.operate_as_held(after, opened, EXACT, warm_start=base.warm_start)
    assert warm.objective == pytest.approx(cold.objective, rel=1e-7)
    assert audit(after, warm)["passed"].all()


def test_a_basis_of_nothing_known_does_no_harm():
    inst = small_instance(2)
    opened = np.arange(len(inst.options.yard)) % 2 == 0
    strange = WarmStart(Basis({"no such column": 1}, {"no such row": 0}))
    cold, warm = (
        job.operate_as_held(inst, opened, EXACT, warm_start=m) for m in (None, strange)
    )
    assert warm.objective == pytest.approx(cold.objective, rel=1e-7)


@pytest.fixture
def large(monkeypatch):
    """Send small instances the long way, with few lanes to start from."""
    monkeypatch.setattr(job, "is_small", lambda instance: False)
    monkeypatch.setattr(column_choice, "FLOWS", 1)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10, 20))
def test_a_replan_finds_and_proves_what_brute_force_finds(large, seed):
    inst = small_instance(seed)
    base = job.solve_as_held(inst, EXACT)
    assert base.warm_start.duals
    after = changed(inst, seed)
    best = cheapest(after)
    start = after.options_of(base.yard_sizes)
    again = job.solve_as_held(after, EXACT, start=start, warm_start=base.warm_start)
    assert again.bound <= best + 1e-6 * abs(best)
    assert again.objective >= best - 1e-6 * abs(best)
    assert again.objective == pytest.approx(best, rel=5e-3)
    operate = job.operate_as_held(after, start, EXACT, warm_start=base.warm_start)
    assert operate.objective >= again.bound - 1e-6 * abs(best)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [10, 11, 12, 13, 15])
def test_a_start_lacking_a_yard_that_must_be_open_gets_it(large, seed, monkeypatch):
    monkeypatch.setattr(fixed_yards, "LAID_OUT", 0)  # as a large district does
    inst = small_instance(seed)
    base = job.solve_as_held(inst, EXACT)
    had = {inst.yards.codes.index(yard) for yard, _ in base.yard_sizes}
    lacking = sorted(set(inst.options.yard.tolist()) - had)
    assert lacking, "choose a seed whose plan leaves a yard shut"
    decision = list(inst.yards.decision)
    decision[lacking[0]] = "open"
    after = replace(inst, yards=replace(inst.yards, decision=tuple(decision)))
    start = after.options_of(base.yard_sizes)
    plan = job.solve_as_held(after, EXACT, start=start, warm_start=base.warm_start)
    assert audit(after, plan)["passed"].all()
    assert inst.yards.codes[lacking[0]] in dict(plan.yard_sizes)


@pytest.mark.thorough
@settings(max_examples=7)
@given(seed=st.integers(0, 30), noise=st.floats(0.0, 5.0))
def test_no_duals_make_a_bound_that_lies(seed, noise):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(job, "is_small", lambda instance: False)
        inst = small_instance(seed)
        rng = np.random.default_rng(seed)
        base = job.solve_as_held(inst, EXACT)
        duals = {
            name: dual * (1 + noise * rng.normal())
            for name, dual in base.warm_start.duals.items()
        }
        after = changed(inst, seed)
        again = job.solve_as_held(
            after,
            replace(EXACT, gap=0.01),
            start=after.options_of(base.yard_sizes),
            warm_start=WarmStart(base.warm_start.basis, duals),
        )
        best = cheapest(after)
        assert again.bound <= best + 1e-6 * abs(best)
        assert again.objective >= best - 1e-6 * abs(best)
