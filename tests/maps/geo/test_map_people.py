"""Who lives near the yards of a plan, as the map tells it: heads and places."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from maps.geo import map_people

LIMITS = {"near_m": 100.0, "middle_m": 300.0, "far_m": 1000.0}


@pytest.fixture
def result(monkeypatch):
    """Three places; the open yard has them at 50, 300 and 1,001 m."""
    table = pd.DataFrame(
        {
            "place": ["a", "b", "c"],
            "name": ["Ayre", "", "Cove"],
            "lat": [1.00004, 2.0, 3.0],
            "lon": [4.0, 5.0, 6.0],
            "heads": [10, 20, 40],
        }
    )
    metres = np.array([[50.0, 5000.0], [300.0, 5000.0], [1001.0, 10.0]])

    class Places(SimpleNamespace):
        def __len__(self):
            return len(self.table)

    places = Places(table=table, metres=metres)
    monkeypatch.setattr(map_people, "peopled_places", lambda _: places)
    settings = SimpleNamespace(people=SimpleNamespace(**LIMITS))
    scenario = SimpleNamespace(
        settings=settings, yards=pd.DataFrame({"yard": ["open", "shut"]})
    )
    plan = SimpleNamespace(yards=pd.DataFrame({"yard": ["open"]}))
    return SimpleNamespace(scenario=scenario, plan=plan)


def test_heads_are_counted_to_the_metre_and_far_places_left_out(result):
    """At the limit a place counts, a metre beyond it does not."""
    told = map_people.people_by_yard(result)["people"]
    assert told["near"] == {"open": [[[100.0, 10], [300.0, 30], [1000.0, 30]], [0, 1]]}
    assert told["homes"] == [[1.0, 4.0, 10, "Ayre"], [2.0, 5.0, 20, "b"]]


def test_a_plan_of_many_yards_shows_no_people(result, monkeypatch):
    monkeypatch.setattr(map_people, "MOST_YARDS", 0)
    assert map_people.people_by_yard(result) == {}


def test_each_yard_has_its_own_places(result):
    shut = SimpleNamespace(yards=pd.DataFrame({"yard": ["shut"]}))
    alone = SimpleNamespace(scenario=result.scenario, plan=shut)
    told = map_people.people_by_yard(alone)["people"]
    assert [home[3] for home in told["homes"]] == ["Cove"]
