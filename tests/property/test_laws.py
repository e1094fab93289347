"""Laws that every plan must obey, looked for in random small districts."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.small_instances import small_instance

from logistics.model.solving.consistent_plan import solve
from logistics.model.solving.highs import Effort
from logistics.results.plan_amounts import amounts
from logistics.results.plan_audit import audit, net_cost

EXACT = Effort(gap=0.0, seconds=60, threads=1)
seeds = st.integers(0, 10_000)
few = settings(
    max_examples=8,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)


def optimum(inst) -> float:
    plan = solve(inst, EXACT)
    assert plan.status == "optimal"
    return plan.objective


@pytest.mark.slow
@few
@given(seeds)
def test_a_plan_passes_its_audit_and_its_recount(seed):
    inst = small_instance(seed)
    plan = solve(inst, EXACT)
    assert audit(inst, plan)["passed"].all()
    assert net_cost(inst, amounts(inst, plan)) == pytest.approx(
        plan.objective, rel=1e-6, abs=1e-4
    )


@pytest.mark.slow
@few
@given(seeds)
def test_mass_is_kept(seed):
    """What arises is collected, left, or lost while waiting at the source."""
    inst = small_instance(seed)
    plan = solve(inst, EXACT)
    arises = inst.supply.tonnes.sum()
    out = plan.hauls["tonnes"].sum() + plan.uncollected["tonnes"].sum()
    waiting = amounts(inst, plan).held
    keep = inst.feed.keep[inst.supply.feedstock]
    lost = ((1 - keep) * np.roll(waiting, 1, axis=1)).sum()
    assert out + lost == pytest.approx(arises, rel=1e-9)


@pytest.mark.slow
@few
@given(seeds, st.integers(0, 2))
def test_another_candidate_never_raises_the_cost(seed, yard):
    inst = small_instance(seed)
    decision = tuple("closed" if j == yard else "free" for j in range(3))
    without = replace(inst, yards=replace(inst.yards, decision=decision))
    most = optimum(without)
    assert optimum(inst) <= most + 1e-6 * abs(most)


@pytest.mark.slow
@few
@given(seeds, st.permutations(range(5)))
def test_renaming_and_reordering_sources_change_nothing(seed, order):
    inst = small_instance(seed)
    order = np.array(order)
    supply = replace(
        inst.supply,
        codes=tuple(f"other_{i}" for i in range(5)),
        **{
            name: getattr(inst.supply, name)[order]
            for name in (
                "feedstock",
                "tonnes",
                "money_per_t",
                "left_money_per_t",
                "left_co2e_per_t",
                "must_collect",
                "hold_t",
            )
        },
    )
    back = np.argsort(order)
    lanes = replace(inst.inbound, site=back[inst.inbound.site])
    other = replace(inst, supply=supply, inbound=lanes)
    assert optimum(other) == pytest.approx(optimum(inst), rel=1e-6, abs=1e-4)


@pytest.mark.slow
@few
@given(seeds, st.floats(0.01, 1000))
def test_scaling_money_scales_the_cost(seed, rate):
    """Another currency is another number, not another plan."""
    inst = small_instance(seed)
    other = replace(
        inst,
        supply=replace(
            inst.supply,
            money_per_t=inst.supply.money_per_t * rate,
            left_money_per_t=inst.supply.left_money_per_t * rate,
        ),
        yards=replace(inst.yards, water_per_t=inst.yards.water_per_t * rate),
        options=replace(
            inst.options,
            annual=inst.options.annual * rate,
            handling_per_t=inst.options.handling_per_t * rate,
        ),
        markets=replace(inst.markets, price_per_t=inst.markets.price_per_t * rate),
        trucks=replace(
            inst.trucks,
            hire_per_hour=inst.trucks.hire_per_hour * rate,
            fixed_annual=inst.trucks.fixed_annual * rate,
        ),
        inbound=replace(inst.inbound, money=inst.inbound.money * rate),
        outbound=replace(inst.outbound, money=inst.outbound.money * rate),
        leftover_per_t=inst.leftover_per_t * rate,
    )
    assert optimum(other) == pytest.approx(rate * optimum(inst), rel=1e-5, abs=1e-3)


@pytest.mark.slow
@few
@given(seeds)
def test_a_wider_window_never_costs_more(seed):
    inst = small_instance(seed)
    wider = replace(inst, mix=replace(inst.mix, cn=(20.0, 45.0), moisture=(0.4, 0.65)))
    most = optimum(inst)
    assert optimum(wider) <= most + 1e-6 * abs(most) + 1e-6


@pytest.mark.slow
@few
@given(seeds)
def test_marginal_worth_foretells_a_small_change(seed):
    """A little more supply changes the cost by no less than its worth says."""
    inst = small_instance(seed)
    plan = solve(inst, EXACT)
    worth = plan.worth[plan.worth["kind"] == "supply"]
    if worth.empty:
        return
    row = worth.loc[worth["value"].idxmax()]
    i = inst.supply.codes.index(row["where"])
    t = inst.periods.index(row["when"])
    more = inst.supply.tonnes.copy()
    step = 1e-3
    more[i, t] += step
    chosen = [
        (inst.yards.codes[j], k) in set(map(tuple, plan.yards.to_numpy()))
        for j, k in zip(inst.options.yard, inst.options.size, strict=True)
    ]
    fixed = replace(inst, supply=replace(inst.supply, tonnes=more))
    fixed = fixed.with_yards(np.array(chosen))
    change = solve(fixed, EXACT).objective - plan.objective
    assert change >= -row["value"] * step - 1e-5
