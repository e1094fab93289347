"""The Lagrangian bound and the columns carried, by hand and by law."""

from dataclasses import replace

import numpy as np
import pytest
from support.small_instances import every_rule, small_instance

from logistics.model.solving import column_generation
from logistics.model.solving.column_choice import LEAST_COLUMNS, initial_columns
from logistics.model.solving.column_generation import (
    ColumnGeneration,
    complete_duals,
    generate_columns,
    run_yards,
)
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.lagrangian import best_between, lagrangian_bound
from logistics.model.solving.master import master_of

EXACT = Effort(gap=0.0, seconds=60, threads=1)
INSTANCES = {"plain": small_instance(3), "every rule": every_rule(8)}
MASTERS = {name: master_of(inst) for name, inst in INSTANCES.items()}


def bound_by_hand(master, duals, branch):
    """
    Least of the Lagrangian, one column after another.

    Rows that are tied to options by links, and the choice of a size, stay with the
    columns: of a link all flow comes at its cheapest, up to what an open option takes.
    """
    frame, flows = master.frame, master.flows
    rows, count = frame.rows.toarray(), len(master.names)
    paid = np.zeros(count)
    total = frame.constant
    for r in range(count):
        if master.links[r] or r in master.one_size:
            continue
        side = frame.below[r] if duals[r] > 0 else frame.above[r]
        if duals[r] and np.isfinite(side):  # else its dual has a sign it cannot have
            paid[r] = duals[r]
            total += duals[r] * side
    for column in range(len(frame.cost)):
        if column in master.opened:
            continue
        if master.option[column] >= 0 and not branch.high[master.option[column]]:
            continue
        cost = frame.cost[column] - rows[:, column] @ paid
        high = frame.high[column] if np.isfinite(frame.high[column]) else master.most
        total += cost * (frame.low[column] if cost >= 0 else high)
    cheapest = {}
    flow_rows = flows.rows.toarray()
    for n in range(len(flows)):
        cost = flows.cost[n] - flow_rows[:, n] @ paid
        link = int(flows.link[n])
        cheapest[link] = min(cheapest.get(link, 0.0), cost)
    opening = []
    for column in master.opened:
        cost = frame.cost[column] - rows[:, column] @ paid
        for link, least in cheapest.items():
            cost += -rows[link, column] * least  # -most in the row of the link
        opening.append(cost)
    for j in np.unique(master.yard):
        options = [o for o in np.flatnonzero(master.yard == j) if branch.high[o]]
        forced = branch.must[j] or any(branch.low[o] > 0 for o in options)
        least = min((opening[o] for o in options), default=np.inf)
        total += least if forced else min(least, 0.0)
    return total


@pytest.mark.parametrize("name", MASTERS)
@pytest.mark.parametrize("draw", range(6))
def test_the_bound_is_the_least_of_the_lagrangian(name, draw):
    """With any duals, in branches that shut and force options."""
    master = MASTERS[name]
    rng = np.random.default_rng(draw)
    duals = rng.normal(0, 40, len(master.names))
    duals[rng.random(len(duals)) < 0.5] = 0.0
    if draw == 0:
        duals[:] = 0.0
    free = master.root_branch()
    low = np.zeros_like(free.low)
    low[int(rng.integers(len(low)))] = float(draw > 2)
    shut = (rng.random(len(free.high)) < 0.3) & (low == 0)
    branch = replace(free, low=low, high=np.where(shut, 0.0, free.high))
    found = lagrangian_bound(master, duals, branch)
    assert np.isfinite(found.bound)
    assert found.bound == pytest.approx(bound_by_hand(master, duals, branch), rel=1e-9)


@pytest.mark.parametrize("name", MASTERS)
def test_duals_between_two_prove_as_much_as_a_fine_grid_of_them_all_but(name):
    """Beside a walk of 200 steps on the line; never less than at either end."""
    master, branch = MASTERS[name], MASTERS[name].root_branch()
    exact = generate_columns(
        master,
        branch,
        np.ones(len(master.flows), dtype=bool),
        Session(EXACT),
        ColumnGeneration(1e-9),
    )
    rng = np.random.default_rng(5)
    swing = np.abs(exact.duals) * rng.normal(0, 0.2, len(exact.duals))
    ends = [
        (duals, lagrangian_bound(master, duals, branch))
        for duals in (exact.duals + swing, exact.duals - swing)
    ]
    worse, better = sorted(proof.bound for _, proof in ends)
    duals, found = best_between(master, branch, *ends, np.inf)
    assert found.bound == lagrangian_bound(master, duals, branch).bound
    walk = [
        lagrangian_bound(master, ends[0][0] - 2 * share * swing, branch).bound
        for share in np.linspace(0, 1, 201)
    ]
    assert better < found.bound <= exact.proven.bound + 1e-6
    assert max(walk) - found.bound <= 0.1 * (max(walk) - worse)
    same, at_once = best_between(master, branch, *ends, better - 1.0)
    assert at_once.bound == better
    assert any(same is end for end, _ in ends)


@pytest.mark.parametrize("name", MASTERS)
def test_columns_begin_with_the_cheapest_of_every_source_and_market(name):
    master, inst = MASTERS[name], INSTANCES[name]
    flows = master.flows
    duals = np.random.default_rng(1).normal(0, 10, len(master.names))
    y = master.frame.usable(duals)
    y[master.links] = 0.0
    cost = flows.cost - flows.rows.T @ y
    marked = initial_columns(master, duals, inst, each=0)
    for group in (flows.key, flows.balance):
        for one in np.unique(group):
            here = np.flatnonzero(group == one)
            first = here[np.argsort(cost[here])[:2]]
            assert marked[first].all()
    assert marked.sum() < len(marked)


def test_every_source_and_market_has_a_few_columns():
    master = MASTERS["plain"]
    none = np.zeros(len(master.flows), dtype=bool)
    params = ColumnGeneration(1e-7, cutoff=-np.inf)
    found = generate_columns(master, master.root_branch(), none, Session(EXACT), params)
    each = np.bincount(master.flows.key)
    carried = np.bincount(master.flows.key[found.kept], minlength=len(each))
    assert (carried >= np.minimum(each, LEAST_COLUMNS)).all()


def test_a_node_above_the_cutoff_is_left_at_once(monkeypatch):
    """One relaxation says that no plan in it is wanted; to prove it costs many."""
    master = MASTERS["plain"]
    solves = []
    relax = column_generation.relax

    def counted(*given, **more):
        solves.append(1)
        return relax(*given, **more)

    monkeypatch.setattr(column_generation, "relax", counted)
    monkeypatch.setattr(column_generation, "FEW", 0.0)
    few = initial_columns(master, None, INSTANCES["plain"], each=1)
    needed = {}
    for cutoff in (np.inf, -1e12):
        solves.clear()
        params = ColumnGeneration(1e-9, cutoff=cutoff)
        generate_columns(master, master.root_branch(), few, Session(EXACT), params)
        needed[cutoff] = len(solves)
    assert needed[-1e12] == 1 < needed[np.inf]


def test_duals_of_given_yards_are_completed_for_all_others():
    """The blocks of open options keep theirs; the bound for all yards rises."""
    master = MASTERS["plain"]
    opened = np.zeros(len(master.opened), dtype=bool)
    opened[[1, 3]] = True
    every = np.ones(len(master.flows), dtype=bool)
    fixed = run_yards(master, opened, every, Session(EXACT), ColumnGeneration(1e-7))
    duals, proven = complete_duals(master, fixed, Session(EXACT))
    own = np.isin(master.block, np.flatnonzero(opened))
    assert own.any()
    assert duals[own] == pytest.approx(fixed.duals[own])
    before = lagrangian_bound(master, fixed.duals, master.root_branch())
    assert proven.bound > before.bound
    assert proven.bound <= fixed.value + 1e-6 * abs(fixed.value)
