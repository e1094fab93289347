"""
Worked examples of handbooks on investment, computed through our functions.

All recalled (from memory, pages not read again): change one only with the work in hand.
"""

import pytest

from logistics.accounts.loans import loan_table
from logistics.accounts.returns import (
    discounted_payback,
    payback,
    present_value,
    rates_of_return,
)


def test_a_return_of_brealey_and_myers():
    """Brealey and Myers, Principles of Corporate Finance, chapter 5: 28 %."""
    assert rates_of_return([-4000, 2000, 4000]) == pytest.approx([0.2808], abs=5e-5)


@pytest.mark.parametrize(
    ("flow", "rates", "value"),
    [
        # Same chapter: the mine that costs money to restore, two rates; in millions.
        ([-3.0, *[1.0] * 9, -6.5], [0.035, 0.1954], 0.253),
        # Older editions: a project with the rates -50 % and 15.2 %.
        ([-1000, 800, 150, 150, 150, 150, -150], [-0.50, 0.152], 74.9),
        # No rate at all, and yet a present value of 339.
        ([1000, -3000, 2500], [], 339),
    ],
)
def test_several_rates_and_none_of_brealey_and_myers(flow, rates, value):
    """Present values at 10 %."""
    assert rates_of_return(flow) == pytest.approx(rates, abs=6e-4)
    assert present_value(flow, 0.10) == pytest.approx(value, rel=3e-3)


@pytest.mark.parametrize(
    ("flow", "plain", "discounted", "value"),
    [
        ([-2000, 500, 500, 5000], 3, 3, 2624),
        ([-2000, 500, 1800, 0], 2, None, -58),
        ([-2000, 1800, 500, 0], 2, 2, 50),
    ],
)
def test_paybacks_of_brealey_and_myers(flow, plain, discounted, value):
    """Same chapter, three projects at 10 %; whole years there, fractions here."""
    found, later = payback(flow), discounted_payback(flow, 0.10)
    assert plain - 1 < found <= plain
    assert later is None if discounted is None else discounted - 1 < later <= discounted
    assert present_value(flow, 0.10) == pytest.approx(value, abs=1)


def test_a_loan_of_brealey_and_myers():
    """Same work, chapter 2: 1,000 at 10 % over four years, 315.47 a year."""
    table = loan_table(1000, 0.10, 4)
    paid = table["interest"] + table["repaid"]
    assert paid.to_numpy() == pytest.approx(315.47, abs=0.005)
    balances = [784.53, 547.51, 286.79, 0]
    assert table["closing"].tolist() == pytest.approx(balances, abs=0.01)


@pytest.mark.parametrize(
    ("grace", "kind", "interest", "whole"),
    [
        (0, "equal", [400, 320, 240, 160, 80], 6200),
        (4, "equal", [400] * 5, 7000),
        (0, "annuity", [400, 331.8, 258.2, 178.6, 92.8], 6261.4),
    ],
)
def test_ways_to_repay_of_newnan(grace, kind, interest, whole):
    """Newnan, Engineering Economic Analysis, chapter 3: 5,000 at 8 % in five years."""
    table = loan_table(5000, 0.08, 5, grace, kind)
    assert table["interest"].tolist() == pytest.approx(interest, abs=0.1)
    paid = table["interest"] + table["repaid"]
    assert paid.sum() == pytest.approx(whole, abs=0.2)
