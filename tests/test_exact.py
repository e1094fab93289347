"""Exact flows of given yards: few lanes carried, the optimum that of all."""

import numpy as np
import pytest
from small_instances import small_instance

from logistics.audit import audit
from logistics.model import exact, pricing
from logistics.model import solve as job
from logistics.model.exact import exact_flows
from logistics.model.memory import Memory
from logistics.model.solver import Effort, Session
from logistics.model.wide import wide_of

EXACT = Effort(gap=1e-6, seconds=60, threads=1)


def opened(seed):
    """A district, and one size of every yard to open."""
    inst = small_instance(seed)
    return inst, np.arange(len(inst.options.yard)) % 2 == 1


def flows_of(inst, chosen, monkeypatch, few, memory=None):
    """Solve with all flows, or with one a source to begin with."""
    with monkeypatch.context() as patch:
        patch.setattr(exact, "FEW", 0 if few else 10**9)
        patch.setattr(pricing, "FLOWS", 1)
        patch.setattr(exact, "EACH", 0)
        session = Session(EXACT, None)
        return exact_flows(inst, chosen, session, memory or Memory())


@pytest.mark.parametrize("seed", range(40, 52))
def test_few_flows_give_the_optimum_of_all(monkeypatch, seed):
    rng = np.random.default_rng(seed)
    every = flows_of(*opened(seed), monkeypatch, few=False)
    wrong = {
        name: 50 * rng.standard_normal() for name in wide_of(opened(seed)[0]).names
    }
    memory = Memory(prices=wrong)
    some = flows_of(*opened(seed), monkeypatch, few=True, memory=memory)
    assert some.value == pytest.approx(every.value, rel=1e-9, abs=1e-6)
    assert some.carried <= every.carried == 1


def test_few_flows_are_fewer(monkeypatch):
    """In most districts most lanes never enter the programme."""
    less = 0
    for seed in range(40, 60):
        less += flows_of(*opened(seed), monkeypatch, few=True).carried < 1
    assert less >= 15


def test_a_plan_of_few_flows_passes_the_audit(monkeypatch):
    monkeypatch.setattr(exact, "FEW", 0)
    monkeypatch.setattr(exact, "EACH", 0)
    inst = small_instance(41)
    chosen = np.arange(len(inst.options.yard)) % 2 == 1
    plan = job.operate(inst, chosen, EXACT)
    assert audit(inst, plan)["passed"].all()
