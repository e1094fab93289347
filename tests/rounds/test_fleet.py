"""Trucks counted by hand: own and hired, by month and yard, and what one is worth."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from logistics.rounds.fleet import (
    fleet_by_period,
    fleet_by_yard,
    homes,
    own_trucks_worth,
)

LANES = [
    ("in", "mill", "hill", "light", "p1", 60.0),
    ("in", "port", "shore", "light", "p1", 40.0),
    ("out", "shore", "farm", "light", "p1", 50.0),
    ("in", "mill", "hill", "light", "p2", 30.0),
    ("in", "mill", "hill", "heavy", "p2", 20.0),
]


@pytest.fixture
def result():
    """Two months of 10 working days of 8 h: 80 h a truck; 150 h of light trucks."""
    lanes = pd.DataFrame(
        LANES, columns=["kind", "origin", "destination", "truck", "period", "hours"]
    )
    trucks = pd.DataFrame(
        {
            "truck": ["light", "heavy"],
            "owned": [1, 0],
            "hire_cost_per_hour": [5.0, 9.0],
            "hire_least_hours": [1.0, 1.0],
            "hire_call_cost": [0.0, 0.0],
            "fixed_cost_per_year": [300.0, 900.0],
        }
    )
    periods = pd.DataFrame({"period": ["p1", "p2"], "working_days": [10.0, 10.0]})
    hired = [("light", "shore", "p1", 70.0), ("heavy", "hill", "p2", 20.0)]
    return SimpleNamespace(
        lanes=lanes,
        driven=lanes,
        plan=SimpleNamespace(
            hired=pd.DataFrame(hired, columns=["truck", "yard", "period", "hours"]),
            bases=pd.DataFrame({"truck": ["light"], "yard": ["hill"], "count": [1]}),
        ),
        scenario=SimpleNamespace(
            trucks=trucks,
            periods=periods,
            settings=SimpleNamespace(work=SimpleNamespace(hours_per_day=8.0)),
        ),
    )


def test_own_and_hired_by_period(result):
    table = fleet_by_period(result).set_index(["truck", "period"])
    light = table.loc[("light", "p1")]
    assert (light["own_hours"], light["hired_hours"]) == (80.0, 70.0)
    assert (light["own_used"], light["hired_used"]) == (1.0, 0.875)
    assert light["trucks"] == 2
    assert light["use"] == 1.0
    assert light["peak"]
    assert table.loc[("light", "p2"), "use"] == pytest.approx(30 / 80)
    assert not table.loc[("light", "p2"), "peak"]
    assert np.isnan(table.loc[("heavy", "p2"), "use"])
    assert table.loc[("heavy", "p2"), "hired_used"] == 0.25
    assert not table.loc[("heavy", "p1"), "peak"]


def test_yards_share_the_hours(result):
    table = fleet_by_yard(result).set_index(["truck", "yard"])
    assert table["hours"].sum() == result.lanes["hours"].sum()
    hill, shore = table.loc[("light", "hill")], table.loc[("light", "shore")]
    assert hill["hours"] == shore["hours"] == 90.0
    assert hill["busy"] == pytest.approx(90 / 160)
    assert (hill["most"], hill["most_period"]) == (0.75, "p1")
    assert (shore["most"], shore["most_period"]) == (1.125, "p1")
    assert (hill["based"], shore["based"]) == (1, 0)
    assert table.loc[("heavy", "hill"), "based"] == 0


def test_own_trucks_stand_at_night_where_the_plan_bases_them(result):
    assert homes(result) == {"light": {"hill": 1}, "heavy": {}}


def test_one_truck_more_or_less(result):
    """One more light saves 70 h of hire; one less is hired again for 80 + 30 h."""
    table = own_trucks_worth(result).set_index("truck")
    assert table.loc["light", "one_more"] == 70 * 5 - 300
    assert table.loc["light", "one_less"] == 300 - (80 + 30) * 5
    assert table.loc["heavy", "one_more"] == 20 * 9 - 900
    assert np.isnan(table.loc["heavy", "one_less"])
