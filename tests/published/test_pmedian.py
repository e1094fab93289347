"""
Shortest paths on the p-median networks of the OR-Library.

Beasley, J. E., A note on solving large p-median problems, European Journal of
Operational Research 21:270-273, 1985 (title from memory). Optima as published with the
instances. Of several edges between two nodes the last in the file counts.
"""

import networkx as nx
import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_matrix, hstack, identity, kron, vstack
from support.places import BENCH

from logistics.model.problem.nearby import FarmDistances
from logistics.roads.paths import quickest_arcs, shortest_paths, ways_between

FOLDER = BENCH / "pmedian"
OPTIMUM = {1: 5819, 2: 4093, 3: 4250, 4: 3034, 5: 1355}

pytestmark = pytest.mark.skipif(
    not FOLDER.is_dir(),
    reason="the OR-Library's p-median files are open data outside the repository, "
    "looked for in ../shared/bench/pmedian",
)


def read(number, last_counts=True):
    """Nodes, sites to choose, and the length of every undirected edge."""
    words = (FOLDER / f"pmed{number}.txt").read_text().split()
    nodes, count, chosen = map(int, words[:3])
    rows = np.array(words[3 : 3 + 3 * count], dtype=int).reshape(-1, 3)
    length: dict[tuple[int, int], int] = {}
    for a, b, km in rows.tolist():
        key = (min(a, b) - 1, max(a, b) - 1)
        length[key] = km if last_counts else min(km, length.get(key, km))
    return nodes, chosen, length


def distances(nodes, length):
    """All-pairs distances by the travel step; km and hours are the same here."""
    pairs = np.array(list(length))
    km = np.array(list(length.values()), dtype=float)
    arcs = quickest_arcs(
        nodes,
        start=np.concatenate([pairs[:, 0], pairs[:, 1]]),
        end=np.concatenate([pairs[:, 1], pairs[:, 0]]),
        hours=np.tile(km, 2),
        km=np.tile(km, 2),
        fare=np.zeros(2 * len(km)),
    )
    hours, along, _ = shortest_paths(ways_between(arcs, np.arange(nodes)))
    assert np.allclose(hours, along)
    return hours


def median(distance, chosen):
    """Least sum of distances to `chosen` sites, by an own integer programme."""
    n = len(distance)
    served = kron(identity(n), np.ones((1, n)), format="csr")
    one_site = hstack([served, csr_matrix((n, n))])
    only_open = hstack([identity(n * n), -kron(np.ones((n, 1)), identity(n))])
    how_many = csr_matrix(np.concatenate([np.zeros(n * n), np.ones(n)]))
    answer = milp(
        np.concatenate([distance.ravel(), np.zeros(n)]),
        constraints=[
            LinearConstraint(one_site, 1, 1),
            LinearConstraint(vstack([only_open]).tocsr(), -np.inf, 0),
            LinearConstraint(how_many, chosen, chosen),
        ],
        integrality=np.concatenate([np.zeros(n * n), np.ones(n)]),
        bounds=Bounds(0, 1),
    )
    assert answer.success
    return answer.fun


@pytest.mark.parametrize("number", OPTIMUM)
def test_distances_equal_networkx(number):
    """Independent: the same network in another library."""
    nodes, _, length = read(number)
    graph = nx.Graph()
    graph.add_weighted_edges_from((a, b, km) for (a, b), km in length.items())
    other = dict(nx.all_pairs_dijkstra_path_length(graph))
    expected = [[other[a][b] for b in range(nodes)] for a in range(nodes)]
    assert np.abs(distances(nodes, length) - expected).max() <= 1e-9


@pytest.mark.slow
@pytest.mark.parametrize("number", OPTIMUM)
def test_published_optimum(number):
    nodes, chosen, length = read(number)
    assert median(distances(nodes, length), chosen) == pytest.approx(OPTIMUM[number])


def test_the_shortest_of_double_edges_gives_another_answer():
    """The trap of this set: 5718 for pmed1 if the least of two edges is taken."""
    nodes, chosen, length = read(1, last_counts=False)
    assert median(distances(nodes, length), chosen) == pytest.approx(5718)


GREATEST = {1: 127, 2: 98, 3: 93, 4: 74, 5: 48}
"""Least greatest distance of the same files, the p-centre problem (from memory)."""


def fewest_sites(distance, radius):
    """Fewest sites with every node within a radius, by set cover."""
    n = len(distance)
    answer = milp(
        np.ones(n),
        constraints=LinearConstraint((distance <= radius).astype(float), 1, np.inf),
        integrality=np.ones(n),
        bounds=Bounds(0, 1),
    )
    assert answer.success
    return answer.x > 0.5


@pytest.mark.parametrize(
    "number",
    [5, *(pytest.param(n, marks=pytest.mark.thorough) for n in GREATEST if n != 5)],
)
def test_published_least_greatest_distance(number):
    """
    As farms and yards: the greatest way to the nearest open yard, made least.

    Between the levels that distances have, halving with a set cover at each; one level
    below the least that a choice of sites can have, they do not suffice.
    """
    nodes, chosen, length = read(number)
    distance = distances(nodes, length)
    farms = FarmDistances(distance, np.full(nodes, 1 / nodes))
    levels, low, high = np.unique(distance), 0, len(np.unique(distance)) - 1
    best = np.inf
    while low <= high:
        middle = (low + high) // 2
        opened = fewest_sites(distance, levels[middle])
        if opened.sum() <= chosen:
            best, high = farms.nearest(opened).max(), middle - 1
        else:
            low = middle + 1
    assert best == GREATEST[number]
    assert fewest_sites(distance, best - 1).sum() > chosen
