"""Tonnes from what people know."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pandas.testing import assert_frame_equal
from support.ground_tables import SOURCE_DEFAULTS, rows, scenario

from logistics.composting.supply import (
    seasonal_demand,
    seasonal_supply,
    yearly_demand,
    yearly_supply,
)

SOURCES = rows(
    [
        {"source": "mill", "material": "husk", "basis": "processed", "amount": 8400.0,
         "waste": 0.20, "conversion_source": "a handbook"},
        {"source": "field", "material": "straw", "basis": "cropped", "amount": 500.0,
         "yield_t_ha": 4.0, "residue_ratio": 0.75, "recoverable": 0.4,
         "season": "dry_only"},
        {"source": "herd", "material": "fish", "basis": "animals", "amount": 200.0,
         "kg_per_head_day": 10.0, "recoverable": 0.5},
        {"source": "quay", "material": "fish", "amount": 120.0},
    ],
    SOURCE_DEFAULTS,
)  # fmt: skip

MARKETS = rows(
    [
        {"market": "coop", "basis": "tonnes", "amount": 300.0, "rate_t_ha": np.nan,
         "season": "even"},
        {"market": "rice", "basis": "area", "amount": 80.0, "rate_t_ha": 5.0,
         "season": "dry_only"},
    ]
)  # fmt: skip


def test_each_basis_is_reckoned_by_hand():
    year = yearly_supply(scenario(sources=SOURCES))
    assert year["tonnes_per_year"].tolist() == pytest.approx([1680, 600, 365, 120])
    assert year["conversion"].tolist() == [
        "8,400 t processed x 20 % x 100 % recoverable = 1,680 t/yr",
        "500 ha x 4 t/ha x 0.75 t/t x 40 % recoverable = 600 t/yr",
        "200 head x 10 kg/day x 365 days / 1,000 x 50 % recoverable = 365 t/yr",
        "120 t x 100 % recoverable = 120 t/yr",
    ]
    assert year.loc[0, "conversion_source"] == "a handbook"
    assert list(year.columns) == [
        "source",
        "material",
        "tonnes_per_year",
        "conversion",
        "conversion_source",
    ]


def test_the_season_says_when():
    table = seasonal_supply(scenario(sources=SOURCES))
    assert list(table.columns) == ["source", "feedstock", "period", "tonnes"]
    straw = table[table["source"] == "field"]
    assert straw["period"].tolist() == ["dry", "wet"]
    assert straw["tonnes"].tolist() == pytest.approx([600, 0])
    husk = table[table["source"] == "mill"]
    assert husk["tonnes"].tolist() == pytest.approx([840, 840])


def test_seasonal_supply_names_the_feedstock_of_a_lab_value():
    sources = SOURCES.assign(lab_moisture=[np.nan, np.nan, np.nan, 0.8])
    table = seasonal_supply(scenario(sources=sources))
    assert table.iloc[-1]["feedstock"] == "fish__quay"
    assert table.iloc[0]["feedstock"] == "husk"


@pytest.mark.slow
@given(st.lists(st.floats(0.01, 100), min_size=1, max_size=24), st.floats(1, 1e6))
def test_periods_add_to_the_year(shares, amount):
    """Nothing is lost or made, even where the shares are rounded."""
    periods = [f"p{i}" for i in range(len(shares))]
    made = scenario(
        sources=SOURCES.iloc[[3]].assign(amount=amount, season="s"),
        periods=pd.DataFrame({"period": periods}),
        calendar=pd.DataFrame({"season": "s", "period": periods, "share": shares}),
    )
    assert seasonal_supply(made)["tonnes"].sum() == pytest.approx(amount)


def test_order_of_the_calendar_does_not_matter():
    made = scenario(sources=SOURCES)
    turned = scenario(sources=SOURCES, calendar=made.calendar.iloc[::-1])
    assert_frame_equal(seasonal_supply(made), seasonal_supply(turned))


def test_demand_by_tonnes_and_by_area():
    made = scenario(markets=MARKETS)
    year = yearly_demand(made)
    assert year["tonnes_per_year"].tolist() == [300, 400]
    assert year["conversion"].tolist() == [
        "300 t/yr",
        "80 ha x 5 t/ha = 400 t/yr",
    ]
    table = seasonal_demand(made)
    assert list(table.columns) == ["market", "period", "tonnes"]
    assert table["tonnes"].tolist() == pytest.approx([150, 150, 400, 0])


def test_inputs_are_left_alone():
    made = scenario(sources=SOURCES.copy(), markets=MARKETS.copy())
    calendar = made.calendar.copy()
    seasonal_supply(made)
    seasonal_demand(made)
    assert_frame_equal(made.sources, SOURCES)
    assert_frame_equal(made.markets, MARKETS)
    assert_frame_equal(made.calendar, calendar)


def test_no_sources_no_supply():
    made = scenario(sources=SOURCES.iloc[:0], markets=MARKETS.iloc[:0])
    assert len(seasonal_supply(made)) == 0
    assert len(seasonal_demand(made)) == 0
    assert len(yearly_supply(made)) == 0
