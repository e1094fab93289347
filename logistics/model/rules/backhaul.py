"""
Paired trips: waste in, compost out, and no empty way back to the yard in between.

A truck brings waste from i to yard j, carries compost from j to market n, and goes
empty from n to i; the empty ways j to i and n to j are saved. Duals of the rows that
tie backhauls to flows are set in closed form (`solving.backhaul_duals`): where a
relaxation has few flows they may be anything, and a bound would suffer.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

import numpy as np

from logistics.model.problem import Instance, Integers
from logistics.model.rules.backhaul_lanes import NONE, lane_name, lanes_of_backhauls
from logistics.model.rules.programme import Programme
from logistics.model.rules.variables import Terms, Variables

BACKHAUL_IN, BACKHAUL_OUT = "backhaul_in", "backhaul_out"


def backhaul_trips(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Pair no more trips than a lane has.

    For every inbound lane a, outbound lane b and period t, with load the tonnes of a
    trip::

        sum over backhauls of a of beta[p,t] <= sum_o x[a,o,t] / load[a,t]
        sum over backhauls of b of beta[p,t] <= sum_o f[b,o,t] / load[b,t]
    """
    if not var.paired:
        return
    found = lanes_of_backhauls(inst)
    for label, lane_of, trips in (
        (BACKHAUL_IN, found.inbound, "trips_in"),
        (BACKHAUL_OUT, found.outbound, "trips_out"),
    ):
        rows: dict[tuple[int, int], Terms] = defaultdict(list)
        for (n, t), beta in var.paired.items():
            rows[int(lane_of[n]), t].append((beta, 1.0))
        for (a, t), terms in rows.items():
            carried: Terms = [(x, -c) for x, c in var.sum_of(trips, a, t)]
            name = lane_name(inst, a, inbound=label == BACKHAUL_IN)
            p.at_most(f"{label}.{name}.{inst.periods[t]}", terms + carried)


def rows_of_backhauls(
    inst: Instance, row: Mapping[str, int], *, inbound: bool
) -> Integers:
    """Rows in which backhauls meet flows of a lane, shape (lane, t); -1 for none."""
    lanes = inst.inbound if inbound else inst.outbound
    rows = np.full((len(lanes), len(inst.periods)), NONE)
    if inst.backhauls is None:
        return rows
    found = lanes_of_backhauls(inst)
    label = BACKHAUL_IN if inbound else BACKHAUL_OUT
    used = found.inbound if inbound else found.outbound
    for a in np.unique(used[found.usable.any(axis=1)]).tolist():
        name = f"{label}.{lane_name(inst, a, inbound=inbound)}"
        for t, period in enumerate(inst.periods):
            rows[a, t] = row.get(f"{name}.{period}", NONE)
    return rows
