"""Yards and rounds chosen together: all tours seen, and the best choice from them."""

from __future__ import annotations

from dataclasses import dataclass, field
from time import perf_counter

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from logistics.rounds.check import SLACK, tour_faults
from logistics.rounds.leg_times import cost
from logistics.rounds.located.check import (
    Siting,
    loads_t,
    located_cost,
    one_a_site,
    over_fleet,
)
from logistics.rounds.located.moves import driven
from logistics.rounds.records import RoundsSolution, Task, Tour

STOPPED = 1
"""What SciPy says of a programme that met its limit of time."""
LONGEST = 10.0
"""Most for one integer programme. [s]"""


@dataclass(eq=False)
class Pool:
    """Tours seen so far, the cheapest for each truck and set of stops."""

    siting: Siting
    end: float
    """When to stop, on the clock of `perf_counter`. [s]"""
    tours: dict[tuple[int, frozenset[int]], tuple[float, Tour]] = field(
        default_factory=dict
    )
    seen: set[Tour] = field(default_factory=set)
    """Tours that were tried from every yard."""
    alone: dict[tuple[int, frozenset[int], int | None], list[Tour]] = field(
        default_factory=dict
    )
    incumbent: tuple[float, RoundsSolution] | None = None
    cut: bool = False
    """Whether the clock ended an integer programme."""

    def rest(self) -> float:
        """Return the seconds left. [s]"""
        return self.end - perf_counter()

    def add(self, tours: list[Tour]) -> None:
        """Take in tours, from every yard; keep the answer if it is the best one."""
        task = self.siting.task
        for tour in (t for t in tours if t not in self.seen):
            self.seen.add(tour)
            for v in range(len(task.trucks)):
                self._add_one(_from_yard(task, tour, v))
        total = self.total(tours)
        if total < (np.inf if self.incumbent is None else self.incumbent[0] - SLACK):
            self.incumbent = (total, RoundsSolution(tuple(tours), ()))

    def total(self, tours: list[Tour]) -> float:
        """Cost with openings; infinite if stops are missing or limits broken."""
        stops = sorted(stop for tour in tours for stop in tour.stops)
        loads = loads_t(self.siting, tours)
        limits = self.siting.capacity_t
        if stops != list(range(len(self.siting.task.stops))) or any(
            load > most + SLACK for load, most in zip(loads, limits, strict=True)
        ):
            return np.inf
        if over_fleet(self.siting, tours):
            return np.inf
        return located_cost(self.siting, RoundsSolution(tuple(tours), ()))

    def _add_one(self, tour: Tour) -> None:
        """Take in one tour if it can be driven and is the cheapest of its stops."""
        key = (tour.truck, frozenset(tour.stops))
        money = cost(self.siting.task, RoundsSolution((tour,), ()))
        if key in self.tours and self.tours[key][0] <= money:
            return
        if not tour_faults(self.siting.task, tour):
            self.tours[key] = (money, tour)


def _from_yard(task: Task, tour: Tour, v: int) -> Tour:
    """Let another truck drive the stops, joining each trip where it is cheapest."""
    if v == tour.truck:
        return tour
    truck = task.trucks[v]
    money = driven(task.legs[truck.legs])
    trips = []
    for trip in tour.trips:
        ways = np.array([task.place(s) for s in trip])
        added = money[np.roll(ways, 1), truck.base] + money[truck.base, ways]
        first = int(np.argmin(added - money[np.roll(ways, 1), ways]))
        trips.append((*trip[first:], *trip[:first]))
    return Tour(v, tuple(trips))


def chosen(pool: Pool, bases: tuple[int, ...] | None = None) -> list[Tour]:
    """
    Choose yards and tours of the pool at least cost; empty if none fit.

    Parameters
    ----------
    pool
        Tours seen.
    bases
        The only yards to choose from; None for all.
    """
    siting, task = pool.siting, pool.siting.task
    if pool.rest() <= 0:
        return []
    stops, yards, kinds = len(task.stops), len(task.bases), len(task.trucks)
    bases = tuple(range(yards)) if bases is None else bases
    kept = [
        (money, tour)
        for money, tour in pool.tours.values()
        if task.trucks[tour.truck].base in bases
    ]
    table = np.zeros((stops + yards + kinds, len(kept) + yards))
    for n, (_, tour) in enumerate(kept):
        table[tour.stops, n] = 1.0
        load = sum(task.stops[s].take_t for s in tour.stops)
        table[stops + task.trucks[tour.truck].base, n] = load
        table[stops + yards + tour.truck, n] = 1.0
    at = np.arange(yards)
    table[stops + at, len(kept) + at] = -np.array(siting.capacity_t)
    counts = [truck.count for truck in task.trucks]
    low = np.concatenate([np.ones(stops), np.full(yards + kinds, -np.inf)])
    high = np.concatenate([np.ones(stops), np.zeros(yards), counts])
    least = np.zeros(len(kept) + yards)
    least[[len(kept) + b for b in siting.always]] = 1.0
    answer = milp(
        np.array([money for money, _ in kept] + list(siting.opening_money)),
        integrality=np.ones(table.shape[1], dtype=np.int64),
        bounds=Bounds(least, 1),
        constraints=[
            LinearConstraint(table, low, high),
            *_of_yards(siting, [tour for _, tour in kept]),
        ],
        options={"time_limit": min(pool.rest(), LONGEST), "mip_rel_gap": 1e-4},
    )
    pool.cut = pool.cut or answer.status == STOPPED
    if answer.x is None:
        return []
    return [tour for x, (_, tour) in zip(answer.x, kept, strict=False) if x > 0.5]


def _of_yards(siting: Siting, tours: list[Tour]) -> list[LinearConstraint]:
    """Rows of one size a site, of the sorts that are wanted and of fleets."""
    sites, sorts = one_a_site(siting), np.array(siting.sort)
    rows = [(site, 0, 1) for site in sites]
    rows += [
        (np.array(sorts == k, dtype=float), most, most)
        for k, most in enumerate(siting.wanted)
    ]
    none = np.zeros(len(tours))
    found = [LinearConstraint([[*none, *row]], low, high) for row, low, high in rows]
    for group, most in siting.fleet:
        out = [float(tour.truck in group) for tour in tours]
        found.append(LinearConstraint([[*out, *np.zeros(len(sorts))]], 0, most))
    return found
