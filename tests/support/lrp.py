"""Files of the location-routing set as sitings of ours, and the best known totals."""

from pathlib import Path

import numpy as np
from support.places import BENCH

from logistics.rounds.located.check import Siting
from logistics.rounds.records import Base, Legs, Stop, Task, Truck

FOLDER = BENCH / "lrp"
BEST_KNOWN = {
    "coord20-5-1": 54793,
    "coord20-5-1b": 39104,
    "coord20-5-2": 48908,
    "coord20-5-2b": 37542,
    "coord50-5-1": 90111,
    "coord50-5-1b": 63242,
    "coord50-5-2": 88293,
    "coord50-5-2b": 67308,
    "coord50-5-3": 86203,
    "coord100-5-1": 274814,
}
"""As listed beside the files."""


def read_lrp(path: Path) -> Siting:
    """Money is 100 times the distance, rounded up; every route costs its own fee."""
    numbers = [float(word) for word in path.read_text().split()]
    n, m = int(numbers[0]), int(numbers[1])
    xy = np.array(numbers[2 : 2 + 2 * (n + m)]).reshape(n + m, 2)
    rest = numbers[2 + 2 * (n + m) :]
    payload, capacity, rest = rest[0], rest[1 : 1 + m], rest[1 + m :]
    demand, opening, (fee, flag) = rest[:n], rest[n : n + m], rest[n + m :]
    assert flag == 0
    across = np.linalg.norm(xy[:, None] - xy[None, :], axis=2)
    money = np.ceil(100 * across - 1e-9)
    none = np.zeros_like(money)
    legs = Legs(km=across, hours=none, money=money, before=none, after=none)
    trucks = tuple(
        Truck(f"from {b}", b, 0, n, payload, money_per_day=fee) for b in range(m)
    )
    task = Task(
        tuple(Base(f"depot {b}") for b in range(m)),
        tuple(Stop(f"c{i}", take_t=q) for i, q in enumerate(demand, start=1)),
        trucks,
        (legs,),
    )
    return Siting(task, tuple(opening), tuple(capacity))
