"""Subsidy, fee, loan and free compost by year: whose money they move, and how much."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from support.small_way import LOST, NAN, district

from logistics.accounts import against_nothing, years_cash
from logistics.changes import CHANGES
from logistics.model import prepare
from logistics.results import run_prepared
from logistics.scenario import change_setting, fingerprint, with_table
from logistics.years import plan_years, years_ahead

YEARS = ("2027", "2028")


def planned(**columns):
    """Plan two years with ample money, these columns set by year; no loan."""
    scenario = district()
    table = pd.DataFrame(
        {
            "year": YEARS,
            "capital": 400_000.0,
            "carry_over": True,
            "recurrent": NAN,
            **dict.fromkeys(("supply", "demand", "wages", "fuel"), 1.0),
            **{"compost_price": 1.0, "tipping_fee_per_t": NAN, "subsidy_per_t": NAN},
            "changes": [()] * len(YEARS),
        }
    ).assign(**columns)
    for name, one in (("years", table), ("loans", scenario.table("loans").head(0))):
        scenario = with_table(scenario, name, one)
    return plan_years(scenario, years_ahead(scenario, {}), seconds=20)


def flows(way):
    """What is gained against doing nothing, moment by moment."""
    cash = years_cash(way.money, way.scenario.table("loans"))
    return against_nothing(cash, way.results)


def test_a_subsidy_of_nothing_changes_nothing():
    """The district of each year is the same to the last cell, so its plan is."""
    scenario = district()
    rows = scenario.table("years")
    asked = with_table(scenario, "years", rows.assign(subsidy_per_t=0.0))
    lost = {"lost": LOST}
    ahead = years_ahead(scenario, lost), years_ahead(asked, lost)
    for mine, theirs in zip(*ahead, strict=True):
        one, other = (
            fingerprint(with_table(year.scenario, "years", rows))
            for year in (mine, theirs)
        )
        assert one == other


def test_a_subsidy_lowers_what_each_tonne_costs():
    """In the problem, to the cent; nothing else differs."""
    bare = district()
    settings = change_setting(bare.settings, "finance.subsidy_per_t", 3.5)
    paid = prepare(replace(bare, settings=settings)).instance
    plain = prepare(bare).instance
    fallen = plain.supply.prices - paid.supply.prices
    assert fallen == pytest.approx(np.full(fallen.shape, 3.5))
    assert paid.supply.left_money_per_t == pytest.approx(plain.supply.left_money_per_t)


@pytest.mark.thorough
def test_a_subsidy_comes_from_outside_and_a_fee_from_the_sources():
    """Where the plan stays, a way costs less by subsidy times tonnes, not by fees."""
    plain = planned()
    paid = planned(subsidy_per_t=[NAN, 3.0], tipping_fee_per_t=[0.0, 4.0])
    tonnes = float(plain.results[1].plan.hauls["tonnes"].sum())
    pd.testing.assert_frame_equal(paid.steps, plain.steps)
    assert paid.money["subsidy"].tolist() == pytest.approx([0.0, 3.0 * tonnes])
    assert paid.money["fees"].tolist() == pytest.approx([0.0, 4.0 * tonnes])
    gain = (flows(paid) - flows(plain))[["programme", "sources", "district"]]
    assert gain.iloc[:2].abs().to_numpy().max() < 1e-3
    moved = [7.0 * tonnes, -4.0 * tonnes, 3.0 * tonnes]
    assert gain.iloc[2].tolist() == pytest.approx(moved, rel=1e-6)
    rate = plain.scenario.settings.finance.discount
    fallen = plain.value - paid.value
    assert fallen == pytest.approx(3.0 * tonnes / (1 + rate) ** 2, rel=1e-6)


@pytest.mark.thorough
def test_compost_that_is_free_in_the_first_year_brings_nothing_then():
    given = planned(compost_price=[0.0, 1.0])
    sold = [
        float(r.ledger.loc[r.ledger["line"] == "sale", "amount"].sum())
        for r in given.results
    ]
    assert sold[0] == 0
    assert sold[1] < 0


@pytest.mark.thorough
def test_a_subsidy_makes_it_pay_to_collect_more():
    """A tonne whose collection costs a little too much is collected for a subsidy."""
    cheap = CHANGES["set_disposal"](district(), cost_per_t=0.0)

    def taken(subsidy):
        settings = change_setting(cheap.settings, "finance.subsidy_per_t", subsidy)
        result = run_prepared(prepare(replace(cheap, settings=settings)))
        money = result.ledger.groupby("line")["amount"].sum()
        tonnes = float(result.plan.hauls["tonnes"].sum())
        assert money.get("subsidy", 0.0) == pytest.approx(-subsidy * tonnes)
        return tonnes

    assert taken(0.0) + 100 < taken(60.0)
