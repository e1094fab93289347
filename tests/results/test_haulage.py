"""What pairing saves beside the lanes, in figures small enough to add up by hand."""

import pandas as pd
import pytest
from pandas.testing import assert_frame_equal

from logistics.results.haulage import (
    net_of_paired_trips,
    no_savings,
    paired_trip_figures,
)

MONEY = {"fuel": 9.0, "repair": 3.0, "crew": 12.0, "fare": 1.0, "money": 25.0}
LANES = pd.DataFrame(
    [
        {
            "kind": "in", "origin": "mill", "destination": "shoal", "material": "husk",
            "truck": "light", "period": "m01", "tonnes": 12.0, "km": 10.0, "trips": 3.0,
            "vehicle_km": 70.0, "hours": 6.0, "fuel_l": 8.0, **MONEY,
        }
    ]
)  # fmt: skip
SAVED = {
    "hours": 1.0, "fuel_l": 2.0, "fuel": 2.5, "repair": 1.5, "crew": 2.0, "fare": 0.25,
    "money": 6.25,
}  # fmt: skip
PAIRS = pd.DataFrame(
    [
        {
            "source": "mill", "yard": "shoal", "market": "farms", "truck": "light",
            "period": "m01", "trips": 2.0, "km": 8.0, **SAVED,
        }
    ]
)  # fmt: skip


def test_savings_stand_below_the_lanes_as_less_than_nothing():
    table = net_of_paired_trips(LANES, PAIRS)
    assert len(table) == 2
    assert_frame_equal(table.iloc[[0]], LANES, check_like=True)
    saved = table.iloc[1]
    assert saved[["kind", "origin", "destination"]].tolist() == [
        "pair", "shoal", "farms"
    ]  # fmt: skip
    assert saved[["tonnes", "km", "trips"]].tolist() == [0, 0, 0]
    assert saved["vehicle_km"] == -8
    for name, value in SAVED.items():
        assert saved[name] == -value
    assert table["vehicle_km"].sum() == 62


def test_without_pairs_the_lanes_are_all():
    assert net_of_paired_trips(LANES, no_savings()) is LANES


def test_no_savings_are_numbers_and_codes():
    kinds = no_savings().dtypes
    assert list(kinds.index) == list(PAIRS)
    assert (kinds.iloc[5:] == "float64").all()
    assert not (kinds.iloc[:5] == "float64").any()


def test_figures_of_pairing_by_hand():
    """70 km driven, 30 of them loaded; 8 of the 40 empty ones are saved."""
    assert paired_trip_figures(LANES, PAIRS) == pytest.approx(
        {
            "vehicle_km": 62,
            "empty_km": 32,
            "paired_trips": 2,
            "paired_km_saved": 8,
            "paired_money_saved": 6.25,
        }
    )
