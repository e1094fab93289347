"""Time in the yard: pad and ripening."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logistics.process import occupancy, ripening

MONTHS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
lengths = st.lists(st.integers(5, 100), min_size=1, max_size=14)


@given(lengths, st.floats(0, 400))
def test_every_charge_becomes_ready_once(days, delay):
    """All of a charge is ready at some time of the year."""
    share = ripening(days, delay)
    assert share.min() >= 0
    np.testing.assert_allclose(share.sum(axis=1), 1)


@given(lengths, st.floats(1, 400))
def test_a_charge_lies_on_the_pad_for_its_active_days(days, active):
    """Days on the pad, added over the year, are the active days."""
    share = occupancy(days, active)
    assert share.min() >= -1e-9
    np.testing.assert_allclose(share @ np.array(days, dtype=float), active)


def test_steady_charging_fills_the_pad_as_the_formula_says():
    """One unit a day for 56 days keeps 56 units on the pad, in every month."""
    charge = np.array(MONTHS, dtype=float)
    np.testing.assert_allclose(charge @ occupancy(MONTHS, 56), 56)


def test_no_delay_is_ready_at_once():
    np.testing.assert_allclose(ripening(MONTHS, 0), np.eye(12), atol=1e-12)


def test_by_hand_two_months_later():
    """Started through a 30-day month, ready 45 days on: half and half."""
    share = ripening([30] * 12, 45)
    assert share[0, 1] == pytest.approx(0.5)
    assert share[0, 2] == pytest.approx(0.5)
    assert share[11, 0] == pytest.approx(0.5)


def test_by_day_simulation():
    """The integral agrees with a count day by day, ten parts a day."""
    parts, active = 10, 56
    owner = np.repeat(np.arange(12), MONTHS)
    year = len(owner)
    counted = np.zeros((12, 12))
    for start in range(year * parts):
        t = owner[start // parts]
        for later in range(active * parts):
            u = owner[(start + later) // parts % year]
            counted[t, u] += 1
    length = np.array(MONTHS) * parts
    counted /= length[:, None] * length[None, :]
    np.testing.assert_allclose(counted, occupancy(MONTHS, active), atol=5e-3)
