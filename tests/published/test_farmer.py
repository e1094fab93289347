"""
The farmer of Birge and Louveaux, solved by the same code as robust yards.

Introduction to Stochastic Programming, 2nd edition 2011, section 1.1: 500 acres of
wheat, corn and sugar beet; yields 2.5, 3 and 20 t an acre, 20 % more or less in good
and bad years; planting 150, 230, 260; 200 t of wheat and 240 t of corn are needed for
cattle, bought at 238 and 210, sold at 170 and 150; beet sells at 36, and at 10 above
6000 t. Printed (recalled from memory): profit 108,390 with 170, 80 and 250 acres;
perfect information 115,406, so EVPI 7,016; planting for the mean year 107,240, so VSS
1,150.
"""

import numpy as np
import pytest
from scipy import sparse

from logistics.model.solving.matrix import Matrix
from logistics.studies.l_shaped import decide, linear_recourse
from logistics.studies.risk import Risk, cvar

MOST = 1e6
YIELD = np.array([2.5, 3.0, 20.0])


def acres(limit=500.0):
    return Matrix(
        rows=sparse.csc_matrix(np.ones((1, 3))),
        cost=np.array([150.0, 230.0, 260.0]),
        low=np.zeros(3),
        high=np.full(3, limit),
        below=np.array([-np.inf]),
        above=np.array([limit]),
        constant=0.0,
        integer=np.zeros(3, dtype=bool),
    )


def season(factor, weight):
    """y: wheat bought, sold; corn bought, sold; beet sold dear, cheap."""
    w = np.array(
        [[1, -1, 0, 0, 0, 0], [0, 0, 1, -1, 0, 0], [0, 0, 0, 0, -1, -1]], dtype=float
    )
    recourse = Matrix(
        rows=sparse.csc_matrix(w),
        cost=np.array([238.0, -170, 210, -150, -36, -10]),
        low=np.zeros(6),
        high=np.array([np.inf, np.inf, np.inf, np.inf, 6000, np.inf]),
        below=np.array([200.0, 240, 0]),
        above=np.full(3, np.inf),
        constant=0.0,
        integer=np.zeros(6, dtype=bool),
    )
    land = sparse.diags(YIELD * factor)
    return linear_recourse(f"yield {factor}", weight, land, recourse, MOST)


SEASONS = [season(f, 1 / 3) for f in (1.2, 1.0, 0.8)]


def test_the_printed_plan():
    found = decide(acres(), SEASONS)
    assert -found.value == pytest.approx(108_390, abs=1)
    assert found.gap < 1e-6
    assert found.x == pytest.approx([170, 80, 250], abs=0.1)


def test_the_printed_value_of_perfect_information():
    wait = [decide(acres(), [season(f, 1.0)]).value for f in (1.2, 1.0, 0.8)]
    assert -np.mean(wait) == pytest.approx(115_406, abs=1)
    here = decide(acres(), SEASONS).value
    assert here - np.mean(wait) == pytest.approx(7_016, abs=1)


def test_the_printed_value_of_the_stochastic_solution():
    mean = decide(acres(), [season(1.0, 1.0)])
    costs = [s.cost(mean.x) + float(acres().cost @ mean.x) for s in SEASONS]
    assert -np.mean(costs) == pytest.approx(107_240, abs=1)
    here = decide(acres(), SEASONS).value
    assert np.mean(costs) - here == pytest.approx(1_150, abs=1)


@pytest.mark.parametrize("weight", [0.5, 2.0, 10.0])
def test_more_fear_never_raises_the_worst_third(weight):
    third = np.full(3, 1 / 3)
    plain = decide(acres(), SEASONS)
    afraid = decide(acres(), SEASONS, Risk(weight, 2 / 3))
    assert afraid.gap < 1e-6
    assert cvar(afraid.costs, third, 2 / 3) <= cvar(plain.costs, third, 2 / 3) + 1e-6
    assert third @ afraid.costs >= plain.value - 1e-3
