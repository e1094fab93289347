"""Demands that cannot be met have as little elastic slack as possible."""

from dataclasses import replace

import numpy as np
import pytest
from support.small_instances import FISH_RULE, small_instance

from logistics.model.problem.instance import Policy
from logistics.model.rules.blocks import build, shortage_terms
from logistics.model.rules.variables import EVERY
from logistics.model.solving.consistent_plan import solve
from logistics.model.solving.highs import Effort, Session, run_solver
from logistics.results.plan_amounts import amounts
from logistics.results.plan_audit import audit

EXACT = Effort(gap=0.0, seconds=60, threads=1)


def least_slack(inst) -> tuple[float, dict[str, float]]:
    """Least sum of slacks, as shares, in thousandths; and the scale of each demand."""
    programme, variables = build(inst, elastic=EVERY)
    programme.minimise(shortage_terms(variables))
    found = run_solver(programme, Session(EXACT)).incumbent
    assert found is not None
    return found, {give.what: give.scale for give in variables.slacks}


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6))
def test_dear_feedstock_does_not_widen_a_shortage(seed):
    """All fish is asked for, hauling costs a fortune and yards next to nothing."""
    policy = Policy(least_shares=(replace(FISH_RULE, share=1.0),), capital_limit=15000)
    inst = small_instance(seed, policy=policy)
    inst = replace(
        inst,
        supply=replace(inst.supply, money_per_t=np.full(5, 1e5)),
        options=replace(inst.options, annual=np.zeros(6)),
    )
    plan = solve(inst, EXACT)
    assert plan.status == "shortage"
    together = plan.shortages[plan.shortages["how"] == "together"]
    least, scale = least_slack(inst)
    given = sum(1e3 * r.amount / scale[r.what] for r in together.itertuples())
    assert given == pytest.approx(least, rel=1e-4)
    assert audit(inst, plan, demands=False)["passed"].all()


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_limits_of_nothing_are_weighed_like_any_other(seed):
    """No capital, no budget, no yards: weights stay of the size of the others."""
    policy = Policy(
        least_shares=(FISH_RULE,), max_yards=0, capital_limit=0.0, budget_limit=0.0
    )
    inst = small_instance(seed, policy=policy)
    _, variables = build(inst, elastic=EVERY)
    weights = [c for _, c in shortage_terms(variables)]
    assert max(weights) <= 1e3
    plan = solve(inst, EXACT)
    assert plan.status == "shortage"
    assert len(plan.shortages)
    assert audit(inst, plan, demands=False)["passed"].all()


def test_the_plan_shown_has_only_the_yards_it_uses_as_built():
    policy = Policy(least_shares=(replace(FISH_RULE, share=0.9),), capital_limit=1.0)
    inst = small_instance(1, policy=policy)
    plan = solve(inst, EXACT)
    built = amounts(inst, plan).size >= 0
    charged = amounts(inst, plan).charge.sum(axis=(1, 2))
    assert (charged[~built] == 0).all()
    assert audit(inst, plan, demands=False)["passed"].all()


def test_a_share_is_named_to_the_tenth_of_a_percent():
    policy = Policy(least_shares=(replace(FISH_RULE, share=0.925),), capital_limit=1.0)
    plan = solve(small_instance(1, policy=policy), EXACT)
    assert "collect 92.5% of fish" in set(plan.shortages["what"])
