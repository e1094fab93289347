"""Lanes laid out as numbers are the lanes that the programme writes one by one."""

from dataclasses import replace

import numpy as np
import pytest
from support.small_instances import every_rule, small_instance

from logistics.model.rules import blocks
from logistics.model.rules.blocks import build
from logistics.model.rules.sums import SUMS, FlowSum, Side
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.master import master_of
from logistics.model.solving.matrix import matrix_of, relax


@pytest.mark.parametrize("goal", ["cost", "uncollected", "co2e"])
@pytest.mark.parametrize(
    "inst",
    [small_instance(1), small_instance(3), every_rule(8), every_rule(21)],
    ids=["plain 1", "plain 3", "every rule 8", "every rule 21"],
)
def test_the_full_master_is_the_programme_written_in_full(inst, goal):
    same_both_ways(replace(inst, goal=goal))


def same_both_ways(inst):
    """Hold a frame with its flows against the programme written in full."""
    programme, variables = build(inst)
    full, master = matrix_of(programme), master_of(inst)
    assert sorted(programme.rows) == sorted(master.names)
    keys = {(a, t, o): x.number for (a, o, t), x in variables.hauled.items()} | {
        (a + len(inst.inbound), t, o): x.number
        for (a, o, t), x in variables.delivered.items()
    }
    flows = master.flows
    found = list(zip(flows.lane, flows.period, flows.option, strict=True))
    assert sorted(found) == sorted(keys)
    columns = [keys[key] for key in found]
    row = {name: n for n, name in enumerate(programme.rows)}
    order = [row[name] for name in master.names]
    assert flows.cost == pytest.approx(full.cost[columns])
    assert (flows.rows != full.rows[order][:, columns]).nnz == 0
    others = np.setdiff1d(np.arange(len(full.cost)), columns)
    assert (master.frame.rows != full.rows[order][:, others]).nnz == 0
    for name in ("cost", "low", "high", "integer"):
        assert (getattr(master.frame, name) == getattr(full, name)[others]).all()
    assert (master.frame.below == full.below[order]).all()
    assert (master.frame.above == full.above[order]).all()
    assert all(
        master.names[r] == f"link_{'in' if a < len(inst.inbound) else 'out'}."
        f"{_site(inst, a)}.{_option(inst, o)}"
        for a, o, r in zip(flows.lane, flows.option, flows.link, strict=True)
    )


def most_husk(p, var, inst):
    """Take in at most 40 % husk: a rule as a newcomer would write it."""
    for (o, t), intake in grouped_by_option(var).items():
        for m, terms in intake.items():
            share = 1.0 if inst.feed.materials[m] == "husk" else 0.0
            row = [(x, c * (share - 0.4)) for x, c in terms]
            p.at_most(f"trial.{o}.{m}.{t}", row)


def grouped_by_option(var):
    found = {}
    for (o, m, t), terms in var.sums_of("intake").items():
        found.setdefault((o, t), {})[m] = terms
    return found


def fewest_hours(p, var, inst):
    """Weigh the flows of both directions, with a sum of its own."""
    for (v, t), terms in var.sums_of("trial_km").items():
        p.at_most(f"trial.{v}.{t}", [(x, 2 * c) for x, c in terms], 5000.0)


def each_flow(p, var, inst):
    """Look at the flows one by one, which a frame does not have."""
    for (a, o, t), x in var.hauled.items():
        p.at_most(f"trial.{a}.{o}.{t}", [(x, 1.0)], 100.0)


def kilometres(flows):
    return flows.lanes.km[flows.lane, flows.period]


@pytest.mark.parametrize("rule", [most_husk, fewest_hours])
def test_a_new_rule_on_flows_is_written_once(monkeypatch, rule):
    """Nothing but the list of rules, and a sum if it weighs flows its own way."""
    side = Side(lambda f: (f.lanes.truck[f.lane], f.period), kilometres)
    monkeypatch.setitem(SUMS, "trial_km", FlowSum(side, side))
    monkeypatch.setattr(blocks, "BLOCKS", [*blocks.BLOCKS, rule])
    inst = every_rule(8)
    programme, _ = build(inst)
    assert any(
        row.columns and name.startswith("trial.")
        for name, row in programme.rows.items()
    )
    same_both_ways(inst)


def test_a_rule_on_single_flows_is_refused_and_not_lost(monkeypatch):
    monkeypatch.setattr(blocks, "BLOCKS", [*blocks.BLOCKS, each_flow])
    inst = small_instance(1)
    build(inst)
    with pytest.raises(LookupError, match=r"Variables\.sum_of"):
        master_of(inst)


def test_a_frame_is_not_solved_without_its_flows():
    frame, _ = build(small_instance(1), lanes=False)
    with pytest.raises(ValueError, match="without its flows"):
        frame.in_pulp()


def _site(inst, lane):
    if lane < len(inst.inbound):
        return inst.supply.codes[inst.inbound.site[lane]]
    return inst.markets.codes[inst.outbound.site[lane - len(inst.inbound)]]


def _option(inst, o):
    return f"{inst.yards.codes[inst.options.yard[o]]}.{inst.options.size[o]}"


@pytest.mark.parametrize("seed", [2, 5, 11])
def test_restricted_to_all_it_has_the_same_value(seed):
    inst = small_instance(seed)
    session = Session(Effort(gap=0.0, seconds=60, threads=1))
    master, full = master_of(inst), matrix_of(build(inst)[0])
    restricted = master.restrict(np.ones(len(master.flows), bool), master.root_branch())
    value = relax(restricted.matrix, session).value
    assert value == pytest.approx(relax(full, session).value, rel=1e-6)
