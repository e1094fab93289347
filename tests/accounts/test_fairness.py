"""How evenly a plan lies: textbook values of the Gini index, and laws."""

import numpy as np
import pytest

from logistics.accounts import FARMS, by_area, fairness_table, gini, nearest_yard
from logistics.model import mean_of_worst
from logistics.model.problem.nearby import FarmDistances


def test_gini_of_one_to_five():
    """4/15: the mean difference of 1.6 over twice the mean of 3 (textbook value)."""
    assert gini(np.arange(1.0, 6.0), np.ones(5)) == pytest.approx(4 / 15)


def test_gini_ends():
    """All equal: 0. One has all: (n - 1) / n. Nobody has anything: 0."""
    assert gini(np.full(7, 3.0), np.ones(7)) == pytest.approx(0.0, abs=1e-12)
    assert gini(np.array([0.0, 0.0, 9.0, 0.0]), np.ones(4)) == pytest.approx(3 / 4)
    assert gini(np.zeros(3), np.ones(3)) == 0.0
    assert np.isnan(gini(np.zeros(0), np.zeros(0)))


@pytest.mark.parametrize("seed", range(5))
def test_gini_is_the_mean_difference_over_twice_the_mean(seed):
    rng = np.random.default_rng(seed)
    x, w = rng.exponential(10, 30), rng.uniform(0, 5, 30)
    share = w / w.sum()
    difference = share @ np.abs(x[:, None] - x[None, :]) @ share
    assert gini(x, w) == pytest.approx(difference / (2 * share @ x))
    assert gini(5 * x, 3 * w) == pytest.approx(gini(x, w))


@pytest.mark.parametrize("seed", range(5))
def test_mean_of_the_worst_tenth_by_sorting(seed):
    """Twenty equal weights: the mean of the two largest; also as the least over eta."""
    x = np.random.default_rng(seed).uniform(0, 50, 20)
    share = np.full(20, 1 / 20)
    found = mean_of_worst(x, share, 0.1)
    assert found == pytest.approx(np.sort(x)[-2:].mean())
    least = min(eta + share @ np.maximum(x - eta, 0) / 0.1 for eta in x)
    assert found == pytest.approx(least)


def test_the_nearest_open_yard_counts():
    km = np.array([[4.0, 9.0], [7.0, np.inf]])
    farms = FarmDistances(km, np.array([0.5, 0.5]))
    assert farms.nearest(np.array([True, True])).tolist() == [4.0, 7.0]
    assert farms.worst(np.array([True, True])) == 7.0
    assert np.isinf(farms.worst(np.array([False, True])))


@pytest.mark.slow
def test_brackwater_agrees_with_the_instance_and_with_its_districts(brackwater_planned):
    result = brackwater_planned
    opened = np.isin(result.instance.yards.codes, result.plan.yards["yard"])
    row = fairness_table(result).set_index("who").loc[FARMS]
    assert row["worst"] == pytest.approx(result.instance.farms.worst(opened))
    near = nearest_yard(result)
    near = near[near["who"] == FARMS]
    km = near["km"].to_numpy()
    assert row["greatest"] == km.max()
    assert row["mean"] == pytest.approx(np.average(km, weights=near["weight"]))
    assert row["mean"] <= row["worst"] <= row["greatest"]
    area = by_area(result)
    assert area["farms"].sum() == row["count"]
    assert area["farms_most"].max() == row["greatest"]
    tonnes = near.groupby("district")["weight"].sum()
    some = area[area["farms"] > 0].set_index("district")
    assert row["mean"] == pytest.approx(
        np.average(some["farms_mean"], weights=tonnes[some.index])
    )
