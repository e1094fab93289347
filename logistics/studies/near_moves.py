"""Small steps from one set of yards to another, and which of them to make together."""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import zip_longest

import numpy as np

from logistics.model import Floats, Instance

Choice = frozenset[int]
"""Options that are open."""
MOST_TOGETHER = 3
"""Moves that are made together at most."""


@dataclass(frozen=True)
class Move:
    """A yard dropped, added, moved or resized: options shut and options opened."""

    shut: Choice
    opened: Choice

    def after(self, options: Choice) -> Choice:
        """Make the move."""
        return (options - self.shut) | self.opened


def sites_apart(instance: Instance) -> Floats:
    """
    Reckon how far sites are apart, shape (j, j); infinite where nothing tells. [km]

    It is told by how differently far they are from sources: the mean difference of the
    ways from those that reach both.
    """
    lanes, sites = instance.inbound, len(instance.yards.codes)
    way = np.full((len(instance.supply.codes), sites), np.nan)
    km = lanes.km.min(axis=1)
    for lane in range(len(lanes)):
        at = int(lanes.site[lane]), int(lanes.yard[lane])
        way[at] = np.fmin(way[at], km[lane])
    apart = np.full((sites, sites), np.inf)
    for j in range(sites):
        differ = np.abs(way - way[:, [j]])
        known = ~np.isnan(differ)
        total = np.where(known, differ, 0.0).sum(axis=0)
        some = known.any(axis=0)
        apart[j, some] = total[some] / known.sum(axis=0)[some]
    return apart


def moves_from(instance: Instance, choice: Choice) -> list[Move]:
    """
    List every way to drop, add, move or resize one yard, promising ones first.

    Yards moved in their size come by how far they are moved, new yards by what they
    cost a year; the sorts take turns, those that change a size come last.
    """
    options = instance.options
    yard, size = options.yard.tolist(), options.size
    at = {yard[o]: o for o in choice}
    apart = sites_apart(instance)
    new = [o for o in range(len(yard)) if yard[o] not in at]
    drops = [Move(frozenset({o}), frozenset()) for o in sorted(choice)]
    adds = [
        Move(frozenset(), frozenset({o}))
        for o in sorted(new, key=lambda o: float(options.annual[o]))
    ]
    pairs = sorted(
        ((old, o) for old in sorted(choice) for o in new),
        key=lambda pair: apart[yard[pair[0]], yard[pair[1]]],
    )
    same, other = (
        [
            Move(frozenset({old}), frozenset({o}))
            for old, o in pairs
            if (size[old] == size[o]) == kept
        ]
        for kept in (True, False)
    )
    resized = [
        Move(frozenset({at[yard[o]]}), frozenset({o}))
        for o in range(len(yard))
        if yard[o] in at and o not in choice
    ]
    turns = [*zip_longest(same, drops, adds), *zip_longest(resized, other)]
    return [move for turn in turns for move in turn if move is not None]


def together(
    instance: Instance, costs: Mapping[Move, float], most: float
) -> Iterator[tuple[Move, ...]]:
    """
    Combine moves of different sites, by the sum of what each costs alone.

    Parameters
    ----------
    instance
        Whose options the moves are of.
    costs
        What each move costs; below zero counts as nothing. [goal]
    most
        Sum to end at. [goal]

    Yields
    ------
    tuple of Move
        Two of them or three, the cheapest together first.
    """
    yard = instance.options.yard.tolist()
    order = sorted(costs, key=lambda move: costs[move])
    each = [max(0.0, costs[move]) for move in order]
    sites = [{yard[o] for o in move.shut | move.opened} for move in order]
    heap: list[tuple[float, tuple[int, ...]]] = [(each[0], (0,))] if order else []
    while heap:
        total, chosen = heapq.heappop(heap)
        if total > most:
            return
        last = chosen[-1] + 1
        if last < len(order):
            swapped = (*chosen[:-1], last)
            heapq.heappush(heap, (total - each[chosen[-1]] + each[last], swapped))
            if len(chosen) < MOST_TOGETHER:
                heapq.heappush(heap, (total + each[last], (*chosen, last)))
        union = set[int]().union(*(sites[n] for n in chosen))
        apart = len(union) == sum(len(sites[n]) for n in chosen)
        if len(chosen) > 1 and apart:
            yield tuple(order[n] for n in chosen)
