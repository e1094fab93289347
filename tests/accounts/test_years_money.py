"""Money of the years ahead: sums, cash, what is short, gains by district."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from logistics.accounts.budget import book
from logistics.accounts.returns import present_value
from logistics.accounts.years_money import (
    against_nothing,
    cash_short,
    district_worth,
    district_years,
    years_cash,
)
from logistics.results import entry_code

RATE = 0.10


@pytest.fixture(scope="module")
def cash(way_planned):
    return years_cash(way_planned.money, way_planned.scenario.table("loans"))


@pytest.fixture(scope="module")
def unlent(way_planned):
    return years_cash(way_planned.money, way_planned.scenario.table("loans").head(0))


def test_the_way_that_tests_share_does_something(way_planned):
    """A yard opens, one grows, one falls idle, and a limit binds."""
    assert set(way_planned.steps["step"]) >= {"opens", "enlarged"}
    assert len(way_planned.easing)
    assert way_planned.status != "shortage"


def test_doing_nothing_less_the_way_is_the_gain(way_planned, unlent):
    """The district's gain is present disposal less net cost, both in present money."""
    flow = against_nothing(unlent, way_planned.results)
    today = [book(result).today for result in way_planned.results]
    nothing = present_value([0.0, *today], RATE)
    gain = present_value(flow["district"].tolist(), RATE)
    assert gain == pytest.approx(nothing - way_planned.value, rel=1e-9)
    assert (flow["financed"] - flow["programme"]).abs().max() == 0


def test_districts_add_up_to_the_years(way_planned):
    table = district_years(way_planned.money, way_planned.steps, way_planned.results)
    sums = table.groupby("year").sum(numeric_only=True)
    money = way_planned.money.set_index("year")
    for part in ("capital", "recurrent", "income", "outside", "salvage", "net"):
        assert sums[part].to_numpy() == pytest.approx(money[part].to_numpy(), abs=1e-6)
    assert set(table["district"]) == {"", "north", "south"}
    assert table.loc[table["district"] == "north", "capital"].sum() == 0
    gains = district_worth(table, RATE)["gain"].sum()
    flow = against_nothing(
        years_cash(way_planned.money, way_planned.scenario.table("loans")),
        way_planned.results,
    )
    assert gains == pytest.approx(present_value(flow["district"].tolist(), RATE))


def test_a_loan_at_the_discount_rate_is_worth_nothing(way_planned):
    """Dearer, it costs; cheaper, it gains; whatever is owed in the end is paid off."""
    loans = way_planned.scenario.table("loans")
    worth = []
    for rate in (RATE - 0.01, RATE, RATE + 0.01):
        table = years_cash(way_planned.money, loans.assign(rate=rate))
        flow = against_nothing(table, way_planned.results)
        more = (flow["financed"] - flow["programme"]).tolist()
        worth.append(present_value(more, RATE))
    assert worth[1] == pytest.approx(0, abs=1e-6)
    assert worth[0] > 1 > -1 > worth[2]


def test_cash_is_what_comes_in_less_what_goes_out(cash, unlent):
    """All that loans change is what is borrowed, less interest and repayments."""
    lent = cash["borrowed"] - cash["interest"] - cash["repaid"]
    assert (cash["cash"] - unlent["cash"]).to_numpy() == pytest.approx(lent.to_numpy())
    assert cash["cumulative"].iloc[-1] == pytest.approx(cash["cash"].sum())
    owed = cash["borrowed"].sum() - cash["repaid"].sum()
    assert cash["debt"].iloc[-1] == pytest.approx(owed)


def test_the_engine_keeps_within_the_money(unlent):
    """Without loans no year is short: capital is the limit and what was carried."""
    assert cash_short(unlent).empty
    spare = unlent["capital_left"].dropna()
    assert spare.to_numpy() == pytest.approx(np.maximum(spare, 0), abs=1e-6)


def test_what_is_short_is_told_with_its_reason(cash):
    """Interest and repayments of 2029 go beyond what the year may cost."""
    (row,) = cash_short(cash).to_dict("records")
    assert (row["year"], row["limit"]) == (2029, "recurrent")
    last = cash.iloc[-1]
    spent = last["recurrent"] - last["income"] + last["outside"] + row["service"]
    assert row["short"] == pytest.approx(spent - last["recurrent_limit"])
    assert 0 < row["short"] < row["service"]


@pytest.mark.parametrize(("over", "found"), [(0.4, 0), (0.6, 1)])
def test_less_than_half_a_unit_is_not_short(unlent, over, found):
    """Just inside and just outside what rounding may leave."""
    table = unlent.head(1).assign(capital_left=-over, recurrent_left=np.nan)
    assert len(cash_short(table)) == found


def test_money_of_the_programme_alone_changes_with_who_pays_today(way_planned, unlent):
    """Where the programme pays for disposal today, it saves that; the sum stays."""
    ours = against_nothing(unlent, way_planned.results)
    accounts = way_planned.scenario.table("accounts")
    entry = accounts["entry"] == entry_code("left behind", "present disposal")
    paying = accounts.assign(kind=accounts["kind"].mask(entry, "recurrent"))
    results = []
    for result in way_planned.results:
        tables = {**result.scenario.tables, "accounts": paying}
        scenario = replace(result.scenario, tables=tables)
        results.append(replace(result, scenario=scenario))
    theirs = against_nothing(unlent, results)
    today = pd.Series([0.0, *(book(result).today for result in results)])
    assert theirs["programme"].to_numpy() == pytest.approx(
        (ours["programme"] + today).to_numpy()
    )
    assert theirs["district"].to_numpy() == pytest.approx(ours["district"].to_numpy())
