"""
Location-routing, the files of 20 customers.

Prins, C., Prodhon, C. and Wolfler Calvo, R., Solving the capacitated location-routing
problem by a GRASP complemented by a learning process and a path relinking, 4OR 4, 2006,
pp. 221-238 (title and pages from memory). Cost = 100 times the distance, rounded up,
openings, 1000 a route. The best known totals are in `lrp.py`.
"""

from itertools import pairwise
from math import ceil, hypot

import pytest
from support.lrp import BEST_KNOWN, FOLDER, read_lrp

from logistics.rounds.located.check import located_cost, located_faults
from logistics.rounds.located.search import locate
from logistics.rounds.records import SearchLimits

SMALL = [name for name in BEST_KNOWN if name.startswith("coord20-")]
needs = pytest.mark.skipif(
    not (FOLDER / "coord20-5-1.dat").exists(),
    reason="the location-routing files of Prins, Prodhon and Wolfler Calvo (2006) are "
    "open data outside the repository, looked for in ../shared/bench/lrp",
)


def from_the_file(name, answer):
    """Total cost, reckoned from the file's numbers and the tours alone."""
    words = (FOLDER / f"{name}.dat").read_text().split()
    n, m = int(words[0]), int(words[1])
    xy = [(int(words[k]), int(words[k + 1])) for k in range(2, 2 + 2 * (n + m), 2)]
    payload, *rest = map(int, words[2 + 2 * (n + m) :])
    capacity, demand, opening = rest[:m], rest[m : m + n], rest[m + n : 2 * m + n]
    loads, total, seen = [0] * m, 0, []
    for tour in answer.tours:
        (trip,) = tour.trips
        ways = [tour.truck, *(m + s for s in trip), tour.truck]
        total += 1000
        for a, b in pairwise(ways):
            across = hypot(xy[a][0] - xy[b][0], xy[a][1] - xy[b][1])
            total += ceil(100 * across - 1e-9)
        load = sum(demand[s] for s in trip)
        assert load <= payload
        loads[tour.truck] += load
        seen += trip
    assert sorted(seen) == list(range(n))
    assert all(load <= most for load, most in zip(loads, capacity, strict=True))
    return total + sum(opening[b] for b in range(m) if loads[b])


@needs
@pytest.mark.thorough
@pytest.mark.parametrize("name", SMALL)
def test_yards_and_rounds_come_near_the_best_known(name):
    siting = read_lrp(FOLDER / f"{name}.dat")
    answer = locate(siting, SearchLimits(iterations=40, seconds=60), most_sets=6)
    assert located_faults(siting, answer) == []
    total = from_the_file(name, answer)
    assert located_cost(siting, answer) == total
    assert BEST_KNOWN[name] <= total <= 1.02 * BEST_KNOWN[name]
