"""Who is near a yard: counted by distance from its edge, by hand."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from support.places import SMALL

from logistics.land import homes_near
from logistics.scenario import read_scenario

METRES_PER_DEGREE = 110_574
"""Of latitude at the equator, WGS 84 (common figure, from memory)."""


@pytest.fixture(scope="module")
def scenario():
    return read_scenario(SMALL)


def with_home(scenario, yard, metres, kind="school"):
    """The district with one home so far north of the edge of a yard."""
    row = scenario.yards.set_index("yard").loc[yard]
    away = metres + np.sqrt(row["area_m2"] / np.pi)
    north = row["lat"] + away / METRES_PER_DEGREE
    land = pd.DataFrame(
        {"land": ["home"], "name": ["Home"], "kind": [kind],
         "wkt": [f"POINT ({row['lon']} {north})"]}
    )  # fmt: skip
    return replace(scenario, tables={**scenario.tables, "land": land})


@pytest.mark.parametrize(("metres", "near"), [(990, 1), (1010, 0)])
def test_a_school_counts_just_inside_the_distance(scenario, metres, near):
    yard = scenario.yards["yard"].iloc[0]
    found = homes_near(with_home(scenario, yard, metres), [yard], 1000)
    assert found == {"school": near}


def test_other_yards_and_other_land_do_not_count(scenario):
    first, *others = scenario.yards["yard"]
    near = with_home(scenario, first, 500)
    assert homes_near(near, others, 100) == {"school": 0}
    assert homes_near(near, [], 1000) == {"school": 0}
    assert homes_near(with_home(scenario, first, 500, "river"), [first], 1000) == {}
