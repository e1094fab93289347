"""
Who pays: rules that split a joint cost between parties, and a test of the split.

A game is the cost of every group of parties that might act on its own: a mapping of
`frozenset` of parties to money, with every group but the empty one, which costs
nothing. Costs may be negative (a gain is then split); nothing here knows of compost.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import factorial, sqrt

import numpy as np
from scipy.optimize import linprog

Group = frozenset[str]
Game = Mapping[Group, float]
EXACT_PARTIES = 10
"""Up to so many parties all groups are costed (1023); above, orders are drawn."""


def groups(parties: Sequence[str]) -> Iterator[Group]:
    """
    Give every group of the parties, small ones first, without the empty one.

    Examples
    --------
    >>> [sorted(group) for group in groups(["a", "b"])]
    [['a'], ['b'], ['a', 'b']]
    """
    for size in range(1, len(parties) + 1):
        for chosen in combinations(parties, size):
            yield frozenset(chosen)


def _cost(game: Game, group: Group) -> float:
    """Cost of a group; nobody costs nothing."""
    return float(game[group]) if group else 0.0


def _weight(joined: int, parties: int) -> float:
    """Share of all orders of arrival in which just so many came before."""
    return factorial(joined) * factorial(parties - joined - 1) / factorial(parties)


def proportional(total: float, weights: Mapping[str, float]) -> dict[str, float]:
    """
    Split a total by weights such as tonnes; evenly where all weights are 0.

    Examples
    --------
    >>> proportional(90.0, {"a": 2.0, "b": 1.0})
    {'a': 60.0, 'b': 30.0}
    """
    whole = sum(weights.values())
    if whole == 0:
        return {party: total / len(weights) for party in weights}
    return {party: total * weight / whole for party, weight in weights.items()}


def shapley(game: Game, parties: Sequence[str]) -> dict[str, float]:
    """
    Shapley value: what a party adds to the cost, averaged over all orders of joining.

    Parameters
    ----------
    game
        Cost of every group. [money]
    parties
        Who shares; at most about ten, for all groups are read.

    Returns
    -------
    dict
        Party to share; the shares add up to the cost of all together. [money]

    Notes
    -----
    Shapley, A value for n-person games, 1953 (from memory).

    Examples
    --------
    Two who save 30 by acting together save 15 each:

    >>> costs = {frozenset("a"): 60.0, frozenset("b"): 40.0, frozenset("ab"): 70.0}
    >>> shapley(costs, ["a", "b"])
    {'a': 45.0, 'b': 25.0}
    """
    share = {}
    for party in parties:
        others = [other for other in parties if other != party]
        share[party] = sum(
            _weight(len(before), len(parties))
            * (_cost(game, before | {party}) - _cost(game, before))
            for before in [frozenset[str](), *groups(others)]
        )
    return share


def shapley_range(
    game: Game, floor: Game, parties: Sequence[str]
) -> dict[str, tuple[float, float]]:
    """
    Between what the exact Shapley value lies if groups are only solved to a gap.

    Parameters
    ----------
    game, floor
        Cost found for each group, and the proven bound below it. [money]
    parties
        Who shares.
    """
    found = {}
    for party in parties:
        others = [other for other in parties if other != party]
        low = high = 0.0
        for before in [frozenset[str](), *groups(others)]:
            weight, after = _weight(len(before), len(parties)), before | {party}
            low += weight * (_cost(floor, after) - _cost(game, before))
            high += weight * (_cost(game, after) - _cost(floor, before))
        found[party] = (low, high)
    return found


@dataclass(frozen=True)
class Sampled:
    """
    A Shapley value from orders drawn by chance.

    Attributes
    ----------
    share, error
        Mean and its standard error, by party. [money]
    orders
        Orders of joining drawn.
    """

    share: dict[str, float]
    error: dict[str, float]
    orders: int


def sampled_shapley(
    cost: Callable[[Group], float], parties: Sequence[str], orders: int, seed: int
) -> Sampled:
    """
    Estimate the Shapley value from orders of joining, each drawn with its reverse.

    Parameters
    ----------
    cost
        Cost of a group; each group is asked for once. [money]
    parties
        Who shares.
    orders
        Orders to draw, at least 4; odd numbers are raised by one.
    seed
        Of the draw: the same seed gives the same shares.

    Returns
    -------
    Sampled
        The shares still add up exactly: every order does.
    """
    if orders < 4:
        message = f"orders is {orders}; draw at least 4 to know the error"
        raise ValueError(message)
    known: dict[Group, float] = {frozenset(): 0.0}
    draw = np.random.default_rng(seed)
    pairs = []
    for _ in range((orders + 1) // 2):
        order = [str(parties[n]) for n in draw.permutation(len(parties))]
        one, two = (_added(cost, known, way) for way in (order, order[::-1]))
        pairs.append([(one[party] + two[party]) / 2 for party in parties])
    table = np.array(pairs)
    error = table.std(axis=0, ddof=1) / sqrt(len(pairs))
    return Sampled(
        dict(zip(parties, table.mean(axis=0).tolist(), strict=True)),
        dict(zip(parties, error.tolist(), strict=True)),
        2 * len(pairs),
    )


def _added(
    cost: Callable[[Group], float], known: dict[Group, float], order: Sequence[str]
) -> dict[str, float]:
    """Say what each party adds on joining in this order."""
    added, before = {}, frozenset[str]()
    for party in order:
        after = before | {party}
        if after not in known:
            known[after] = cost(after)
        added[party] = known[after] - known[before]
        before = after
    return added


@dataclass(frozen=True)
class Breach:
    """A group that pays more together than it would alone: by so much. [money]"""

    group: Group
    pays: float
    alone: float

    @property
    def excess(self) -> float:
        """What the group would save by leaving. [money]"""
        return self.pays - self.alone


def core_breaches(
    game: Game, share: Mapping[str, float], tolerance: float = 1e-9
) -> list[Breach]:
    """
    Find groups that would be cheaper alone; where there is none, shares are stable.

    Parameters
    ----------
    game, share
        Cost of every group known, and who pays what. [money]
    tolerance
        A breach up to this share of the largest cost is rounding.
    """
    slack = tolerance * max(1.0, *(abs(cost) for cost in game.values()))
    found = [
        Breach(group, sum(share[party] for party in group), cost)
        for group, cost in game.items()
    ]
    return sorted(
        (breach for breach in found if breach.excess > slack),
        key=lambda breach: -breach.excess,
    )


def dearer_together(game: Game, tolerance: float = 1e-9) -> list[Breach]:
    """
    Pairs of groups without a common party that cost more together than apart.

    A game without any is subadditive. `pays` is the cost together, `alone` the sum.
    """
    slack = tolerance * max(1.0, *(abs(cost) for cost in game.values()))
    found = []
    for one, two in combinations(game, 2):
        joint = one | two
        if one & two or joint not in game:
            continue
        breach = Breach(joint, game[joint], game[one] + game[two])
        if breach.excess > slack:
            found.append(breach)
    return sorted(found, key=lambda breach: -breach.excess)


def steadiest(game: Game, parties: Sequence[str]) -> tuple[dict[str, float], float]:
    """
    Find a split in which the group worst off gains as much as can be.

    Returns
    -------
    tuple
        Shares, and what every group short of all saves at least by staying; below
        0 no split keeps all groups content (the core is empty). [money]

    Notes
    -----
    A point of the least core, a linear programme over all groups.
    """
    whole = frozenset(parties)
    if len(parties) == 1:
        return {parties[0]: float(game[whole])}, 0.0
    rest = [group for group in groups(parties) if group != whole]
    rows = np.array([[float(p in group) for p in parties] + [1.0] for group in rest])
    answer = linprog(
        c=[0.0] * len(parties) + [-1.0],
        A_ub=rows,
        b_ub=[game[group] for group in rest],
        A_eq=[[1.0] * len(parties) + [0.0]],
        b_eq=[game[whole]],
        bounds=[(None, None)] * (len(parties) + 1),
        method="highs",
    )
    if answer.x is None:
        message = f"the least core was not found: {answer.message}"
        raise RuntimeError(message)
    values = answer.x.tolist()
    return dict(zip(parties, values[:-1], strict=True)), float(values[-1])
