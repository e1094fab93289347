"""Ways drawn along roads: as long as travel says, from site to site."""

from dataclasses import replace

import numpy as np
import pytest
from support.places import DEMO

from logistics.roads.geometry import geodesic_km
from logistics.roads.routes import lines
from logistics.roads.travel_matrices import travel
from logistics.scenario.scenario import read_scenario


@pytest.fixture(scope="module")
def demo():
    scenario = read_scenario(DEMO)
    return scenario, travel(scenario)


def length_km(line):
    lon, lat = np.array(line).T
    return float(geodesic_km(lon[:-1], lat[:-1], lon[1:], lat[1:]).sum())


@pytest.mark.slow
def test_a_line_is_as_long_as_the_way(demo):
    """400 random legs in all states of the roads, against the matrices of travel."""
    scenario, ways = demo
    rng = np.random.default_rng(seed=3)
    legs = [
        (int(state), ways.sites[a], ways.sites[b])
        for state, a, b in zip(
            rng.integers(len(ways.states), size=400),
            *rng.integers(len(ways.sites), size=(2, 400)),
            strict=True,
        )
    ]
    row = {site: n for n, site in enumerate(ways.sites)}
    bent = 0
    for (state, a, b), line in zip(legs, lines(scenario, ways, legs), strict=True):
        km = ways.states[state].km[row[a], row[b]]
        if np.isfinite(km):
            assert length_km(line) == pytest.approx(km, abs=1e-4)
            bent += len(line) > 4
    assert bent > 200


def test_a_line_begins_and_ends_at_its_sites(demo):
    scenario, ways = demo
    source, yard = scenario.sources.iloc[0], scenario.yards.iloc[0]
    leg = (0, f"source:{source['source']}", f"yard:{yard['yard']}")
    (line,) = lines(scenario, ways, [leg])
    assert line[0] == (source["lon"], source["lat"])
    assert line[-1] == (yard["lon"], yard["lat"])
    (back,) = lines(scenario, ways, [(0, leg[2], leg[1])])
    assert back[0] == line[-1]


def test_without_roads_it_is_straight(demo):
    scenario, ways = demo
    leg = (0, ways.sites[0], ways.sites[-1])
    (line,) = lines(scenario, replace(ways, driven=None), [leg])
    assert len(line) == 2
