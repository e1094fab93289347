"""District, nearest village and nearest road of sites, against plain searches."""

import numpy as np
import pandas as pd
import pytest
import shapely
from pyproj import Geod
from support.map_extract import LAT, LON, STEP

from logistics.ground.sites_on_map import inside_which, nearest_place, nearest_road
from logistics.land import Plane

EARTH = Geod(ellps="WGS84")
RNG = np.random.default_rng(7)
PLACES = LON + RNG.uniform(0, 10, 30) * STEP, LAT + RNG.uniform(0, 10, 30) * STEP


def test_the_nearest_village_is_the_one_that_every_distance_says():
    names = [f"v{n}" for n in range(12)]
    table = pd.DataFrame({"name": [*names[:11], ""], "lon": PLACES[0][:12],
                          "lat": PLACES[1][:12]})  # fmt: skip
    lon, lat = PLACES[0][12:], PLACES[1][12:]
    found, km = nearest_place(lon, lat, table)
    for n in range(len(lon)):
        spots = zip(table["lon"][:11], table["lat"][:11], strict=True)
        every = [EARTH.inv(lon[n], lat[n], *spot)[2] / 1000 for spot in spots]
        assert found[n] == names[int(np.argmin(every))]
        assert km[n] == pytest.approx(min(every))
    assert nearest_place(lon[:1], lat[:1], table[11:])[1].tolist() == [np.inf]


def test_of_outlines_in_each_other_the_smallest_counts():
    outlines = pd.DataFrame({
        "name": ["town", "province"],
        "shape": [shapely.box(0, 0, 1, 1), shapely.box(0, 0, 9, 9)],
    })  # fmt: skip
    spots = np.array([0.5, 5.0, 20.0])
    assert inside_which(spots, spots, outlines) == ["town", "province", ""]
    assert inside_which(spots, spots, outlines[::-1]) == ["town", "province", ""]


def test_sites_snap_to_the_nearest_point_of_the_nearest_road():
    """Held against points every metre or so along all roads; ferries do not count."""
    lines = [shapely.linestrings(RNG.uniform(0, 10, (4, 2)) * STEP + [LON, LAT])
             for _ in range(5)]  # fmt: skip
    roads = pd.DataFrame({
        "road": [f"r{n}" for n in range(5)], "name": "",
        "class": ["gravel", "earth", "ferry", "town", "gravel"],
        "wkt": shapely.to_wkt(lines, rounding_precision=-1),
    })  # fmt: skip
    lon, lat = PLACES
    found = nearest_road(lon, lat, roads, Plane(lon, lat))
    for n in range(0, 30, 3):
        best = {}
        for road in (0, 1, 3, 4):
            dense = shapely.get_coordinates(shapely.segmentize(lines[road], 2e-5)).T
            one = np.ones(dense.shape[1])
            best[f"r{road}"] = EARTH.inv(lon[n] * one, lat[n] * one, *dense)[2].min()
        assert found["road"][n] == min(best, key=best.get)
        assert found["road_m"][n] == pytest.approx(min(best.values()), abs=1.0)
        at = found.loc[n, ["road_lon", "road_lat"]]
        assert EARTH.inv(lon[n], lat[n], *at)[2] == pytest.approx(found["road_m"][n])
    none = nearest_road(lon[:2], lat[:2], roads[2:3], Plane(lon, lat))
    assert none["road"].tolist() == ["", ""]
    assert none["road_m"].isna().all()
