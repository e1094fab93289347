"""Time in the yard: pad and ripening."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.composting.process import fullest, keeping, moments, occupancy, ripening

MONTHS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
lengths = st.lists(st.integers(5, 100), min_size=1, max_size=14)


@given(lengths, st.floats(0, 400))
def test_every_charge_becomes_ready_once(days, delay):
    """All of a charge is ready at some time of the year."""
    share = ripening(days, delay)
    assert share.min() >= 0
    np.testing.assert_allclose(share.sum(axis=1), 1)


def day_by_day(days, active, charge, parts=4):
    """Set up each part of a day in turn; return what lies there after each part."""
    owner = np.repeat(np.arange(len(days)), np.array(days) * parts)
    rate = np.array(charge)[owner] / np.array(days)[owner] / parts
    year, steps = len(owner), round(active * parts)
    whole, rest = divmod(steps, year)
    run = np.cumsum(np.concatenate([rate, rate]))
    before = np.concatenate([[0.0], run])
    lying = before[year + 1 : 2 * year + 1] - before[year + 1 - rest :][:year]
    return owner, lying + whole * rate.sum()


@given(lengths, st.integers(1, 400), st.data())
def test_the_fullest_moment_is_the_fullest_day(days, active, data):
    """No part of any day holds more than the moments say, and one holds as much."""
    charge = data.draw(
        st.lists(st.floats(0, 9), min_size=len(days), max_size=len(days))
    )
    _, lying = day_by_day(days, active, charge)
    at_moments = np.array(charge) @ occupancy(days, active)
    assert at_moments.max() == pytest.approx(lying.max(), rel=1e-9, abs=1e-9)


@given(lengths, st.integers(1, 400), st.data())
def test_the_fullest_day_of_each_period(days, active, data):
    """Moments belong to the right period."""
    charge = data.draw(
        st.lists(st.floats(0, 9), min_size=len(days), max_size=len(days))
    )
    owner, lying = day_by_day(days, active, charge)
    period = moments(days, active)[1]
    peaks = fullest(np.array(charge) @ occupancy(days, active), period)
    for t in range(len(days)):
        mine = np.append(lying[owner == t], lying[np.flatnonzero(owner == t)[0] - 1])
        assert peaks[t] == pytest.approx(mine.max(), rel=1e-9, abs=1e-9)


def test_steady_charging_fills_the_pad_as_the_formula_says():
    """One unit a day for 56 days keeps 56 units on the pad, at every moment."""
    charge = np.array(MONTHS, dtype=float)
    np.testing.assert_allclose(charge @ occupancy(MONTHS, 56), 56)


def test_the_mean_of_a_period_hides_its_peak():
    """Thirty units in one of two months and thirty days: full at the month's end."""
    lying = np.array([30.0, 0.0]) @ occupancy([30, 30], 30)
    np.testing.assert_allclose(lying, [30.0, 0.0])


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
