"""
Travel on a large invented network, against networkx in the same run.

    python tests/benchmarks/bench_travel.py

A town-and-country lattice with 100,000 road sections, 500 sites, 12 months with three
states of the roads, three truck types. Prints a table for RESULTS.md.
"""

import argparse
import platform
import resource
import sys
import time
from contextlib import suppress
from functools import partial
from importlib.metadata import version
from pathlib import Path
from types import SimpleNamespace

import networkx as nx
import numpy as np
import pandas as pd
import shapely
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from support.ground_tables import ROAD_DEFAULTS, points, rows, scenario  # noqa: E402

from logistics.roads.geometry import segments  # noqa: E402
from logistics.roads.graph import road_graph  # noqa: E402
from logistics.roads.importing.cut_off_parts import road_warnings  # noqa: E402
from logistics.roads.importing.run import mend  # noqa: E402
from logistics.roads.paths import Ways  # noqa: E402
from logistics.roads.speeds import edge_hours, open_roads  # noqa: E402
from logistics.roads.travel_matrices import _ground, sites, travel  # noqa: E402

say = partial(print, flush=True)  # a benchmark speaks
CLASSES = ("paved_main", "paved_local", "gravel", "earth", "town")
TRUCKS = rows(
    [
        {"truck": "pickup", "payload_t": 1.2, "tare_t": 1.3, "speed_factor": 1.05},
        {"truck": "light", "payload_t": 4.0, "tare_t": 3.4, "speed_factor": 1.0},
        {"truck": "heavy", "payload_t": 10.0, "tare_t": 9.2, "speed_factor": 0.95},
    ]
)


def district(edges: int, terminals: int, seed: int = 7) -> SimpleNamespace:
    """Lattice of crossroads, 500 m apart, bent roads; some shut in wet months."""
    rng = np.random.default_rng(seed)
    side = int(np.ceil(np.sqrt(edges * 0.69)))
    step = 0.0045
    x, y = np.meshgrid(np.arange(side) * step, np.arange(side) * step)
    x = x + rng.uniform(-0.3, 0.3, x.shape) * step
    y = y + rng.uniform(-0.3, 0.3, y.shape) * step
    node = np.arange(side * side).reshape(side, side)
    a = np.concatenate([node[:, :-1].ravel(), node[:-1].ravel()])
    b = np.concatenate([node[:, 1:].ravel(), node[1:].ravel()])
    keep = np.sort(rng.choice(len(a), edges, replace=False))
    a, b = a[keep], b[keep]
    ends = np.stack([x.ravel()[a], y.ravel()[a], x.ravel()[b], y.ravel()[b]], axis=1)
    bend = rng.uniform(-0.2, 0.2, (edges, 2)) * step
    mid = (ends[:, :2] + ends[:, 2:]) / 2 + bend
    wkt = [
        f"LINESTRING ({p[0]:.7f} {p[1]:.7f}, {m[0]:.7f} {m[1]:.7f}, "
        f"{p[2]:.7f} {p[3]:.7f})"
        for p, m in zip(ends, mid, strict=True)
    ]
    flooded = rng.random(edges)
    weak = rng.random(edges)
    months = [f"m{i + 1:02d}" for i in range(12)]
    roads = rows([{"road": f"r{i}"} for i in range(edges)], ROAD_DEFAULTS)
    roads["class"] = rng.choice(CLASSES, edges, p=[0.1, 0.25, 0.35, 0.2, 0.1])
    roads["oneway"] = rng.random(edges) < 0.03
    roads["max_gross_t"] = np.where(weak < 0.01, 5.0, np.where(weak < 0.03, 10, np.nan))
    wet = (tuple(months[5:9]), tuple(months[7:9]))
    roads["closed_periods"] = [
        wet[0] if f < 0.02 else wet[1] if f < 0.05 else () for f in flooded
    ]
    roads["wkt"] = wkt
    where = rng.choice(side * side, terminals, replace=False)
    off = rng.uniform(-0.3, 0.3, (terminals, 2)) * step
    spots = {
        f"s{i}": (x.ravel()[k] + o[0], y.ravel()[k] + o[1])
        for i, (k, o) in enumerate(zip(where, off, strict=True))
    }
    speed = [1.0] * 5 + [0.8] * 2 + [0.6] * 2 + [1.0] * 3
    made = scenario(
        sources=points("source", spots),
        roads=roads,
        trucks=TRUCKS,
        periods=pd.DataFrame({"period": months, "season_speed": speed}),
    )
    made.settings.travel.access_limit_km = 50.0
    return made


def networkx_graph(made: SimpleNamespace, truck: dict, period: dict) -> nx.DiGraph:
    """The same graph, put together edge by edge."""
    ground = _ground(made, sites(made))
    access, site = ground.joins.access, ground.joins.site
    graph = road_graph(made.roads, ground.pieces, access)
    usable = open_roads(
        made.roads, truck["tare_t"] + truck["payload_t"], period["period"]
    )
    factor = truck["speed_factor"]
    hours = edge_hours(graph, made.roads, factor, period["season_speed"])
    oneway = made.roads["oneway"].to_numpy()
    net = nx.DiGraph()
    net.add_nodes_from(f"site{i}" for i in range(len(made.sources)))

    def add(a: object, b: object, h: float, km: float) -> None:
        if a != b and (not net.has_edge(a, b) or h < net[a][b]["hours"]):
            net.add_edge(a, b, hours=h, km=km)

    for a, b, road, h, km in zip(
        graph.start.tolist(),
        graph.end.tolist(),
        graph.road.tolist(),
        hours.tolist(),
        graph.km.tolist(),
        strict=True,
    ):
        if usable[road]:
            add(a, b, h, km)
            if not oneway[road]:
                add(b, a, h, km)
    for i, node, seg, km in zip(
        site.tolist(),
        graph.site_node.tolist(),
        access.segment.tolist(),
        access.km.tolist(),
        strict=True,
    ):
        if usable[ground.pieces.road[seg]]:
            h = km / made.settings.travel.access_kmh / factor
            add(f"site{i}", node, h, km)
            add(node, f"site{i}", h, km)
    return net


def libraries(ways: Ways, sources: int = 25) -> None:
    """Time shortest-path libraries on the thinned graph of one state, if installed."""
    arcs, ends = ways.arcs, np.unique(ways.terminals)
    some = ends[:: max(1, len(ends) // sources)]
    say(f"{arcs.nodes} nodes, {len(arcs.start)} arcs, {len(some)} sources")
    seen = {}
    first = np.searchsorted(arcs.start, np.arange(arcs.nodes + 1))
    net = csr_matrix((arcs.hours, arcs.end, first), shape=(arcs.nodes, arcs.nodes))
    begin = time.perf_counter()
    seen["scipy, to all nodes, with ways"] = dijkstra(
        net, indices=some, return_predecessors=True
    )[0][:, ends]
    spent = {"scipy, to all nodes, with ways": time.perf_counter() - begin}
    pairs = list(zip(arcs.start.tolist(), arcs.end.tolist(), strict=True))
    with suppress(ImportError):
        import igraph

        graph = igraph.Graph(arcs.nodes, pairs, directed=True)
        name = "igraph, to the sites, hours alone"
        begin = time.perf_counter()
        seen[name] = np.array(graph.distances(some, ends, weights=arcs.hours))
        spent[name] = time.perf_counter() - begin
    with suppress(ImportError):
        import rustworkx

        graph = rustworkx.PyDiGraph()
        graph.add_nodes_from(range(arcs.nodes))
        graph.extend_from_weighted_edge_list(
            [(a, b, h) for (a, b), h in zip(pairs, arcs.hours.tolist(), strict=True)]
        )
        name = "rustworkx, to all nodes, hours alone"
        begin = time.perf_counter()
        found = []
        for source in some.tolist():
            way = dict(rustworkx.dijkstra_shortest_path_lengths(graph, source, float))
            way[source] = 0.0
            found.append([way.get(end, np.inf) for end in ends.tolist()])
        seen[name] = np.array(found)
        spent[name] = time.perf_counter() - begin
    reference = seen["scipy, to all nodes, with ways"]
    for name, hours in seen.items():
        assert np.allclose(hours, reference, rtol=0, atol=1e-9)
        say(f"| {name} | {spent[name] / len(some) * 1e3:.1f} ms a source |")


def mending(made: SimpleNamespace) -> None:
    """Time the mending of the roads, and the warnings of `check`."""
    lines = made.roads.assign(line=shapely.from_wkt(made.roads["wkt"].to_numpy()))
    lines["level"] = 0.0
    places = sites(made)
    begin = time.perf_counter()
    mend(lines, 10.0, places)
    say(f"mending {time.perf_counter() - begin:.1f} s")
    begin = time.perf_counter()
    lon, lat = places["lon"].to_numpy(), places["lat"].to_numpy()
    road_warnings(lines, places["site"].tolist(), lon, lat)
    say(f"warnings of check {time.perf_counter() - begin:.1f} s")


def main() -> None:
    """Measure."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--edges", type=int, default=100_000)
    ask.add_argument("--sites", type=int, default=500)
    ask.add_argument("--sample", type=int, default=3, help="networkx sources a state")
    given = ask.parse_args()
    made = district(given.edges, given.sites)
    start = time.perf_counter()
    result = travel(made)
    ours = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    arcs = [len(w.arcs.start) for w in result.driven.ways]
    kept = [w.arcs.nodes for w in result.driven.ways]
    say(f"ours {ours:.1f} s, peak {peak:.0f} MB, states {len(result.states)}, "
          f"kept nodes {kept}, arcs {arcs}")  # fmt: skip
    libraries(result.driven.ways[0])
    mending(made)
    graph = road_graph(made.roads, segments(made.roads))
    say(f"graph {len(graph.lon)} nodes, {len(graph.km)} edges")
    n, combos = len(made.sources), len(made.trucks) * len(made.periods)
    rng = np.random.default_rng(1)
    plain, full, runs, worst, worst_km = 0.0, 0.0, 0, 0.0, 0.0
    first = {}
    for which, state in result.state_of.items():
        first.setdefault(state, which)
    for state, (code, period) in first.items():
        truck = made.trucks.set_index("truck", drop=False).loc[code].to_dict()
        month = made.periods.set_index("period", drop=False).loc[period].to_dict()
        net = networkx_graph(made, truck, month)
        for i in rng.choice(n, given.sample, replace=False):
            start = time.perf_counter()
            hours = nx.single_source_dijkstra_path_length(
                net, f"site{i}", weight="hours"
            )
            plain += time.perf_counter() - start
            start = time.perf_counter()
            _, ways = nx.single_source_dijkstra(net, f"site{i}", weight="hours")
            km = {
                j: nx.path_weight(net, ways[f"site{j}"], "km")
                for j in range(n)
                if f"site{j}" in ways
            }
            full += time.perf_counter() - start
            runs += 1
            for j in range(n):
                a, b = result.states[state].hours[i, j], hours.get(f"site{j}", np.inf)
                if np.isfinite(a) or np.isfinite(b):
                    worst = max(worst, abs(a - b))
                    c = result.states[state].km[i, j]
                    worst_km = max(worst_km, abs(c - km[j]))
    each, each_full = plain / runs, full / runs
    say(f"networkx per source: {each:.3f} s hours only, {each_full:.3f} s with km; "
          f"{runs} runs timed")  # fmt: skip
    for name, count in (("every month and truck", combos),
                        ("each state once", len(result.states))):  # fmt: skip
        for what, cost in (("hours only", each), ("hours and km", each_full)):
            total = cost * count * n
            say(f"| networkx, {name}, {what} | {total:,.0f} s | {total / ours:.0f} x |")
    say(f"worst difference {worst:.1e} h, {worst_km:.1e} km")
    say(f"peak {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    names = ("numpy", "scipy", "networkx", "pandas", "shapely", "pyproj")
    say(platform.platform(), platform.python_version(),
          *(f"{name} {version(name)}" for name in names))  # fmt: skip


if __name__ == "__main__":
    main()
