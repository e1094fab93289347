"""Who lives near yards, how far farms are from them, and the mean of the worst."""

from dataclasses import dataclass

import numpy as np

from logistics.model.problem.arrays import Flags, Floats, lock

WORST = 0.1
"""Share of the farms' demand whose mean distance is the measure of fairness."""


@dataclass(frozen=True, eq=False)
class PeopleNear:
    """
    Places with people, length p.

    Attributes
    ----------
    heads
        People who live there.
    near
        Whether a yard, if open, exposes them, shape (p, j).
    """

    heads: Floats
    near: Flags

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)

    def exposed(self, opened: Flags) -> float:
        """Count the people near open yards (mask, length j), each place once."""
        return float(self.heads[self.near[:, opened].any(axis=1)].sum())


@dataclass(frozen=True, eq=False)
class FarmDistances:
    """
    Ways between yards and markets, length n.

    Attributes
    ----------
    km
        Shortest way to each yard, shape (n, j); infinite where there is none. [km]
    share
        Of the year's demand; adds up to 1. [1]
    """

    km: Floats
    share: Floats

    def __post_init__(self) -> None:
        """Lock the arrays."""
        lock(self)

    def nearest(self, opened: Flags) -> Floats:
        """Distance to the nearest open yard (mask, length j), length n. [km]"""
        return np.asarray(self.km[:, opened].min(axis=1, initial=np.inf))

    def worst(self, opened: Flags) -> float:
        """Mean distance of the worst tenth of the demand. [km]"""
        return mean_of_worst(self.nearest(opened), self.share, WORST)


def mean_of_worst(values: Floats, weights: Floats, share: float) -> float:
    """
    Return the mean of the largest values that make up a share of all weight.

    Parameters
    ----------
    values, weights
        What is weighed; weights add up to 1.
    share
        Above 0, at most 1.

    Notes
    -----
    Least over eta of eta + sum_k p_k max(0, x_k - eta) / share: Rockafellar and
    Uryasev, Optimization of conditional value-at-risk, Journal of Risk 2(3), 2000,
    21-41 (formula from memory). The least is reached at a value, and is the mean of
    the tail with the value at its edge counted in part.

    Examples
    --------
    >>> mean_of_worst(np.array([1.0, 2.0, 9.0]), np.array([0.25, 0.5, 0.25]), 0.5)
    5.5
    """
    order = np.argsort(-values, kind="stable")
    each = weights[order]
    before = np.cumsum(each) - each
    counted = np.clip(share - before, 0.0, each)
    used = counted > 0
    return float(counted[used] @ values[order][used] / counted.sum())
