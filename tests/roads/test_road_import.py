"""Roads of OpenStreetMap and of a GIS become the table roads."""

from types import SimpleNamespace

import geopandas as gpd
import networkx as nx
import numpy as np
import pandas as pd
import pytest
import shapely
from support.ground_tables import points, scenario
from support.open_data import data_of

from logistics.roads.geometry import geodesic_km
from logistics.roads.graph import road_graph
from logistics.roads.importing.cut_off_parts import length_km
from logistics.roads.importing.files import NO_LINE, read_lines
from logistics.roads.importing.run import import_roads, mend, translate
from logistics.roads.importing.tags import (
    direction,
    level,
    max_gross_t,
    mean_wait,
    road_class,
)
from logistics.roads.paths import quickest_arcs, shortest_paths, ways_between
from logistics.scenario.faults import ScenarioError

OSM = """<?xml version="1.0"?><osm version="0.6">
<node id="1" lat="0.0" lon="0.001"/><node id="2" lat="0.0" lon="0.01"/>
<node id="3" lat="0.0" lon="0.02"/><node id="4" lat="0.01" lon="0.01"/>
<node id="5" lat="0.0" lon="0.05"/>
<way id="10"><nd ref="1"/><nd ref="2"/><nd ref="3"/>
<tag k="highway" v="tertiary"/><tag k="name" v="Long &quot;Mill&quot; Road"/>
<tag k="surface" v="gravel"/><tag k="maxspeed" v="30"/></way>
<way id="11"><nd ref="2"/><nd ref="4"/><tag k="highway" v="unclassified"/>
<tag k="oneway" v="-1"/><tag k="bridge" v="yes"/><tag k="maxweight" v="5"/>
<tag k="toll" v="yes"/></way>
<way id="12"><nd ref="3"/><nd ref="5"/><tag k="route" v="ferry"/>
<tag k="motor_vehicle" v="yes"/><tag k="duration" v="00:20"/>
<tag k="interval" v="00:30"/></way>
<way id="13"><nd ref="1"/><nd ref="4"/><tag k="highway" v="footway"/></way>
<way id="14"><nd ref="1"/><nd ref="4"/><tag k="highway" v="track"/></way>
<way id="15"><nd ref="1"/><nd ref="4"/><tag k="highway" v="primary"/>
<tag k="hgv" v="no"/></way></osm>"""


@pytest.fixture
def osm(tmp_path):
    path = tmp_path / "made_up.osm"
    path.write_text(OSM)
    return path


def test_every_tag_lands_in_its_column(osm):
    roads = translate(read_lines(osm)).set_index("road")
    assert roads.index.tolist() == ["w10", "w11", "w12"]
    assert roads["class"].tolist() == ["gravel", "gravel", "ferry"]
    assert roads.loc["w10", "name"] == 'Long "Mill" Road'
    assert roads.loc["w10", "speed_kmh"] == 30
    bridge = roads.loc["w11"]
    assert bridge["bridge"]
    assert bridge["oneway"]
    assert bridge["level"] == 1
    assert bridge["max_gross_t"] == 5
    assert shapely.get_coordinates(bridge["line"])[0].tolist() == [0.01, 0.01]
    ferry = roads.loc["w12"]
    assert ferry["wait_minutes"] == 15
    assert ferry["speed_kmh"] == pytest.approx(3 * geodesic_km(0.02, 0, 0.05, 0))


def test_tracks_come_when_asked_for(osm):
    assert "w14" in translate(read_lines(osm), tracks=True)["road"].tolist()


@pytest.mark.parametrize(
    ("tags", "kind"),
    [
        ({"highway": "secondary"}, "paved_main"),
        ({"highway": "secondary", "surface": "ground"}, "earth"),
        ({"highway": "unclassified"}, "gravel"),
        ({"highway": "unclassified", "surface": "concrete:plates"}, "paved_local"),
        ({"highway": "residential", "surface": "gravel"}, "town"),
        ({"highway": "steps"}, ""),
        ({"highway": "primary", "access": "private"}, ""),
        ({"highway": "primary", "access": "no", "motor_vehicle": "yes"}, "paved_main"),
        ({"highway": "residential", "area": "yes"}, ""),
        ({"route": "ferry"}, ""),
        ({"route": "ferry", "hgv": "yes"}, "ferry"),
        ({"route": "ferry", "motorcar": "designated"}, "ferry"),
        ({"route": "ferry", "motor_vehicle": "no"}, ""),
        ({"highway": "track", "tracktype": "grade1"}, ""),
    ],
)
def test_classes(tags, kind):
    assert road_class(tags, tracks=False) == kind


def imported(path):
    """Import into a district of one mill beside the roads."""
    edges = SimpleNamespace(west=-1, south=-1, east=1, north=1)
    ground = scenario(sources=points("source", {"mill": (0.002, 0.0)}))
    ground.settings.district = edges
    return import_roads(ground, path)


def test_boats_that_may_carry_people_alone_are_told_of(osm, tmp_path):
    silent = tmp_path / "silent.osm"
    text = OSM.replace('<tag k="motor_vehicle" v="yes"/>', "")
    silent.write_text(text.replace('k="toll"', 'k="seasonal"'))
    told = {note.what: note for note in imported(silent).notes.itertuples()}
    assert told["ferry"].road == "w12"
    assert told["season"].road == "w11"
    assert "seasonal=yes" in told["season"].words
    assert "ferry" not in set(imported(osm).notes["what"])


def test_values_that_cannot_be_used_are_told(tmp_path):
    path = tmp_path / "own.csv"
    line = "LINESTRING (0.001 0, 0.02 0)"
    path.write_text(f'road,class,max_gross_t,wkt\nr1,gravel,heavy,"{line}"\n')
    notes = imported(path).notes
    assert [(n.what, n.words) for n in notes.itertuples() if n.what == "value"] == [
        ("value", "max_gross_t 'heavy' cannot be used: fill it in")
    ]
    plain = tmp_path / "roads.csv"
    plain.write_text("road,class\nr1,gravel\n")
    with pytest.raises(ScenarioError, match="holds no lines"):
        read_lines(plain)


def test_graded_tracks():
    track = {"highway": "track", "tracktype": "grade1"}
    assert road_class(track, tracks=True) == "gravel"
    assert road_class({**track, "tracktype": "grade5"}, tracks=True) == "earth"


def test_directions_levels_and_limits():
    assert direction({"junction": "roundabout"}) == 1
    assert direction({"junction": "roundabout", "oneway": "no"}) == 0
    assert direction({"highway": "motorway"}) == 1
    assert level({"tunnel": "yes"}) == -1
    assert level({"bridge": "yes", "layer": "2"}) == 2
    assert max_gross_t({"maxweight": "12", "maxweight:hgv": "7.5"}) == 7.5
    assert max_gross_t({"maxweight": "11000 lbs"}) == pytest.approx(4.99, abs=0.01)
    assert max_gross_t({"maxweight": "0"}) is None


def test_the_wait_counts_sailing_hours():
    assert mean_wait(60, 0, 23) == pytest.approx(30)
    # one boat at noon: half wait 0 to 6 h, half for tomorrow's, 18 to 24 h
    assert mean_wait(60, 12, 12) == pytest.approx(60 * (3 + 21) / 2)


LINE = shapely.LineString([(10.0, 60.0), (10.1, 60.0), (10.1, 60.05)])


@pytest.mark.parametrize(
    ("suffix", "crs"),
    [
        *((suffix, crs) for suffix in (".gpkg", ".shp") for crs in (4326, 3857, 32632)),
        (".geojson", 4326),  # GeoJSON is in degrees
    ],
)
def test_any_file_and_system_gives_lengths_over_the_ground(tmp_path, suffix, crs):
    """The trap: a metre of EPSG:3857 is half a metre on the ground at 60 degrees."""
    columns = {"name": ["Fjord Road"], "class": ["earth"], "max_gross_t": [5.0]}
    frame = gpd.GeoDataFrame(columns, geometry=[LINE], crs=4326).to_crs(crs)
    path = tmp_path / f"roads{suffix}"
    if suffix == ".shp":
        frame = frame.rename(columns={"max_gross_t": "max_gross_"})
    frame.to_file(path)
    roads = translate(read_lines(path))
    true = geodesic_km(10, 60, 10.1, 60) + geodesic_km(10.1, 60, 10.1, 60.05)
    assert length_km(roads) == pytest.approx(true, rel=1e-6)
    if crs == 3857:
        assert frame.length.sum() / 1000 > 1.9 * true
    assert roads["class"].tolist() == ["earth"]
    assert roads["max_gross_t"].tolist() == [5]
    assert roads["name"].tolist() == ["Fjord Road"]


def test_the_fault_names_layers_and_systems(tmp_path):
    path = tmp_path / "many.gpkg"
    frame = gpd.GeoDataFrame(geometry=[LINE], crs=4326)
    frame.to_file(path, layer="a")
    frame.to_file(path, layer="b")
    with pytest.raises(ScenarioError, match=r"2 layers with lines.*--layer: a, b"):
        read_lines(path)
    assert len(read_lines(path, "b")) == 1
    with pytest.raises(ScenarioError, match="no layer 'c'"):
        read_lines(path, "c")
    bare = tmp_path / "bare.shp"
    frame.to_file(bare)
    bare.with_suffix(".prj").unlink()
    with pytest.raises(ScenarioError, match="no coordinate system"):
        read_lines(bare)
    (tmp_path / "no.osm.pbf").write_bytes(b"nothing")
    with pytest.raises(ScenarioError, match="cannot be"):
        read_lines(tmp_path / "no.osm.pbf")


PLACES = pd.DataFrame({"site": ["source:a"], "lon": [26.95], "lat": [60.527]})


def as_table(roads):
    lines = roads["line"].to_numpy(dtype=object)
    return roads.assign(wkt=shapely.to_wkt(lines, rounding_precision=7))


def test_a_real_town_has_the_published_ways_and_length():
    """
    The test extract of pyrosm: its driving network has 171 ways, 44,564 m.

    Our length is on the ellipsoid; by haversine on a sphere it is a little less.
    """
    path = data_of("pyrosm", "data/test.osm.pbf")
    roads = translate(read_lines(path))
    assert len(roads) == 171
    assert 1000 * length_km(roads) == pytest.approx(44_564, rel=0.005)
    mended, _ = mend(roads, 10.0, PLACES)
    assert length_km(mended) <= length_km(roads)


def test_lengths_in_a_real_town_equal_networkx():
    """2,500 random pairs on the graph of the same town."""
    path = data_of("pyrosm", "data/test.osm.pbf")
    table = as_table(translate(read_lines(path)))
    graph = road_graph(table)
    oneway = table["oneway"].to_numpy(dtype=bool)[graph.road]
    start = np.concatenate([graph.start, graph.end[~oneway]])
    end = np.concatenate([graph.end, graph.start[~oneway]])
    km = np.concatenate([graph.km, graph.km[~oneway]])
    rng = np.random.default_rng(5)
    terminals = rng.choice(len(graph.lon), 50, replace=False)
    arcs = quickest_arcs(len(graph.lon), start, end, km, km, 0 * km)
    ways = ways_between(arcs, terminals)
    assert ways.arcs.nodes < arcs.nodes
    hours, along, _ = shortest_paths(ways)
    other = nx.MultiDiGraph()
    other.add_nodes_from(range(len(graph.lon)))
    other.add_weighted_edges_from(zip(start, end, km, strict=True))
    compared = reached = 0
    for i, a in enumerate(terminals):
        length = nx.single_source_dijkstra_path_length(other, a)
        for j, b in enumerate(terminals):
            compared += 1
            expected = length.get(b, np.inf)
            assert hours[i, j] == pytest.approx(expected, abs=1e-9)
            assert along[i, j] == pytest.approx(expected, abs=1e-9)
            reached += np.isfinite(expected)
    assert compared == 2500
    assert reached > 1500


def connections(roads):
    """Junctions of a network and the lengths between them."""
    graph = road_graph(as_table(roads))
    degree = np.bincount(np.concatenate([graph.start, graph.end]))
    kept = np.flatnonzero(degree != 2)
    order = np.lexsort((graph.lat[kept].round(6), graph.lon[kept].round(6)))
    kept = kept[order]
    ends = ((graph.start, graph.end), (graph.end, graph.start))
    both = [np.concatenate(p) for p in ends]
    km = np.tile(graph.km, 2)
    arcs = quickest_arcs(len(graph.lon), both[0], both[1], km, km, 0 * km)
    places = np.column_stack([graph.lon[kept], graph.lat[kept]])
    return places, degree[kept], shortest_paths(ways_between(arcs, kept))[1]


def test_a_broken_and_a_whole_network_have_the_same_connections():
    """Two layers of momepy's tests: the same roads as 61 lines and cut into 83."""
    path = data_of("momepy", "datasets/tests.gpkg")
    every = pd.DataFrame({"site": ["source:a"], "lon": [14.43], "lat": [50.1]})
    found = []
    for layer, count in (("network", 61), ("broken_network", 83)):
        lines = read_lines(path, layer)
        assert len(lines) == count
        assert lines["line"].map(lambda x: x.bounds[0]).between(13, 16).all()
        roads = translate(lines)
        # EPSG:5221 is conformal with a scale within a thousandth of 1 here
        assert 1000 * length_km(roads) == pytest.approx(11_226, rel=2e-3)
        found.append(mend(roads, 10.0, every)[0])
    whole, broken = (connections(roads) for roads in found)
    assert np.allclose(whole[0], broken[0], atol=2e-7)
    assert (whole[1] == broken[1]).all()
    finite = np.isfinite(whole[2])
    assert (finite == np.isfinite(broken[2])).all()
    assert np.abs(whole[2][finite] - broken[2][finite]).max() < 1e-3


def test_rows_without_a_line_are_counted(tmp_path):
    """A broken line, a blank one and a point: one road is left."""
    good = "LINESTRING (0.001 0, 0.02 0)"
    rows = [("a", good), ("b", "LINESTRING (0 0, 1"), ("c", ""), ("d", "POINT (0 0)")]
    table = pd.DataFrame(rows, columns=["road", "wkt"])
    table.to_csv(tmp_path / "lines.csv", index=False)
    lines = read_lines(tmp_path / "lines.csv")
    assert (len(lines), lines.attrs[NO_LINE]) == (1, 3)
    shapes = [shapely.from_wkt(good), None]
    tags = {"highway": ["track", "track"], "name": ["x", "y"]}
    frame = gpd.GeoDataFrame(tags, geometry=shapes, crs="EPSG:4326")
    frame.to_file(tmp_path / "lines.gpkg")
    assert read_lines(tmp_path / "lines.gpkg").attrs[NO_LINE] == 1
