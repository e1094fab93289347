"""Changes that hold for a part of the year: only what falls into it is changed."""

import numpy as np
import pandas as pd
import pytest
from support.places import DEMO, SMALL

from logistics.changes import CHANGES, apply_changes, arguments_of
from logistics.changes.files import parse_change, read_change_text
from logistics.changes.registry import in_time
from logistics.composting import seasonal_demand, seasonal_supply
from logistics.model import prepare
from logistics.results import run
from logistics.roads import travel
from logistics.scenario import (
    ScenarioError,
    period_prices,
    read_scenario,
    write_scenario,
)

BASE = read_scenario(DEMO)
MONTHS = list(BASE.periods["period"])
MILL = "mill_brackwater"


def changed(*texts, scenario=BASE):
    """The district after changes of the command line, one after the other."""
    for text in texts:
        scenario = apply_changes(scenario, parse_change(text))
    return scenario


def supply(scenario, source):
    """Tonnes of a source by period."""
    table = seasonal_supply(scenario)
    rows = table[table["source"] == source].set_index("period")["tonnes"]
    return rows.reindex(MONTHS).fillna(0.0).to_numpy()


def prices(scenario, table, code):
    """Prices of a place by period."""
    key = table.removesuffix("s")
    place = scenario.table(table)[key].tolist().index(code)
    return period_prices(scenario, table)[place]


@pytest.mark.parametrize("start", ["m10", "10", "October", "10-01", "2026-10-01"])
def test_a_mill_that_closes_in_october_loses_what_comes_from_then_on(start):
    before, after = supply(BASE, MILL), None
    after = supply(changed(f"close_source:source={MILL},from={start}"), MILL)
    assert after[:9] == pytest.approx(before[:9])
    assert after[9:] == pytest.approx(0)
    assert before[9:].min() > 0


def test_a_date_within_a_month_takes_its_part_of_the_month():
    """From 16 October: 15 of 31 days are gone, so 15/31 of the month is left."""
    before = supply(BASE, MILL)
    after = supply(changed(f"close_source:source={MILL},from=10-16"), MILL)
    assert after[9] == pytest.approx(before[9] * 15 / 31)
    until = supply(changed(f"close_source:source={MILL},until=10-16"), MILL)
    assert until[9] == pytest.approx(before[9] * 15 / 31)
    assert until[:9] == pytest.approx(0)


@pytest.mark.parametrize("last", ["until", "to"])
def test_the_last_period_is_included_and_the_year_may_turn(last):
    before = supply(BASE, MILL)
    text = f"scale_source:source={MILL},percent=-50,from=November,{last}=m02"
    half = np.isin(MONTHS, ["m11", "m12", "m01", "m02"])
    after = supply(changed(text), MILL)
    assert after == pytest.approx(np.where(half, before / 2, before))


def test_steps_add_up_month_by_month():
    """Two changes of one source in different months do not undo each other."""
    before = supply(BASE, MILL)
    after = changed(
        f"scale_source:source={MILL},percent=-50,from=m01,until=m03",
        f"scale_source:source={MILL},percent=100,from=m03,until=m04",
    )
    factor = np.ones(12)
    factor[:4] = 0.5, 0.5, 1.0, 2.0
    assert supply(after, MILL) == pytest.approx(before * factor)


def test_demand_may_change_for_a_part_of_the_year():
    market = BASE.markets["market"].iloc[0]
    table = seasonal_demand(BASE).set_index(["market", "period"])["tonnes"][market]
    text = f"scale_demand:market={market},percent=100,from=m07"
    after = seasonal_demand(changed(text)).set_index(["market", "period"])["tonnes"]
    late = np.array([int(p[1:]) >= 7 for p in table.index])
    wanted = np.where(late, 2 * table, table)
    assert after[market].reindex(table.index).to_numpy() == pytest.approx(wanted)


def test_a_new_source_may_begin_in_a_month():
    text = (
        "add_source:source=new,material=fish_waste_mixed,lon=-31.018,lat=-0.969,"
        "tonnes=1200,season=even"
    )
    whole, part = (supply(changed(text + end), "new") for end in ("", ",from=July"))
    assert part[:6] == pytest.approx(0)
    assert part[6:] == pytest.approx(whole[6:])


def test_a_price_pays_less_from_july():
    market = BASE.markets["market"].iloc[0]
    full = BASE.markets["price_per_t"].iloc[0]
    after = changed("scale_price:percent=-20,from=July")
    found = prices(after, "markets", market)
    assert found == pytest.approx([full] * 6 + [0.8 * full] * 6)


def test_price_changes_build_on_each_other():
    """A cut of the whole year cuts the months that had a price of their own too."""
    market = BASE.markets["market"].iloc[0]
    full = BASE.markets["price_per_t"].iloc[0]
    after = changed("scale_price:percent=-20,from=July", "scale_price:percent=-50")
    found = prices(after, "markets", market)
    assert found == pytest.approx([full / 2] * 6 + [0.4 * full] * 6)
    back = changed(
        "scale_price:percent=-20,from=July", "scale_price:percent=25,from=July"
    )
    assert prices(back, "markets", market) == pytest.approx([full] * 12)
    assert back.table("period_prices").empty


def test_a_source_may_ask_more_from_a_date():
    """The month that a date divides has the mean of its days."""
    after = changed("price_source:material=rice_husk,price_per_t=31,from=03-11")
    before = prices(BASE, "sources", MILL)
    found = prices(after, "sources", MILL)
    assert found[:2] == pytest.approx(before[:2])
    assert found[2] == pytest.approx((before[2] * 10 + 31 * 21) / 31)
    assert found[3:] == pytest.approx(31)


def test_a_road_is_closed_in_a_season_and_open_in_another():
    shut = changed("close_road:road=b1n_b1s,from=July,until=September")
    row = shut.roads.set_index("road").loc["b1n_b1s"]
    assert row["closed_periods"] == ("m07", "m08", "m09")
    low = BASE.roads.set_index("road")["closed_periods"]["low_road"]
    assert len(low) > 1
    opened = changed(f"open_road:road=low_road,from={low[0]},until={low[0]}")
    left = opened.roads.set_index("road").loc["low_road", "closed_periods"]
    assert left == low[1:]


def test_a_road_cannot_be_closed_for_half_a_month():
    with pytest.raises(ScenarioError) as caught:
        changed("close_road:road=b1n_b1s,from=07-16")
    assert "whole periods" in str(caught.value)


@pytest.mark.parametrize(
    "text",
    [
        "set_area:yard=yard_d3,area_m2=9000,from=July",
        "scale_works:percent=30,from=July",
        "setting:name=finance.discount_pct,value=8,from=July",
    ],
)
def test_what_cannot_be_limited_in_time_says_so(text):
    with pytest.raises(ScenarioError) as caught:
        changed(text)
    said = str(caught.value)
    assert "applies to the whole year" in said
    assert "Leave out from and until" in said


def test_every_change_that_says_so_can_be_limited_and_no_other():
    """What `loamhaul changes` lists is what the tables can hold by period."""
    assert in_time("scale_price")
    assert not in_time("set_area")
    assert {name for name in CHANGES if in_time(name)} == {
        *("close_source", "scale_source", "set_source", "add_source"),
        *("price_source", "close_market", "scale_price"),
        *("scale_demand", "set_market", "add_market", "close_road", "open_road"),
    }


def test_a_part_of_a_change_that_cannot_be_limited_is_named():
    """set_market may change price and amount in time, but not a spreading rate."""
    market = BASE.markets.loc[BASE.markets["basis"] == "area", "market"].iloc[0]
    with pytest.raises(ScenarioError) as caught:
        changed(f"set_market:market={market},rate_t_ha=9,from=July")
    assert "rate_t_ha" in str(caught.value)


def test_a_file_may_say_until_and_hold_a_date_of_toml():
    text = f"""
title = "A mill stops"
[[change]]
do = "close_source"
source = "{MILL}"
from = 2026-10-01
until = "November"
"""
    after = apply_changes(BASE, read_change_text(text, "changes/x.toml", "x"))
    before = supply(BASE, MILL)
    wanted = np.where(np.isin(MONTHS, ["m10", "m11"]), 0, before)
    assert supply(after, MILL) == pytest.approx(wanted)


def test_an_unknown_month_is_told_with_those_known():
    with pytest.raises(ScenarioError, match="Write 'October'"):
        changed(f"close_source:source={MILL},from=Oktober")


def test_to_and_until_together_are_refused():
    with pytest.raises(ScenarioError, match="until and to"):
        changed(f"close_source:source={MILL},until=m02,to=m03")


def test_prices_by_period_are_kept_in_a_table(tmp_path):
    """Written and read back, and the tables of a district may state them too."""
    after = changed("scale_price:percent=-20,from=July")
    write_scenario(after, tmp_path)
    again = read_scenario(tmp_path)
    for table in ("markets", "sources"):
        assert period_prices(again, table) == pytest.approx(period_prices(after, table))


def test_the_plan_sells_at_the_prices_of_the_months():
    """Ledger, audit and instance agree; each sale is tonnes times its month's price."""
    small = read_scenario(SMALL)
    after = changed(
        "scale_price:percent=-60,from=July",
        "price_source:price_per_t=3,from=July",
        scenario=small,
    )
    result = run(after)
    ledger = result.ledger
    for table, line, sign in (("markets", "sale", -1), ("sources", "purchase", 1)):
        rows = ledger[ledger["line"] == line]
        codes = after.table(table)[table.removesuffix("s")].tolist()
        price = pd.DataFrame(
            period_prices(after, table), index=codes, columns=after.periods["period"]
        )
        each = [price.loc[p, t] for p, t in zip(rows["place"], rows["period"],
                                                strict=True)]  # fmt: skip
        assert rows["amount"].to_numpy() == pytest.approx(
            sign * rows["quantity"].to_numpy() * each
        )
        assert len(rows)
    assert result.audit["passed"].all()
    assert result.summary["total_cost"] == pytest.approx(ledger["amount"].sum())


def test_a_price_that_is_the_same_all_year_changes_no_plan():
    """Prices by period that equal the year's give the same problem, to the digit."""
    small = read_scenario(SMALL)
    one = prepare(small, travel(small)).instance
    same = changed("scale_price:percent=0,from=July", scenario=small)
    other = prepare(same, travel(same)).instance
    assert np.array_equal(one.markets.prices, other.markets.prices)
    assert np.array_equal(one.supply.prices, other.supply.prices)


def test_the_reference_lists_from_and_until():
    assert {"from_", "until"} <= set(arguments_of("scale_price"))
    assert "from_" not in arguments_of("set_area")
