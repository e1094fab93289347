"""Every pair of trips finds its own two lanes, and none where one is lacking."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from support.small_instances import small_instance

from logistics.model.problem.parts import Backhauls
from logistics.model.rules.backhaul import rows_of_backhauls
from logistics.model.rules.backhaul_lanes import lanes_of_backhauls


def paired(without: tuple[str, int] = ("", 0)):
    """Every source with every yard, market and truck; one lane may be left out."""
    inst = small_instance(5)
    side, gone = without
    if side:
        lanes = getattr(inst, side)
        inst = replace(inst, **{side: lanes.take(np.arange(len(lanes)) != gone)})
    places = np.array(list(product(range(5), range(3), range(2), range(2)))).T
    zero = np.zeros((len(places[0]), 3))
    backhauls = Backhauls(*places, zero, zero, zero, zero, usable=zero == 0)
    return replace(inst, backhauls=backhauls)


@pytest.mark.parametrize("side", ["", "inbound", "outbound"])
@pytest.mark.parametrize("gone", [0, 5, 11, 29])
def test_each_pair_by_its_places(side, gone):
    if side == "outbound" and gone > 11:
        gone = 6
    inst = paired((side, gone))
    found, p = lanes_of_backhauls(inst), inst.backhauls
    lanes_in, lanes_out = (
        {k: n for n, k in enumerate(zip(x.site, x.yard, x.truck, strict=True))}
        for x in (inst.inbound, inst.outbound)
    )
    for n in range(len(p)):
        i, j, m, v = p.source[n], p.yard[n], p.market[n], p.truck[n]
        into, out = lanes_in.get((i, j, v), -1), lanes_out.get((m, j, v), -1)
        assert (found.inbound[n], found.outbound[n]) == (into, out)
        for t in range(3):
            tonnes = inst.supply.tonnes[i, t] + inst.supply.hold_t[i]
            usable = min(into, out) >= 0 and tonnes > 0
            usable &= inst.markets.demand[m, t] > 0
            if usable:
                usable &= inst.inbound.usable[into, t] & inst.outbound.usable[out, t]
            assert found.usable[n, t] == usable
            most = min(tonnes, inst.markets.demand[m, t]) / 4.0 if usable else 0.0
            assert found.most[n, t] == pytest.approx(most)
    assert found.names[0] == "s0.y0.n0.own"
    assert found.names[-1] == "s4.y2.n1.hired"


def test_without_pairs_no_lane_has_a_row():
    rows = rows_of_backhauls(small_instance(5), {}, inbound=True)
    assert rows.shape == (30, 3)
    assert (rows == -1).all()
