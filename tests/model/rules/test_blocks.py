"""Single rules of the programme on cases solved by hand or printed elsewhere."""

import re
from dataclasses import replace

import numpy as np
import pytest
from support.blending import least_mass
from support.small_instances import FISH_RULE, small_instance

from logistics.model.problem.instance import Mix, MostShare, Policy
from logistics.model.rules.blocks import BLOCKS
from logistics.model.rules.programme import Programme
from logistics.model.solving.consistent_plan import solve
from logistics.model.solving.highs import Effort

EXACT = Effort(gap=0.0, seconds=60)


def least_partners(mix: Mix, *, water: bool = True) -> dict[str, float] | None:
    """Least mass that goes with a tonne of fish, husk and water free. [t]"""
    pair = {
        "moisture": [0.14, 0.76],
        "carbon": [0.363, 0.3816],
        "nitrogen": [0.003, 0.106],
        "p2o5": [0.003, 0.05],
        "k2o": [0.004, 0.01],
        "salt": [0.0, 0.02],
        "loose_t_m3": [0.12, 0.95],
        "dry_matter_loss": [0.22, 0.35],
        "structure": [True, False],
    }
    found = least_mass(mix, pair, {1: 1.0}, water=water)
    names = ("husk", "fish", "water")
    return None if found is None else dict(zip(names, found, strict=True))


def test_fish_and_husk_need_water():
    """Reference check A9 (computed there with an LP of its own)."""
    window = Mix(cn=(20, 40), moisture=(0.40, 0.65))
    assert least_partners(window, water=False) is None
    found = least_partners(window)
    assert found["husk"] == pytest.approx(1.6011, abs=1e-3)
    assert found["water"] == pytest.approx(0.0938, abs=1e-3)


def test_goal_30():
    """Reference check A8: 2.861 t husk, 2.140 t water to 55 %."""
    found = least_partners(Mix(cn=(30, 30), moisture=(0.55, 0.55)))
    assert found["husk"] == pytest.approx(2.861, abs=5e-3)
    assert found["water"] == pytest.approx(2.140, abs=5e-3)


def test_density_by_hand():
    """Mass 1 + h at most 0.3 t/m3 of h/0.12 + 1/0.95: h >= 0.684210/1.5 t."""
    found = least_partners(Mix(density_t_m3=0.3))
    assert found["husk"] == pytest.approx((1 - 0.3 / 0.95) / (0.3 / 0.12 - 1))


def test_structure_by_hand():
    """Half the volume husk: h / 0.12 = 1 / 0.95."""
    found = least_partners(Mix(structure=0.5))
    assert found["husk"] == pytest.approx(0.12 / 0.95)


def test_salt_by_hand():
    """0.02 t of salt in 1 + h + w tonnes at 0.8 %: 1.5 t of anything else."""
    found = least_partners(Mix(salt=0.008))
    assert found["husk"] + found["water"] == pytest.approx(1.5)


def test_water_dilutes_salt():
    """At 70 % moisture little of the 1.5 t may be husk: 0.76 + 1.5 - 0.86 h = 1.75."""
    found = least_partners(Mix(salt=0.008, moisture=(0.7, 0.9)))
    assert found["husk"] + found["water"] == pytest.approx(1.5)
    assert found["husk"] <= 0.51 / 0.86 + 1e-6


def test_product_floor_by_hand():
    """Nitrogen floor 4 % of dry compost holds with little husk only."""
    assert least_partners(Mix(cn=(20, 40), product=(0.04, None, None))) is None
    assert least_partners(Mix(cn=(20, 40), product=(0.015, None, None))) is not None


def test_rows_switched_off_change_nothing():
    """A rule that is off, or cannot bind, leaves the optimum alone."""
    inst = small_instance(1)
    base = solve(inst, EXACT).objective
    loose = replace(
        inst.mix, density_t_m3=50.0, structure=0.0, salt=1.0, product=(0.0, 0.0, 0.0)
    )
    assert solve(replace(inst, mix=loose), EXACT).objective == pytest.approx(base)
    any_husk = MostShare("husk", (0,), 1.0)
    policy = Policy(
        max_yards=3, capital_limit=1e9, budget_limit=1e9, most_share=any_husk
    )
    assert solve(replace(inst, policy=policy), EXACT).objective == pytest.approx(base)


def test_most_share_holds_in_every_yard_and_period_and_costs():
    """Husk is then a fifth of what comes at most, and straw takes its place."""
    inst = small_instance(2)
    rule = Policy(most_share=MostShare("husk", (0,), 0.2))
    plan, free = (solve(each, EXACT) for each in (replace(inst, policy=rule), inst))
    assert husk_shares(free).max() > 0.3
    assert husk_shares(plan).max() == pytest.approx(0.2)
    assert plan.objective > free.objective + 1


def husk_shares(plan):
    taken, husk = (
        table.groupby(["yard", "period"])["tonnes"].sum()
        for table in (plan.hauls, plan.hauls[plan.hauls["source"].isin(["s0", "s1"])])
    )
    assert taken.sum() > 0
    return (husk / taken).fillna(0.0)


@pytest.mark.parametrize(
    ("change", "limit"),
    [
        ("structure", 0.97),
        ("density_t_m3", 0.17),
        ("salt", 0.0025),
        ("product", (0.022, None, None)),
    ],
)
def test_a_tight_rule_costs_money(change, limit):
    """Each optional rule of a mix can bind, and then it costs."""
    inst = small_instance(2)
    base = solve(inst, EXACT).objective
    tight = solve(replace(inst, mix=replace(inst.mix, **{change: limit})), EXACT)
    assert tight.objective > base * (1 + 1e-6)


def test_two_rows_of_one_name_are_refused():
    p = Programme()
    x = p.variable("x")
    p.at_most("row", [(x, 1.0)], 1.0)
    with pytest.raises(ValueError, match="two rows are called 'row'"):
        p.at_most("row", [(x, 1.0)], 2.0)


@pytest.mark.parametrize("block", BLOCKS, ids=lambda b: b.__name__)
def test_every_block_states_its_inequality(block):
    assert re.search(r" [<>]?= ", block.__doc__)


def test_least_share_is_kept():
    inst = small_instance(0, policy=Policy(least_shares=(FISH_RULE,)))
    cheap = replace(inst.supply, left_money_per_t=np.zeros(5))
    plan = solve(replace(inst, supply=cheap), EXACT)
    supply = inst.supply.tonnes[2:4].sum()
    got = plan.hauls[plan.hauls["source"].isin(["s2", "s3"])]["tonnes"].sum()
    assert got == pytest.approx(0.5 * supply)
