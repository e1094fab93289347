"""The restricted master that a tree begins with after an earlier plan."""

from dataclasses import replace

import numpy as np
import pytest
from support.enumeration import cheapest
from support.small_instances import small_instance

from logistics.model.problem.warm_start import WarmStart
from logistics.model.rules.variables import option_names
from logistics.model.solving import solution as job
from logistics.model.solving.column_choice import LEAST_COLUMNS
from logistics.model.solving.fixed_yards import exact_flows
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.lagrangian import lagrangian_bound
from logistics.model.solving.master import master_of
from logistics.model.solving.warm_columns import NO_PROOF, Incumbent, warm_master

EXACT = Effort(gap=1e-6, seconds=60, threads=1)


@pytest.fixture
def large(monkeypatch):
    """Send small instances the long way."""
    monkeypatch.setattr(job, "is_small", lambda instance: False)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10, 16))
def test_old_yards_their_flows_and_fractional_options_are_in(large, seed):
    inst = small_instance(seed)
    base = job.solve_as_held(inst, EXACT)
    assert base.warm_start.options <= set(option_names(inst))
    tonnes = inst.supply.tonnes * 1.2
    after = replace(inst, supply=replace(inst.supply, tonnes=tonnes))
    master, opened = master_of(after), after.options_of(base.yard_sizes)
    flows = exact_flows(after, opened, Session(EXACT), base.warm_start, master)
    incumbent = Incumbent(
        opened, flows.value, warm_start=base.warm_start, used=flows.used
    )
    first = warm_master(after, master, incumbent, Session(EXACT))
    assert first.options[opened].all()
    names = np.array(option_names(after))
    assert base.warm_start.options <= set(names[first.options])
    assert first.kept[flows.used].all()
    inside = opened[master.flows.option]
    for key in np.unique(master.flows.key[inside]):
        there = inside & (master.flows.key == key)
        assert first.kept[there].sum() >= min(LEAST_COLUMNS, there.sum())
    assert first.proven.bound <= cheapest(after) + 1e-6 * abs(flows.value)


@pytest.mark.parametrize("seed", [10, 13])
def test_duals_wrong_within_blocks_are_found_anew(large, seed):
    """As where compost holds something else now: those of coupling rows say enough."""
    inst = small_instance(seed)
    base = job.solve_as_held(inst, EXACT)
    master, opened = master_of(inst), inst.options_of(base.yard_sizes)
    duals = master.duals_by_name(base.warm_start.duals)
    wrong = np.where(master.block >= 0, 1e4 + duals, duals)
    known = dict(zip(master.names, wrong.tolist(), strict=True))
    assert lagrangian_bound(master, wrong, master.root_branch()).bound < -1e6
    incumbent = Incumbent(
        opened, base.objective, warm_start=replace(base.warm_start, duals=known)
    )
    first = warm_master(inst, master, incumbent, Session(EXACT))
    slack = 1e-6 * abs(base.objective)
    assert base.objective - first.proven.bound < NO_PROOF * abs(base.objective)
    assert first.proven.bound <= cheapest(inst) + slack


def test_old_yards_that_can_no_longer_be_run_do_no_harm(large):
    """A market that must be served by others: the search begins afresh."""
    inst = small_instance(3)
    base = job.solve_as_held(inst, EXACT)
    old = inst.options.yard[inst.options_of(base.yard_sizes)]
    away = np.isin(inst.inbound.yard, old)
    must = np.zeros(len(inst.supply.codes), dtype=bool)
    must[int(np.argmax(inst.supply.tonnes.sum(axis=1)))] = True
    after = replace(
        inst,
        supply=replace(inst.supply, must_collect=must),
        inbound=replace(inst.inbound, usable=inst.inbound.usable & ~away[:, None]),
    )
    start = after.options_of(base.yard_sizes)
    assert exact_flows(after, start, Session(EXACT), base.warm_start) is None
    cold = job.solve_as_held(after, EXACT)
    again = job.solve_as_held(after, EXACT, start=start, warm_start=base.warm_start)
    assert again.status == cold.status == "optimal"
    assert again.objective == pytest.approx(cold.objective, rel=1e-4)
    assert again.bound <= cold.objective + 1e-6 * abs(cold.objective)


@pytest.mark.slow
def test_a_warm_start_of_another_district_does_no_harm(large):
    """Nothing in it is known: the search begins with the old yards alone."""
    inst = small_instance(12)
    cold = job.solve_as_held(inst, EXACT)
    strange = WarmStart(duals={"no such row": 5.0}, options=frozenset({"no such yard"}))
    start = np.arange(len(inst.options.yard)) % 2 == 0
    again = job.solve_as_held(inst, EXACT, start=start, warm_start=strange)
    assert again.objective == pytest.approx(cold.objective, rel=1e-4)
    assert again.bound <= cold.objective + 1e-6 * abs(cold.objective)
