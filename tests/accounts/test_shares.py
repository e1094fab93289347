"""Splitting a joint cost: published games, brute force over orders, and laws."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.accounts.cost_shares import (
    core_breaches,
    dearer_together,
    groups,
    proportional,
    sampled_shapley,
    shapley,
    shapley_range,
    steadiest,
)


def game(**costs):
    """Write groups of one-letter parties as words: ab=70."""
    return {frozenset(name): float(cost) for name, cost in costs.items()}


def by_all_orders(costs, parties):
    """Average what each adds over every order of joining, one order after another."""
    orders = list(permutations(parties))
    share = dict.fromkeys(parties, 0.0)
    for order in orders:
        so_far, before = 0.0, frozenset()
        for party in order:
            before |= {party}
            share[party] += (costs[before] - so_far) / len(orders)
            so_far = costs[before]
    return share


RUNWAY = (8.0, 11.0, 13.0, 18.0)


def airport(needs):
    """Cost of a runway for a group is that of its largest aeroplane."""
    named = dict(zip("abcd", needs, strict=True))
    return {group: max(named[p] for p in group) for group in groups("abcd")}


def test_airport_game():
    """
    Littlechild and Owen, A simple expression for the Shapley value in a special case,
    1973 (rule from memory; the four needs are those of a textbook example, from
    memory): each stretch is shared evenly by those who need it.
    """
    share = shapley(airport(RUNWAY), "abcd")
    expected = [2, 2 + 1, 2 + 1 + 1, 2 + 1 + 1 + 5]
    assert list(share.values()) == pytest.approx(expected)
    assert core_breaches(airport(RUNWAY), share) == []


THREE = game(a=100, b=125, c=150, ab=180, ac=230, bc=240, abc=300)


def test_three_parties_by_hand():
    """
    Six orders by hand, abc acb bac bca cab cba.

    a adds 100 100 55 60 80 60; b adds 80 70 125 125 70 90; c adds 120 130 120 115
    150 150. Sums 455, 560, 785 over six.
    """
    assert list(shapley(THREE, "abc").values()) == pytest.approx(
        [455 / 6, 560 / 6, 785 / 6]
    )


@st.composite
def any_game(draw, most=5):
    parties = "abcde"[: draw(st.integers(1, most))]
    money = st.floats(-1e6, 1e6, allow_nan=False)
    return parties, {group: draw(money) for group in groups(parties)}


@given(any_game())
def test_it_is_the_mean_over_all_orders_and_adds_up(case):
    parties, costs = case
    share = shapley(costs, parties)
    brute = by_all_orders(costs, parties)
    assert share == pytest.approx(brute, abs=1e-6)
    assert sum(share.values()) == pytest.approx(costs[frozenset(parties)], abs=1e-6)


@given(any_game(), st.floats(0, 1e3))
def test_the_range_holds_every_game_between_floor_and_cost(case, gap):
    parties, costs = case
    floor = {group: cost - gap for group, cost in costs.items()}
    rng = np.random.default_rng(1)
    true = {group: cost - gap * rng.random() for group, cost in costs.items()}
    exact = shapley(true, parties)
    for party, (low, high) in shapley_range(costs, floor, parties).items():
        assert low - 1e-6 <= exact[party] <= high + 1e-6


def test_one_who_adds_nothing_pays_nothing_and_twins_pay_alike():
    costs = {g: 10.0 * bool(g & set("ab")) for g in groups("abz")}
    share = shapley(costs, "abz")
    assert share == pytest.approx({"a": 5, "b": 5, "z": 0})


def test_sampling_comes_near_and_says_how_near():
    """Of eight parties, costs neither additive nor subadditive."""
    parties = "abcdefgh"
    rng = np.random.default_rng(7)
    each = dict(zip(parties, rng.uniform(1, 10, 8), strict=True))
    costs = {g: sum(each[p] for p in g) ** 0.7 + rng.normal() for g in groups(parties)}
    exact = shapley(costs, parties)
    asked = []

    def cost(group):
        asked.append(group)
        return costs[group]

    found = sampled_shapley(cost, parties, 400, seed=3)
    assert len(asked) == len(set(asked))
    assert found.orders == 400
    assert sum(found.share.values()) == pytest.approx(costs[frozenset(parties)])
    off = [abs(found.share[p] - exact[p]) / found.error[p] for p in parties]
    assert max(off) < 3.5
    assert max(found.error.values()) < 0.1
    assert found == sampled_shapley(cost, parties, 400, seed=3)
    with pytest.raises(ValueError, match="at least 4"):
        sampled_shapley(cost, parties, 2, seed=3)


def test_error_of_two_draws_by_hand():
    """
    In an order and its reverse a adds 4 and 5 or, in one of three, 5.5 and 4.

    The error of the mean of two draws is half the distance between them.
    """
    costs = {"": 0, "a": 4, "b": 3, "c": 5, "ab": 8.5, "ac": 9, "bc": 7, "abc": 12}
    seen = set()
    for seed in range(8):
        found = sampled_shapley(
            lambda group: float(costs["".join(sorted(group))]), "abc", 4, seed=seed
        )
        mean = found.share["a"]
        error = {4.5: 0.0, 4.75: 0.0, 4.625: 0.125}[mean]
        assert found.error["a"] == pytest.approx(error)
        seen.add(mean)
    assert 4.625 in seen


def test_core_names_the_group_that_pays_too_much():
    """By halves a pays 35 against 20 alone; the pair's own total is never a breach."""
    costs = game(a=20, b=60, ab=70)
    found = core_breaches(costs, {"a": 35.0, "b": 35.0})
    assert [(set(b.group), b.excess) for b in found] == [({"a"}, 15.0)]
    assert core_breaches(costs, shapley(costs, "ab")) == []


def test_subadditivity_is_checked_pair_by_pair():
    assert dearer_together(THREE) == []
    worse = THREE | game(abc=340)
    found = {tuple(sorted(b.group)): b.excess for b in dearer_together(worse)}
    assert found[("a", "b", "c")] == pytest.approx(340 - 330)


@given(st.lists(st.floats(0.1, 100), min_size=4, max_size=4))
def test_concave_games_are_subadditive_and_shapley_lies_in_the_core(sizes):
    """Shapley, Cores of convex games, 1971 (from memory): costs that fall with size."""
    named = dict(zip("abcd", sizes, strict=True))
    costs = {g: sum(named[p] for p in g) ** 0.6 for g in groups("abcd")}
    assert dearer_together(costs) == []
    assert core_breaches(costs, shapley(costs, "abcd")) == []
    share, saving = steadiest(costs, "abcd")
    assert saving >= -1e-9
    assert core_breaches(costs, share) == []
    assert sum(share.values()) == pytest.approx(costs[frozenset("abcd")])


def test_an_empty_core_is_said():
    """Any two can do it for what all three cost: each pair of three wants to leave."""
    costs = game(a=6, b=6, c=6, ab=6, ac=6, bc=6, abc=12)
    share, saving = steadiest(costs, "abc")
    assert share == pytest.approx({"a": 4, "b": 4, "c": 4})
    assert saving == pytest.approx(-2)
    assert len(core_breaches(costs, share)) == 3


def test_proportional_shares():
    assert proportional(-30, {"a": 1, "b": 2}) == {"a": -10, "b": -20}
    assert proportional(30, {"a": 0, "b": 0}) == {"a": 15, "b": 15}
