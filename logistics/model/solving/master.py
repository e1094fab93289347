"""
The full master as arrays, restricted masters taken from it, and branches.

The full master is the whole programme: a frame, which is the programme as `build`
writes it without the flows on lanes, and the flow columns beside it. These are most of
the columns and all alike, so they are made all at once (`flow_columns`). A restricted
master has the rows that matter and some of the columns; a branch is what the branching
decisions on the way to a node have fixed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse

from logistics.model.problem import Flags, Floats, Instance, Integers
from logistics.model.rules import Programme, Variables, build, options_of_yard
from logistics.model.solving.amounts import INDEXES, Amounts, decision_amounts, keys_of
from logistics.model.solving.backhaul_duals import BackhaulRows, backhaul_rows
from logistics.model.solving.flow_columns import NONE, LaneFlows, lane_flows
from logistics.model.solving.homes import Homes, homes_of
from logistics.model.solving.matrix import Matrix, matrix_of

OF_OPTIONS = (
    "opened",
    "arrived",
    "stock",
    "charge",
    "water",
    "compost",
    "leftover",
    "based",
    "hired_at",
    "busy",
    "saved",
)
"""Sorts of decisions that belong to an option, their first index."""


@dataclass(frozen=True, eq=False)
class RestrictedMaster:
    """
    Some columns of the full master, and the rows they enter.

    Attributes
    ----------
    matrix
        Its arrays: columns of the frame, then flow columns.
    rows, frame, flows
        Its rows among all rows, its columns among those of the frame and the flows.
    opened
        Column of each option's decision, length o; -1 where the option is left out.
    """

    matrix: Matrix
    rows: Integers
    frame: Integers
    flows: Integers
    opened: Integers


@dataclass(frozen=True, eq=False)
class Branch:
    """
    Branching decisions of a node: which options may or must be open.

    Attributes
    ----------
    low, high
        Of each option's decision: 0 to 1, or fixed. Length o.
    must
        Yards that must be open in some size, length j.
    fewest, most
        Own trucks of a type at home at a yard, length h. [trucks]
    """

    low: Floats
    high: Floats
    must: Flags
    fewest: Floats
    most: Floats


@dataclass(frozen=True, eq=False)
class Master:
    """
    The full master.

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
    block
        Option whose block each row is in, or -1 for a coupling row.
    most
        What no flow, stock, water or hired hour will exceed.
    backhaul_rows
        Where backhauls stand in the frame.
    homes
        Where own trucks may be at home.
    hour_rows, tied_homes
        Rows of truck hours of an option that own trucks enter; rows that tie them to
        yards that are open, and to how many are owned.
    """

    frame: Matrix
    flows: LaneFlows
    names: tuple[str, ...]
    columns: tuple[str, ...]
    places: Mapping[str, tuple[Integers, Integers]]
    opened: Integers
    option: Integers
    yard: Integers
    one_size: Integers
    links: Flags
    block: Integers
    most: float
    backhaul_rows: BackhaulRows
    homes: Homes
    hour_rows: Integers
    tied_homes: Integers

    def root_branch(self) -> Branch:
        """Return the branch in which all is free that the programme leaves free."""
        count = len(self.opened)
        must = np.zeros(int(self.yard.max(initial=-1)) + 1, dtype=bool)
        must[self.yard] = self.frame.below[self.one_size] > 0
        high = np.minimum(np.ones(count), self.frame.above[self.one_size])
        homes = self.homes
        return Branch(np.zeros(count), high, must, np.zeros(len(homes)), homes.own)

    def fixed_branch(self, opened: Flags, based: Integers | None = None) -> Branch:
        """
        Return the branch in which just these options are open (mask, length o).

        Parameters
        ----------
        opened
            Options that are open.
        based
            Own trucks at home at every yard, shape (v, j); None leaves them free.
        """
        fixed = opened.astype(float)
        branch = replace(self.root_branch(), low=fixed, high=fixed)
        if based is None:
            return branch
        count = based[self.homes.truck, self.homes.yard].astype(float)
        return replace(branch, fewest=count, most=count)

    def padded(self, duals: Floats) -> Floats:
        """Give rows added since a dual of 0."""
        return np.append(duals, np.zeros(len(self.names) - len(duals)))

    def sides(self, branch: Branch) -> tuple[Floats, Floats]:
        """Sides of all rows within a branch."""
        below, above = self.frame.below.copy(), self.frame.above.copy()
        below[self.homes.rows], above[self.homes.rows] = branch.fewest, branch.most
        return below, above

    def based(self, restricted: RestrictedMaster, values: Floats) -> Floats:
        """Read how many own trucks of each pair are at home there, length h."""
        frame = np.zeros(len(self.columns))
        frame[restricted.frame] = values[: len(restricted.frame)]
        homes = self.homes
        return np.bincount(homes.at, frame[homes.columns], minlength=len(homes))

    def duals_by_name(self, known: Mapping[str, float]) -> Floats:
        """Give every row its dual by name; 0 where none is known."""
        return np.array([known.get(name, 0.0) for name in self.names])

    def restrict(self, kept: Flags, branch: Branch) -> RestrictedMaster:
        """
        Take the flow columns kept (length x) and the options that may be open.

        Where every decision is fixed the link rows are left out: they say nothing. So
        do rows in which nothing stands.
        """
        may = branch.high > 0
        stay = np.flatnonzero(np.append(may, True)[self.option])  # -1: of no option
        frame = self.frame.take(stay)
        opened = np.full(len(may), NONE)
        opened[may] = np.searchsorted(stay, self.opened[may])
        frame.low[opened[may]] = branch.low[may]
        frame.high[opened[may]] = branch.high[may]
        flows = np.flatnonzero(kept & may[self.flows.option])
        used = ~self.links
        if (branch.low < branch.high).any():
            used[self.flows.link[flows]] = True
        below, above = self.sides(branch)
        below[self.one_size] = branch.must[self.yard]
        grown = replace(frame, below=below, above=above).extend(
            self.flows.rows[:, flows], self.flows.cost[flows]
        )
        count = np.bincount(grown.rows.indices, minlength=len(used))
        rows = np.flatnonzero(used & ((count > 0) | (below > 0) | (above < 0)))
        return RestrictedMaster(grown.limited_to(rows), rows, stay, flows, opened)

    def amounts(
        self, restricted: RestrictedMaster, values: Floats, inst: Instance
    ) -> Amounts:
        """Read the values of a restricted master's columns; `inst` is that of this."""
        frame = np.zeros(len(self.columns))
        frame[restricted.frame] = values[: len(restricted.frame)]
        found = {
            name: decision_amounts(at, frame[to])
            for name, (at, to) in self.places.items()
        }
        flows, carried = self.flows, values[len(restricted.frame) :]
        some, into = restricted.flows, len(inst.inbound)
        lane = flows.lane[some]
        at = np.stack([lane, flows.option[some], flows.period[some]], 1)
        inward = lane < into
        found["hauled"] = decision_amounts(at[inward], carried[inward])
        at[:, 0] -= into
        found["delivered"] = decision_amounts(at[~inward], carried[~inward])
        return Amounts(**found)


def master_of(
    inst: Instance, built: tuple[Programme, Variables] | None = None
) -> Master:
    """Make the full master of an instance; `built` is its programme without lanes."""
    programme, variables = built or build(inst, lanes=False, linked=False)
    frame = matrix_of(programme)
    row = {name: n for n, name in enumerate(programme.rows)}
    homes = homes_of(inst, variables, row)
    frame.below[homes.rows] = 0.0
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
    hours = [n for name, n in row.items() if name in variables.hour_rows]
    tied_homes = [n for name, n in row.items() if name.startswith(("bases.", "based."))]
    links = sparse.csr_matrix(tied, shape=(count, len(frame.cost)))
    nothing = np.zeros(count)
    frame = frame.constrain(links, np.full(count, -np.inf), nothing)
    linked = np.arange(len(row) + count) >= len(row)
    coupling = linked.copy()
    coupling[one_size] = True
    return Master(
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
        block=_blocks(option, frame, coupling),
        most=inst.most,
        backhaul_rows=backhaul_rows(variables, inst, row),
        homes=homes,
        hour_rows=np.array(hours, dtype=np.int64),
        tied_homes=np.array(tied_homes, dtype=np.int64),
    )


def _places(var: Variables) -> dict[str, tuple[Integers, Integers]]:
    """Indexes and columns of every sort of decision but the flows on lanes."""
    found = {}
    for sort, indexes in INDEXES.items():
        if sort in ("hauled", "delivered"):
            continue
        table = getattr(var, sort)
        to = np.array([x.number for x in table.values()], dtype=np.int64)
        found[sort] = (keys_of(table, indexes), to)
    return found


def _blocks(option: Integers, frame: Matrix, coupling: Flags) -> Integers:
    """
    Tell which rows are an option's block: no column of another or of none is in them.

    Parameters
    ----------
    option
        Of each column, -1 for none.
    frame, coupling
        The columns and rows; which rows count as coupling in any case.

    Returns
    -------
    ndarray
        Option of each row, -1 for a coupling row.
    """
    entries = frame.rows.tocoo()
    each = option[entries.col]
    least = np.full(len(frame.below), np.iinfo(np.int64).max)
    most = np.full(len(frame.below), NONE)
    np.minimum.at(least, entries.row, each)
    np.maximum.at(most, entries.row, each)
    return np.where((least == most) & ~coupling, most, NONE)
