"""Returns and loans against numpy-financial, and against what must hold."""

import numpy as np
import numpy_financial as npf
import pandas as pd
import pytest

from logistics.accounts.loans import loan_table, with_loans
from logistics.accounts.returns import (
    discounted_payback,
    payback,
    present_value,
    rates_of_return,
)
from logistics.scenario.faults import ScenarioError

CASES = 200


def test_present_values_and_returns_are_those_of_another_library():
    """A payment and random income: one change of sign, so one rate."""
    rng = np.random.default_rng(21)
    for _ in range(CASES):
        count = int(rng.integers(2, 30))
        flow = [-float(rng.uniform(50, 500)), *rng.uniform(1, 100, count).tolist()]
        rate = float(rng.uniform(-0.2, 0.5))
        assert present_value(flow, rate) == pytest.approx(npf.npv(rate, flow))
        (found,) = rates_of_return(flow)
        assert found == pytest.approx(npf.irr(flow), abs=1e-7)
        assert present_value(flow, found) == pytest.approx(0, abs=1e-6 * max(flow))


def test_every_rate_is_found_where_there_are_several():
    """A flow made from its rates has just these."""
    rng = np.random.default_rng(22)
    for _ in range(50):
        wanted = np.sort(rng.choice(np.arange(-0.5, 2.0, 0.05), 3, replace=False))
        flow = np.poly(1 + wanted)
        found = rates_of_return(flow.tolist())
        assert found == pytest.approx(wanted.tolist(), abs=1e-6)


@pytest.mark.parametrize(
    "flow", [[], [0.0, 0.0], [5.0, 1.0], [-5.0, -1.0], [0.0, -3.0, 0.0]]
)
def test_money_of_one_sign_has_no_return(flow):
    assert rates_of_return(flow) == ()


def test_leading_years_without_money_change_no_return():
    assert rates_of_return([0, 0, -100, 121]) == pytest.approx([0.21])


def test_annuities_are_those_of_another_library():
    rng = np.random.default_rng(23)
    for _ in range(CASES):
        years = int(rng.integers(1, 31))
        rate, borrowed = float(rng.uniform(0.001, 0.3)), float(rng.uniform(1, 1e6))
        table = loan_table(borrowed, rate, years)
        at = table["year"].to_numpy()
        paid = table["interest"] + table["repaid"]
        assert paid.to_numpy() == pytest.approx(-npf.pmt(rate, years, borrowed))
        close = {"abs": 1e-6 * borrowed}
        interest, repaid = (f(rate, at, years, borrowed) for f in (npf.ipmt, npf.ppmt))
        assert table["interest"].to_numpy() == pytest.approx(-interest, **close)
        assert table["repaid"].to_numpy() == pytest.approx(-repaid, **close)


@pytest.mark.parametrize("kind", ["annuity", "equal"])
@pytest.mark.parametrize(("years", "grace"), [(1, 0), (7, 0), (7, 3), (7, 6)])
@pytest.mark.parametrize("rate", [0.0, 0.07])
def test_what_is_paid_is_worth_what_was_borrowed(kind, years, grace, rate):
    """At the loan's own rate; all is repaid, nothing of it in the years of grace."""
    table = loan_table(1000.0, rate, years, grace, kind)
    paid = (table["interest"] + table["repaid"]).tolist()
    assert present_value([-1000.0, *paid], rate) == pytest.approx(0, abs=1e-8)
    assert table["repaid"].sum() == pytest.approx(1000)
    assert (table["repaid"].head(grace) == 0).all()
    assert table["closing"].iloc[-1] == pytest.approx(0, abs=1e-9)
    assert table["opening"].tolist()[1:] == table["closing"].tolist()[:-1]
    level = table["repaid"] + (table["interest"] if kind == "annuity" else 0.0)
    assert level.tail(years - grace).to_numpy() == pytest.approx(level.iloc[-1])


def test_grace_must_leave_a_year():
    loan_table(1.0, 0.1, 3, 2)
    with pytest.raises(ValueError, match="grace of 3 years"):
        loan_table(1.0, 0.1, 3, 3)


def test_interest_pays_back_later():
    flow = [-100.0, 60.0, 60.0, 60.0]
    assert discounted_payback(flow, 0.0) == payback(flow) == pytest.approx(100 / 60)
    assert discounted_payback(flow, 0.2) > payback(flow)
    assert discounted_payback(flow, 0.5) is None


def lines(**changed):
    row = {"loan": "a", "share": 0.5, "rate": 0.1, "years": 2, "grace_years": 0}
    row |= {"kind": "equal", "from_year": "", "until_year": ""}
    return pd.DataFrame([row | changed])


def test_each_year_borrows_anew():
    """By hand: 100 and 200 spent, half lent, equal parts over two years."""
    table = with_loans([2027, 2028, 2029], [100.0, 200.0, 0.0], lines())
    assert table["borrowed"].tolist() == [50, 100, 0]
    assert table["repaid"].tolist() == [25, 75, 50]
    assert table["interest"].tolist() == pytest.approx([5, 12.5, 5])
    assert table["debt"].tolist() == [25, 50, 0]


def test_a_loan_is_taken_in_its_years_alone():
    years, capital = [2027, 2028, 2029], [100.0] * 3
    table = with_loans(years, capital, lines(from_year="2028", until_year="2028"))
    assert table["borrowed"].tolist() == [0, 50, 0]


def test_no_loan_borrows_nothing():
    table = with_loans([2027, 2028], [100.0, 0.0], lines().head(0))
    assert table.drop(columns="year").to_numpy().sum() == 0


def test_no_more_than_the_capital_is_lent():
    both = pd.concat([lines(share=0.6), lines(loan="b", share=0.4)])
    with_loans([2027], [100.0], both)
    both = pd.concat([lines(share=0.6), lines(loan="b", share=0.401)])
    with pytest.raises(ScenarioError, match=r"loans.csv, row 3.*100 % .* 2027"):
        with_loans([2027], [100.0], both)


@pytest.mark.parametrize(
    ("column", "value", "why"),
    [("grace_years", 2, "leaves no year"), ("from_year", "soon", "is not a year")],
)
def test_a_loan_that_cannot_be_laid_out_is_refused(column, value, why):
    with pytest.raises(ScenarioError, match=why):
        with_loans([2027], [100.0], lines(**{column: value}))
