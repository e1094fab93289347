"""Shadow prices of one unit more: the instance is changed and solved again."""

from dataclasses import replace

import numpy as np
import pytest
from support.small_instances import FISH_RULE, small_instance

from logistics.model.problem.instance import Policy
from logistics.model.rules.blocks import LINKS, build
from logistics.model.solving.consistent_plan import operate
from logistics.model.solving.highs import Effort, Session, run_solver

EXACT = Effort(gap=0.0, seconds=60, threads=1)
STEP = 1e-3
ENDS = {
    "cn_low": (0, -1),
    "cn_high": (1, 1),
    "moist_low": (0, -1),
    "moist_high": (1, 1),
}


def value(inst) -> float:
    """Optimum with the yards as they are."""
    programme, _ = build(inst, linked=False)
    found = run_solver(programme, Session(EXACT), mip=False)
    assert found.incumbent is not None
    return found.incumbent


def given_yards(seed: int):
    """Yards that stand, each district short of something else."""
    inst = small_instance(seed)
    large = np.array([False, True] * 3)
    large[1] = seed % 2 == 0
    inst = inst.with_yards(large)
    if seed % 4 == 0:
        small = replace(inst.options, pad_m3=inst.options.pad_m3 * 0.1)
        inst = replace(inst, options=small)
    if seed % 4 == 1:
        dry = replace(inst.yards, water_t=inst.yards.water_t * 0.1)
        inst = replace(inst, yards=dry)
    if seed % 4 == 2:
        free = replace(inst.supply, left_money_per_t=np.zeros(5))
        rule = replace(FISH_RULE, share=0.3)
        inst = replace(inst, supply=free, policy=Policy(least_shares=(rule,)))
    if seed % 4 == 3:
        goal = "uncollected" if seed % 8 == 3 else "co2e"
        policy = Policy(budget_limit=1.02 * value(inst))
        inst = replace(inst, goal=goal, policy=policy)
    return inst


def cell(inst, part: str, field: str, code: str, when: str, step: float):
    """One number of one site and period more."""
    record = getattr(inst, part)
    table = getattr(record, field).copy()
    table[record.codes.index(code), inst.periods.index(when)] += step
    return replace(inst, **{part: replace(record, **{field: table})})


CELLS = {
    "supply": ("supply", "tonnes"),
    "demand": ("markets", "demand"),
    "water": ("yards", "water_t"),
    "trucks": ("trucks", "owned_hours"),
}
ROOMS = {"pad": "pad_m3", "store": "store_m3", "compost_store": "compost_store_m3"}


def one_more(inst, kind: str, where: str, when: str, step: float):
    """Change the instance by a step of what limits it."""
    if kind in CELLS:
        return cell(inst, *CELLS[kind], where, when, step)
    if kind in ROOMS:
        at = inst.options.yard == inst.yards.codes.index(where)
        more = getattr(inst.options, ROOMS[kind]) + step * at
        return replace(inst, options=replace(inst.options, **{ROOMS[kind]: more}))
    if kind in ENDS:
        end, sign = ENDS[kind]
        name = "cn" if kind.startswith("cn") else "moisture"
        window = list(getattr(inst.mix, name))
        window[end] += sign * step * (1.0 if name == "cn" else 0.01)
        return replace(inst, mix=replace(inst.mix, **{name: tuple(window)}))
    limit = inst.policy.budget_limit
    if kind == "budget" and limit is not None:
        return replace(inst, policy=replace(inst.policy, budget_limit=limit + step))
    assert kind == "least_share"
    (rule,) = inst.policy.least_shares
    more = step / inst.supply.tonnes[list(rule.sources)].sum()
    rules = (replace(rule, share=rule.share + more),)
    return replace(inst, policy=replace(inst.policy, least_shares=rules))


def claims(inst, worth, rng):
    """Rooms and windows count for all their periods; cells are drawn, zeros too."""
    said = worth.set_index(["kind", "where", "when"])["value"].to_dict()
    for kind, (part, field) in CELLS.items():
        record = getattr(inst, part)
        for _ in range(4):
            s = int(rng.integers(len(record.codes)))
            t = int(rng.integers(len(inst.periods)))
            if getattr(record, field)[s, t] > STEP:
                key = (kind, record.codes[s], inst.periods[t])
                yield *key, said.get(key, 0.0)
    for kind in ROOMS:
        for j in inst.options.yard.tolist():
            code = inst.yards.codes[j]
            whole = sum(v for (k, w, _), v in said.items() if (k, w) == (kind, code))
            yield kind, code, "", whole
    for kind in ENDS:
        yield kind, "", "", sum(v for (k, _, _), v in said.items() if k == kind)
    for (kind, where, when), found in said.items():
        if kind in ("least_share", "budget"):
            yield kind, where, when, found


@pytest.mark.parametrize("seed", range(16))
def test_worth_is_what_a_changed_instance_gains(seed):
    """Between what one unit more gains and what one unit less loses."""
    inst, rng = given_yards(seed), np.random.default_rng(seed)
    plan = operate(inst, np.ones(len(inst.options.yard), dtype=bool), EXACT)
    assert plan.status == "optimal"
    base = value(inst)
    for kind, where, when, said in claims(inst, plan.worth, rng):
        gain = base - value(one_more(inst, kind, where, when, STEP))
        loss = value(one_more(inst, kind, where, when, -STEP)) - base
        low, high = sorted((gain / STEP, loss / STEP))
        near = 0.02 * max(1.0, abs(said))
        assert low - near <= said <= high + near, (kind, where, when)


def test_every_kind_limits_something_somewhere():
    """The test above would be empty if its districts had no such limits."""
    kinds = set()
    for seed in range(16):
        inst = given_yards(seed)
        plan = operate(inst, np.ones(len(inst.options.yard), dtype=bool), EXACT)
        kinds |= set(plan.worth["kind"])
    assert {*CELLS, "pad", "cn_low", "moist_low", "budget", "least_share"} <= kinds
    assert "capital" not in kinds


@pytest.mark.parametrize("seed", range(40, 60))
def test_link_rows_cut_nothing_off(seed):
    """With yards given, pads small or large, stores that lose much, one period."""
    rng = np.random.default_rng(seed)
    inst = small_instance(seed)
    pads, stores = rng.choice([0.01, 0.1, 1.0, 5.0], 2)
    inst = replace(
        inst,
        options=replace(
            inst.options,
            pad_m3=inst.options.pad_m3 * pads,
            store_m3=inst.options.store_m3 * stores * 10,
        ),
        feed=replace(
            inst.feed,
            keep=(1 - rng.uniform(0, 0.9, 3))[:, None] ** np.array([4.0, 4.2, 4.0]),
            store_periods=rng.integers(0, 4, (3, 3)),
        ),
        supply=replace(
            inst.supply,
            left_money_per_t=inst.supply.left_money_per_t + 100 * (seed % 2),
        ),
    )
    if seed % 4 == 0:
        inst = replace(inst, mix=replace(inst.mix, cn=None, moisture=None))
    inst = inst.with_yards(np.array([False, True] * 3))
    linked, _ = build(inst)
    found = run_solver(linked, Session(EXACT), mip=False)
    assert any(name.startswith("link_") for name in linked.rows)
    assert found.incumbent == pytest.approx(value(inst), rel=1e-7, abs=1e-6)


def test_programme_without_links_has_every_other_row():
    inst = small_instance(0)
    with_links, without = build(inst)[0].rows, build(inst, linked=False)[0].rows
    gone = set(with_links) - set(without)
    assert gone
    assert all(name.startswith("link_") for name in gone)
    assert {block.__name__ for block in LINKS} == {"link_intake", "link_dispatch"}
