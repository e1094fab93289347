"""
A large district's programme as arrays: a frame, and its flows on lanes beside it.

The frame is the programme as `build` writes it, without the flows on lanes. These are
most of the columns and all alike, so they are laid out at once (`laneflows`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse

from logistics.model.problem import Flags, Floats, Instance, Whole
from logistics.model.rules import Variables, build, options_of_yard
from logistics.model.solving.amounts import INDEXES, Amounts, cells, keys_of
from logistics.model.solving.backhaul_prices import PairPlaces, pair_places
from logistics.model.solving.flow_columns import NONE, LaneFlows, lane_flows
from logistics.model.solving.matrix import Matrix, matrix_of

OF_OPTIONS = (
    "opened",
    "arrived",
    "stock",
    "charge",
    "water",
    "compost",
    "leftover",
)
"""Sorts of decisions that belong to an option, their first index."""


@dataclass(frozen=True, eq=False)
class Narrow:
    """
    A part of a wide programme.

    Attributes
    ----------
    matrix
        The part: columns of the frame, then flows.
    rows, frame, flows
        Its rows among all rows, its columns among those of the frame and the flows.
    opened
        Column of each option's decision, length o; -1 where the option is left out.
    """

    matrix: Matrix
    rows: Whole
    frame: Whole
    flows: Whole
    opened: Whole


@dataclass(frozen=True, eq=False)
class Scope:
    """
    Which options may or must be open.

    Attributes
    ----------
    low, high
        Of each option's decision: 0 to 1, or fixed. Length o.
    must
        Yards that must be open in some size, length j.
    """

    low: Floats
    high: Floats
    must: Flags


@dataclass(frozen=True, eq=False)
class Wide:
    """
    A whole programme.

    Attributes
    ----------
    frame
        All rows, and all columns but the flows on lanes.
    flows
        The flows on lanes.
    names, columns
        Of the rows, and of the columns of the frame.
    places
        Of every sort of decision in the frame: indexes, and columns.
    opened
        Column of each option's decision in the frame, length o.
    option
        Option that each column of the frame belongs to, or -1.
    yard
        Yard of each option, length o.
    one_size
        Row of each option's yard: one size at most, or just one. Length o.
    links
        Marks the rows that tie flows to options.
    owner
        Option whose own each row is, or -1 where others enter it too.
    most
        What no flow, stock, water or hired hour will exceed.
    pairs
        Where paired trips stand in the frame.
    """

    frame: Matrix
    flows: LaneFlows
    names: tuple[str, ...]
    columns: tuple[str, ...]
    places: Mapping[str, tuple[Whole, Whole]]
    opened: Whole
    option: Whole
    yard: Whole
    one_size: Whole
    links: Flags
    owner: Whole
    most: float
    pairs: PairPlaces

    def anywhere(self) -> Scope:
        """Return the scope in which all is free that the programme leaves free."""
        count = len(self.opened)
        must = np.zeros(int(self.yard.max(initial=-1)) + 1, dtype=bool)
        must[self.yard] = self.frame.below[self.one_size] > 0
        high = np.minimum(np.ones(count), self.frame.above[self.one_size])
        return Scope(np.zeros(count), high, must)

    def given(self, chosen: Flags) -> Scope:
        """Return the scope in which just these options are open (mask, length o)."""
        fixed = chosen.astype(float)
        return replace(self.anywhere(), low=fixed, high=fixed)

    def priced(self, known: Mapping[str, float]) -> Floats:
        """Give every row its price by name; nothing where none is known."""
        return np.array([known.get(name, 0.0) for name in self.names])

    def narrow(self, kept: Flags, scope: Scope) -> Narrow:
        """
        Take the flows kept (length x) and the options that may be open.

        Where every decision is fixed the link rows are left out: they say nothing. So
        do rows in which nothing stands.
        """
        may = scope.high > 0
        stay = np.flatnonzero(np.append(may, True)[self.option])  # -1: of no option
        frame = self.frame.take(stay)
        opened = np.full(len(may), NONE)
        opened[may] = np.searchsorted(stay, self.opened[may])
        frame.low[opened[may]] = scope.low[may]
        frame.high[opened[may]] = scope.high[may]
        chosen = np.flatnonzero(kept & may[self.flows.option])
        used = ~self.links
        if (scope.low < scope.high).any():
            used[self.flows.link[chosen]] = True
        below = frame.below.copy()
        below[self.one_size] = scope.must[self.yard]
        grown = replace(frame, below=below).extend(
            self.flows.rows[:, chosen], self.flows.cost[chosen]
        )
        count = np.bincount(grown.rows.indices, minlength=len(used))
        rows = np.flatnonzero(used & ((count > 0) | (below > 0) | (frame.above < 0)))
        return Narrow(grown.limited_to(rows), rows, stay, chosen, opened)

    def amounts(self, part: Narrow, values: Floats, inst: Instance) -> Amounts:
        """Read the values of a part's columns; the instance is that of this."""
        frame = np.zeros(len(self.columns))
        frame[part.frame] = values[: len(part.frame)]
        found = {name: cells(at, frame[to]) for name, (at, to) in self.places.items()}
        flows, carried = self.flows, values[len(part.frame) :]
        lane, into = flows.lane[part.flows], len(inst.inbound)
        at = np.stack([lane, flows.option[part.flows], flows.period[part.flows]], 1)
        inward = lane < into
        found["hauled"] = cells(at[inward], carried[inward])
        at[:, 0] -= into
        found["delivered"] = cells(at[~inward], carried[~inward])
        return Amounts(**found)


def wide_of(inst: Instance) -> Wide:
    """Lay out the programme of an instance."""
    programme, variables = build(inst, lanes=False, linked=False)
    frame = matrix_of(programme)
    row = {name: n for n, name in enumerate(programme.rows)}
    option = np.full(len(frame.cost), NONE)
    places = _places(variables)
    for sort in OF_OPTIONS:
        at, to = places[sort]
        option[to] = at[:, 0]
    one_size = np.zeros(len(inst.options.yard), dtype=np.int64)
    for j, options in options_of_yard(inst).items():
        one_size[options] = row[f"one_size.{inst.yards.codes[j]}"]
    opened = places["opened"][1]
    flows = lane_flows(inst, programme, variables)
    count = len(flows.link_names)
    tied = (-flows.link_most, (np.arange(count), opened[flows.link_option]))
    links = sparse.csr_matrix(tied, shape=(count, len(frame.cost)))
    nothing = np.zeros(count)
    frame = frame.constrain(links, np.full(count, -np.inf), nothing)
    linked = np.arange(len(row) + count) >= len(row)
    shared = linked.copy()
    shared[one_size] = True
    return Wide(
        frame=frame,
        flows=flows,
        names=tuple(programme.rows) + flows.link_names,
        columns=tuple(x.name for x in programme.columns),
        places=places,
        opened=opened,
        option=option,
        yard=inst.options.yard,
        one_size=one_size,
        links=linked,
        owner=_owners(option, frame, shared),
        most=inst.most,
        pairs=pair_places(variables, inst, row),
    )


def _places(var: Variables) -> dict[str, tuple[Whole, Whole]]:
    """Indexes and columns of every sort of decision but the flows on lanes."""
    found = {}
    for sort, indexes in INDEXES.items():
        if sort in ("hauled", "delivered"):
            continue
        table = getattr(var, sort)
        to = np.array([x.number for x in table.values()], dtype=np.int64)
        found[sort] = (keys_of(table, indexes), to)
    return found


def _owners(option: Whole, frame: Matrix, shared: Flags) -> Whole:
    """
    Tell which rows are an option's own: no column of another or of none is in them.

    Parameters
    ----------
    option
        Of each column, -1 for none.
    frame, shared
        The columns and rows; which rows count as shared in any case.

    Returns
    -------
    ndarray
        Option of each row, -1 where it is shared.
    """
    entries = frame.rows.tocoo()
    each = option[entries.col]
    least = np.full(len(frame.below), np.iinfo(np.int64).max)
    most = np.full(len(frame.below), NONE)
    np.minimum.at(least, entries.row, each)
    np.maximum.at(most, entries.row, each)
    return np.where((least == most) & ~shared, most, NONE)
