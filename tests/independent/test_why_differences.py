"""
What a yard at a site adds, against every choice of yards by brute force.

Run by hand with seeds 0 to 199 on 30 November 2026: each interval held the true
difference, and in all 191 districts where it leaves no question open, the plan turned
just beyond the yearly cost named and not just before it. The tests keep a few.
"""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from support.enumeration import cheapest, cost_of
from support.small_instances import small_instance

from logistics.model.solving import consistent_plan, solution
from logistics.model.solving.consistent_plan import solve
from logistics.model.solving.enforced import (
    bound_beside,
    cost_beside,
    plan_with_site,
    plan_without_site,
    with_site,
    without_site,
)
from logistics.model.solving.given_plan import homes_of_plan
from logistics.model.solving.highs import Effort
from logistics.studies.entering import by_money, margin
from logistics.studies.site_answer import adds_of

LOOSE = Effort(gap=0.01, seconds=60, threads=1)
EXACT = replace(LOOSE, gap=0.0)


def asked(inst, yard, size=""):
    """The plan, whether it has a yard there, and both plans: with it and without."""
    plan = solve(inst, LOOSE)
    had = dict(plan.yard_sizes).get(yard)
    chosen = had is not None and size in ("", had)
    turn = plan_without_site if chosen else plan_with_site
    other = turn(inst, plan, yard, size, LOOSE)
    return chosen, ((plan, other) if chosen else (other, plan))


def dearer(inst, yard, more):
    """The yard in every size dearer by so much a year."""
    here = inst.options.yard == inst.yards.codes.index(yard)
    annual = inst.options.annual + here * more
    return replace(inst, options=replace(inst.options, annual=annual))


def hold_true(seed, yard, size=""):
    inst = small_instance(seed)
    chosen, (there, absent) = asked(inst, yard, size)
    adds = adds_of(there, absent)
    true = cheapest(with_site(inst, yard, size)) - cheapest(
        without_site(inst, yard, size)
    )
    slack = 1e-6 * max(1.0, abs(there.objective))
    assert adds[0] - slack <= true <= adds[1] + slack
    assert adds[1] - adds[0] <= 0.021 * max(
        1.0, abs(there.objective), abs(absent.objective)
    )
    assert any(y == yard for y, _ in there.yard_sizes)
    far = margin(adds, chosen=chosen)
    if far[0] <= 0:
        return inst, chosen, None
    return inst, chosen, by_money(far, "yearly cost", (1.0, 1.0), None)


@pytest.mark.parametrize(
    "seed", [0, 1, *(pytest.param(n, marks=pytest.mark.thorough) for n in range(2, 12))]
)
def test_the_interval_holds_the_true_difference(seed):
    hold_true(seed, f"y{seed % 3}")


def test_so_it_does_for_one_size():
    hold_true(1, "y1", "large")


def turns_where_told(seed, yard):
    """Re-plan just below and just above the yearly cost at which the plan turns."""
    inst, chosen, turn = hold_true(seed, yard)
    if turn is None:
        return False
    sign = 1 if chosen else -1
    few = 1e-3 * max(1.0, turn.turns)
    for change, stays in ((turn.stays - few, True), (turn.turns + few, False)):
        plan = solve(dearer(inst, yard, sign * change), EXACT)
        has = yard in dict(plan.yard_sizes)
        assert has == (chosen if stays else not chosen), (seed, change)
    return True


@pytest.mark.parametrize(
    "seed", [0, *(pytest.param(n, marks=pytest.mark.thorough) for n in (2, 3, 4, 5))]
)
def test_the_yearly_cost_at_which_a_site_enters_or_leaves(seed):
    assert turns_where_told(seed, f"y{(seed + 1) % 3}")


@pytest.mark.parametrize("seed", [20, 21, 23])
def test_what_is_enough_ends_a_proof_that_still_holds(monkeypatch, seed):
    """A yard of the plan dearer: its yards bound from above, the duals from below."""
    monkeypatch.setattr(solution, "is_small", lambda instance: False)
    inst = small_instance(seed)
    plan = solve(inst, EXACT)
    changed = dearer(inst, plan.yard_sizes[0][0], 0.1 * abs(plan.objective))
    best = cheapest(changed)
    slack = 1e-6 * max(1.0, abs(best))
    cost = cost_beside(changed, plan, EXACT)
    full = bound_beside(changed, plan, EXACT, np.inf)
    short = bound_beside(changed, plan, EXACT, full - 0.3 * abs(full))
    assert full - 0.3 * abs(full) - slack <= short <= full + slack
    assert full - slack <= best <= cost + slack
    assert full >= best - 1e-4 * abs(best)


def with_homes(seed):
    """A district whose own trucks are at home at yards, planned as a large one is."""
    inst = small_instance(seed)
    own = np.array([2, 1])
    hours = own[:, None] * np.array([[18.0], [12.0]]) * np.ones(3)
    trucks = replace(
        inst.trucks,
        owned_hours=hours,
        hire_hours=np.array([[60.0] * 3, [np.inf] * 3]),
        hire_per_hour=np.array([12.0, 25.0]),
        own=own,
    )
    return replace(inst, trucks=trucks)


def cheapest_at_home(inst, plan):
    """Least cost over all yards, own trucks at home where a plan has them."""
    homes = homes_of_plan(inst, plan)
    table = tuple(tuple(int(n) for n in row) for row in homes)
    choices = [
        [-1, *np.flatnonzero(inst.options.yard == j).tolist()]
        for j in range(len(inst.yards.codes))
    ]
    return min(cost_of(inst, sizes, table) for sizes in itertools.product(*choices))


def hold_true_at_home(seed, yard):
    inst = with_homes(seed)
    _, (there, absent) = asked(inst, yard)
    if not (there.homes_held and absent.homes_held):
        return False
    adds = adds_of(there, absent)
    true = cheapest_at_home(with_site(inst, yard), there)
    true -= cheapest_at_home(without_site(inst, yard), absent)
    slack = 3e-6 * max(1.0, abs(there.objective))
    assert adds[0] - slack <= true <= adds[1] + slack
    return True


@pytest.mark.thorough
def test_homes_held_are_those_of_both_plans(monkeypatch):
    """The interval is of these homes; the tests of `solve` have the floor of all."""
    monkeypatch.setattr(solution, "TINY", 0)
    monkeypatch.setattr(consistent_plan, "NODES", 0)
    assert any([hold_true_at_home(seed, f"y{seed % 3}") for seed in range(4)])
