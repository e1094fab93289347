"""Yards and rounds chosen together: what a set of yards may cost, and moving stops."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from logistics.rounds.check import SLACK
from logistics.rounds.located.check import Siting, opened
from logistics.rounds.records import Floats, Legs, Tour, Truck

FAR = 1e9
"""Stands for a leg that may not be driven. [money]"""


def estimate(siting: Siting, bases: tuple[int, ...]) -> float:
    """
    Estimate the cost of a set of yards from below.

    Openings, the fewest trucks that carry everything, and the larger of two lengths,
    the hours of their legs paid: the shortest forest from the yards to all stops, and
    every tonne's share of a full truck's way to the nearest yard and back (Haimovich,
    M. and Rinnooy Kan, A., Bounds and heuristics for capacitated routing problems,
    Mathematics of Operations Research 10, 1985, from memory). A bound from below where
    no detour saves money or time.
    """
    task = siting.task
    trucks = [t for t in task.trucks if t.base in bases]
    ways: list[Floats] = [_with_hours(task.legs[t.legs], t) for t in trucks]
    ways += [money.T for money in ways]
    money: Floats = np.minimum.reduce(ways)
    payload = max(t.payload_t for t in trucks)
    day = min(t.money_per_day for t in trucks)
    takes = np.array([s.take_t for s in task.stops])
    near = money[list(bases), len(task.bases) :].min(axis=0)
    radial = 2 * float(near @ takes) / payload
    shift = max(t.payload_t * t.most_trips for t in trucks)
    fewest = np.ceil(takes.sum() / shift - SLACK)
    between = money[len(task.bases) :, len(task.bases) :]
    length = max(radial, _forest(near, between))
    opening, _ = opened(siting, bases)
    return float(opening + day * fewest + length)


def _with_hours(legs: Legs, truck: Truck) -> Floats:
    """Money of all legs with the hours that they and their handling take. [money]"""
    hours = legs.hours + legs.before + legs.after
    money = legs.money + truck.money_per_h * hours if truck.money_per_h else legs.money
    return np.where(np.isfinite(legs.hours), money, FAR)


def driven(legs: Legs) -> Floats:
    """Money of all legs, very much where they may not be driven. [money]"""
    return np.where(np.isfinite(legs.hours), legs.money, FAR)


def _forest(near: Floats, between: Floats) -> float:
    """Length of the shortest forest that joins all stops to yards (Prim)."""
    nearest, total = near.copy(), 0.0
    for _ in range(len(near)):
        stop = int(np.argmin(nearest))
        total += float(nearest[stop])
        nearest = np.minimum(nearest, between[stop])
        near = near.copy()
        near[stop] = np.inf
        nearest[np.isinf(near)] = np.inf
    return total


def moved(
    siting: Siting,
    bases: tuple[int, ...],
    tours: list[Tour],
    noise: Floats | None = None,
) -> dict[int, set[int]] | None:
    """
    Move stops between yards, at least marginal cost, until all capacities are kept.

    A stop's marginal cost is the cheapest place in a tour of the other yard, the load
    of the truck left aside, less what its own tour saves. None if they do not fit.

    Parameters
    ----------
    siting, bases
        Candidate yards; those open.
    tours
        That visit every stop once; yards may be overloaded.
    noise
        Added to the cost of having each stop at each yard. [money]
    """
    task = siting.task
    extra, home = _marginal(siting, bases, tours)
    if noise is not None:
        extra = extra + noise
    stops = len(task.stops)
    takes = np.array([s.take_t for s in task.stops])
    once = np.kron(np.eye(stops), np.ones(len(bases)))
    load = np.kron(takes, np.eye(len(bases)))
    limits = [siting.capacity_t[b] for b in bases]
    answer = milp(
        extra.ravel(),
        integrality=np.ones(extra.size, dtype=np.int64),
        bounds=Bounds(0, 1),
        constraints=[
            LinearConstraint(once, 1, 1),
            LinearConstraint(load, -np.inf, limits),
        ],
        options={"time_limit": 2.0, "mip_rel_gap": 1e-3},
    )
    if answer.x is None or len(home) < stops:
        return None
    where = np.argmax(answer.x.reshape(extra.shape), axis=1)
    return {b: set(np.flatnonzero(where == n).tolist()) for n, b in enumerate(bases)}


def _marginal(
    siting: Siting, bases: tuple[int, ...], tours: list[Tour]
) -> tuple[Floats, dict[int, int]]:
    """Cost of having each stop at each yard, over now; and the yard it has now."""
    task = siting.task
    shape = (len(task.stops), len(bases))
    joining, saved, home = np.full(shape, np.inf), np.zeros(shape[0]), {}
    places = np.array([task.place(s) for s in range(shape[0])])
    for truck in (t for t in task.trucks if t.base in bases):
        money, n = driven(task.legs[truck.legs]), bases.index(truck.base)
        alone = money[truck.base, places] + money[places, truck.base]
        joining[:, n] = np.minimum(joining[:, n], alone + truck.money_per_day)
    for tour in tours:
        truck = task.trucks[tour.truck]
        money, n = driven(task.legs[truck.legs]), bases.index(truck.base)
        for trip in tour.trips:
            ways = [truck.base, *(task.place(s) for s in trip), truck.base]
            for a, b in pairwise(ways):
                added = money[a, places] + money[places, b] - money[a, b]
                joining[:, n] = np.minimum(joining[:, n], added)
            for k, s in enumerate(trip):
                a, i, b = ways[k : k + 3]
                saved[s] = money[a, i] + money[i, b] - money[a, b]
                home[s] = n
    extra = joining - saved[:, None]
    for s, n in home.items():
        extra[s, n] = 0.0
    return extra, home


def shove(siting: Siting, bases: tuple[int, ...], rng: np.random.Generator) -> Floats:
    """
    Noise that drives one to ten stops that lie together to or from a yard.

    Parameters
    ----------
    siting, bases
        Candidate yards; those open.
    rng
        Of the search.

    Returns
    -------
    Floats
        By stop and open yard. [money]
    """
    task = siting.task
    ways = driven(task.legs[task.trucks[0].legs])[len(task.bases) :, len(task.bases) :]
    usual = float(np.median(ways))
    noise = rng.normal(0.0, 0.02 * usual, (len(task.stops), len(bases)))
    near = np.argsort(ways[rng.integers(len(ways))])[: rng.integers(1, 11)]
    noise[near, rng.integers(len(bases))] += usual * rng.choice([-1.0, 1.0])
    return noise
