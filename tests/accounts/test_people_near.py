"""Who lives near yards and busy roads: counted again one place at a time."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import shapely
from pyproj import Geod
from support.places import SMALL

from logistics.accounts import YEAR, exposed_places, exposure_table, nearness
from logistics.land import near_roads, peopled_places
from logistics.model import prepare
from logistics.roads import load_on_roads
from logistics.scenario import read_scenario

METRES_PER_DEGREE = 110_574
"""Of latitude at the equator, WGS 84 (common figure, from memory)."""
EARTH = Geod(ellps="WGS84")


@pytest.fixture(scope="module")
def small():
    return read_scenario(SMALL)


def with_people(scenario, rows):
    columns = ["place", "name", "lon", "lat", "heads"]
    people = pd.DataFrame(rows, columns=columns)
    return replace(scenario, tables={**scenario.tables, "people": people})


def north_of(scenario, yard, metres):
    """The point so far north of the edge of a yard."""
    row = scenario.yards.set_index("yard").loc[yard]
    away = metres + np.sqrt(row["area_m2"] / np.pi)
    return row["lon"], row["lat"] + away / METRES_PER_DEGREE


@pytest.mark.parametrize(("metres", "exposed"), [(1990, 70.0), (2010, 0.0)])
def test_a_place_counts_just_inside_the_distance(small, metres, exposed):
    yard = small.yards["yard"].iloc[0]
    place = ("p", "P", *north_of(small, yard, metres), 70.0)
    inst = prepare(with_people(small, [place])).instance
    opened = np.array([code == yard for code in inst.yards.codes])
    assert inst.neighbours.exposed(opened) == exposed


def test_heads_of_the_land_table_count_where_no_place_is_given(small):
    """A village of 300 and dwellings of 50 count; a well that says 9 and a 0 do not."""
    yard = small.yards["yard"].iloc[0]
    lon, lat = north_of(small, yard, 400)
    side = 100 / METRES_PER_DEGREE
    homes = shapely.box(lon, lat + side, lon + side, lat + 2 * side).wkt
    land = pd.DataFrame(
        {
            "land": ["v", "d", "w", "e"],
            "name": ["V", "D", "W", "E"],
            "kind": ["village", "dwellings", "well", "village"],
            "wkt": [f"POINT ({lon} {lat})", homes, *[f"POINT ({lon} {lat})"] * 2],
            "heads": [300.0, 50.0, 9.0, 0.0],
        }
    )
    tables = {**small.tables, "land": land, "people": small.people.head(0)}
    found = peopled_places(replace(small, tables=tables))
    assert found.table["place"].tolist() == ["v", "d"]
    assert found.table["heads"].tolist() == [300.0, 50.0]
    at = small.yards["yard"].tolist().index(yard)
    assert found.metres[:, at] == pytest.approx([400, 500], rel=0.01)
    own = with_people(replace(small, tables=tables), [("p", "P", lon, lat, 5.0)])
    assert peopled_places(own).table["place"].tolist() == ["p"]


def by_hand(result, yards):
    """Distance of every place to the nearest of some yards over the ellipsoid. [m]"""
    sites, people = result.scenario.yards, result.scenario.people
    nearest = []
    for place in people.itertuples():
        each = [np.inf]
        for site in sites[sites["yard"].isin(yards)].itertuples():
            _, _, m = EARTH.inv(place.lon, place.lat, site.lon, site.lat)
            each.append(max(0.0, m - np.sqrt(site.area_m2 / np.pi)))
        nearest.append(min(each))
    return np.array(nearest)


@pytest.mark.slow
def test_brackwater_counted_place_by_place(brackwater_planned):
    """Geodesics one by one; no place lies within 3 m of a limit."""
    result = brackwater_planned
    heads = result.scenario.people["heads"].to_numpy()
    table = exposure_table(result).set_index("period")
    charged = result.plan.charges[result.plan.charges["tonnes"] > 0]
    for period in (YEAR, "m01", "m08"):
        yards = result.plan.yards["yard"].tolist()
        if period != YEAR:
            yards = charged.loc[charged["period"] == period, "yard"].tolist()
        metres = by_hand(result, yards)
        for code, limit in (("near", 500), ("middle", 1000), ("far", 2000)):
            assert np.abs(metres - limit).min() > 3
            assert table.loc[period, code] == heads[metres <= limit].sum()
        weight = sum(
            h * max(0.0, 1 - m / 2000) for h, m in zip(heads, metres, strict=True)
        )
        assert table.loc[period, "weighted"] == pytest.approx(weight, rel=1e-3)
    assert table.loc[YEAR, "far"] > 0


@pytest.mark.slow
def test_heads_beside_busy_roads_are_those_of_roads_with_so_many_trucks(
    brackwater_planned,
):
    """Road by road: trucks a working day from the loads, and who lives beside."""
    result = brackwater_planned
    scenario, near = result.scenario, result.scenario.settings.people
    load = load_on_roads(result.travel, result.lanes)
    days = scenario.periods.set_index("period")["working_days"]
    load = load.assign(
        a_day=(load["trips"] + load["empty_trips"]) / load["period"].map(days)
    )
    lines = scenario.roads.set_index("road")["wkt"].map(shapely.from_wkt)
    shrink = np.cos(np.radians(scenario.people["lat"].mean()))
    scale = np.array([METRES_PER_DEGREE * 1.00674 * shrink, METRES_PER_DEGREE])
    flat = lines.map(lambda line: shapely.transform(line, lambda xy: xy * scale))
    beside = {}
    for place in scenario.people.itertuples():
        point = shapely.Point(place.lon * scale[0], place.lat * scale[1])
        metres = flat.map(point.distance)
        assert (metres - near.road_m).abs().min() > 1
        beside[place.place] = set(metres.index[metres <= near.road_m])
    table = exposure_table(result).set_index("period")
    ever = set()
    for period in scenario.periods["period"]:
        busy = load[(load["period"] == period) & (load["a_day"] >= near.trucks_per_day)]
        there = {p for p, roads in beside.items() if roads & set(busy["road"])}
        ever |= there
        people = scenario.people
        count = people.loc[people["place"].isin(there), "heads"].sum()
        assert table.loc[period, "road"] == count, period
    heads = scenario.people.set_index("place")["heads"]
    assert table.loc[YEAR, "road"] == heads[list(ever)].sum() > 0
    passes = exposed_places(result).set_index("place")["passes"]
    most = load.groupby("road")["a_day"].max()
    for place, roads in beside.items():
        expected = max((most.get(road, 0.0) for road in roads), default=0.0)
        assert passes[place] == pytest.approx(expected)


def test_nobody_is_near_roads_that_are_not_asked_for(small):
    place = ("p", "P", *north_of(small, small.yards["yard"].iloc[0], 100), 5.0)
    scenario = with_people(small, [place])
    assert near_roads(scenario, peopled_places(scenario), [], 1e6) == {}


def test_nearness_falls_evenly_to_nothing():
    assert nearness(np.array([0.0, 1999.0, 2000.0, 2001.0]), 2000.0) == pytest.approx(
        [1.0, 0.0005, 0.0, 0.0]
    )
