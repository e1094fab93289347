"""What compost holds is found with the plan, so that every market ceiling is kept."""

from dataclasses import replace

import numpy as np
import pytest
from support.small_instances import small_instance

from logistics.model.problem.contents import SUBSTANCES, Contents
from logistics.model.problem.instance import Instance
from logistics.model.solving.consistent_plan import operate, solve
from logistics.model.solving.contents import with_free_contents
from logistics.model.solving.highs import Effort
from logistics.results.plan_amounts import amounts
from logistics.results.plan_audit import audit

EXACT = Effort(gap=1e-6, seconds=60, threads=1)


def limited(seed: int, room: float, **changes: object) -> Instance:
    """Let the first market take its year's demand at a share of what mixes hold."""
    inst = small_instance(seed, **changes)
    kept = inst.feed.kept
    rich = np.array([kept[key] for key in SUBSTANCES]) / inst.feed.product_per_t
    rng = np.random.default_rng(seed)
    limit = np.full((len(SUBSTANCES), 2), np.inf)
    usual = np.array([0.009, 0.006, 0.009, 0.003])
    limit[:, 0] = room * usual * inst.markets.demand[0].sum()
    limit[rng.random(limit.shape) < 0.4] = np.inf
    limit[0, 0] = room * usual[0] * inst.markets.demand[0].sum()
    held = np.broadcast_to(rich.max(axis=1)[:, None, None], (4, 3, 3)).copy()
    contents = Contents(
        keys=SUBSTANCES,
        limit_t=limit,
        kept=np.array([kept[key] for key in SUBSTANCES]),
        made=inst.feed.product_per_t,
        held=held,
        given=np.zeros(4, dtype=bool),
    )
    return replace(inst, contents=contents)


def check(inst: Instance) -> None:
    """Plan it; no market gets more than it may, by what is made."""
    plan = solve(inst, EXACT)
    made = audit(inst, plan)
    assert made["passed"].all(), made[~made["passed"]]
    assert made["check"].str.startswith("nutrients as made").sum() == len(SUBSTANCES)
    assert plan.gap <= 1e-6
    if plan.any_bound is not None:
        assert plan.any_bound <= plan.bound + 1e-6 * abs(plan.bound)


@pytest.mark.slow
@pytest.mark.parametrize(("seed", "room"), [(0, 0.3), (3, 0.5), (7, 0.2)])
def test_ceilings_are_kept_with_what_is_made(seed, room):
    check(limited(seed, room))


@pytest.mark.thorough
@pytest.mark.parametrize("seed", range(50))
def test_no_market_of_fifty_districts_is_above_its_limit(seed):
    room = float(np.random.default_rng(seed).uniform(0.1, 0.9))
    check(limited(seed, room))


def test_what_is_cheapest_without_ceilings_would_break_them():
    """Else the test above could not fail."""
    inst = limited(0, 0.3)
    plan = solve(replace(inst, contents=None), EXACT)
    found = audit(inst, plan).set_index("check")
    assert not found.loc["nutrients as made: nitrogen", "passed"]


def test_wide_ceilings_change_nothing_and_the_bound_holds_for_all():
    inst = limited(3, 50.0)
    plan, plain = solve(inst, EXACT), solve(replace(inst, contents=None), EXACT)
    assert plan.objective == pytest.approx(plain.objective)
    assert plan.any_bound is None


@pytest.mark.slow
@pytest.mark.parametrize("seed", [0, 7])
def test_the_bound_for_any_contents_is_below_all_that_may_be_held(seed):
    """Plans with other contents held, poorer and richer, are never below it."""
    inst = limited(seed, 0.3)
    plan = solve(inst, EXACT)
    assert plan.any_bound is not None
    for share in (0.7, 0.9, 1.1, 1.5):
        other = solve(inst.holding(plan.contents * share), EXACT)
        if other.status == "optimal":
            assert other.objective >= plan.any_bound - 1e-6 * abs(plan.any_bound)
            assert audit(inst, other)["passed"].all()


def test_a_plan_with_contents_held_is_a_plan_with_free_contents():
    inst = limited(0, 0.3)
    plan = solve(inst, EXACT)
    free = with_free_contents(inst)
    opened = free.options_of(plan.yard_sizes)
    assert operate(free.holding(free.contents.held), opened, EXACT).objective <= (
        plan.objective + 1e-6 * abs(plan.objective)
    )


def test_given_yards_keep_the_ceilings_too():
    inst = limited(0, 0.3)
    opened = inst.options_of(solve(inst, EXACT).yard_sizes)
    plan = operate(inst, opened, EXACT)
    assert audit(inst, plan)["passed"].all()


def test_a_content_that_is_given_is_kept_in_every_yard_and_period():
    """As on a label; no market limits it."""
    inst = limited(0, 50.0)
    free = solve(inst, EXACT)
    label = 0.9 * float(free.contents[0].max())
    held = np.full_like(inst.contents.held, label)
    given = np.array([True, False, False, False])
    contents = replace(inst.contents, held=held, given=given)
    inst = replace(inst, contents=contents)
    plan = solve(inst, EXACT)
    a = amounts(inst, plan)
    kept = inst.contents.kept[0]
    inside = np.einsum("jmt,m,tu->ju", a.charge, kept, inst.ripening)
    there = a.made > 1e-3
    assert there.any()
    assert (inside[there] <= label * a.made[there] * (1 + 1e-6)).all()
    assert plan.objective > free.objective
