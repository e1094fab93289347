"""Exact flows of given yards: few lanes carried, the optimum that of all."""

from dataclasses import replace

import numpy as np
import pytest
from support.small_instances import paired, small_instance

from logistics.model.problem.warm_start import WarmStart
from logistics.model.rules.blocks import build
from logistics.model.solving import column_choice
from logistics.model.solving import fixed_yards as exact
from logistics.model.solving import solution as job
from logistics.model.solving.fixed_yards import exact_flows, flows_without
from logistics.model.solving.highs import Effort, Session, run_solver
from logistics.model.solving.master import master_of
from logistics.model.solving.simplex import vertex
from logistics.results.plan_audit import audit

EXACT = Effort(gap=1e-6, seconds=60, threads=1)


def halved(inst):
    """One size of every yard, to be open."""
    return np.arange(len(inst.options.yard)) % 2 == 1


def flows_of(inst, monkeypatch, few, warm_start=None, master=None):
    """Solve with all flows, or with one a source first; and in how many columns."""
    widths = []

    def watched(matrix, *others):
        widths.append(len(matrix.cost))
        return vertex(matrix, *others)

    with monkeypatch.context() as patch:
        patch.setattr(exact, "FEW", 0 if few else 10**9)
        patch.setattr(column_choice, "FLOWS", 1)
        patch.setattr(exact, "EACH", 0)
        patch.setattr(exact, "vertex", watched)
        session, warm_start = Session(EXACT, None), warm_start or WarmStart()
        found = exact_flows(inst, halved(inst), session, warm_start, master)
    return found, widths[-1]


def written_in_full(inst):
    """Value of the programme of these yards as PuLP hands it to the solver."""
    programme, _ = build(inst.with_yards(halved(inst)), linked=False)
    return run_solver(programme, Session(EXACT, None), mip=False).incumbent


@pytest.mark.parametrize("seed", range(40, 52))
def test_few_flows_give_the_optimum_of_all(monkeypatch, seed):
    inst = small_instance(seed) if seed % 3 else paired(seed)
    rng = np.random.default_rng(seed)
    every, most = flows_of(inst, monkeypatch, few=False)
    wrong = {name: 50 * rng.standard_normal() for name in master_of(inst).names}
    some, width = flows_of(
        inst, monkeypatch, few=True, warm_start=WarmStart(duals=wrong)
    )
    assert some.value == pytest.approx(every.value, rel=1e-9, abs=1e-6)
    assert every.value == pytest.approx(written_in_full(inst), rel=1e-7)
    assert width <= most


@pytest.mark.slow
def test_few_flows_are_fewer(monkeypatch):
    """In most districts most lanes never enter the programme."""
    less = 0
    for seed in range(40, 60):
        inst = small_instance(seed)
        widths = [flows_of(inst, monkeypatch, few)[1] for few in (True, False)]
        less += widths[0] < widths[1]
    assert less >= 15


@pytest.mark.parametrize("goal", ["cost", "uncollected", "co2e"])
@pytest.mark.parametrize("seed", [40, 41, 42])
def test_the_whole_district_laid_out_gives_the_same(monkeypatch, seed, goal):
    """From its programme, or from one of these yards alone; and the same flows."""
    inst = replace(small_instance(seed), goal=goal)
    master = master_of(inst)
    alone, _ = flows_of(inst, monkeypatch, few=True)
    laid, _ = flows_of(inst, monkeypatch, few=True, master=master)
    monkeypatch.setattr(exact, "LAID_OUT", 0)
    anew, _ = flows_of(inst, monkeypatch, few=True, master=master)
    assert laid.value == pytest.approx(alone.value, rel=1e-7, abs=1e-6)
    for found in (laid, anew):
        assert len(found.used) == len(master.flows)
        assert halved(inst)[master.flows.option[found.used]].all()
    flows = [(f.found.hauled, f.found.delivered) for f in (anew, alone)]
    carried = [sum(len(cells.value) for cells in each) for each in flows]
    assert carried == [anew.used.sum(), alone.used.sum()]


@pytest.mark.parametrize("seed", [40, 41, 45])
def test_lanes_left_out_afterwards_give_what_they_give_from_the_first(seed):
    """From the basis of all lanes, or from nothing; and none of them is used."""
    inst = small_instance(seed) if seed < 45 else paired(seed)
    opened, session, nothing = halved(inst), Session(EXACT), WarmStart()
    every = exact_flows(inst, opened, session, nothing)
    lanes = every.instance.inbound
    used = np.unique(every.found.hauled.index[:, [0, 2]], axis=0)[::3]
    usable = lanes.usable.copy()
    usable[tuple(used.T)] = False
    fewer = replace(every.instance, inbound=replace(lanes, usable=usable))
    some = flows_without(every, fewer, session)
    mask = np.ones(int(opened.sum()), dtype=bool)
    anew = exact_flows(fewer, mask, session, nothing, based=every.based)
    assert some.value == pytest.approx(anew.value, rel=1e-9)
    assert some.value > every.value * (1 + 1e-6)
    lane, _, period = some.found.hauled.index[some.found.hauled.value > 1e-9].T
    assert usable[lane, period].all()


def test_a_plan_of_few_flows_passes_the_audit(monkeypatch):
    monkeypatch.setattr(exact, "FEW", 0)
    monkeypatch.setattr(exact, "EACH", 0)
    inst = small_instance(41)
    plan = job.operate_as_held(inst, halved(inst), EXACT)
    assert audit(inst, plan)["passed"].all()
