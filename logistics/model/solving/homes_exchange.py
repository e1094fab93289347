"""
Better homes of own trucks at given yards: two yards exchange all their trucks.

A truck moved alone rarely pays once homes are good; two yards that exchange trucks may
gain where each move alone would lose. The least cost is a convex function of the homes,
so duals tell without solving anything which exchanges cannot gain.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from logistics.model.problem import Floats, Instance, Plan
from logistics.model.solving.column_choice import initial_columns
from logistics.model.solving.contents import contents_are_free, with_free_contents
from logistics.model.solving.given_plan import homes_of_plan
from logistics.model.solving.highs import Session
from logistics.model.solving.homes import Homes
from logistics.model.solving.master import Master, RestrictedMaster, master_of
from logistics.model.solving.simplex import HeldRows

GAIN = 3e-4
"""Least gain for which trucks change their homes, as a share of the goal. [1]"""

HOPEFUL = 9
"""Exchanges tried in each turn, those first that the duals like best."""

Bases = tuple[tuple[str, str, int], ...]
"""Type, yard and own trucks at home there."""


class _HomesRows:
    """The flows of given yards over few columns, solved again for other homes."""

    def __init__(
        self, master: Master, restricted: RestrictedMaster, session: Session
    ) -> None:
        rows = master.homes.rows
        at = np.minimum(
            np.searchsorted(restricted.rows, rows), len(restricted.rows) - 1
        )
        self._there = restricted.rows[at] == rows
        self._solved = HeldRows(restricted.matrix, at[self._there], session)

    def value(self, counts: Floats) -> float:
        """Least cost with these homes (length h); infinite without a plan. [goal]"""
        return self._solved.value(counts[self._there])

    def worth(self) -> Floats:
        """Tell what one truck more at each home costs, length h. [goal]"""
        found = np.zeros(len(self._there))
        found[self._there] = self._solved.duals()
        return found


def better_homes(instance: Instance, plan: Plan, session: Session) -> Bases:
    """
    Let yards of a plan exchange their own trucks as long as that pays.

    Parameters
    ----------
    instance, plan
        The problem, and a plan of it.
    session
        Time and seed.

    Returns
    -------
    tuple
        Homes for a warm start; those of the plan where nothing is gained. Few flow
        columns are looked at, so what is gained has to be seen by planning with them.
    """
    free = with_free_contents(instance) if contents_are_free(instance) else instance
    given = free.with_yards(instance.options_of(plan.yard_sizes))
    table = homes_of_plan(given, plan)
    if table is None or len(given.options.yard) < 2:
        return plan.warm_start.bases
    master = master_of(given)
    homes, every = master.homes, np.ones(len(given.options.yard), dtype=bool)
    kept = initial_columns(master, master.duals_by_name(plan.warm_start.duals), given)
    restricted = master.restrict(kept, master.fixed_branch(every, table))
    flows = _HomesRows(master, restricted, session)
    counts = table[homes.truck, homes.yard].astype(float)
    value = flows.value(counts)
    if not np.isfinite(value):
        return plan.warm_start.bases
    while not session.over:
        found = _exchanged(flows, homes, counts, value)
        if found is None:
            break
        counts, value = found
    named = zip(homes.truck.tolist(), homes.yard.tolist(), counts.tolist(), strict=True)
    return tuple(
        (given.trucks.codes[v], given.yards.codes[j], round(n))
        for v, j, n in named
        if n
    )


def _exchanged(
    flows: _HomesRows, homes: Homes, counts: Floats, value: float
) -> tuple[Floats, float] | None:
    """Find homes that gain, by one exchange, and what they come to; None without."""
    least, worth = GAIN * abs(value), flows.worth()
    hopeful = sorted(
        ((float(worth @ (other - counts)), n, other)
        for n, other in enumerate(exchanges(homes, counts))),
        key=lambda one: one[:2],
    )  # fmt: skip
    for change, _, other in hopeful[:HOPEFUL]:
        if change >= -least:
            break
        found = flows.value(other)
        if found < value - least:
            return other, found
    return None


def exchanges(homes: Homes, counts: Floats) -> Iterator[Floats]:
    """
    List the homes there are when two yards have exchanged all their trucks.

    Parameters
    ----------
    homes
        Pairs of type and yard, length h.
    counts
        Own trucks of each, length h.
    """
    pairs = zip(homes.truck.tolist(), homes.yard.tolist(), strict=True)
    place = {pair: h for h, pair in enumerate(pairs)}
    types = np.unique(homes.truck).tolist()
    for one, other in combinations(np.unique(homes.yard).tolist(), 2):
        made = counts.copy()
        for v in types:
            if (v, one) in place and (v, other) in place:
                a, b = place[v, one], place[v, other]
                made[a], made[b] = counts[b], counts[a]
        if (made != counts).any():
            yield made
