"""The plan against every choice of yards, solved by a programme of its own."""

from dataclasses import replace

import numpy as np
import pytest
from enumeration import cheapest
from small_instances import FISH_RULE, small_instance

from logistics.audit import amounts, audit, net_cost
from logistics.model.instance import Policy
from logistics.model.solve import solve
from logistics.model.solver import Effort

EXACT = Effort(gap=0.0, seconds=60)


@pytest.mark.parametrize("seed", range(12))
def test_least_cost(seed):
    inst = small_instance(seed)
    plan = solve(inst, EXACT)
    assert plan.status == "optimal"
    assert plan.objective == pytest.approx(cheapest(inst), rel=1e-6)
    assert audit(inst, plan)["passed"].all()
    assert net_cost(inst, amounts(inst, plan)) == pytest.approx(
        plan.objective, rel=1e-6
    )


@pytest.mark.parametrize("seed", range(4))
def test_with_demands_of_the_board(seed):
    policy = Policy(least_shares=(FISH_RULE,), max_yards=2, capital_limit=80000.0)
    inst = small_instance(seed, policy=policy)
    inst = replace(inst, yards=replace(inst.yards, decision=("open", "free", "free")))
    plan = solve(inst, EXACT)
    assert plan.objective == pytest.approx(cheapest(inst), rel=1e-6)
    assert audit(inst, plan)["passed"].all()


def test_must_collect():
    inst = small_instance(3)
    must = np.array([False, False, True, False, False])
    inst = replace(inst, supply=replace(inst.supply, must_collect=must))
    best = cheapest(inst)
    plan = solve(inst, EXACT)
    if np.isfinite(best):
        assert plan.objective == pytest.approx(best, rel=1e-6)
    else:
        assert plan.status == "shortage"
