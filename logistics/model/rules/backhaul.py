"""
Paired trips: waste in, compost out, and no empty way back to the yard in between.

A truck brings waste from i to yard j, carries compost from j to market n, and goes
empty from n to i; the empty ways j to i and n to j are saved. Prices of the rows that
tie pairs to flows are set in closed form (`fitted`): where a relaxation carries few
flows they may be anything, and a bound would suffer.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

import numpy as np

from logistics.model.problem import Instance, Whole
from logistics.model.rules.backhaul_lanes import NONE, lane_name, pair_lanes
from logistics.model.rules.programme import Programme
from logistics.model.rules.variables import Terms, Variables

PAIR_IN, PAIR_OUT = "pair_in", "pair_out"


def pair_trips(p: Programme, var: Variables, inst: Instance) -> None:
    """
    Pair no more trips than a lane has.

    For every inbound lane a, outbound lane b and period t, with load the tonnes of a
    trip::

        sum over pairs of a of beta[p,t] <= sum_o x[a,o,t] / load[a,t]
        sum over pairs of b of beta[p,t] <= sum_o f[b,o,t] / load[b,t]
    """
    if not var.paired:
        return
    found = pair_lanes(inst)
    for label, lane_of, trips in (
        (PAIR_IN, found.inbound, "trips_in"),
        (PAIR_OUT, found.outbound, "trips_out"),
    ):
        rows: dict[tuple[int, int], Terms] = defaultdict(list)
        for (n, t), beta in var.paired.items():
            rows[int(lane_of[n]), t].append((beta, 1.0))
        for (a, t), terms in rows.items():
            carried: Terms = [(x, -c) for x, c in var.sum_of(trips, a, t)]
            name = lane_name(inst, a, inbound=label == PAIR_IN)
            p.at_most(f"{label}.{name}.{inst.periods[t]}", terms + carried)


def pair_rows(inst: Instance, row: Mapping[str, int], *, inbound: bool) -> Whole:
    """Rows in which pairs meet the flows of a lane, shape (lane, t); -1 for none."""
    lanes = inst.inbound if inbound else inst.outbound
    rows = np.full((len(lanes), len(inst.periods)), NONE)
    if inst.pairs is None:
        return rows
    found = pair_lanes(inst)
    label = PAIR_IN if inbound else PAIR_OUT
    used = found.inbound if inbound else found.outbound
    for a in np.unique(used[found.usable.any(axis=1)]).tolist():
        name = f"{label}.{lane_name(inst, a, inbound=inbound)}"
        for t, period in enumerate(inst.periods):
            rows[a, t] = row.get(f"{name}.{period}", NONE)
    return rows
