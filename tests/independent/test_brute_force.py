"""The plan against every choice of yards, solved by a programme of its own."""

from dataclasses import replace
from functools import cache
from itertools import combinations_with_replacement, product

import numpy as np
import pytest
from support.enumeration import cheapest
from support.evenly_charged import moments, occupancy, ripening
from support.small_instances import FISH_RULE, farms, neighbours, small_instance

from logistics.model.problem.instance import OtherSites, Policy
from logistics.model.problem.warm_start import WarmStart
from logistics.model.solving import consistent_plan, solution
from logistics.model.solving.consistent_plan import operate, solve
from logistics.model.solving.highs import Effort
from logistics.results.plan_amounts import amounts
from logistics.results.plan_audit import audit, net_cost

EXACT = Effort(gap=0.0, seconds=60, threads=1)


@cache
def plain(seed):
    """Plan a district as it is."""
    return solve(small_instance(seed), EXACT)


@pytest.mark.parametrize("seed", range(12))
def test_least_cost(seed):
    inst = small_instance(seed)
    plan = plain(seed)
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


def sites_of(inst, plan):
    return frozenset(inst.yards.codes.index(code) for code, _ in plan.yard_sizes)


@pytest.mark.parametrize(("seed", "least"), [(0, 1), (1, 1), (2, 2), (3, 2), (4, 3)])
def test_other_sites_than_plans_before(seed, least):
    inst = small_instance(seed)
    cuts = (OtherSites(sites_of(inst, plain(seed)), least),)
    other = replace(inst, policy=replace(inst.policy, apart=cuts))
    plan = solve(other, EXACT)
    differs = cuts[0].differs(sites_of(inst, plan))
    assert differs >= least
    assert plan.objective == pytest.approx(cheapest(other), rel=1e-6)
    assert audit(other, plan)["passed"].all()
    closer = replace(inst, policy=Policy(apart=(replace(cuts[0], least=least + 1),)))
    failed = audit(closer, plan).set_index("check")["passed"]
    assert failed["other sites"] == (differs > least)


@pytest.mark.parametrize(
    "seed",
    [*range(5), *(pytest.param(n, marks=pytest.mark.thorough) for n in range(5, 20))],
)
def test_with_limits_on_people_and_on_the_worst_farms(seed):
    """
    The limits are levels that choices of yards have, or just below them.

    Places near two yards are counted once: y0 with y1 expose 160 heads, not 260.
    """
    inst = replace(small_instance(seed), neighbours=neighbours(), farms=farms())
    chosen = [np.array(x) for x in product((False, True), repeat=3) if any(x)]
    heads = sorted({inst.neighbours.exposed(x) for x in chosen})
    km = sorted({round(inst.farms.worst(x), 9) for x in chosen})
    most = heads[seed % len(heads)]
    far = km[-1 - seed % len(km)]
    policy = (
        Policy(most_exposed=most),
        Policy(most_exposed=most - 1),
        Policy(worst_farms_km=far),
        Policy(worst_farms_km=far - 0.01),
        Policy(most_exposed=most, worst_farms_km=far),
    )[seed % 5]
    limited = replace(inst, policy=policy)
    best, plan = cheapest(limited), solve(limited, EXACT)
    assert np.isfinite(best) == (plan.status != "shortage")
    if np.isfinite(best):
        assert plan.objective == pytest.approx(best, rel=1e-6)
        assert audit(limited, plan)["passed"].all()


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


def dry(inst):
    """Little water, much of it needed for turning."""
    water = replace(inst.yards, water_t=inst.yards.water_t * 0.1)
    return replace(inst, yards=water, turning_water=0.3)


def narrow(inst):
    """Small pads and stores, compost stores of next to nothing."""
    op = inst.options
    return replace(
        inst,
        options=replace(
            op,
            pad_m3=op.pad_m3 * 0.1,
            store_m3=op.store_m3 * 0.2,
            compost_store_m3=op.compost_store_m3 * 0.02,
        ),
    )


def uneven(inst):
    """Periods of 20, 300 and 45 days, and a process longer than half a year."""
    days = np.array([20.0, 300.0, 45.0])
    return replace(
        inst,
        occupancy=occupancy(days, 200),
        pad_days=occupancy(days, 200),
        pad_period=moments(days, 200)[1],
        ripening=ripening(days, 400),
    )


def rotting(inst):
    """Stores and sources that lose most of what waits, and room to let it."""
    keep = (1 - np.array([0.6, 0.5, 0.8]))[:, None] ** np.ones(3)
    feed = replace(
        inst.feed, keep=keep, store_periods=np.array([[2, 1, 0], [1, 1, 2], [3, 3, 3]])
    )
    op = replace(inst.options, store_m3=inst.options.store_m3 * 20)
    supply = replace(inst.supply, hold_t=np.full(5, 300.0))
    return replace(inst, feed=feed, options=op, supply=supply)


def short_of_trucks(inst):
    """Few hours, dear to hire, and a limit even to that."""
    fleet = inst.trucks
    hours = np.array([[25.0, 10.0, 40.0], [0.0, 0.0, 0.0]])
    return replace(
        inst,
        trucks=replace(
            fleet,
            owned_hours=hours,
            hire_hours=np.array([[5.0] * 3, [30.0] * 3]),
            hire_per_hour=np.array([9.0, 30.0]),
        ),
    )


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("change", [dry, narrow, uneven, rotting, short_of_trucks])
def test_where_one_thing_is_scarce(change, seed):
    inst = change(small_instance(seed))
    plan = solve(inst, EXACT)
    assert plan.status == "optimal"
    assert plan.objective == pytest.approx(cheapest(inst), rel=1e-6)
    assert plan.objective != pytest.approx(plain(seed).objective)
    assert audit(inst, plan)["passed"].all()


def based(inst, own=(2, 1), hours=(18.0, 12.0)):
    """Own trucks with a home each, of few hours."""
    each = np.array(own)[:, None] * np.array(hours)[:, None] * np.ones(3)
    hire = np.array([[60.0] * 3, [np.inf] * 3])
    trucks = replace(
        inst.trucks,
        owned_hours=each,
        hire_hours=hire,
        hire_per_hour=np.array([12.0, 25.0]),
        own=np.array(own),
    )
    return replace(inst, trucks=trucks)


@cache
def cheapest_homes(seed):
    """Least cost over all yards and all homes of own trucks."""
    return cheapest(based(small_instance(seed)))


@pytest.mark.slow
@pytest.mark.parametrize("large", [False, True])
@pytest.mark.parametrize(
    "seed", [0, *(pytest.param(n, marks=pytest.mark.slow) for n in (3, 5))]
)
def test_every_way_to_base_own_trucks(seed, large, monkeypatch):
    """By the solver alone, and by the tree that branches on trucks at yards."""
    inst = based(small_instance(seed))
    if large:
        monkeypatch.setattr(solution, "TINY", 0)
    plan = solution.solve_as_held(inst, EXACT)
    assert plan.status == "optimal"
    assert plan.objective == pytest.approx(cheapest_homes(seed), rel=2e-6)
    assert audit(inst, plan)["passed"].all()
    counts = plan.bases.groupby("truck")["count"].sum()
    assert counts.to_dict() == dict(zip(inst.trucks.codes, (2, 1), strict=True))


@pytest.mark.parametrize(
    "seed", [0, *(pytest.param(n, marks=pytest.mark.slow) for n in (3, 5))]
)
def test_homes_that_are_held_say_what_holds_for_all(seed, monkeypatch):
    """A tree of one node leaves homes to be held: the best of all lies between."""
    inst = based(small_instance(seed))
    monkeypatch.setattr(solution, "TINY", 0)
    monkeypatch.setattr(consistent_plan, "NODES", 0)
    plan, best = solve(inst, EXACT), cheapest_homes(seed)
    assert plan.status == "optimal"
    assert audit(inst, plan)["passed"].all()
    assert plan.floor <= best * (1 + 1e-6) <= plan.objective * (1 + 2e-6)
    if plan.homes_held:  # no yards do better with these homes
        table = np.zeros((2, len(inst.yards.codes)), dtype=int)
        for row in plan.bases.itertuples():
            at = inst.trucks.codes.index(row.truck), inst.yards.codes.index(row.yard)
            table[at] += row.count
        held = replace(inst, trucks=replace(inst.trucks, homes=table))
        monkeypatch.setattr(solution, "TINY", 10**9)
        alone = solution.solve_as_held(held, EXACT)
        assert plan.objective == pytest.approx(alone.objective, rel=2e-6)
    else:
        assert plan.objective == pytest.approx(best, rel=2e-6)


def test_own_trucks_stay_at_home_while_yards_are_given():
    """An earlier plan's homes are held, good or bad; a home at no yard is none."""
    inst = based(small_instance(3))
    every = np.ones(len(inst.options.yard), dtype=bool)
    free = operate(inst, every, EXACT)
    trucks, yards = inst.trucks.codes, inst.yards.codes
    for homes in (
        free.warm_start.bases,
        ((trucks[0], yards[2], 2), (trucks[1], yards[2], 1)),
    ):
        plan = operate(inst, every, EXACT, warm_start=WarmStart(bases=homes))
        assert plan.homes_held
        assert set(plan.bases.itertuples(index=False, name=None)) == set(homes)
        assert plan.objective >= free.objective * (1 - 2e-6)
    assert plan.objective > free.objective * (1 + 1e-4)
    nowhere = operate(inst, every, EXACT, warm_start=WarmStart(bases=homes[:1]))
    assert nowhere.objective == pytest.approx(free.objective, rel=2e-6)


def test_own_trucks_without_a_home_get_the_best_there_is():
    """Others stay where they are; of all ways to place these none is cheaper."""
    inst = based(small_instance(0))
    opened = np.arange(len(inst.options.yard)) % 2 == 1
    (two, one), yards = inst.trucks.codes, inst.yards.codes

    def cost(*bases):
        plan = operate(inst, opened, EXACT, warm_start=WarmStart(bases=bases))
        assert plan.homes_held
        assert bases[0] in set(plan.bases.itertuples(index=False, name=None))
        return plan.objective

    stay = (two, yards[1], 2)
    each = [cost(stay, (one, yard, 1)) for yard in yards]
    assert cost(stay) == pytest.approx(min(each), rel=1e-9)
    assert max(each) > min(each) * (1 + 1e-3)
    stay, pairs = (one, yards[1], 1), combinations_with_replacement(yards, 2)
    each = [cost(stay, *((two, yard, 1) for yard in pair)) for pair in pairs]
    assert cost(stay) == pytest.approx(min(each), rel=1e-9)


@pytest.mark.parametrize("seed", [0, 3])
def test_homes_change_nothing_without_own_trucks(seed):
    """Hire needs no home."""
    none = based(small_instance(seed), own=(0, 0))
    pooled = replace(none, trucks=replace(none.trucks, own=None))
    one, all_ = solve(none, EXACT), solve(pooled, EXACT)
    assert one.objective == pytest.approx(all_.objective, rel=1e-6)
    assert one.bases.empty


@pytest.mark.parametrize("seed", [0, 3])
def test_homes_never_save_money(seed):
    inst = based(small_instance(seed))
    pooled = replace(inst, trucks=replace(inst.trucks, own=None))
    dearer = solve(inst, EXACT).objective - solve(pooled, EXACT).objective
    assert dearer >= -1e-6
