"""Paired trips: never dearer, never more than the trips there are, right by hand."""

from dataclasses import replace

import numpy as np
import pytest
from small_instances import small_instance
from test_wide import LIMITS

from logistics.audit import audit, require
from logistics.model.build import build
from logistics.model.matrix import matrix_of, relax
from logistics.model.pairlanes import pair_lanes
from logistics.model.parts import Pairs
from logistics.model.pricing import bound_of, likely, price
from logistics.model.search import Best, search
from logistics.model.solve import operate, solve
from logistics.model.solver import Effort, Session
from logistics.model.start import whole_year
from logistics.model.wide import wide_of

EXACT = Effort(gap=0.0, seconds=60, threads=1)
SEEDS = [1, 4, 9]


def pairs_of(inst, seed, share=0.5):
    """Draw what pairs of a small district save: up to half of both trips."""
    rng = np.random.default_rng(seed)
    rows = [
        (s, j, n, v)
        for s in (0, 1, 4)
        for j in range(3)
        for n in range(2)
        for v in range(2)
        if rng.random() < 0.8
    ]
    source, yard, market, truck = np.array(rows).T
    bare = Pairs(
        source, yard, market, truck, *np.zeros((4, len(rows), 3)),
        usable=rng.random((len(rows), 3)) < 0.9,
    )  # fmt: skip
    found = pair_lanes(replace(inst, pairs=bare))
    saved = {}
    for name in ("money", "hours", "co2e", "km"):
        into, out = (
            (getattr(lanes, name) * lanes.load_t)[at]
            for lanes, at in (
                (inst.inbound, found.inbound),
                (inst.outbound, found.outbound),
            )
        )
        saved[name] = rng.uniform(0.1, share, into.shape) * np.minimum(into, out)
    return replace(bare, **saved)


def paired(seed, **changes):
    inst = small_instance(seed, **changes)
    return replace(inst, pairs=pairs_of(inst, seed))


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("goal", ["cost", "co2e"])
def test_pairing_never_costs_more_and_both_ways_agree(seed, goal):
    inst = replace(paired(seed), goal=goal)
    alone = solve(replace(inst, pairs=None), EXACT)
    whole = solve(inst, EXACT)
    assert whole.objective <= alone.objective + 1e-6 * abs(alone.objective)
    require(audit(inst, whole))
    if goal == "cost":
        assert whole.paired["trips"].sum() > 0
    best = Best(np.zeros(len(inst.options.yard), dtype=bool))
    answer = search(inst, Session(EXACT), best)
    near = 2e-4 * abs(whole.objective)
    assert answer.best == pytest.approx(whole.objective, abs=near)
    assert answer.bound <= whole.objective + 1e-6 * abs(whole.objective)
    assert answer.bound == pytest.approx(whole.objective, abs=near)


@pytest.mark.parametrize("seed", SEEDS)
def test_pairs_that_save_nothing_change_nothing(seed):
    inst = paired(seed)
    nothing = {k: np.zeros_like(inst.pairs.money) for k in ("money", "hours", "co2e")}
    idle = replace(inst, pairs=replace(inst.pairs, **nothing))
    alone = solve(replace(inst, pairs=None), EXACT)
    assert solve(idle, EXACT).objective == pytest.approx(alone.objective, rel=1e-6)
    none = replace(inst, pairs=inst.pairs.take(np.zeros(0, dtype=np.int64)))
    found = solve(none, EXACT)
    assert found.objective == pytest.approx(alone.objective, rel=1e-6)
    assert found.paired.empty


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("goal", ["cost", "co2e", "uncollected"])
def test_flows_laid_out_as_numbers_enter_the_rows_of_pairs(seed, goal):
    inst = replace(paired(seed, policy=LIMITS), goal=goal)
    programme, variables = build(inst)
    full, wide = matrix_of(programme), wide_of(inst)
    assert sorted(programme.rows) == sorted(wide.names)
    assert any(name.startswith("pair_in.") for name in wide.names)
    place = {x.id: n for n, x in enumerate(programme.problem.exported_variables())}
    keys = {(a, t, o): place[x.id] for (a, o, t), x in variables.hauled.items()} | {
        (a + len(inst.inbound), t, o): place[x.id]
        for (a, o, t), x in variables.delivered.items()
    }
    flows = wide.flows
    columns = [
        keys[k] for k in zip(flows.lane, flows.period, flows.option, strict=True)
    ]
    row = {name: constraint.id for name, constraint in programme.rows.items()}
    order = [row[name] for name in wide.names]
    assert (flows.rows != full.rows[order][:, columns]).nnz == 0
    others = np.setdiff1d(np.arange(len(full.cost)), columns)
    assert (wide.frame.rows != full.rows[order][:, others]).nnz == 0
    for name in ("cost", "low", "high"):
        assert (getattr(wide.frame, name) == getattr(full, name)[others]).all()


@pytest.mark.parametrize("seed", SEEDS)
def test_any_prices_give_a_valid_bound_and_fitted_ones_a_better(seed):
    inst = paired(seed)
    wide, session = wide_of(inst), Session(EXACT)
    best = relax(matrix_of(build(inst)[0]), session).value
    scope = wide.anywhere()
    priced = price(wide, scope, likely(wide, None, inst), session, 1e-6)
    assert priced.proven.bound == pytest.approx(best, rel=1e-3)
    rng = np.random.default_rng(seed)
    for size in (0.1, 1.0, 10.0):
        rough = priced.prices + rng.normal(0, size, len(priced.prices))
        fitted = wide.pairs.fitted(wide.frame, rough)
        plain, better = (bound_of(wide, y, scope).bound for y in (rough, fitted))
        assert plain <= better + 1e-6 * abs(better)
        assert better <= best + 1e-6 * abs(best)
        left = wide.frame.reduced_cost(fitted)[wide.pairs.columns]
        assert left.min() >= -1e-9


@pytest.mark.parametrize("seed", SEEDS)
def test_limit_of_a_pair_is_never_reached(seed):
    inst = paired(seed)
    plan = solve(inst, EXACT)
    found = pair_lanes(inst)
    offered = dict(zip(found.names, found.most, strict=True))
    for s, j, n, v, t, trips in plan.paired.itertuples(index=False):
        most = offered[f"{s}.{j}.{n}.{v}"][inst.periods.index(t)]
        assert trips < 1.0 + 2.0 * most - 1e-6


def test_year_as_one_period_keeps_its_pairs():
    year = whole_year(paired(4))
    assert year.pairs.money.shape == (len(year.pairs), 1)
    assert solve(year, EXACT).paired["trips"].sum() > 0


def test_given_yards_pair_as_the_free_plan_does():
    inst = paired(9)
    free = solve(inst, EXACT)
    given = operate(inst, inst.options_of(free.pairs), EXACT)
    assert given.objective == pytest.approx(free.objective, rel=1e-6)
    assert given.paired["trips"].sum() == pytest.approx(
        free.paired["trips"].sum(), rel=1e-4
    )
