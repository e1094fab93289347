"""
The quickest ways between terminals, through arcs that may be driven.

Nodes where nothing can be decided are taken out first: dead ends without a terminal,
and nodes on a line between two others. What remains gives the same ways and the same
lengths, and is a fraction of the size.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Bools = NDArray[np.bool_]

BATCH_CELLS = 8_000_000
"""Cells (terminals x nodes) worked on at a time, to bound the memory."""

DEAD_END_ROUNDS = 100
"""Dead ends are taken off from their tips, one node a round; the rest may stay."""


@dataclass(frozen=True, eq=False)
class Arcs:
    """
    Directed edges that may be driven, at most one between two nodes, length a.

    Attributes
    ----------
    nodes
        Number of nodes.
    start, end
        Nodes; sorted by start, then end.
    hours, km, fare
        What driving it takes. [h], [km], [money]
    edge
        Number of the edge as it was given.
    """

    nodes: int
    start: Integers
    end: Integers
    hours: Floats
    km: Floats
    fare: Floats
    edge: Integers


def quickest_arcs(
    nodes: int,
    start: Integers,
    end: Integers,
    hours: Floats,
    km: Floats,
    fare: Floats,
    edge: Integers | None = None,
) -> Arcs:
    """
    Keep the quickest of parallel edges, and none from a node to itself.

    Parameters
    ----------
    nodes
        Number of nodes.
    start, end, hours, km, fare
        Directed edges; where two take the same time, the cheaper and then the shorter
        one is kept.
    edge
        Their numbers; None counts them.
    """
    number = np.arange(len(start)) if edge is None else edge
    order = np.lexsort((km, fare, hours, end, start))
    order = order[start[order] != end[order]]
    a, b = start[order], end[order]
    new = np.ones(len(order), dtype=bool)
    new[1:] = (a[1:] != a[:-1]) | (b[1:] != b[:-1])
    keep = order[new]
    return Arcs(
        nodes, start[keep], end[keep], hours[keep], km[keep], fare[keep], number[keep]
    )


@dataclass(frozen=True, eq=False)
class Ways:
    """
    Arcs between the nodes that matter, each standing for a run of given edges.

    Attributes
    ----------
    arcs
        Between kept nodes; `arcs.edge` is the first given arc of the run.
    terminals
        Kept nodes between which ways are asked for.
    onward
        The given arc that follows a given arc in its run, -1 at the end.
    edge
        Number of the edge of a given arc.
    """

    arcs: Arcs
    terminals: Integers
    onward: NDArray[np.int32]
    edge: NDArray[np.int32]


def _degrees(arcs: Arcs, terminal: Bools) -> Integers:
    """Neighbours of each node once dead ends without a terminal are gone."""
    low, high = np.minimum(arcs.start, arcs.end), np.maximum(arcs.start, arcs.end)
    pair = np.unique(low * arcs.nodes + high)
    low, high = pair // arcs.nodes, pair % arcs.nodes
    for _ in range(DEAD_END_ROUNDS):
        degree = np.bincount(low, minlength=arcs.nodes)
        degree += np.bincount(high, minlength=arcs.nodes)
        tip = (degree == 1) & ~terminal
        stay = ~(tip[low] | tip[high])
        if stay.all():
            break
        low, high = low[stay], high[stay]
    degree = np.bincount(low, minlength=arcs.nodes)
    return np.asarray(degree + np.bincount(high, minlength=arcs.nodes))


def _onward(arcs: Arcs, between: Bools, live: Bools) -> tuple[Integers, Bools]:
    """Arc that follows each arc into a node between two others; and where none does."""
    count = len(arcs.start)
    first = np.searchsorted(arcs.start, np.arange(arcs.nodes + 1))
    follower = np.full(count, count)
    into = live & between[arcs.end]
    # after dead ends went, a node between two others has two live arcs out at most,
    # but arcs into the dead ends may stand among them
    most = int(np.diff(first).max(initial=0))
    for k in range(most):
        at = first[arcs.end] + k
        there = into & (at < first[arcs.end + 1])
        safe = np.where(there, at, 0)
        good = there & live[safe] & (arcs.end[safe] != arcs.start)
        follower = np.where(good, at, follower)
    return follower, into & (follower == count)


def ways_between(arcs: Arcs, terminals: Integers) -> Ways:
    """
    Take out the nodes where nothing can be decided.

    Parameters
    ----------
    arcs
        Directed edges.
    terminals
        Nodes that stay; a node may occur more than once.
    """
    terminal = np.zeros(arcs.nodes, dtype=bool)
    terminal[terminals] = True
    degree = _degrees(arcs, terminal)
    live = (degree[arcs.start] > 0) & (degree[arcs.end] > 0)
    between = (degree == 2) & ~terminal
    onward, stuck = _onward(arcs, between, live)
    count = len(arcs.start)
    # an arc behind the last ends all runs, so that sums stop there
    jump = np.append(onward, count)
    last = np.arange(count + 1)
    sums = [np.append(v, 0.0) for v in (arcs.hours, arcs.km, arcs.fare)]
    sums[0][:-1][stuck] = np.inf
    for _ in range(count.bit_length()):
        if (jump == count).all():
            break
        last = np.where(jump == count, last, last[jump])
        sums = [v + v[jump] for v in sums]
        jump = jump[jump]  # pointer jumping: twice as far
    is_head = live & ~between[arcs.start] & np.isfinite(sums[0][:-1])
    head = np.flatnonzero(is_head)
    kept = (degree > 0) & ~between | terminal
    name = np.cumsum(kept) - 1
    small = quickest_arcs(
        int(kept.sum()),
        name[arcs.start[head]],
        name[arcs.end[last[head]]],
        sums[0][head],
        sums[1][head],
        sums[2][head],
        head,
    )
    behind = np.where(onward == count, -1, onward).astype(np.int32)
    return Ways(small, name[terminals], behind, arcs.edge.astype(np.int32))


def _matrix(arcs: Arcs) -> csr_matrix:
    """Hours as a sparse matrix; the arcs are in its order already."""
    first = np.searchsorted(arcs.start, np.arange(arcs.nodes + 1))
    shape = (arcs.nodes, arcs.nodes)
    return csr_matrix((arcs.hours, arcs.end, first), shape=shape)


def _arc_of(arcs: Arcs, start: Integers, end: Integers) -> Integers:
    """Position of the arcs with these ends."""
    key = arcs.start * arcs.nodes + arcs.end
    return np.searchsorted(key, start * arcs.nodes + end)


def _needed(before: NDArray[np.int32], goals: Integers) -> Integers:
    """Cells (row x nodes + node) on the ways to the goals, without the roots."""
    rows, nodes = before.shape
    flat = before.ravel()
    cells = (np.arange(rows)[:, None] * nodes + goals[None, :]).ravel()
    mark = np.zeros(rows * nodes, dtype=bool)
    found = []
    while len(cells):
        cells = cells[(flat[cells] >= 0) & ~mark[cells]]
        mark[cells] = True
        found.append(cells)
        cells = cells // nodes * nodes + flat[cells]
    return np.flatnonzero(mark) if found else cells


def _along(before: NDArray[np.int32], arcs: Arcs, goals: Integers) -> list[Floats]:
    """
    Add up km and fare from the root of each row's tree to the goals.

    Doubling: after k turns every cell has looked 2^k cells back, so the number of
    turns is the logarithm of the longest way.
    """
    rows, nodes = before.shape
    cells = _needed(before, goals)
    row, node = np.divmod(cells, nodes)
    parent = before.ravel()[cells].astype(np.int64)
    place = np.full(rows * nodes, len(cells), dtype=np.int32)  # roots: the last place
    place[cells] = np.arange(len(cells), dtype=np.int32)
    arc = _arc_of(arcs, parent, node)
    jump = np.append(place[row * nodes + parent], np.int32(len(cells)))
    sums = [np.append(v[arc], 0.0) for v in (arcs.km, arcs.fare)]
    free = not sums[1].any()
    while (jump != len(cells)).any():
        sums = [v if i and free else v + v[jump] for i, v in enumerate(sums)]
        jump = jump[jump]  # pointer jumping: twice as far
    asked = place[np.arange(rows)[:, None] * nodes + goals[None, :]]
    return [v[asked] for v in sums]


def shortest_paths(ways: Ways) -> tuple[Floats, Floats, Floats]:
    """
    Quickest ways between all terminals; km and fare are those of that same way.

    Returns
    -------
    hours, km, fare
        Shape (n, n), row = from, column = to; infinite where no way leads. [h], [km],
        [money]
    """
    arcs = ways.arcs
    weights = _matrix(arcs)
    roots, column = np.unique(ways.terminals, return_inverse=True)
    n = len(roots)
    out = np.full((3, n, n), np.inf)
    batch = max(1, BATCH_CELLS // max(1, arcs.nodes))
    for low in range(0, n, batch):
        rows = roots[low : low + batch]
        hours, before = dijkstra(weights, indices=rows, return_predecessors=True)
        here = slice(low, low + len(rows))
        reached = np.isfinite(hours[:, roots])
        out[0, here] = hours[:, roots]
        for i, values in enumerate(_along(before, arcs, roots), start=1):
            out[i, here] = np.where(reached, values, np.inf)
    hours, km, fare = out[:, column][:, :, column]
    return hours, km, fare


@dataclass(frozen=True, eq=False)
class LaneEdges:
    """
    Edges that lanes drive over, length l.

    Attributes
    ----------
    lane
        Position of the lane as asked for.
    edge
        Number of the edge.
    """

    lane: Integers
    edge: Integers

    def __add__(self, other: LaneEdges) -> LaneEdges:
        """Append."""
        pairs = ((getattr(self, f.name), getattr(other, f.name)) for f in fields(self))
        return LaneEdges(*(np.concatenate(pair) for pair in pairs))


def legs(ways: Ways, origin: Integers, destination: Integers) -> LaneEdges:
    """
    Find the edges of the quickest ways of some lanes.

    Only their origins are searched from.

    Parameters
    ----------
    ways
        Arcs that may be driven.
    origin, destination
        Positions in `ways.terminals`, one pair a lane. A lane without a way has no
        legs, nor has one that ends where it begins.
    """
    arcs = ways.arcs
    weights = _matrix(arcs)
    start, row = np.unique(ways.terminals[origin], return_inverse=True)
    goal = ways.terminals[destination]
    batch = max(1, BATCH_CELLS // max(1, arcs.nodes))
    lanes, runs = [], []
    for low in range(0, len(start), batch):
        here = start[low : low + batch]
        before = dijkstra(weights, indices=here, return_predecessors=True)[1]
        lane = np.flatnonzero((row >= low) & (row < low + len(here)))
        node = goal[lane]
        while len(lane):
            back = before[row[lane] - low, node].astype(np.int64)
            lane, node, back = (x[back >= 0] for x in (lane, node, back))
            lanes.append(lane)
            runs.append(arcs.edge[_arc_of(arcs, back, node)])
            node = back
    none = np.empty(0, dtype=np.int64)
    lane, arc = np.concatenate([none, *lanes]), np.concatenate([none, *runs])
    found = LaneEdges(none, none)
    while len(lane):
        found += LaneEdges(lane, ways.edge[arc].astype(np.int64))
        arc = ways.onward[arc].astype(np.int64)
        lane, arc = lane[arc >= 0], arc[arc >= 0]
    return found
