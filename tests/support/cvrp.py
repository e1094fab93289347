"""Files of the CVRP library as tasks of ours; distances as the library rounds them."""

from itertools import pairwise
from pathlib import Path

import numpy as np
from support.places import BENCH

from logistics.rounds.records import Base, Legs, RoundsSolution, Stop, Task, Truck

FOLDER = BENCH / "cvrp"


def read_vrp(path: Path) -> tuple[int, np.ndarray, np.ndarray]:
    """Capacity, demands and rounded Euclidean distances of a file; depot first."""
    capacity, part, points, demands = 0, "", {}, {}
    for line in path.read_text().splitlines():
        words = line.replace(":", " ").split()
        if not words:
            continue
        if words[0].endswith("_SECTION"):
            part = words[0]
        elif words[0] == "CAPACITY":
            capacity = int(words[1])
        elif words[0] == "EDGE_WEIGHT_TYPE":
            assert words[1] == "EUC_2D"
        elif part == "NODE_COORD_SECTION" and len(words) == 3:
            points[int(words[0])] = (float(words[1]), float(words[2]))
        elif part == "DEMAND_SECTION" and len(words) == 2:
            demands[int(words[0])] = int(words[1])
    xy = np.array([points[n] for n in sorted(points)])
    across = np.linalg.norm(xy[:, None] - xy[None, :], axis=2)
    demand = np.array([demands[n] for n in sorted(demands)])
    return capacity, demand, np.floor(across + 0.5)


def best_known(path: Path) -> float:
    """Cost on the last line of a solution file."""
    lines = path.read_text().splitlines()
    return float(next(w.split()[1] for w in lines if w.startswith("Cost")))


def published_routes(path: Path) -> list[list[int]]:
    """Routes of a solution file, customers counted from 1."""
    lines = [w for w in path.read_text().splitlines() if w.startswith("Route")]
    return [[int(n) for n in line.split(":")[1].split()] for line in lines]


def task_of(capacity: int, demand: np.ndarray, distance: np.ndarray) -> Task:
    """Money is distance; a tonne is a unit of demand; driving takes no time."""
    none = np.zeros_like(distance)
    legs = Legs(km=distance, hours=none, money=distance, before=none, after=none)
    stops = tuple(
        Stop(f"c{n}", take_t=float(q)) for n, q in enumerate(demand[1:], start=1)
    )
    truck = Truck("truck", 0, 0, len(stops), float(capacity))
    return Task((Base("depot"),), stops, (truck,), (legs,))


def length(task: Task, answer: RoundsSolution) -> float:
    """Distance of all tours, summed leg by leg."""
    total = 0.0
    for tour in answer.tours:
        for trip in tour.trips:
            ways = [0, *(s + 1 for s in trip), 0]
            total += sum(float(task.legs[0].km[a, b]) for a, b in pairwise(ways))
    return total
