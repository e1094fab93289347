"""Time in the yard: ripening and what waits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.evenly_charged import ripening

from logistics.composting.process import keeping, store_content

MONTHS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
lengths = st.lists(st.integers(5, 100), min_size=1, max_size=14)


@given(lengths, st.floats(0, 400))
def test_every_charge_becomes_ready_once(days, delay):
    """All of a charge is ready at some time of the year."""
    share = ripening(days, delay)
    assert share.min() >= 0
    np.testing.assert_allclose(share.sum(axis=1), 1)


def test_no_delay_is_ready_at_once():
    np.testing.assert_allclose(ripening(MONTHS, 0), np.eye(12), atol=1e-12)


def test_by_hand_two_months_later():
    """Started through a 30-day month, ready 45 days on: half and half."""
    share = ripening([30] * 12, 45)
    assert share[0, 1] == pytest.approx(0.5)
    assert share[0, 2] == pytest.approx(0.5)
    assert share[11, 0] == pytest.approx(0.5)


def oldest_used(days, r, q):
    """Fill a store part by part through r, empty it oldest first through q. [d]"""
    parts = 100
    began = np.concatenate([[0.0], np.cumsum(np.tile(days, 2))])
    q = q if q > r else q + len(days)
    came = began[r] + (np.arange(parts) + 0.5) / parts * days[r]
    store, ages = list(came), []
    for step in range(parts):
        now = began[q] + (step + 0.5) / parts * days[q % len(days)]
        ages.append(now - store.pop(0))
    return max(ages), max(days[r], days[q % len(days)]) / parts


@pytest.mark.slow
@given(lengths, st.floats(1, 300))
def test_what_waits_is_used_before_it_spoils(days, keep):
    """A period may be reached exactly when nothing used in it is then too old."""
    (count,) = keeping(days, [keep])
    for t in range(len(days)):
        q = (t + 1) % len(days)
        for back in range(len(days)):
            oldest, step = oldest_used(days, (t - back) % len(days), q)
            if abs(oldest - keep) > step:
                assert (back < count[t]) == (oldest <= keep)


def test_unequal_periods_keep_by_their_own_length():
    """Ninety days reach over a month or two, but not over a season of half a year."""
    (count,) = keeping([30, 30, 30, 30, 180, 65], [90.0])
    assert count.tolist() == [1, 2, 3, 0, 0, 1]
    assert keeping([30] * 12, [90.0]).tolist() == [[3] * 12]


amount = st.floats(0.5, 100.0)


@given(st.data())
def test_what_goes_into_a_store_comes_out_of_it(data):
    """In a year that repeats, and no mixture is richer or poorer than its parts."""
    count = data.draw(st.integers(1, 6))
    ready, share, stock = (
        np.array(data.draw(st.lists(one, min_size=count, max_size=count)))
        for one in (amount, st.floats(0.0, 0.05), st.floats(0.0, 50.0))
    )
    stock = np.minimum(stock, ready)  # as much leaves as can
    before = np.roll(stock, 1)
    content = store_content(ready, ready * share, stock)
    leaves = before + ready - stock
    assert leaves @ content == pytest.approx(ready @ share)
    assert (content >= share.min() - 1e-12).all()
    assert (content <= share.max() + 1e-12).all()


def test_a_store_by_hand():
    """Three poor tonnes, one kept: with a rich one of 3 % they are 2 %."""
    assert store_content([3, 1], [0.03, 0.03], [1, 0]) == pytest.approx([0.01, 0.02])


def test_a_store_without_anything_has_no_content():
    assert store_content([0, 0], [0, 0], [5, 5]).tolist() == [0, 0]
