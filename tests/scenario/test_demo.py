"""The demo districts: made by their generator, and as their README tells."""

import importlib
import re
import sys

import numpy as np
import pandas as pd
import pytest
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from support.places import SCENARIOS

from logistics.composting.supply import seasonal_supply, yearly_demand, yearly_supply
from logistics.scenario.scenario import Scenario, read_scenario

DEMOS = ("brackwater", "highlake")
KM_PER_DEGREE = 111.195


@pytest.fixture(scope="module", params=DEMOS)
def demo(request) -> str:
    return request.param


@pytest.fixture(scope="module")
def brackwater() -> Scenario:
    return read_scenario(SCENARIOS / "brackwater")


@pytest.fixture(scope="module")
def ground(brackwater) -> dict[str, shapely.Geometry]:
    """All land features of one kind in one shape, in degrees."""
    shapes = brackwater.land.assign(shape=shapely.from_wkt(brackwater.land["wkt"]))
    return {
        kind: shapely.union_all(group["shape"].to_numpy())
        for kind, group in shapes.groupby("kind")
    }


def facts(demo: str) -> dict[str, str]:
    """Rows of the table of facts in a README: what it is, how much."""
    text = (SCENARIOS / demo / "README.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| ([^|]+?) \| ([^|]+?) \|$", text, flags=re.MULTILINE)
    return dict(rows[1:])


def count(text: str) -> float:
    """First number of a fact: "17,845 t/yr" is 17845."""
    return float(re.search(r"[\d,.]*\d", text)[0].replace(",", ""))


def sites(scenario: Scenario) -> pd.DataFrame:
    """Every source, yard and market: lon, lat, district."""
    tables = (scenario.sources, scenario.yards, scenario.markets)
    return pd.concat([t[["name", "lon", "lat", "district"]] for t in tables])


def road_lines(scenario: Scenario) -> np.ndarray:
    return shapely.from_wkt(scenario.roads["wkt"].to_numpy(dtype=object))


@pytest.mark.slow
def test_generator_writes_the_same_bytes(demo, tmp_path, monkeypatch):
    """The tables in the repository are what the generator writes, to the byte."""
    monkeypatch.setattr(sys, "path", [str(SCENARIOS), *sys.path])
    importlib.import_module("make_demo").main(tmp_path)
    written = {path.name: path.read_bytes() for path in (tmp_path / demo).iterdir()}
    kept = {
        path.name: path.read_bytes()
        for path in (SCENARIOS / demo).iterdir()
        if path.suffix in {".csv", ".toml"}
    }
    assert len(written) > 9
    assert kept == written


def test_every_site_lies_inside_the_district(demo):
    scenario = read_scenario(SCENARIOS / demo)
    district = scenario.settings.district
    places = sites(scenario)
    assert places["lon"].between(district.west, district.east).all()
    assert places["lat"].between(district.south, district.north).all()
    assert places["name"].is_unique


def test_readme_counts_and_totals(demo):
    """What the README counts is what the tables hold."""
    scenario, told = read_scenario(SCENARIOS / demo), facts(demo)
    material = scenario.sources["material"]
    names = scenario.materials.set_index("material")["name"]
    tonnes = yearly_supply(scenario).groupby("material")["tonnes_per_year"].sum()
    for code, name in names.items():
        assert count(told[f"{name}, sources"]) == (material == code).sum()
        assert count(told[f"{name}, supply"]) == round(tonnes[code])
    built = scenario.yards["existing_size"] != ""
    demand = yearly_demand(scenario)["tonnes_per_year"].sum()
    assert count(told["Sources"]) == len(scenario.sources)
    assert count(told["Yards at work"]) == built.sum()
    assert count(told["Candidate yards"]) == (~built).sum()
    assert count(told["Markets"]) == len(scenario.markets)
    assert count(told["Compost wanted"]) == round(demand)
    assert count(told["Truck types"]) == len(scenario.trucks)
    assert count(told["Yard sizes"]) == len(scenario.yard_sizes)


def test_readme_says_it_is_invented(demo):
    text = (SCENARIOS / demo / "README.md").read_text(encoding="utf-8")
    assert "invented" in text.splitlines()[2]
    assert "invented" in read_scenario(SCENARIOS / demo).settings.name


def test_readme_facts_of_the_road_network(brackwater):
    told, roads = facts("brackwater"), brackwater.roads
    assert count(told["Road sections"]) == len(roads)
    assert count(told["Bridges"]) == roads["bridge"].sum()
    assert count(told["Ferries"]) == (roads["class"] == "ferry").sum()
    closed = roads[roads["closed_periods"].map(bool)]
    assert set(closed["name"]) == {"Low Road", "Marsh Road", "Delta Road"}


def test_iron_bridge_stops_the_heavy_truck_only(brackwater):
    """With its load the heavy truck is over the posted limit, the others under."""
    trucks = brackwater.trucks.set_index("truck")
    gross = trucks["tare_t"] + trucks["payload_t"]
    limit = brackwater.roads.set_index("name").loc["Iron Bridge", "max_gross_t"]
    assert gross["heavy"] > limit > gross["light"] > gross["pickup"]


def test_roads_are_one_network(brackwater):
    """Sections share their end vertices, ferry included: one connected whole."""
    lines = road_lines(brackwater)
    ends = [(line.coords[0], line.coords[-1]) for line in lines]
    number = {node: k for k, node in enumerate(dict.fromkeys(sum(ends, ())))}
    start, end = np.array([[number[a], number[b]] for a, b in ends]).T
    links = coo_array((np.ones(len(ends)), (start, end)), [len(number)] * 2)
    assert connected_components(links, directed=False)[0] == 1


def test_roads_meet_only_at_their_ends(brackwater):
    """No section runs through another one without a shared vertex."""
    lines = road_lines(brackwater)
    first, second = shapely.STRtree(lines).query(lines, predicate="intersects")
    for a, b in zip(first, second, strict=True):
        shared = {*lines[a].boundary.geoms} & {*lines[b].boundary.geoms}
        meeting = shapely.intersection(lines[a], lines[b])
        at_ends = shapely.equals(meeting, shapely.MultiPoint([*shared]))
        assert a == b or meeting in shared or at_ends


def test_roads_stay_dry_and_cross_rivers_on_bridges(brackwater, ground):
    lines, roads = road_lines(brackwater), brackwater.roads
    flats = roads["name"] == "Low Road"  # bare at low water
    by_land = ((roads["class"] != "ferry") & ~flats).to_numpy()
    assert shapely.contains(ground["land"], lines[by_land]).all()
    dry = shapely.union_all([ground["land"], ground["flood"]])
    assert shapely.contains(dry, lines[flats.to_numpy()]).all()
    assert not shapely.intersects(ground["water"], lines).any()
    crossing = shapely.intersects(ground["river"], lines)
    assert (crossing == roads["bridge"].to_numpy()).all()


def test_land_features_are_valid(demo):
    shapes = shapely.from_wkt(read_scenario(SCENARIOS / demo).land["wkt"].to_list())
    assert shapely.is_valid(shapes).all()


def test_sites_are_on_land_near_a_road(brackwater, ground):
    """Within the access limit, which the settings give, and out of the water."""
    places = sites(brackwater)
    points = shapely.points(places["lon"], places["lat"])
    network = shapely.union_all(road_lines(brackwater))
    km = shapely.distance(network, points) * KM_PER_DEGREE
    assert km.max() < brackwater.settings.travel.access_limit_km
    assert shapely.contains(ground["land"], points).all()
    assert not shapely.intersects(ground["water"], points).any()


def test_sites_belong_to_the_district_they_lie_in(brackwater):
    land = brackwater.land[brackwater.land["kind"] == "district"].set_index("land")
    rings = {code: shapely.from_wkt(wkt) for code, wkt in land["wkt"].items()}
    places = sites(brackwater)
    assert set(places["district"]) == set(rings) == {"north", "east", "delta", "isles"}
    for place in places.itertuples():
        assert rings[place.district].contains(shapely.Point(place.lon, place.lat))


def test_fish_is_short_of_carbon_in_the_lean_months(brackwater):
    """
    Four months bring too little husk and straw for their fish; the year has enough.

    One tonne of fish waste needs 2.19 t of husk or 2.69 t of straw for C:N 25 (sums
    of carbon and nitrogen in the dry mass of `materials.csv`).
    """
    materials = brackwater.materials.set_index("material")
    dry = 1 - materials["moisture"]
    spare = dry * (materials["carbon"] - 25 * materials["nitrogen"])
    assert -spare["fish_waste_mixed"] / spare["rice_husk"] == pytest.approx(2.19, 0.01)
    assert -spare["fish_waste_mixed"] / spare["rice_straw"] == pytest.approx(2.69, 0.01)
    supply = seasonal_supply(brackwater).merge(
        brackwater.sources[["source", "material"]]
    )
    balance = supply["tonnes"] * supply["material"].map(spare)
    balance = balance[supply["material"] != "cattle_manure"]
    by_month = balance.groupby(supply["period"]).sum()
    assert set(by_month.index[by_month < 0]) == {"m02", "m07", "m08", "m09"}
    assert by_month.sum() > 0


def test_highlake_has_a_laboratory_and_a_duty():
    """One source with laboratory values, one that must be emptied, one share rule."""
    scenario = read_scenario(SCENARIOS / "highlake")
    assert scenario.sources["lab_nitrogen"].notna().sum() == 1
    assert scenario.sources["must_collect"].sum() == 1
    assert len(scenario.policy) == 1
    assert len(scenario.roads) == 0
