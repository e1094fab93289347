"""Drawn roads become a graph, and the quickest ways through it are found."""

from itertools import pairwise

import networkx as nx
import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from support.ground_tables import roads

from logistics.roads.geometry import circuitous_km, geodesic_km, nearest_road, segments
from logistics.roads.graph import road_graph
from logistics.roads.paths import (
    BATCH_CELLS,
    quickest_arcs,
    shortest_paths,
    ways_between,
)

LINE = {"wkt": "LINESTRING (0 0, 0.1 0, 0.2 0)"}


def ends(graph):
    """Undirected edges as pairs of rounded positions."""
    place = [
        (round(x, 6), round(y, 6)) for x, y in zip(graph.lon, graph.lat, strict=True)
    ]
    return {
        frozenset((place[a], place[b]))
        for a, b in zip(graph.start, graph.end, strict=True)
    }


def test_a_line_is_one_edge_as_long_as_its_pieces():
    graph = road_graph(roads(LINE))
    assert len(graph.lon) == 2
    assert graph.km.tolist() == pytest.approx([geodesic_km(0, 0, 0.2, 0)])
    assert graph.road_share.tolist() == [1]


def test_lines_join_at_shared_ends_and_at_inner_vertices():
    side = {"wkt": "LINESTRING (0.1 0, 0.1 0.1)"}
    graph = road_graph(roads(LINE, side))
    assert len(graph.lon) == 4
    assert ends(graph) == {
        frozenset({(0.0, 0.0), (0.1, 0.0)}),
        frozenset({(0.1, 0.0), (0.2, 0.0)}),
        frozenset({(0.1, 0.0), (0.1, 0.1)}),
    }
    assert graph.road_share.tolist() == pytest.approx([0.5, 0.5, 1])


def test_crossing_lines_do_not_join():
    """One may be a bridge over the other."""
    across = {"wkt": "LINESTRING (0.05 -0.1, 0.05 0.1)"}
    graph = road_graph(roads(LINE, across))
    assert len(graph.lon) == 4
    assert len(graph.km) == 2


def test_a_multiline_and_a_ring_keep_their_shape():
    ring = {"wkt": "LINESTRING (0 0, 0.1 0, 0.1 0.1, 0 0)"}
    two = {"wkt": "MULTILINESTRING ((0 0, 0 -0.1), (0.5 0.5, 0.6 0.5))"}
    graph = road_graph(roads(ring, two))
    ring_km = graph.km[graph.road == 0].sum()
    assert ring_km == pytest.approx(
        geodesic_km(0, 0, 0.1, 0)
        + geodesic_km(0.1, 0, 0.1, 0.1)
        + geodesic_km(0.1, 0.1, 0, 0)
    )
    assert (graph.road == 1).sum() == 2


def test_doubled_vertices_do_no_harm():
    doubled = {"wkt": "LINESTRING (0 0, 0 0, 0.1 0, 0.1 0, 0.2 0)"}
    plain, odd = road_graph(roads(LINE)), road_graph(roads(doubled))
    assert odd.km.tolist() == pytest.approx(plain.km.tolist())


def test_sites_split_the_road_where_they_join():
    table = roads(LINE)
    pieces = segments(table)
    lon, lat = np.array([0.05, 0.15, 0.1]), np.array([0.01, -0.01, 0.0])
    access = nearest_road(pieces, True, lon, lat)
    graph = road_graph(table, pieces, access)
    assert access.km.tolist() == pytest.approx(
        [geodesic_km(0, 0, 0, 0.01)] * 2 + [0], abs=1e-6
    )
    assert len(graph.km) == 4
    assert graph.km.sum() == pytest.approx(geodesic_km(0, 0, 0.2, 0))
    assert graph.road_share.sum() == pytest.approx(1)
    assert graph.lon[graph.site_node].tolist() == pytest.approx(lat * 0 + lon)


def test_sites_at_one_place_share_a_node():
    table = roads(LINE)
    pieces = segments(table)
    access = nearest_road(pieces, True, np.array([0.0, 0.0, 0.2]), np.zeros(3))
    graph = road_graph(table, pieces, access)
    assert graph.site_node[0] == graph.site_node[1] != graph.site_node[2]
    assert len(graph.lon) == 2


def test_nobody_boards_where_it_is_not_allowed():
    table = roads({**LINE, "class": "ferry"}, {"wkt": "LINESTRING (0 1, 1 1)"})
    pieces = segments(table)
    allowed = pieces.road == 1
    access = nearest_road(pieces, allowed, np.array([0.1]), np.array([0.01]))
    assert pieces.road[access.segment[0]] == 1


@given(st.floats(0, 100), st.floats(0, 100), st.tuples(*[st.floats(1, 3)] * 3))
@example(4.99, 5.01, (1.6, 1.4, 1.3))
@example(19.99, 20.01, (1.6, 1.4, 1.3))
@example(4.99, 20.01, (3.0, 1.0, 1.0))
def test_a_longer_straight_line_is_never_a_shorter_road(a, b, factors):
    near, far = sorted((a, b))
    assert circuitous_km(near, *factors) <= circuitous_km(far, *factors)
    assert circuitous_km(far, *factors) >= far


@given(st.floats(0, 60), st.floats(0, 60))
@example(4.99, 0.02)
@example(19.99, 0.02)
def test_a_detour_over_a_third_place_is_no_shortcut(a, b):
    """With factors that fall with distance, the road distance is subadditive."""
    factors = (1.6, 1.4, 1.3)
    whole = circuitous_km(a + b, *factors)
    assert whole <= circuitous_km(a, *factors) + circuitous_km(b, *factors) + 1e-9


edges = st.lists(
    st.tuples(
        st.integers(0, 11),
        st.integers(0, 11),
        st.floats(0.01, 5),
        st.floats(0.1, 50),
        st.sampled_from([0.0, 0.0, 3.0]),
    ),
    min_size=1,
    max_size=50,
)


def arcs_of(drawn):
    start, end = (np.array([e[i] for e in drawn], dtype=np.int64) for i in (0, 1))
    hours, km, fare = (np.array([e[i] for e in drawn]) for i in (2, 3, 4))
    return quickest_arcs(12, start, end, hours, km, fare)


@pytest.mark.slow
@given(edges)
@settings(max_examples=150)
def test_hours_equal_networkx_and_km_are_those_of_a_quickest_way(drawn):
    """Independent: networkx finds the times; its path lengths bound ours."""
    arcs = arcs_of(drawn)
    other = nx.MultiDiGraph()
    other.add_nodes_from(range(12))
    for a, b, hours, km, fare in drawn:
        other.add_edge(a, b, hours=hours, km=km, fare=fare)
    ours = shortest_paths(ways_between(arcs, np.arange(12)))
    times = dict(nx.all_pairs_dijkstra_path_length(other, weight="hours"))
    for a in range(12):
        for b in range(12):
            assert ours[0][a, b] == pytest.approx(times[a].get(b, np.inf), abs=1e-9)
    assert (np.isinf(ours[1]) == np.isinf(ours[0])).all()
    assert (np.isinf(ours[2]) == np.isinf(ours[0])).all()
    for a, b in zip(arcs.start[:5], arcs.end[:5], strict=True):
        km = {
            round(
                sum(
                    min((d["hours"], d["fare"], d["km"]) for d in other[u][v].values())[
                        2
                    ]
                    for u, v in pairwise(way)
                ),
                6,
            )
            for way in nx.all_shortest_paths(other, a, b, weight="hours")
        }
        assert round(ours[1][a, b], 6) in km


@given(edges, st.integers(0, 11), st.integers(0, 11), st.floats(0.01, 5))
def test_adding_a_road_never_lengthens(drawn, a, b, hours):
    before = shortest_paths(ways_between(arcs_of(drawn), np.arange(12)))[0]
    more = arcs_of([*drawn, (a, b, hours, 1.0, 0.0)])
    after = shortest_paths(ways_between(more, np.arange(12)))[0]
    assert (after <= before + 1e-12).all()


def test_quickest_of_parallel_roads_is_kept():
    arcs = arcs_of(
        [(0, 1, 2.0, 5.0, 0.0), (0, 1, 1.0, 9.0, 0.0), (3, 3, 1.0, 1.0, 0.0)]
    )
    assert arcs.hours.tolist() == [1.0]
    assert arcs.km.tolist() == [9.0]


def test_terminals_may_repeat_and_batches_change_nothing(monkeypatch):
    drawn = [(i, i + 1, 1.0, 2.0, 0.5) for i in range(11)]
    arcs = arcs_of(drawn)
    terminals = np.array([5, 0, 0, 11])
    whole = shortest_paths(ways_between(arcs, terminals))
    assert whole[0][1].tolist() == [5, 0, 0, 11]
    assert whole[1][1].tolist() == [10, 0, 0, 22]
    assert whole[2][1].tolist() == [2.5, 0, 0, 5.5]
    assert BATCH_CELLS > 12
    monkeypatch.setattr("logistics.roads.paths.BATCH_CELLS", 12)
    for a, b in zip(whole, shortest_paths(ways_between(arcs, terminals)), strict=True):
        assert np.array_equal(a, b)
