"""
Flow cover cuts: own trucks in part help no more than their part of what they carry.

The relaxation bases a tenth of a truck at a yard and lets it carry all of a small
haulage. For the flows C of a type into an option in a period, with q the most that each
can be, hours r a tonne, R = sum over C of r * q, w the hours of one truck,
eta = ceil(R / w) and rho = R - w * (eta - 1), every plan of whole trucks N keeps::

    sum over C of r * x - H <= (eta - 1) * (w - rho) * z + rho * N
    sum over C of r * x - H <= R * N

Where N is at least eta, or 1, the right side is R or more; else the row of hours is
tighter. Padberg, Van Roy and Wolsey, Valid linear inequalities for fixed charge
problems, Operations Research 33, 1985 (from memory). C is found greedily.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy import sparse

from logistics.model.problem import Flags, Floats, Integers
from logistics.model.solving.master import Master, RestrictedMaster

VIOLATION = 1e-3
"""Hours, as a share of those of one truck, from which a cut is worth a row. [1]"""

WHOLE = 1e-3
"""Distance from an integer taken for one. [trucks]"""


@dataclass(frozen=True, eq=False)
class Cuts:
    """
    Rows of the form: frame . columns + flows . columns <= 0.

    Attributes
    ----------
    frame, flows
        Their coefficients, sparse by row.
    option
        Whose block each is in.
    """

    frame: Any
    flows: Any
    option: Integers

    def __len__(self) -> int:
        """Count the cuts."""
        return len(self.option)

    def take(self, some: Flags) -> Cuts:
        """Keep some (mask, length cuts)."""
        return Cuts(self.frame[some], self.flows[some], self.option[some])

    def and_more(self, other: Cuts) -> Cuts:
        """Put others behind these."""
        return Cuts(
            sparse.vstack([self.frame, other.frame]).tocsr(),
            sparse.vstack([self.flows, other.flows]).tocsr(),
            np.append(self.option, other.option),
        )


@dataclass(frozen=True, eq=False)
class _Cover:
    """A cut of one row of hours: its flows, and what a truck and the yard count."""

    flows: Integers
    truck: float
    opened: float


def cover_cuts(master: Master, restricted: RestrictedMaster, values: Floats) -> Cuts:
    """
    Find cuts that a relaxed solution of a restricted master breaks, one a row of hours.

    Parameters
    ----------
    master, restricted
        The full master and the restricted one.
    values
        Of the columns of the restricted one.
    """
    rows = restricted.matrix.rows.tocsr()
    own, count = _own_columns(master, restricted), len(restricted.frame)
    most = master.flows.most[restricted.flows]
    entries: list[list[tuple[int, float]]] = [[], []]  # frame, flows
    starts, options = ([0], [0]), []
    for n in np.flatnonzero(np.isin(restricted.rows, master.hour_rows)).tolist():
        at = rows.indices[rows.indptr[n] : rows.indptr[n + 1]]
        each = rows.data[rows.indptr[n] : rows.indptr[n + 1]]
        is_flow, is_own = at >= count, own[np.minimum(at, count - 1)] & (at < count)
        number = float(values[at[is_own]].sum())
        if abs(number - round(number)) < WHOLE:
            continue
        flows, hours = at[is_flow], each[is_flow]
        other = ~is_flow & ~is_own  # hired hours, and hours that pairing saves
        paid = float(-each[other] @ values[at[other]])
        cover = _cover(
            (hours, most[flows - count], values[flows]),
            paid,
            number,
            -float(each[is_own][0]),
        )
        if cover is None:
            continue
        option = int(master.option[restricted.frame[at[is_own][0]]])
        chosen = flows[cover.flows] - count
        entries[1] += zip(
            restricted.flows[chosen].tolist(), hours[cover.flows].tolist(), strict=True
        )
        columns = restricted.frame[at[other]]
        entries[0] += zip(columns.tolist(), each[other].tolist(), strict=True)
        entries[0].append((int(restricted.frame[at[is_own][0]]), -cover.truck))
        entries[0].append((int(master.opened[option]), -cover.opened))
        for k in (0, 1):
            starts[k].append(len(entries[k]))
        options.append(option)
    sizes = (len(master.columns), len(master.flows))
    frame, among = (
        _sparse(e, s, size) for e, s, size in zip(entries, starts, sizes, strict=True)
    )
    return Cuts(frame, among, np.array(options, dtype=np.int64))


def _sparse(entries: list[tuple[int, float]], start: list[int], width: int) -> Any:
    """Put entries into rows."""
    index = np.array([at for at, _ in entries], dtype=np.int32)
    value = np.array([c for _, c in entries], dtype=float)
    return sparse.csr_matrix((value, index, start), shape=(len(start) - 1, width))


def _own_columns(master: Master, restricted: RestrictedMaster) -> Any:
    """Mark the columns of a restricted master's frame that count own trucks."""
    marked = np.zeros(len(master.columns), dtype=bool)
    marked[master.homes.columns] = True
    return marked[restricted.frame]


def _cover(
    flows: tuple[Floats, Floats, Floats], paid: float, number: float, one: float
) -> _Cover | None:
    """
    Choose the flows of the cut that is broken most; None if none is.

    Parameters
    ----------
    flows
        Hours a tonne [h/t], the most that each can be [t], how much it is [t].
    paid
        Hired hours and hours saved. [h]
    number, one
        Own trucks in the relaxation; hours that one works. [h]
    """
    hours, most, now = flows
    found: _Cover | None = None
    worst = VIOLATION * one
    chosen = np.flatnonzero(now > number * most + 1e-9)
    whole = float(hours[chosen] @ most[chosen])
    broken = float(hours[chosen] @ now[chosen]) - paid - whole * number
    if broken > worst:
        worst, found = broken, _Cover(chosen, whole, 0.0)
    order = np.argsort(-now / np.maximum(most, 1e-9), kind="stable")
    order = order[now[order] > 1e-9]
    total = np.cumsum((hours * most)[order])
    carried = np.cumsum((hours * now)[order])
    trucks = np.maximum(np.ceil(total / one - 1e-9), 1.0)
    part = total - one * (trucks - 1)
    breach = carried - paid - (trucks - 1) * (one - part) - part * number
    if len(order) and breach.max() > worst:
        n = int(breach.argmax())
        fixed = float((trucks[n] - 1) * (one - part[n]))
        found = _Cover(order[: n + 1], float(part[n]), fixed)
    return found


def with_cuts(master: Master, cuts: Cuts) -> Master:
    """Add cuts to a full master, behind all of its rows."""
    if not len(cuts):
        return master
    count = len(master.names)
    nothing = np.zeros(len(cuts))
    rows = sparse.vstack([master.flows.rows, cuts.flows]).tocsc()
    names = tuple(f"cover.{count + n}" for n in range(len(cuts)))
    return replace(
        master,
        frame=master.frame.constrain(cuts.frame, nothing - np.inf, nothing),
        flows=replace(master.flows, rows=rows),
        names=master.names + names,
        links=np.append(master.links, np.zeros(len(cuts), dtype=bool)),
        block=np.append(master.block, cuts.option),
    )
