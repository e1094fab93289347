"""Plans nearly as good at other sites: all of them, by brute force, and the proofs."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from support.enumeration import cost_of, every_home
from support.facility_location import instance as facilities
from support.small_instances import small_instance

from logistics.model.solving.consistent_plan import operate, solve
from logistics.model.solving.highs import Effort
from logistics.studies.near_best import (
    limit_of,
    other_plans,
)
from logistics.studies.near_marks import sites_table, with_proof
from logistics.studies.near_moves import Move, moves_from, sites_apart, together
from logistics.studies.near_search import allowed, choice_of, mask_of, plans_around

EXACT = Effort(gap=0.0, seconds=60, threads=1)
HUTS = (
    "A5", "B5", "B9", "B10", "C1", "C6", "C8", "C9", "C10", "D2",
    "D7", "D10", "E2", "E9", "F8", "G2", "H2", "H6", "J8", "J10",
)  # fmt: skip


def by_sites(inst) -> dict[frozenset[str], float]:
    """Least cost of every set of sites, by brute force over sizes and homes."""
    yards, found = range(len(inst.yards.codes)), {}
    each = [[-1, *np.flatnonzero(inst.options.yard == j).tolist()] for j in yards]
    for sizes in itertools.product(*each):
        key = frozenset(inst.yards.codes[j] for j in yards if sizes[j] >= 0)
        cost = min(cost_of(inst, sizes, homes) for homes in every_home(inst, sizes))
        found[key] = min(found.get(key, np.inf), cost)
    return found


@pytest.mark.parametrize(
    "seed",
    [pytest.param(0, marks=pytest.mark.slow)]
    + [pytest.param(n, marks=pytest.mark.thorough) for n in (1, 2)],
)
def test_every_set_of_sites_within_the_limit_is_found_and_no_other(seed):
    inst = small_instance(seed)
    every = by_sites(inst)
    best = solve(inst, EXACT)
    share = 0.3
    found = other_plans(inst, best, share=share, least=1, most=20, effort=EXACT)
    limit = limit_of(min(every.values()), share)
    within = {sites: cost for sites, cost in every.items() if cost <= limit}
    assert found.complete
    assert {one.sites: one.plan.objective for one in found.plans} == {
        sites: pytest.approx(cost, rel=1e-6) for sites, cost in within.items()
    }
    proved = with_proof(found, EXACT)
    for code in inst.yards.codes:
        always = all(code in sites for sites in within)
        never = not any(code in sites for sites in within)
        said = "always" if always else "never" if never else None
        assert proved.proven.get(code) == said
    table = sites_table(proved).set_index("yard")
    for code, row in table.iterrows():
        mine = [cost for sites, cost in within.items() if code in sites]
        assert row["plans"] == len(mine)
        assert row["proven"] == (row["often"] in ("always", "never"))
        if mine:
            least = (min(mine) - best.objective) / abs(best.objective)
            assert row["cheapest"] == pytest.approx(least, abs=1e-6)


@pytest.mark.thorough
def test_plans_around_the_best_are_plans_of_their_yards():
    inst = small_instance(1)
    every, best = by_sites(inst), solve(inst, EXACT)
    around = plans_around(inst, best, 0.3, EXACT)
    assert len(around.plans) > 3
    costs = [plan.objective for plan in around.plans]
    assert costs == sorted(costs)
    for plan in around.plans:
        sites = frozenset(plan.yards["yard"])
        assert plan.objective >= every[sites] * (1 - 1e-6)
        opened = mask_of(inst, choice_of(inst, plan))
        alone = operate(inst, opened, EXACT).objective
        assert plan.objective == pytest.approx(alone, rel=0.02)  # homes may differ
    first = choice_of(inst, best)
    reached = {
        frozenset(inst.yards.codes[inst.options.yard[o]] for o in move.after(first))
        for move in moves_from(inst, first)
    }
    known = {frozenset(plan.yards["yard"]) for plan in around.plans}
    within = {s for s in reached if s and every[s] < np.inf}
    assert within <= known


@pytest.mark.slow
def test_plans_shown_differ_in_as_many_sites_as_asked():
    inst = small_instance(1)
    best = solve(inst, EXACT)
    found = other_plans(inst, best, share=5.0, least=2, effort=EXACT)
    shown = [found.plans[n].sites for n in found.shown]
    for one, other in itertools.combinations(shown, 2):
        assert len(one ^ other) >= 2
    assert len(shown) > 1
    assert found.complete
    for each in by_sites(inst):  # what is proven: no other one differs so much
        assert min(len(each ^ one) for one in shown) < 2
    costs = [one.plan.objective for one in found.plans]
    assert costs == sorted(costs)
    few = other_plans(inst, best, share=5.0, least=2, most=2, effort=EXACT)
    assert len(few.shown) == 2
    assert not few.complete


def test_moves_are_of_one_yard_and_those_nearby_come_first():
    inst = small_instance(1)
    best = solve(inst, EXACT)
    first, yard = choice_of(inst, best), inst.options.yard
    moves = moves_from(inst, first)
    assert len(set(moves)) == len(moves)
    here = {int(yard[o]) for o in first}
    new = [o for o in range(len(yard)) if int(yard[o]) not in here]
    sizes = len(yard) - len(new) - len(first)
    assert len(moves) == len(first) * (1 + len(new)) + len(new) + sizes
    apart = sites_apart(inst)
    assert np.allclose(apart, apart.T)
    assert (np.diag(apart) == 0).all()
    same = [
        apart[int(yard[min(m.shut)]), int(yard[min(m.opened)])]
        for m in moves
        if m.shut and m.opened
        and inst.options.size[min(m.shut)] == inst.options.size[min(m.opened)]
        and not {int(yard[o]) for o in m.opened} & here
    ]  # fmt: skip
    assert same == sorted(same)


def test_moves_are_combined_by_what_they_cost_and_never_at_one_site():
    inst = small_instance(1)
    yard = inst.options.yard.tolist()
    costs = {
        Move(frozenset(), frozenset({o})): 1.5**n
        for n, o in enumerate(range(len(yard)))
    }
    most = 12.0
    found = list(together(inst, costs, most))
    sums = [sum(costs[move] for move in group) for group in found]
    assert sums == pytest.approx(sorted(sums))
    expected = {
        frozenset(group)
        for count in (2, 3)
        for group in itertools.combinations(costs, count)
        if len({yard[min(m.opened)] for m in group}) == count
        and sum(costs[m] for m in group) <= most
    }
    assert expected
    assert {frozenset(group) for group in found} == expected
    assert len(found) == len(expected)


def test_what_the_board_rules_out_is_not_tried():
    inst = small_instance(1)
    every = frozenset(range(len(inst.options.yard)))
    one = frozenset({0})
    capital = float(inst.options.capital[0])
    assert allowed(inst, one)
    assert not allowed(inst, frozenset())

    def with_policy(**changes):
        return replace(inst, policy=replace(inst.policy, **changes))

    assert allowed(with_policy(capital_limit=capital), one)
    assert not allowed(with_policy(capital_limit=capital - 1), one)
    sites = len({int(j) for j in inst.options.yard})
    assert allowed(with_policy(max_yards=sites), every)
    assert not allowed(with_policy(max_yards=sites - 1), every)
    site = int(inst.options.yard[0])
    shut = tuple(
        "closed" if j == site else d for j, d in enumerate(inst.yards.decision)
    )
    assert not allowed(replace(inst, yards=replace(inst.yards, decision=shut)), one)


def test_a_plan_with_shortages_has_nothing_beside_it():
    inst = small_instance(0)
    best = replace(solve(inst, EXACT), status="shortage")
    with pytest.raises(ValueError, match="leaves a demand unmet"):
        other_plans(inst, best, effort=EXACT)


def relief() -> tuple[np.ndarray, list[str]]:
    """Distances of the huts from every field of a board of ten by ten, its names."""
    fields = [f"{letter}{row}" for letter in "ABCDEFGHIJ" for row in range(1, 11)]
    at = np.array([(ord(f[0]) - ord("A"), int(f[1:]) - 1) for f in fields], dtype=float)
    huts = at[[fields.index(hut) for hut in HUTS]]
    return np.hypot(*(huts[:, None] - at[None]).transpose(2, 0, 1)), fields


@pytest.mark.slow
def test_the_relief_exercise_has_so_many_plans_nearly_as_good():
    """
    Two drop points for twenty huts.

    Toczek, "The value of optimal locations", ORMS Today 37(4), 2010, p. 14: best are D8
    and E2 with 51.2460 in all; plans within 1, 2, 3, 5 %: 1, 7, 13, 39.
    """
    far, fields = relief()
    pairs = {
        frozenset((fields[a], fields[b])): float(far[:, [a, b]].min(axis=1).sum())
        for a, b in itertools.combinations(range(100), 2)
    }
    best = min(pairs.values())
    assert best == pytest.approx(51.2460, abs=5e-5)
    counts = [
        sum(c <= best * (1 + s) for c in pairs.values())
        for s in (0.01, 0.02, 0.03, 0.05)
    ]
    assert counts == [1, 7, 13, 39]
    inst = facilities(np.full(100, 20.0), np.zeros(100), np.ones(20), far)
    inst = replace(inst, policy=replace(inst.policy, max_yards=2))
    found = other_plans(
        inst, solve(inst, EXACT), share=0.02, least=1, most=9, effort=EXACT
    )
    named = [
        frozenset(fields[inst.yards.codes.index(code)] for code in one.sites)
        for one in found.plans
    ]
    assert named[0] == {"D8", "E2"}
    assert set(named) == {pair for pair, cost in pairs.items() if cost <= best * 1.02}
    assert found.complete
