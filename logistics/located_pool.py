"""Yards and rounds chosen together: all tours seen, and the best choice from them."""

from __future__ import annotations

from dataclasses import dataclass, field
from time import perf_counter

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from logistics.located_check import Siting, loads_t, located_cost
from logistics.located_moves import driven
from logistics.rounds import Answer, Task, Tour
from logistics.rounds_check import SLACK, tour_faults
from logistics.rounds_times import cost

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
    alone: dict[tuple[int, frozenset[int]], list[Tour]] = field(default_factory=dict)
    best: tuple[float, Answer] | None = None

    def rest(self) -> float:
        """Return the seconds left. [s]"""
        return self.end - perf_counter()

    def add(self, tours: list[Tour]) -> None:
        """Take in tours, from every yard; keep the answer if it is the best one."""
        task = self.siting.task
        for tour in tours:
            for v in range(len(task.trucks)):
                self._add_one(_from_yard(task, tour, v))
        stops = sorted(stop for tour in tours for stop in tour.stops)
        loads = loads_t(self.siting, tours)
        limits = self.siting.capacity_t
        if stops == list(range(len(task.stops))) and all(
            load <= most + SLACK for load, most in zip(loads, limits, strict=True)
        ):
            answer = Answer(tuple(tours), ())
            total = located_cost(self.siting, answer)
            if self.best is None or total < self.best[0] - SLACK:
                self.best = (total, answer)

    def _add_one(self, tour: Tour) -> None:
        """Take in one tour if it can be driven and is the cheapest of its stops."""
        key = (tour.truck, frozenset(tour.stops))
        money = cost(self.siting.task, Answer((tour,), ()))
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


def chosen(pool: Pool) -> list[Tour]:
    """Choose yards and tours of the pool at least cost; empty if none fit."""
    siting, task = pool.siting, pool.siting.task
    if pool.rest() <= 0:
        return []
    kept = list(pool.tours.values())
    stops, bases, kinds = len(task.stops), len(task.bases), len(task.trucks)
    table = np.zeros((stops + bases + kinds, len(kept) + bases))
    for n, (_, tour) in enumerate(kept):
        table[tour.stops, n] = 1.0
        load = sum(task.stops[s].take_t for s in tour.stops)
        table[stops + task.trucks[tour.truck].base, n] = load
        table[stops + bases + tour.truck, n] = 1.0
    at = np.arange(bases)
    table[stops + at, len(kept) + at] = -np.array(siting.capacity_t)
    counts = [truck.count for truck in task.trucks]
    low = np.concatenate([np.ones(stops), np.full(bases + kinds, -np.inf)])
    high = np.concatenate([np.ones(stops), np.zeros(bases), counts])
    answer = milp(
        np.array([money for money, _ in kept] + list(siting.opening_money)),
        integrality=np.ones(table.shape[1], dtype=np.int64),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(table, low, high),
        options={"time_limit": min(pool.rest(), LONGEST), "mip_rel_gap": 1e-4},
    )
    if answer.x is None:
        return []
    return [tour for x, (_, tour) in zip(answer.x, kept, strict=False) if x > 0.5]
