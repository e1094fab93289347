"""When a place is called, and what is found there: laws."""

from math import ceil

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.costs.calls import call_tonnes, days_called, pickup_interval


@given(
    made=st.floats(0.1, 500),
    share=st.floats(0.01, 1.0),
    load=st.floats(0.5, 12),
    due=st.integers(1, 31),
)
def test_days_called(made, share, load, due):
    """None twice, none that is not due, no load above what is made between calls."""
    days = list(range(1, due + 1))
    found = days_called(share * made, made, load, days)
    assert found == sorted(set(found))
    assert set(found) <= set(days)
    assert share * made / len(found) <= made / due * (1 + 1e-6)
    loads = len(found) * ceil(share * made / len(found) / load - 1e-9)
    assert loads <= due * ceil(share * made / due / load - 1e-9)


def test_all_is_fetched_on_every_day():
    assert days_called(9.0, 9.0, 4.0, [2, 4, 6]) == [2, 4, 6]


@given(supply=st.floats(0.1, 1e4), keep=st.floats(1, 1000), days=st.floats(1, 31))
def test_a_call_finds_no_more_than_is_made_while_it_keeps(supply, keep, days):
    """Whole calls: the last of a period may come early, never one too few."""
    (found,) = call_tonnes(np.array([[supply]]), np.array([days]), np.array([keep]))[0]
    whole = max(1, round(days))
    assert found <= supply / whole * min(whole, pickup_interval(keep)) * (1 + 1e-9)
    assert supply / found == pytest.approx(round(supply / found))
