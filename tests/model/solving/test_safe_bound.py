"""Duals that are wrong on purpose: the bound must fall, never rise."""

import numpy as np
import pytest
from support.small_instances import small_instance

from logistics.model.rules.blocks import build
from logistics.model.solving.highs import Effort, Session
from logistics.model.solving.matrix import LinearSolution, Matrix, matrix_of, relax

EXACT = Effort(gap=0.0, seconds=60, threads=1)


def relaxed(seed: int) -> tuple[Matrix, LinearSolution, float]:
    inst = small_instance(seed)
    full = matrix_of(build(inst)[0])
    found = relax(full, Session(EXACT))
    assert found is not None
    return full, found, inst.most


@pytest.mark.parametrize("seed", range(5))
def test_a_dual_of_supply_too_high_bounds_no_higher(seed):
    """
    A tonne that arises is an equation with a right side above nothing.

    With its dual up by one the rows alone promise more than the optimum; only the
    columns that then seem to pay, and have no limit of their own, take it back.
    """
    full, found, most = relaxed(seed)
    arises = (full.below == full.above) & (full.below > 0)
    assert arises.sum() > 5
    dear = found.duals + arises
    promised = dear @ np.where(arises, full.below, 0.0)
    assert promised > found.duals @ np.where(arises, full.below, 0.0) + 100
    assert full.safe_bound(dear, most) <= found.value


@pytest.mark.parametrize("seed", range(3))
def test_no_single_wrong_dual_bounds_higher(seed):
    full, found, most = relaxed(seed)
    slack = 1e-7 * abs(found.value) + 1e-3
    for row in range(len(full.below)):
        for step in (-3.0, 3.0):
            wrong = found.duals.copy()
            wrong[row] += step
            assert full.safe_bound(wrong, most) <= found.value + slack


def test_a_dual_of_the_wrong_sign_counts_for_nothing():
    """A row that is only an upper limit cannot promise a cost."""
    full, found, most = relaxed(0)
    limits = np.isinf(full.below) & ~np.isinf(full.above)
    assert limits.any()
    wrong = np.where(limits, 5.0, found.duals)
    none = np.where(limits, 0.0, found.duals)
    assert np.isfinite(full.safe_bound(wrong, most))
    assert full.safe_bound(wrong, most) == full.safe_bound(none, most)
