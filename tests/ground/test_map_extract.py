"""A map brought in: what it holds, thinned within its tolerance, in either format."""

import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import numpy as np
import pytest
import shapely
from pyproj import Geod
from support.map_extract import (
    LAT,
    LON,
    STEP,
    MapFile,
    as_pbf,
    as_xml,
    district,
    with_sites,
)

from logistics.ground import (
    GroundRecipe,
    for_a_screen,
    import_ground,
    plane_of,
    read_ground_recipe,
)
from logistics.ground.extract_files import read_features
from logistics.land import screen
from logistics.land.setbacks import distance_m, ground
from logistics.scenario import ScenarioError, read_scenario

EARTH = Geod(ellps="WGS84")


@pytest.fixture(scope="module")
def scenario(tmp_path_factory):
    return read_scenario(with_sites(tmp_path_factory.mktemp("crane") / "crane"))


@pytest.fixture(scope="module")
def brought(scenario, tmp_path_factory):
    path = district().write(tmp_path_factory.mktemp("map") / "m.osm")
    return import_ground(scenario, [path], GroundRecipe())


def counted(text: str, *tags: tuple[str, str]) -> int:
    """Nodes and ways with any of the tags, by the standard library's own reader."""
    wanted = set(tags)
    return sum(
        bool(wanted & {(t.get("k"), t.get("v")) for t in thing.iter("tag")})
        for thing in ElementTree.fromstring(text)
    )


def test_it_holds_what_was_drawn_in_the_district(brought):
    """Counts by another reader; the school far outside the district is left out."""
    text = as_xml(district())
    read = brought.found.set_index("kind")["read"].to_dict()
    assert read == {
        "place": counted(text, *(("place", p) for p in ("town", "village", "hamlet"))),
        "dwellings": counted(
            text, ("landuse", "residential"), ("building", "yes"), ("building", "house")
        ),
        "school": counted(text, ("amenity", "school")) - 1,
        "clinic": counted(text, ("healthcare", "clinic")),
        "well": counted(text, ("man_made", "water_well")),
        "water": counted(text, ("natural", "water")),
        "river": counted(text, ("waterway", "river"), ("waterway", "stream")),
        "coast": counted(text, ("natural", "coastline")),
        "flood": counted(text, ("natural", "wetland")),
        "protected": counted(text, ("boundary", "protected_area")),
        "boundary": 0,
        "wood": counted(text, ("landuse", "forest")),
        "built": counted(text, ("landuse", "industrial")),
        "district": 2,
    }
    assert min(n for kind, n in read.items() if kind != "boundary") >= 1


def test_rivers_are_as_long_as_they_were_drawn(brought):
    """Geodesic lengths of the lines of the file, which all lie in the district."""
    it = district()
    at = {n: (lon, lat) for n, lon, lat, _ in it.nodes}
    metres = sum(
        EARTH.line_length(*zip(*(at[ref] for ref in refs), strict=True))
        for _, refs, tags in it.ways
        if tags.get("waterway") in {"river", "stream"}
    )
    found = brought.found.set_index("kind").loc["river", "metres"]
    assert found == pytest.approx(metres, rel=1e-4)
    rows = brought.land[brought.land["kind"] == "river"]
    written = sum(EARTH.geometry_length(shapely.from_wkt(w)) for w in rows["wkt"])
    assert written == pytest.approx(metres, rel=1e-3)


@pytest.mark.slow
def test_both_formats_give_the_same_tables(brought, scenario, tmp_path):
    path = tmp_path / "m.osm.pbf"
    path.write_bytes(as_pbf(district()))
    other = import_ground(scenario, [path], GroundRecipe())
    assert other.land.equals(brought.land)
    assert other.places.equals(brought.places)


def test_land_lies_on_the_left_of_the_coast(brought):
    land = shapely.union_all(
        shapely.from_wkt(brought.land.loc[brought.land["kind"] == "land", "wkt"])
    )
    spots = np.array([(0, 5), (12.9, 5), (13.7, 4.3), (14, 4.3), (14.5, 8), (-8, -7)])
    ashore = shapely.covers(land, shapely.points(np.array([LON, LAT]) + STEP * spots))
    assert ashore.tolist() == [True, True, False, True, False, True]


def test_places_come_with_their_rank_the_weightiest_first(brought):
    pairs = zip(brought.places["name"], brought.places["rank"], strict=True)
    assert list(pairs) == [
        ("Midtown", "town"), ("Low Ferry", "village"), ("Upper Bend", "hamlet")
    ]  # fmt: skip


def test_what_it_does_not_hold_is_told(brought, scenario, tmp_path):
    """Absence in a map is not absence on the ground."""
    assert brought.left == {"building=barn": 1, "waterway=ditch": 1}
    assert brought.lacking == (
        "property lines: no open map holds them; ask the land office",
    )
    it = MapFile()
    it.node(4, 4, place="village", name="Alone")
    lone = import_ground(scenario, [it.write(tmp_path / "m.osm")], GroundRecipe())
    words = (
        "schools: not in this file, which does not mean there are none; "
        "check on the ground"
    )
    assert words in lone.lacking
    assert len(lone.lacking) == 10
    assert lone.land.empty


def wiggly(seed: int) -> MapFile:
    """A district of crooked shapes and crowded homes."""
    rng = np.random.default_rng(seed)
    it = MapFile()
    y = np.linspace(-20, 20, 1600)
    sway = np.cumsum(rng.normal(0, 0.006, len(y)))
    it.way(list(zip(12 + sway, y, strict=True)), natural="coastline")
    x = np.linspace(-10, 11, 900)
    sway = np.cumsum(rng.normal(0, 0.004, len(x)))
    it.way(list(zip(x, 6 + sway, strict=True)), waterway="river")
    turn = np.linspace(0, 2 * np.pi, 200)
    for kind in ({"natural": "water"}, {"landuse": "residential"}):
        cx, cy = rng.uniform(0, 8, 2)
        far = 0.5 + rng.normal(0, 0.01, 199)
        far = np.append(far, far[0])
        ring = zip(cx + far * np.cos(turn), cy + far * np.sin(turn), strict=True)
        spots = list(ring)
        it.way([*spots[:-1], spots[0]], **kind)
    for _ in range(150):
        cx, cy = rng.normal((3, 2), 0.15)
        it.area(cx, cy, *rng.uniform(0.008, 0.02, 2), building="yes")
    return it


@pytest.mark.slow
@pytest.mark.parametrize(
    ("tolerance", "seed"),
    [(10.0, 1), pytest.param(30.0, 2, marks=pytest.mark.thorough)],
)
def test_thinning_moves_no_distance_by_more_than_it_says(
    scenario, tmp_path, tolerance, seed
):
    """Distances as the screening measures them, before and after, at 400 places."""
    path = wiggly(seed).write(tmp_path / "m.osm")
    rng = np.random.default_rng(seed)
    plane = plane_of(scenario)
    lon, lat = (
        LON + rng.uniform(-1, 11, 400) * STEP,
        LAT + rng.uniform(0, 9, 400) * STEP,
    )
    sites = plane.discs(lon, lat, np.zeros(400))
    laid, points = [], []
    for metres in (0.0, tolerance):
        recipe = GroundRecipe(tolerance_m=metres)
        land = import_ground(scenario, [path], recipe).land
        tables = {**scenario.tables, "land": land}
        laid.append(ground(replace(scenario, tables=tables), plane))
        points.append(shapely.get_num_coordinates(shapely.from_wkt(land["wkt"])).sum())
    assert (
        set(laid[0]) == set(laid[1]) == {"land", "coast", "river", "water", "dwellings"}
    )
    assert points[1] < 0.5 * points[0]
    moved = []
    for kind in ("coast", "river", "water", "dwellings"):
        before, after = (distance_m(kind, one[kind], sites)[0] for one in laid)
        moved.append(np.abs(before - after).max())
    assert max(moved) <= tolerance
    assert max(moved) > 0.2 * tolerance


def test_villages_of_the_map_are_screened(scenario, brought):
    """The candidate at Low Ferry breaks the rule for villages by the table places."""
    yards = scenario.yards.assign(lon=LON + 6.05 * STEP, lat=LAT + 1.2 * STEP)
    tables = {**scenario.tables, "yards": yards}
    assert "village" not in set(screen(replace(scenario, tables=tables))["subject"])
    tables |= {"places": brought.places}
    found = screen(replace(scenario, tables=tables))
    near = found[found["subject"] == "village"]
    assert set(near["feature"]) == {"Low Ferry"}


@pytest.mark.parametrize(
    ("name", "data", "why"),
    [
        ("m.osm", b"<OGRVRTDataSource/>", "is not a file of the kind .osm"),
        ("m.osm", b'<?xml version="1.0"?><osm><!DOCTYPE a [<!ENTITY b "c">]></osm>',
         "holds definitions of its own (DOCTYPE or ENTITY)"),
        ("m.osm.pbf", b"/vsicurl/http://nowhere", "is not a file of the kind .pbf"),
        ("m.gpkg", b"GIF89a", "is not a file of the kind .gpkg"),
        ("m.osm.pbf", as_pbf(district())[:400], "cannot be read"),
        ("m.vrt", b"<OGRVRTDataSource/>", "is of no kind that holds a map"),
    ],
)  # fmt: skip
def test_a_hostile_file_brings_nothing_in_and_says_why(tmp_path, name, data, why):
    path = tmp_path / name
    path.write_bytes(data)
    with pytest.raises(ScenarioError) as fault:
        read_features(path, (-31, 0, -30, 1), {}, {})
    assert why in str(fault.value)


def test_a_file_that_is_too_large_is_refused_just_above_the_limit(
    tmp_path, monkeypatch
):
    path = district().write(tmp_path / "m.osm")
    size = path.stat().st_size
    monkeypatch.setattr("logistics.ground.extract_files.MOST_BYTES", size)
    assert len(read_features(path, (-31, 0, -30, 1), {}, {}).kind)
    monkeypatch.setattr("logistics.ground.extract_files.MOST_BYTES", size - 1)
    with pytest.raises(ScenarioError, match="are the most"):
        read_features(path, (-31, 0, -30, 1), {}, {})


def test_layers_of_a_gis_file_are_known_by_name_or_told(tmp_path):
    """In metres of UTM zone 26: brought to degrees."""
    import geopandas

    points = geopandas.GeoSeries.from_wkt(["POINT (-30.45 0.55)"], crs=4326)
    frame = geopandas.GeoDataFrame({"name": ["A"]}, geometry=points).to_crs(32626)
    path = tmp_path / "gis.gpkg"
    for layer in ("Schools", "Brunnen", "Notes"):
        frame.to_file(path, layer=layer)
    found = read_features(path, (-31, 0, -30, 1), {}, {"Brunnen": "well"})
    assert found.kind.tolist() == ["school", "well"]
    assert found.unknown == {"layer Notes": 1}
    at = shapely.get_coordinates(found.shape)
    assert at == pytest.approx(np.array([[-30.45, 0.55]] * 2), abs=1e-7)
    none = read_features(path, (-29, 0, -28, 1), {}, {})
    assert len(none.kind) == 0


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (
            "tolerance_m = 100.1",
            "ground.toml, setting 'tolerance_m': 100.1 is out of range",
        ),
        ("margin_km = true", "is out of range"),
        ("size = 3", "is no key of a recipe"),
        ('[layers]\nA = "house"', "'house' is no kind of ours"),
        ("margin_km = ", "is not valid TOML"),
    ],
)
def test_a_recipe_that_cannot_be_followed_is_a_fault(text, why):
    with pytest.raises(ScenarioError) as fault:
        read_ground_recipe(text)
    assert why in str(fault.value)
    assert read_ground_recipe("tolerance_m = 100").tolerance_m == 100


@pytest.mark.slow
def test_very_many_homes_are_drawn_as_groups(scenario, tmp_path):
    """Every home lies in or within 30 m of a group; few homes are drawn as they are."""
    it = wiggly(3)
    rng = np.random.default_rng(3)
    hamlets = rng.uniform(0, 9, (50, 2))
    for cx, cy in np.repeat(hamlets, 30, axis=0) + rng.normal(0, 0.08, (1500, 2)):
        it.area(cx, cy, 0.01, 0.01, building="yes")
    recipe = GroundRecipe(tolerance_m=0.0)
    land = import_ground(scenario, [it.write(tmp_path / "m.osm")], recipe).land
    homes = land[land["kind"] == "dwellings"]
    assert len(homes) < 500
    drawn = for_a_screen(land)
    fewer = drawn[drawn["kind"] == "dwellings"]
    assert drawn[drawn["kind"] != "dwellings"].equals(
        land[land["kind"] != "dwellings"].reset_index(drop=True)
    )
    plane = plane_of(scenario)
    before, after = (
        plane.lay(shapely.from_wkt(t["wkt"].to_numpy(dtype=object)))
        for t in (homes, fewer)
    )
    assert shapely.get_num_coordinates(after).sum() < 4_000
    assert shapely.get_num_coordinates(before).sum() > 4_000
    far = shapely.distance(
        shapely.get_parts(before)[:, None], shapely.union_all(after)
    ).ravel()
    assert len(fewer) < 400  # so none was left out
    assert far.max() <= 30.5
    few = land.assign(kind="water")
    assert for_a_screen(few) is few
