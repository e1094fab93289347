"""
Lanes left out of a programme, and a pool that stands in for all of them.

A district has many lanes and uses few. Most are left out; so that the proven bound
holds for all of them, what they could do is allowed at a cost that no real lane
beats. For any duals y of the rows, a lane left out costs at least

    (cost - sum of its other rows' y) charged to its supply or demand row
    + y of each other row, charged to that row,

so one column for each supply or demand row, at the least cost of its lanes left
out, and one for each other row they touch and each sign they have in it, is a
relaxation of all of them. Rows that tie the two sides together (mass over yards; hours
and the like to tonnes) keep it tight. Link rows only ever hold a lane back, so they are
left out of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from logistics.model.problem import Flags, Floats, Instance, Integers
from logistics.model.rules import Programme, Table, Variables, option_names
from logistics.model.solving.matrix import Matrix

LINK = "link_"


@dataclass(frozen=True, eq=False)
class LaneColumns:
    """
    The columns that are flows on lanes.

    Attributes
    ----------
    column
        Position among the programme's variables, length x.
    lane
        Number of the lane; outbound lanes follow inbound ones, length x.
    key
        Row of its supply or its market's demand, length x.
    balance
        Row of the yard's arrivals or compost, length x.
    group
        Feedstock (compost last) and period in one number, length x.
    links
        Rows that link flows to open yards, length rows.
    lanes, groups
        How many there are.
    """

    column: Integers
    lane: Integers
    key: Integers
    balance: Integers
    group: Integers
    links: Flags
    lanes: int
    groups: int

    def least(self, values: Floats) -> Floats:
        """Least value of each lane over its columns; infinite without any."""
        found = np.full(self.lanes, np.inf)
        np.minimum.at(found, self.lane, values[self.column])
        return found


def lane_columns(p: Programme, var: Variables, inst: Instance) -> LaneColumns:
    """Find the flow columns of a programme and the rows they enter."""
    row = {name: n for n, name in enumerate(p.rows)}
    names, periods = option_names(inst), len(inst.periods)
    found: list[tuple[int, int, int, int, int]] = []

    def gather(flows: Table, first: int, *, inbound: bool) -> None:
        lanes = inst.inbound if inbound else inst.outbound
        codes = inst.supply.codes if inbound else inst.markets.codes
        for (a, o, t), x in flows.items():
            site, when = int(lanes.site[a]), inst.periods[t]
            if inbound:
                m = int(inst.supply.feedstock[site])
                key = row[f"supply.{codes[site]}.{when}"]
                balance = row[f"arrive.{names[o]}.{inst.feed.codes[m]}.{when}"]
            else:
                m = len(inst.feed.codes)
                key = row[f"demand.{codes[site]}.{when}"]
                balance = row[f"compost.{names[o]}.{when}"]
            found.append((x.number, first + a, key, balance, m * periods + t))

    gather(var.hauled, 0, inbound=True)
    gather(var.delivered, len(inst.inbound), inbound=False)
    table = np.array(found, dtype=np.int64).reshape(-1, 5)
    links = np.zeros(len(p.rows), dtype=bool)
    links[[n for name, n in row.items() if name.startswith(LINK)]] = True
    column, lane, key, balance, group = table.T
    return LaneColumns(
        column=column,
        lane=lane,
        key=key,
        balance=balance,
        group=group,
        links=links,
        lanes=len(inst.inbound) + len(inst.outbound),
        groups=(len(inst.feed.codes) + 1) * periods,
    )


def with_pool(
    full: Matrix, flows: LaneColumns, kept: Flags, duals: Floats
) -> tuple[Matrix, Integers]:
    """
    Leave out all lanes but those kept and let a pool stand in for the rest.

    Parameters
    ----------
    full
        The full programme.
    flows
        Its lane columns.
    kept
        Lanes that stay, length lanes.
    duals
        Of the rows; any duals give a valid relaxation, those of the solved linear
        relaxation a tight one. Those of link rows are 0.

    Returns
    -------
    tuple
        The relaxation, and the columns of `full` that come first in it.
    """
    out = ~kept[flows.lane]
    stay = np.ones(len(full.cost), dtype=bool)
    stay[flows.column[out]] = False
    columns = np.flatnonzero(stay)
    smaller = full.take(columns)
    if not out.any():
        return smaller, columns
    key, group = flows.key[out], flows.group[out]
    entries = full.rows[:, flows.column[out]].tocoo()
    other = ~flows.links[entries.row] & (entries.row != key[entries.col])
    row, column, value = (x[other] for x in (entries.row, entries.col, entries.data))
    charged = full.cost[flows.column[out]].copy()
    np.subtract.at(charged, column, value * duals[row])
    keys, at = np.unique(key, return_inverse=True)
    least = np.full(len(keys), np.inf)
    np.minimum.at(least, at, charged)
    key_group = np.zeros(len(keys), dtype=np.int64)
    key_group[at] = group
    # one column for what enters a row with plus, one for what enters it with minus
    signed, side = np.unique(
        2 * row.astype(np.int64) + (value < 0), return_inverse=True
    )
    touched, sign = signed // 2, 1.0 - 2.0 * (signed % 2)
    most = np.zeros(len(touched))
    np.maximum.at(most, side, np.abs(value))
    count = len(full.below)
    pool = sparse.hstack(
        [
            _units(keys, np.ones(len(keys)), count),
            _units(touched, sign, count),
        ]
    )
    grown = smaller.extend(pool, np.append(least, sign * duals[touched]))
    # mass: what goes in at the keys comes out at the yards, by group
    balance = np.full(count, -1)
    balance[flows.balance[out]] = group
    mass = balance[touched]
    tied = _ties(
        flows.groups, key_group, mass, len(touched), np.ones(int((mass >= 0).sum()))
    )
    grown = grown.constrain(
        _widen(tied, len(columns)), np.zeros(flows.groups), np.zeros(flows.groups)
    )
    # anything else is at most the greatest coefficient times what goes in
    rest = np.flatnonzero(mass < 0)
    if len(rest):
        seen = np.zeros((len(rest), len(keys)))
        place = np.full(len(touched), -1)
        place[rest] = np.arange(len(rest))
        here = place[side] >= 0
        seen[place[side[here]], at[column[here]]] = 1.0
        limit = sparse.hstack(
            [
                sparse.csr_matrix(-seen * most[rest, None]),
                _units(rest, np.ones(len(rest)), len(touched)).T,
            ]
        )
        below = np.full(len(rest), -np.inf)
        grown = grown.constrain(_widen(limit, len(columns)), below, np.zeros(len(rest)))
    return grown, columns


def _units(places: Integers, values: Floats, height: int) -> sparse.csc_matrix:
    """One entry a column, at the row given."""
    shape = (height, len(places))
    return sparse.csc_matrix((values, (places, np.arange(len(places)))), shape=shape)


def _widen(rows: sparse.csr_matrix, columns: int) -> sparse.csr_matrix:
    """Put empty columns before the pool's."""
    return sparse.hstack([sparse.csr_matrix((rows.shape[0], columns)), rows]).tocsr()


def _ties(
    groups: int, key_group: Integers, mass: Integers, touched: int, ones: Floats
) -> sparse.csr_matrix:
    """Sum of keys less sum of balance rows, one row a group."""
    into = sparse.csr_matrix(
        (np.ones(len(key_group)), (key_group, np.arange(len(key_group)))),
        shape=(groups, len(key_group)),
    )
    where = np.flatnonzero(mass >= 0)
    outof = sparse.csr_matrix((-ones, (mass[where], where)), shape=(groups, touched))
    return sparse.hstack([into, outof]).tocsr()
