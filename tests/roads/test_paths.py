"""Nodes taken out of the network change no way and no length."""

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.roads import paths
from logistics.roads.paths import legs, quickest_arcs, shortest_paths, ways_between

NODES = 40


def country(seed):
    """Roads with long lines, dead ends and rings; some one-way, some double."""
    rng = np.random.default_rng(seed)
    start = rng.integers(0, NODES, 48)
    end = np.where(
        rng.random(48) < 0.6, (start + 1) % NODES, rng.integers(0, NODES, 48)
    )
    both = rng.random(48) < 0.8
    a = np.concatenate([start, end[both]])
    b = np.concatenate([end, start[both]])
    hours, km, fare = (rng.uniform(0.1, 2, 48) for _ in range(3))
    tripled = [np.concatenate([v, v[both]]) for v in (hours, km, fare)]
    edge = np.concatenate([np.arange(48), np.flatnonzero(both)])
    terminals = rng.choice(NODES, 6, replace=False)
    return a, b, *tripled, edge, terminals


@pytest.mark.slow
@given(st.integers(0, 100_000))
@settings(max_examples=200, deadline=None)
def test_ways_equal_networkx_on_the_whole_network(seed):
    a, b, hours, km, fare, edge, terminals = country(seed)
    ways = ways_between(quickest_arcs(NODES, a, b, hours, km, fare, edge), terminals)
    found = shortest_paths(ways)
    other = nx.MultiDiGraph()
    other.add_nodes_from(range(NODES))
    for i in range(len(a)):
        other.add_edge(a[i], b[i], hours=hours[i], km=km[i], fare=fare[i])
    for i, start in enumerate(terminals):
        length, way = nx.single_source_dijkstra(other, start, weight="hours")
        for j, end in enumerate(terminals):
            assert found[0][i, j] == pytest.approx(length.get(end, np.inf), abs=1e-9)
            if end in way:
                steps = [
                    min(other[u][v].values(), key=lambda d: d["hours"])
                    for u, v in zip(way[end], way[end][1:], strict=False)
                ]
                for k, name in ((1, "km"), (2, "fare")):
                    total = sum(step[name] for step in steps)
                    assert found[k][i, j] == pytest.approx(total, abs=1e-9)


@given(st.integers(0, 100_000))
@settings(max_examples=100, deadline=None)
def test_legs_add_up_to_the_lengths(seed):
    a, b, hours, km, fare, edge, terminals = country(seed)
    ways = ways_between(quickest_arcs(NODES, a, b, hours, km, fare, edge), terminals)
    length = shortest_paths(ways)[1]
    i, j = (x.ravel() for x in np.indices(length.shape))
    found = legs(ways, i, j)
    km_of = np.zeros(48)
    km_of[edge] = km
    total = np.bincount(found.lane, km_of[found.edge], minlength=len(i))
    reached = np.isfinite(length.ravel())
    assert total[reached] == pytest.approx(length.ravel()[reached], abs=1e-9)
    assert (total[~reached] == 0).all()
    # no edge twice in a lane
    assert len(np.unique(found.lane * 48 + found.edge)) == len(found.edge)


def test_a_long_line_with_dead_ends_becomes_one_arc():
    start = np.array([0, 1, 2, 3, 2, 5, 6])
    end = np.array([1, 2, 3, 4, 5, 6, 7])
    one = np.ones(7)
    arcs = quickest_arcs(
        8,
        np.concatenate([start, end]),
        np.concatenate([end, start]),
        np.tile(one, 2),
        np.tile(one, 2),
        np.zeros(14),
    )
    ways = ways_between(arcs, np.array([0, 4]))
    assert ways.arcs.nodes == 2
    assert ways.arcs.hours.tolist() == [4, 4]
    assert shortest_paths(ways)[0].tolist() == [[0, 4], [4, 0]]


def test_a_terminal_without_roads_is_reached_by_nobody():
    arcs = quickest_arcs(
        3, np.array([0]), np.array([1]), np.ones(1), np.ones(1), np.zeros(1)
    )
    hours = shortest_paths(ways_between(arcs, np.array([0, 2])))[0]
    assert np.isinf(hours[0, 1])
    assert hours[0, 0] == hours[1, 1] == 0


@pytest.mark.parametrize("seed", range(5))
def test_a_few_sources_at_a_time_give_the_same(seed, monkeypatch):
    """A large district is searched in parts, for want of memory."""
    a, b, hours, km, fare, edge, terminals = country(seed)
    ways = ways_between(quickest_arcs(NODES, a, b, hours, km, fare, edge), terminals)
    i, j = (x.ravel() for x in np.meshgrid(np.arange(6), np.arange(6), indexing="ij"))

    def all_of_it():
        used = legs(ways, i, j)
        order = np.lexsort((used.edge, used.lane))
        return [*shortest_paths(ways), used.lane[order], used.edge[order]]

    whole = all_of_it()
    for each in (1, 2, 4):
        monkeypatch.setattr(paths, "BATCH_CELLS", each * ways.arcs.nodes)
        for one, other in zip(whole, all_of_it(), strict=True):
            assert np.array_equal(one, other)
