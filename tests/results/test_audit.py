"""The audit must see every way in which a plan can be wrong."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from support.small_instances import FISH_RULE, small_instance

from logistics.model.problem.instance import Policy
from logistics.model.solving.highs import Effort
from logistics.model.solving.solution import solve
from logistics.results.plan_amounts import AuditError
from logistics.results.plan_audit import audit, require

INSTANCE = replace(
    small_instance(5),
    policy=Policy(
        least_shares=(FISH_RULE,),
        max_yards=3,
        capital_limit=1e6,
        budget_limit=1e6,
    ),
)
PLAN = solve(INSTANCE, Effort(gap=0.0, seconds=60))


def scaled(table: str, column: str = "tonnes", factor: float = 1.01):
    frame = getattr(PLAN, table)
    assert len(frame), table
    return replace(PLAN, **{table: frame.assign(**{column: frame[column] * factor})})


def failed(inst, plan) -> set[str]:
    table = audit(inst, plan)
    return set(table.loc[~table["passed"], "check"])


def test_the_plan_passes():
    assert failed(INSTANCE, PLAN) == set()


@pytest.mark.parametrize(
    ("plan", "check"),
    [
        (scaled("hauls"), "mass at sources"),
        (scaled("uncollected"), "mass at sources"),
        (scaled("held"), "mass at sources"),
        (scaled("charges"), "mass in yards"),
        (scaled("stock"), "mass in yards"),
        (scaled("deliveries"), "mass of compost"),
        (scaled("compost", "leftover_t"), "mass of compost"),
        (scaled("hired", "hours", 0.5), "truck hours"),
        (scaled("hauls", factor=-1.0), "inbound not negative"),
        (scaled("charges", factor=-1.0), "charge not negative"),
        (scaled("charges", factor=50.0), "pad"),
        (scaled("stock", factor=1e4), "store"),
        (scaled("water", factor=1e4), "water"),
        (scaled("water", factor=1e3), "moisture not above"),
        (scaled("water", factor=0.5), "moisture not below"),
        (scaled("deliveries", factor=5.0), "demand"),
        (scaled("compost", "stock_t", -1.0), "compost not negative"),
        (scaled("compost", "leftover_t", -1.0), "leftover not negative"),
        (scaled("hired", "hours", -1.0), "hired not negative"),
        (scaled("hired", "hours", 1.5), "goal as counted"),
        (scaled("water"), "goal as counted"),
        (replace(PLAN, objective=PLAN.objective * 1.001), "goal as counted"),
    ],
)
def test_a_tampered_plan_fails(plan, check):
    assert check in failed(INSTANCE, plan)


@pytest.mark.parametrize("goal", ["uncollected", "co2e"])
def test_other_goals_are_counted_too(goal):
    inst = replace(small_instance(5), goal=goal)
    plan = solve(inst, Effort(gap=0.0, seconds=60))
    assert failed(inst, plan) == set()
    wrong = replace(plan, objective=plan.objective * 1.01 + 1.0)
    assert failed(inst, wrong) == {"goal as counted"}


def stricter(part: str, **factors: float):
    """The same district with less of something."""
    record = getattr(INSTANCE, part)
    changes = {name: getattr(record, name) * by for name, by in factors.items()}
    return replace(INSTANCE, **{part: replace(record, **changes)})


def mixed(**limits: object):
    return replace(INSTANCE, mix=replace(INSTANCE.mix, **limits))


@pytest.mark.parametrize(
    ("inst", "checks"),
    [
        (stricter("trucks", hire_hours=1e-9), {"hire"}),
        (stricter("trucks", owned_hours=0.9), {"truck hours"}),
        (stricter("markets", demand=0.6), {"demand", "nutrients per hectare"}),
        (stricter("supply", hold_t=0.0), {"room at sources"}),
        (stricter("options", compost_store_m3=0.0), {"compost store"}),
        (stricter("options", store_m3=0.01), {"store"}),
        (stricter("options", pad_m3=0.5), {"pad"}),
        (stricter("yards", water_t=0.01), {"water"}),
        (mixed(structure=0.999), {"structure"}),
        (mixed(density_t_m3=0.05), {"density"}),
        (mixed(salt=1e-4), {"salt"}),
        (mixed(product=(0.5, None, None)), {"nitrogen of compost"}),
        (mixed(product=(None, 0.5, None)), {"phosphate of compost"}),
        (mixed(product=(None, None, 0.5)), {"potash of compost"}),
        (mixed(cn=(39.0, 40.0)), {"C:N not below"}),
        (mixed(cn=(1.0, 15.0)), {"C:N not above"}),
        (replace(INSTANCE, turning_water=9.0), {"water", "goal as counted"}),
    ],
)
def test_each_rule_is_checked_for_itself(inst, checks):
    """Whatever the district has less of is what the audit finds, and only that."""
    found = failed(inst, PLAN)
    assert checks <= found
    assert len(checks) > 1 or found - {"goal as counted"} == checks


def test_the_nutrient_limit_is_checked():
    delivered = PLAN.deliveries.groupby("market")["tonnes"].sum()
    limit = np.array([float(delivered.get(n, 0.0)) for n in INSTANCE.markets.codes])
    enough = replace(INSTANCE.markets, year_limit_t=limit)
    assert failed(replace(INSTANCE, markets=enough), PLAN) == set()
    less = replace(INSTANCE.markets, year_limit_t=limit * 0.99)
    assert failed(replace(INSTANCE, markets=less), PLAN) == {"nutrients per hectare"}


def test_rotting_in_store_is_checked():
    """A thousand times the charge waits and rots: more is lost than used."""
    stock = PLAN.charges.assign(tonnes=PLAN.charges["tonnes"] * 1e3)
    plan = replace(PLAN, stock=stock)
    assert "lost in store at most what is used" in failed(INSTANCE, plan)
    rotten = scaled("held", factor=1e5)
    assert "lost at sources at most what is taken" in failed(INSTANCE, rotten)


def test_a_shifted_mix_fails():
    """Fish for husk at equal mass breaks the ratio."""
    charges = PLAN.charges
    swapped = charges["feedstock"].replace({"husk": "fish", "fish": "husk"})
    plan = replace(PLAN, charges=charges.assign(feedstock=swapped))
    assert {"C:N not above", "C:N not below"} & failed(INSTANCE, plan)


def test_flow_on_a_closed_lane_fails():
    closed = np.zeros_like(INSTANCE.inbound.usable)
    inst = replace(INSTANCE, inbound=replace(INSTANCE.inbound, usable=closed))
    assert "lanes in" in failed(inst, PLAN)


def test_yards_taken_away_fail():
    plan = replace(PLAN, yards=PLAN.yards.iloc[:0])
    assert {"pad", "water"} <= failed(INSTANCE, plan)


@pytest.mark.parametrize(
    ("policy", "check"),
    [
        (Policy(max_yards=0), "most yards"),
        (Policy(capital_limit=1.0), "capital"),
        (Policy(budget_limit=-1e6), "budget"),
        (Policy(least_shares=(replace(FISH_RULE, share=1.5),)), "least share fish"),
    ],
)
def test_demands_of_the_board_are_checked(policy, check):
    inst = replace(INSTANCE, policy=policy)
    assert check in failed(inst, PLAN)
    assert check not in set(audit(inst, PLAN, demands=False)["check"])


def test_must_collect_and_forced_yards():
    supply = replace(INSTANCE.supply, must_collect=np.ones(5, dtype=bool))
    assert "must collect" in failed(replace(INSTANCE, supply=supply), PLAN)
    shut = replace(INSTANCE.yards, decision=("closed",) * 3)
    assert "yards forced shut" in failed(replace(INSTANCE, yards=shut), PLAN)
    plan = replace(PLAN, yards=PLAN.yards.iloc[1:])
    forced = replace(INSTANCE.yards, decision=("open",) * 3)
    assert "yards forced open" in failed(replace(INSTANCE, yards=forced), plan)


def test_stale_stock_fails():
    """Straw keeps one period: stock without arrivals in that period is too old."""
    inst = replace(
        INSTANCE,
        feed=replace(INSTANCE.feed, store_periods=np.zeros((3, 3), dtype=np.int64)),
    )
    found = failed(inst, PLAN)
    assert {"stock no older than it keeps", "held no longer than it keeps"} & found


def test_an_unknown_code_is_an_error():
    plan = replace(PLAN, hauls=PLAN.hauls.assign(source="nowhere"))
    with pytest.raises(AuditError, match="unknown source"):
        audit(INSTANCE, plan)


def test_a_yard_in_two_sizes_is_an_error():
    twice = PLAN.yards.assign(size="large")
    plan = replace(PLAN, yards=pd.concat([PLAN.yards, twice]))
    with pytest.raises(AuditError, match="two sizes"):
        audit(INSTANCE, plan)


def test_a_failed_audit_stops_the_plan():
    with pytest.raises(AuditError, match="fails its audit and is not shown"):
        require(audit(INSTANCE, scaled("hauls")))


def test_missing_numbers_fail():
    assert failed(INSTANCE, scaled("hauls", factor=float("nan")))
