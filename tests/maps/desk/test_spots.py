"""A place on the map is judged as the same yard is by the land screening."""

from pathlib import Path

import numpy as np
import pytest
import shapely
from support.places import DEMO

from logistics.land import lay, nearest, no_go, refused, screen, screen_spot
from logistics.land.setbacks import features_of
from logistics.scenario import TableText
from logistics.scenario.scenario import read_scenario
from maps.desk.grid.checking import Checker
from maps.desk.grid.drafts import Drafts
from maps.desk.grid.faults import NoPlace
from maps.desk.grid.places import Places, points

AREA = 12_000.0


@pytest.fixture(scope="module")
def demo():
    scenario = read_scenario(DEMO)
    return scenario, lay(scenario)


def test_every_yard_is_judged_at_its_place_as_the_screening_does(demo):
    scenario, laid = demo
    whole = screen(scenario)
    assert len(whole) > 10
    for yard in scenario.yards.to_dict("records"):
        alone = screen_spot(scenario, laid, yard)
        table = whole[whole["yard"] == yard["yard"]]
        assert alone["reason"].tolist() == table["reason"].tolist()
        assert alone["action"].tolist() == table["action"].tolist()


@pytest.mark.slow
def test_drawn_no_go_land_is_what_the_rules_refuse(demo):
    """At random places ashore, but within 30 m of an edge, drawn with less detail."""
    scenario, laid = demo
    drawn = no_go(scenario, laid, AREA)["refused"]
    on_plane = laid.plane.lay(np.array([drawn], dtype=object))[0]
    random = np.random.default_rng(18)
    west, south, east, north = drawn.bounds
    seen = {True: 0, False: 0}
    for _ in range(90):
        lon, lat = random.uniform(west, east), random.uniform(south, north)
        at = shapely.points(*laid.plane.xy(np.array([lon]), np.array([lat])))[0]
        at_sea = not shapely.covers(laid.features["coast"].shapes[0], at)
        if at_sea or shapely.distance(shapely.boundary(on_plane), at) < 30:
            continue
        cells = {"yard": "x", "lon": lon, "lat": lat, "area_m2": AREA, "slope": np.nan}
        told = screen_spot(scenario, laid, cells)
        inside = bool(shapely.contains(on_plane, at))
        assert ("x" in refused(told)) == inside, (lon, lat)
        seen[inside] += 1
    assert min(seen.values()) > 3


def test_the_nearest_home_and_well_are_those_of_a_search_over_all(demo):
    scenario, laid = demo
    lon, lat = -30.95, -0.95
    found = {one.kind: one for one in nearest(laid, lon, lat, AREA)}
    at = shapely.points(*laid.plane.xy(np.array([lon]), np.array([lat])))[0]
    for kind in ("dwellings", "well"):
        rows = scenario.land[scenario.land["kind"] == kind]
        metres = shapely.distance(features_of(rows, laid.plane).shapes, at)
        told = found[kind]
        assert told.metres == pytest.approx(metres.min() - (AREA / np.pi) ** 0.5)
        assert told.name == rows["name"].iloc[int(metres.argmin())]
        end = laid.plane.xy(np.array([told.lon]), np.array([told.lat]))
        assert shapely.distance(shapely.points(*end)[0], at) == pytest.approx(
            metres.min(), abs=0.01
        )


def test_cells_as_typed_are_judged_and_what_has_no_position_is_told():
    places = Places(Checker(Drafts(DEMO)))
    cells = {"yard": "x", "lon": "-30,93406", "lat": "-0.97036", "area_m2": "5200"}
    told = places.judge(cells)
    assert told["status"] == "refused"
    assert any(one["words"].startswith("dwellings") for one in told["near"])
    assert places.judge({**cells, "existing_size": "small"})["status"] == "warned"
    for lat in ("", "north", "91"):
        with pytest.raises(NoPlace):
            places.judge({**cells, "lat": lat})


def test_example_rows_are_no_points():
    """The grey rows of a new workbook stand in open ocean and are never read."""
    head = ("yard", "name", "lon", "lat")
    rows = (("e.g. a", "Example", "-30.5", "0.5"), ("b", "Old field", "-30.4", "0.4"))
    texts = {
        table: TableText(table, Path("t"), headings=head, rows=rows)
        for table in ("sources", "yards", "markets")
    }
    assert points(texts)["yards"] == [[0.4, -30.4, "Old field"]]
