"""Lanes laid out as numbers are the lanes that the programme writes one by one."""

from dataclasses import replace

import numpy as np
import pytest
from support.small_instances import FISH_RULE, small_instance

from logistics.model.problem.instance import Policy
from logistics.model.rules.blocks import build
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.master import wide_of
from logistics.model.solving.matrix import matrix_of, relax

LIMITS = Policy(
    least_shares=(FISH_RULE,),
    max_yards=2,
    capital_limit=80000.0,
    budget_limit=1e6,
    co2e_limit=1e7,
)


@pytest.mark.parametrize("goal", ["cost", "uncollected", "co2e"])
@pytest.mark.parametrize(
    ("seed", "policy"), [(1, Policy()), (3, Policy()), (8, LIMITS), (21, LIMITS)]
)
def test_wide_is_the_programme_written_in_full(seed, policy, goal):
    inst = replace(small_instance(seed, policy=policy), goal=goal)
    programme, variables = build(inst)
    full, wide = matrix_of(programme), wide_of(inst)
    assert sorted(programme.rows) == sorted(wide.names)
    keys = {(a, t, o): x.number for (a, o, t), x in variables.hauled.items()} | {
        (a + len(inst.inbound), t, o): x.number
        for (a, o, t), x in variables.delivered.items()
    }
    flows = wide.flows
    found = list(zip(flows.lane, flows.period, flows.option, strict=True))
    assert sorted(found) == sorted(keys)
    columns = [keys[key] for key in found]
    row = {name: n for n, name in enumerate(programme.rows)}
    order = [row[name] for name in wide.names]
    assert flows.cost == pytest.approx(full.cost[columns])
    assert (flows.rows != full.rows[order][:, columns]).nnz == 0
    others = np.setdiff1d(np.arange(len(full.cost)), columns)
    assert (wide.frame.rows != full.rows[order][:, others]).nnz == 0
    for name in ("cost", "low", "high", "whole"):
        assert (getattr(wide.frame, name) == getattr(full, name)[others]).all()
    assert (wide.frame.below == full.below[order]).all()
    assert (wide.frame.above == full.above[order]).all()
    assert all(
        wide.names[r] == f"link_{'in' if a < len(inst.inbound) else 'out'}."
        f"{_site(inst, a)}.{_option(inst, o)}"
        for a, o, r in zip(flows.lane, flows.option, flows.link, strict=True)
    )


def _site(inst, lane):
    if lane < len(inst.inbound):
        return inst.supply.codes[inst.inbound.site[lane]]
    return inst.markets.codes[inst.outbound.site[lane - len(inst.inbound)]]


def _option(inst, o):
    return f"{inst.yards.codes[inst.options.yard[o]]}.{inst.options.size[o]}"


@pytest.mark.parametrize("seed", [2, 5, 11])
def test_all_of_it_narrowed_to_all_has_the_same_value(seed):
    inst = small_instance(seed)
    session = Session(Effort(gap=0.0, seconds=60, threads=1))
    wide, full = wide_of(inst), matrix_of(build(inst)[0])
    part = wide.narrow(np.ones(len(wide.flows), bool), wide.anywhere())
    value = relax(part.matrix, session).value
    assert value == pytest.approx(relax(full, session).value, rel=1e-6)
