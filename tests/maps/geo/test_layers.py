"""The GeoPackage opens in a GIS and holds what the plan says."""

import geopandas
import pyogrio
import pytest
from support.fake_result import PERIODS, result

from maps.geo.geopackage import layers, write_geopackage


@pytest.fixture(scope="module")
def package(tmp_path_factory):
    path = tmp_path_factory.mktemp("gpkg") / "plan.gpkg"
    write_geopackage(result(), path)
    return path


def test_layers_are_there_in_degrees(package):
    names = {name for name, _ in pyogrio.list_layers(package)}
    assert names == {"yards", "sources", "lanes", "markets", "land", "roads"}
    for name in names:
        assert geopandas.read_file(package, layer=name).crs.to_epsg() == 4326


def test_yards_carry_size_intake_and_status(package):
    yards = geopandas.read_file(package, layer="yards").set_index("yard")
    assert yards.loc["hill", ["status", "size", "intake_t"]].tolist() == [
        "new",
        "small",
        450.0,
    ]
    assert yards.loc["shore", ["status", "size", "intake_t"]].tolist() == [
        "unused",
        "",
        0.0,
    ]
    assert (yards.geometry.x["hill"], yards.geometry.y["hill"]) == (-31.06, -0.93)


def test_lane_runs_from_origin_to_destination_with_tonnes_by_period(package):
    lanes = geopandas.read_file(package, layer="lanes").set_index("origin")
    port = lanes.loc["port"]
    assert list(port.geometry.coords) == [(-31.0, -1.0), (-31.06, -0.93)]
    assert [port[f"t_{period}"] for period in PERIODS] == [50.0, 50.0, 50.0]
    assert (port["total"], port["km"], port["money"]) == (150.0, 12.0, 1500.0)
    assert lanes.loc["hill", "kind"] == "out"


def test_sources_and_markets_balance(package):
    sources = geopandas.read_file(package, layer="sources").set_index("source")
    assert sources.loc["fields", ["tonnes", "collected", "uncollected"]].tolist() == [
        pytest.approx(90),
        0.0,
        90.0,
    ]
    markets = geopandas.read_file(package, layer="markets").set_index("market")
    assert markets.loc["paddy", "delivered"] == 150
    assert markets.loc["orchard", "demand"] == pytest.approx(90)


def test_land_and_roads_only_where_given():
    planned = result()
    for name in ("land", "roads"):
        planned.scenario.tables[name] = planned.scenario.tables[name].iloc[:0]
    assert set(layers(planned)) == {"yards", "sources", "lanes", "markets"}
