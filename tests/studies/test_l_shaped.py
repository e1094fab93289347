"""Deciding once for many futures: against the extensive form and brute force."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from scipy import optimize, sparse

from logistics.model.solving.matrix import Matrix
from logistics.studies.l_shaped import decide, linear_recourse
from logistics.studies.risk import Risk, cvar, weighed


def draw(seed, sites=4, people=5, futures=6):
    """Facilities with fixed costs; people served from open ones or given up."""
    rng = np.random.default_rng(seed)
    first = Matrix(
        rows=sparse.csc_matrix(np.ones((1, sites))),
        cost=rng.uniform(20, 60, sites),
        low=np.zeros(sites),
        high=np.ones(sites),
        below=np.array([0.0]),
        above=np.array([3.0]),
        constant=5.0,
        integer=np.ones(sites, dtype=bool),
    )
    weights = rng.dirichlet(np.ones(futures))
    return first, [
        future(f"f{s}", float(w), rng, sites, people) for s, w in enumerate(weights)
    ]


def future(name, weight, rng, sites, people):
    demand = rng.uniform(0, 10, people)
    haul = rng.uniform(1, 8, (sites, people))
    room = rng.uniform(8, 25, sites)
    count = sites * people
    serve = np.zeros((people, count + people))
    hold = np.zeros((sites, count + people))
    for i, k in itertools.product(range(sites), range(people)):
        serve[k, i * people + k] = 1.0
        hold[i, i * people + k] = 1.0
    serve[:, count:] = np.eye(people)
    recourse = Matrix(
        rows=sparse.csc_matrix(np.vstack([serve, hold])),
        cost=np.concatenate([haul.ravel(), np.full(people, 30.0)]),
        low=np.zeros(count + people),
        high=np.full(count + people, np.inf),
        below=np.concatenate([demand, np.full(sites, -np.inf)]),
        above=np.concatenate([demand, np.zeros(sites)]),
        constant=0.0,
        integer=np.zeros(count + people, dtype=bool),
    )
    technology = sparse.csr_matrix(
        np.vstack([np.zeros((people, sites)), -np.diag(room)])
    )
    return linear_recourse(name, weight, technology, recourse, 1e4)


def by_force(first, futures, risk, banned=None):
    """Try every choice of sites that the limit allows."""
    weights = np.array([f.weight for f in futures])
    best = np.inf
    for x in itertools.product([0.0, 1.0], repeat=len(first.cost)):
        if sum(x) <= first.above[0] and (banned is None or not x[banned]):
            at = np.array(x)
            costs = np.array([f.cost(at) for f in futures])
            costs = costs + first.cost @ at + first.constant
            best = min(best, weighed(costs, weights, risk))
    return best


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("risk", [Risk(), Risk(1.5, 0.7)])
def test_same_optimum_as_brute_force(seed, risk):
    first, futures = draw(seed)
    found = decide(first, futures, risk, gap=1e-7)
    best = by_force(first, futures, risk)
    assert found.value == pytest.approx(best, rel=1e-6)
    assert found.bound <= best + 1e-6 * abs(best)
    assert found.gap <= 1e-6


@pytest.mark.parametrize("seed", range(20, 26))
def test_every_cut_stays_below_the_true_cost(seed):
    first, futures = draw(seed)
    rng = np.random.default_rng(seed)
    for one in futures:
        cut = one.cut(rng.random(len(first.cost)))
        for _ in range(8):
            x = rng.random(len(first.cost))
            assert cut.at(x) <= one.cost(x) + 1e-6


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(40, 46))
def test_knowing_the_future_is_never_worth_less_than_nothing(seed):
    first, futures = draw(seed)
    here = decide(first, futures, gap=1e-7)
    wait = sum(
        f.weight * decide(first, [replace(f, weight=1.0)], gap=1e-7).value
        for f in futures
    )
    assert here.value >= wait - 1e-5 * abs(wait)


def test_a_decision_that_fails_in_a_future_is_never_taken():
    first, futures = draw(3)

    def fails(x):
        return None if x[0] > 0.5 else futures[0].cost(x)

    shut = replace(futures[0], cost=fails)
    others = [*futures[1:]]
    best = by_force(first, futures, Risk(), banned=0)
    found = decide(first, [shut, *others], gap=1e-7, seconds=20)
    assert found.x[0] < 0.5
    assert found.value == pytest.approx(best, rel=1e-6)


def test_starts_only_help():
    first, futures = draw(5)
    plain = decide(first, futures, gap=1e-7)
    started = decide(first, futures, gap=1e-7, starts=[plain.x])
    assert started.value == pytest.approx(plain.value, rel=1e-6)


@pytest.mark.parametrize("seed", range(5))
def test_cvar_is_the_least_of_its_linear_programme(seed):
    rng = np.random.default_rng(seed)
    costs, weights, level = rng.normal(size=7), rng.dirichlet(np.ones(7)), 0.6
    # e free, v >= cost - e
    answer = optimize.linprog(
        np.append(1.0, weights / (1 - level)),
        A_ub=np.column_stack([-np.ones(7), -np.eye(7)]),
        b_ub=-costs,
        bounds=[(None, None)] + [(0, None)] * 7,
    )
    assert cvar(costs, weights, level) == pytest.approx(answer.fun)
    assert cvar(costs, weights, level) >= weights @ costs - 1e-12
