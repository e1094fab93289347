"""Goals, limits, shortages and stopping."""

import os
import signal
import threading
from dataclasses import replace

import numpy as np
import pytest
from support.enumeration import cheapest
from support.small_instances import FISH_RULE, small_instance

from logistics.model.problem.instance import Policy
from logistics.model.problem.warm_start import WarmStart
from logistics.model.solving import solution as job
from logistics.model.solving.consistent_plan import solve
from logistics.model.solving.fixed_yards import exact_flows
from logistics.model.solving.highs import (
    Answer,
    Effort,
    NoPlanError,
    Progress,
    Session,
    relative_gap,
)
from logistics.results.plan_audit import audit
from logistics.scenario import records

EXACT = Effort(gap=0.0, seconds=60)


def test_most_tonnes_within_a_budget():
    """Among plans within the budget none leaves less behind; cost breaks ties."""
    inst = small_instance(4)
    cheap = solve(inst, EXACT)
    budget = cheap.objective + 5000
    rich = replace(inst, goal="uncollected", policy=Policy(budget_limit=budget))
    plan = solve(rich, EXACT)
    assert plan.objective == pytest.approx(plan.uncollected["tonnes"].sum(), abs=1e-4)
    assert plan.objective < cheap.uncollected["tonnes"].sum()
    assert audit(rich, plan)["passed"].all()
    tighter = replace(rich, policy=Policy(budget_limit=cheap.objective + 1000))
    assert solve(tighter, EXACT).objective >= plan.objective - 1e-6


def test_least_emissions():
    inst = replace(small_instance(4), goal="co2e")
    plan = solve(inst, EXACT)
    cheap = solve(small_instance(4), EXACT)

    def emitted(plan):
        tonnes = plan.uncollected.set_index("source")["tonnes"]
        left = inst.supply.left_co2e_per_t
        by_code = dict(zip(inst.supply.codes, left, strict=True))
        total = sum(by_code[c] * t for c, t in tonnes.items())
        each = dict(zip(inst.feed.codes, inst.charge_co2e, strict=True))
        total += sum(each[r["feedstock"]] * r["tonnes"] for r in records(plan.charges))
        total += plan.compost["leftover_t"].sum() * inst.leftover_co2e
        for table, lanes, codes, site in (
            (plan.hauls, inst.inbound, inst.supply.codes, "source"),
            (plan.deliveries, inst.outbound, inst.markets.codes, "market"),
        ):
            for row in records(table):
                at = (
                    (lanes.site == codes.index(row[site]))
                    & (lanes.yard == inst.yards.codes.index(row["yard"]))
                    & (lanes.truck == inst.trucks.codes.index(row["truck"]))
                )
                t = inst.periods.index(row["period"])
                total += row["tonnes"] * lanes.co2e[at, t].item()
        return total

    assert plan.objective == pytest.approx(emitted(plan), rel=1e-6)
    assert plan.objective <= emitted(cheap) + 1e-6


@pytest.mark.parametrize("goal", ["uncollected", "co2e"])
def test_no_goal_opens_idle_yards(goal):
    """Emissions and tonnes do not mind an empty yard; the plan must."""
    for seed in range(6):
        plan = solve(replace(small_instance(seed), goal=goal), EXACT)
        used = plan.charges.groupby("yard")["tonnes"].sum()
        assert set(plan.yards["yard"]) == set(used.index)
        assert (used > 1e-3).all()


def test_an_impossible_demand_names_its_shortages():
    """Half the fish with no capital: how much each demand would have to give."""
    policy = Policy(least_shares=(FISH_RULE,), capital_limit=100.0)
    inst = small_instance(1, policy=policy)
    assert cheapest(inst) == np.inf
    plan = solve(inst, EXACT)
    assert plan.status == "shortage"
    alone = plan.shortages[plan.shortages["how"] == "alone"]
    alone = alone.set_index("what")["amount"]
    fish = inst.supply.tonnes[2:4].sum()
    assert alone["collect 50% of fish"] == pytest.approx(0.5 * fish)
    capital = alone["capital limit"]
    enough = replace(policy, capital_limit=100.0 + capital)
    assert cheapest(replace(inst, policy=enough)) < np.inf
    short = replace(policy, capital_limit=99.0 + capital)
    assert cheapest(replace(inst, policy=short)) == np.inf
    together = plan.shortages[plan.shortages["how"] == "together"]
    assert (together["amount"] > 0).all()
    assert len(together)
    assert audit(inst, plan, demands=False)["passed"].all()


def test_must_collect_shortage_says_where_and_when():
    inst = small_instance(2)
    must = np.array([False, False, True, False, False])
    usable = inst.inbound.usable & (inst.inbound.site != 2)[:, None]
    inst = replace(
        inst,
        supply=replace(inst.supply, must_collect=must),
        inbound=replace(inst.inbound, usable=usable),
    )
    plan = solve(inst, EXACT)
    assert plan.status == "shortage"
    alone = plan.shortages[plan.shortages["how"] == "alone"]
    assert set(alone["where"]) == {"s2"}
    amounts = alone.set_index("when")["amount"]
    supply = dict(zip(inst.periods, inst.supply.tonnes[2], strict=True))
    assert amounts.to_dict() == pytest.approx({k: q for k, q in supply.items() if q})


def test_nothing_supplied_is_a_plan_without_yards():
    inst = small_instance(0)
    none = replace(inst.supply, tonnes=np.zeros_like(inst.supply.tonnes))
    plan = solve(replace(inst, supply=none), EXACT)
    assert plan.yards.empty
    assert plan.objective == pytest.approx(inst.trucks.fixed_annual)


def test_no_market_still_plans():
    inst = small_instance(5)
    markets = replace(inst.markets, demand=np.zeros_like(inst.markets.demand))
    plan = solve(replace(inst, markets=markets), EXACT)
    assert plan.deliveries.empty
    made = plan.compost["made_t"].sum()
    assert plan.compost["leftover_t"].sum() == pytest.approx(made)


def test_progress_is_told():
    seen: list[Progress] = []
    solve(small_instance(3), EXACT, seen.append)
    assert seen
    assert {p.phase for p in seen} <= {"first yards", "first plan", "proof"}
    last = seen[-1]
    assert last.incumbent is not None
    assert last.gap == pytest.approx(0.0, abs=1e-6)


def test_interrupt_keeps_the_best_plan():
    """A Ctrl-C while solving ends it with a plan, not with a traceback."""
    inst = small_instance(7)
    sent = []

    def once(progress: Progress) -> None:
        if not sent and threading.current_thread() is threading.main_thread():
            sent.append(progress)
            os.kill(os.getpid(), signal.SIGINT)

    plan = solve(inst, EXACT, once)
    assert sent
    assert plan.status in {"stopped", "optimal"}
    assert audit(inst, plan)["passed"].all()
    assert plan.bound <= plan.objective


def test_too_little_time_says_so(monkeypatch):
    """Without any plan the message says what to do."""
    from logistics.model.solving import solution as room

    real = room.run_solver

    def never(programme, session, **options):
        answer = real(programme, session, **options)
        return replace(answer, status="time_limit", incumbent=None)

    monkeypatch.setattr(room, "run_solver", never)
    with pytest.raises(NoPlanError, match="allow more seconds"):
        solve(small_instance(0), EXACT)


def test_gap_is_of_the_best_value():
    assert relative_gap(200.0, 190.0) == pytest.approx(0.05)
    assert relative_gap(-200.0, -210.0) == pytest.approx(0.05)
    assert relative_gap(100.0, 101.0) == 0.0


def test_a_bound_that_rounding_parts_from_nothing_leaves_no_gap():
    assert relative_gap(0.0, -1e-8) == 0.0
    assert relative_gap(0.0, -1e-3) > 0.1
    assert relative_gap(-200.0, -202.0) == pytest.approx(0.01)


def test_the_bound_shown_is_the_one_proven():
    """Not the plan's own value, however good it is; and never above it."""
    inst = small_instance(1)
    best = solve(inst, EXACT)
    session, nothing = Session(EXACT), WarmStart()
    opened = inst.options_of(best.yard_sizes)
    flows = exact_flows(inst, opened, session, nothing)
    late = Answer("time_limit", best.objective, best.objective - 50.0, 1.0)
    plan = job._read(flows, session, late, nothing)
    assert plan.bound == pytest.approx(best.objective - 50.0)
    assert plan.gap == pytest.approx(50.0 / abs(best.objective))
    inexact = Answer("optimal", best.objective, best.objective + 50.0, 1.0)
    plan = job._read(flows, session, inexact, nothing)
    assert plan.bound <= best.objective + 1e-9


def test_a_trickle_that_must_be_collected_keeps_its_yard_open():
    """Next to a million tonnes its yard looks idle; closing it would break the rule."""
    inst = small_instance(4, goal="uncollected")
    tonnes = np.full_like(inst.supply.tonnes, 0.0)
    tonnes[0] = 1e6
    tonnes[2], tonnes[1] = 0.01, 0.02
    reach = (inst.inbound.site[:, None] > 0) & inst.inbound.usable
    must = np.array([False, False, True, False, False])
    inst = replace(
        inst,
        supply=replace(inst.supply, tonnes=tonnes, must_collect=must),
        inbound=replace(inst.inbound, usable=reach),
    )
    plan = solve(inst, EXACT)
    assert plan.status == "optimal"
    assert audit(inst, plan)["passed"].all()


def test_first_yards_that_fail_month_by_month_are_dropped(monkeypatch):
    """They are no plan to fall back on when the proof finds none in time."""
    monkeypatch.setattr(job, "exact_flows", lambda *_, **__: None)
    late = Answer("time_limit", None, float("-inf"), 1.0)
    told = []
    monkeypatch.setattr(
        job,
        "_prove",
        lambda inst, session, first: told.append(first) or (late, None, None),
    )
    with pytest.raises(NoPlanError, match="allow more seconds"):
        solve(small_instance(1), EXACT)
    assert told == [None]


@pytest.mark.parametrize("goal", ["cost", "uncollected", "co2e"])
@pytest.mark.parametrize("seed", [3, 4, 5])
def test_a_kilogram_beside_a_million_tonnes(seed, goal):
    """Money of thousands of millions, a kilogram that must be fetched dearly."""
    gases = {"charge_co2e": np.full(3, 175.0), "leftover_co2e": 0.0}
    inst = small_instance(seed, goal=goal, **gases)
    tonnes = inst.supply.tonnes.copy()
    for i, amount in enumerate((1e6, 5e5, 1e-3, 2e5, 1e-2)):
        tonnes[i] = np.where(tonnes[i] > 0, amount, 0.0)
    money = inst.inbound.money * np.where(inst.inbound.site == 2, 1e8, 1e3)[:, None]
    room, options = 1e3, inst.options
    inst = replace(
        inst,
        supply=replace(
            inst.supply,
            tonnes=tonnes,
            left_money_per_t=inst.supply.left_money_per_t * 1e3,
            must_collect=np.array([False, False, True, False, False]),
        ),
        inbound=replace(inst.inbound, money=money),
        options=replace(
            options,
            annual=options.annual * room * 1e3,
            pad_m3=options.pad_m3 * room,
            store_m3=options.store_m3 * room,
        ),
        yards=replace(inst.yards, water_t=inst.yards.water_t * room),
        markets=replace(
            inst.markets,
            demand=inst.markets.demand * room,
            price_per_t=inst.markets.price_per_t * 1e3,
        ),
        trucks=replace(inst.trucks, owned_hours=inst.trucks.owned_hours * room),
        contents=replace(inst.contents, given=np.zeros(2, dtype=bool)),
    )
    plan = solve(inst, replace(EXACT, gap=1e-4))
    assert plan.status == "optimal"
    assert plan.gap <= 1e-4
    assert audit(inst, plan)["passed"].all()
