"""A truck type leaves a lane only where another can always do its work."""

from dataclasses import fields, replace
from types import SimpleNamespace

import numpy as np
import pytest
from support.small_instances import small_instance

from logistics.model.assembly.dominance import dominated
from logistics.model.problem.instance import Policy
from logistics.model.problem.parts import Lanes, Trucks
from logistics.model.solving.consistent_plan import solve
from logistics.model.solving.highs import Effort

EXACT = Effort(gap=0.0, seconds=60, threads=1)


def settings(goal: str = "cost"):
    goals = SimpleNamespace(minimise=goal)
    return SimpleNamespace(settings=SimpleNamespace(goal=goals))


def lanes(money, usable) -> Lanes:
    """One lane, a truck type a row."""
    money = np.array(money, dtype=float)
    one = np.ones_like(money)
    none = np.zeros(len(money), dtype=int)
    return Lanes(
        site=none,
        yard=none,
        truck=np.arange(len(money)),
        load_t=one,
        money=money,
        hours=one,
        co2e=one,
        usable=np.array(usable, dtype=bool),
        km=one,
    )


def trucks(hire_hours, hire=0.0) -> Trucks:
    limit = np.array(hire_hours, dtype=float)[:, None] * np.ones(2)
    return Trucks(
        codes=tuple("abc"[: len(limit)]),
        owned_hours=np.zeros_like(limit),
        hire_hours=limit,
        hire_per_hour=np.full(len(limit), hire),
        fixed_annual=0.0,
    )


def test_equal_types_do_not_remove_each_other():
    """What a truck would cost on a closed road must not break the tie."""
    two = lanes([[5, 1], [5, 2]], [[True, False], [True, False]])
    found = dominated(two, trucks([np.inf, np.inf]), settings())
    assert found.tolist() == [False, True]


@pytest.mark.parametrize(
    ("money", "usable", "hire_hours", "hire", "gone"),
    [
        ([[5, 5], [4, 4]], [[1, 1], [1, 1]], [0, np.inf], 0.0, [True, False]),
        ([[5, 5], [4, 4]], [[1, 1], [1, 1]], [0, 1e6], 0.0, [False, False]),
        ([[5, 5], [4, 4]], [[1, 1], [1, 1]], [0, np.inf], 2.0, [False, False]),
        ([[5, 5], [4, 6]], [[1, 1], [1, 1]], [0, np.inf], 0.0, [False, False]),
        ([[5, 5], [4, 4]], [[1, 1], [1, 0]], [0, np.inf], 0.0, [False, False]),
        ([[5, 5], [4, 9]], [[1, 0], [1, 1]], [0, np.inf], 0.0, [True, False]),
    ],
    ids=["cheaper", "limited", "dear to hire", "once dearer", "once shut", "shut"],
)
def test_by_hand(money, usable, hire_hours, hire, gone):
    found = dominated(lanes(money, usable), trucks(hire_hours, hire), settings())
    assert found.tolist() == gone


def test_a_dirtier_truck_stays_no_substitute_where_emissions_count():
    two = lanes([[5, 5], [4, 4]], np.ones((2, 2)))
    two = replace(two, co2e=np.array([[1.0, 1.0], [2.0, 2.0]]))
    fleet = trucks([0, np.inf])
    assert dominated(two, fleet, settings("cost")).tolist() == [True, False]
    assert dominated(two, fleet, settings("co2e")).tolist() == [False, False]


def three_types(table: Lanes, rng) -> Lanes:
    """Each lane by three truck types that differ in cost, emissions and roads."""
    base = table.take(table.truck == 0)
    parts = []
    for v in range(3):
        usable = base.usable & (rng.random(base.usable.shape) > 0.15)
        money = np.round(base.money * rng.choice([0.8, 1.0, 1.0, 1.2]), 1)
        idle = rng.random(money.shape).round(1) * 3
        part = replace(
            base,
            truck=np.full(len(base), v),
            money=np.where(usable, money, idle),
            hours=base.hours * rng.choice([1.0, 1.3]),
            co2e=base.co2e * rng.choice([0.7, 1.0, 1.2]),
            usable=usable,
        )
        parts.append(part)
    names = [f.name for f in fields(Lanes)]
    return Lanes(*(np.concatenate([getattr(p, n) for p in parts]) for n in names))


@pytest.mark.slow
@pytest.mark.parametrize("seed", [*range(10), 33, 48])
def test_same_optimum_with_every_lane(seed):
    rng = np.random.default_rng(seed)
    inst = small_instance(seed)
    goal = str(rng.choice(["cost", "uncollected", "co2e"]))
    limit = np.array([rng.choice([0, 60, np.inf, np.inf]) for _ in range(3)])
    fleet = Trucks(
        codes=("a", "b", "c"),
        owned_hours=np.array([[rng.choice([0.0, 50, 200])] * 3 for _ in range(3)]),
        hire_hours=limit[:, None] * np.ones(3),
        hire_per_hour=rng.choice([0.0, 0.0, 2.0, 6.0], 3),
        fixed_annual=500.0,
    )
    inst = replace(
        inst,
        goal=goal,
        trucks=fleet,
        policy=Policy(budget_limit=400_000.0),
        inbound=three_types(inst.inbound, rng),
        outbound=three_types(inst.outbound, rng),
    )
    kept = [
        table.take(table.usable.any(axis=1) & ~dominated(table, fleet, settings(goal)))
        for table in (inst.inbound, inst.outbound)
    ]
    whole = solve(inst, EXACT)
    fewer = solve(replace(inst, inbound=kept[0], outbound=kept[1]), EXACT)
    assert fewer.status == whole.status == "optimal"
    assert fewer.objective == pytest.approx(whole.objective, rel=1e-6, abs=1e-5)
