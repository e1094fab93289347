"""Rounds to small places, against sums by hand and laws."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.costs.round_estimate import (
    REACH,
    TOGETHER,
    SharedRounds,
    nearest,
    shared_rounds,
)


def rounds(rest, full, apart, way, room_h=100.0, stop_h=0.2, kmh=30.0) -> SharedRounds:
    """One yard as far from all places as the others; places lie `apart`."""
    n = len(rest)
    km = np.where(np.eye(n) > 0, 0.0, np.broadcast_to(apart, (n, n)).astype(float))
    each = np.full(n, stop_h)
    return shared_rounds(
        np.array(rest, dtype=float),
        np.full(n, float(full)),
        (km, km / kmh),
        np.full((n, 1), float(way)),
        np.full((n, 1), float(room_h)),
        each,
    )


def test_two_places_by_hand():
    """1 t and 2 t, 3 km apart and 20 km from the yard, in a truck of 4 t."""
    made = rounds([1.0, 2.0], 4.0, 3.0, 20.0)
    chance = TOGETHER * (1 - 3 / (REACH * 20))
    assert made.load_t.ravel() == pytest.approx([1 + 2 * chance, 2 + chance])
    assert made.stops.ravel() == pytest.approx([1 + chance] * 2)
    assert made.km.ravel() == pytest.approx([3 * chance] * 2)
    assert made.hours.ravel() == pytest.approx([3 * chance / 30] * 2)


@pytest.mark.parametrize(("second", "shared"), [(2.99, True), (3.01, False)])
def test_what_does_not_fit_is_not_taken_along(second, shared):
    made = rounds([1.0, second], 4.0, 1.0, 20.0)
    assert (made.stops[0, 0] > 1) == shared


@pytest.mark.parametrize(("apart", "shared"), [(13.9, True), (14.1, False)])
def test_what_is_far_is_not_taken_along(apart, shared):
    made = rounds([1.0, 1.0], 4.0, apart * REACH / 0.7, 20.0)
    assert (made.stops[0, 0] > 1) == shared


def test_no_more_stops_than_the_shift_has_time_for():
    """A stop more takes 6 min of driving and 12 min there."""
    chance = TOGETHER * (1 - 3 / (REACH * 20))
    free = rounds([0.1] * 5, 4.0, 3.0, 20.0)
    assert free.stops.ravel() == pytest.approx([1 + 4 * chance] * 5)
    short = rounds([0.1] * 5, 4.0, 3.0, 20.0, room_h=0.3)
    assert short.stops.ravel() == pytest.approx([2.0] * 5)
    none = rounds([0.1] * 5, 4.0, 3.0, 20.0, room_h=-1.0)
    assert none.stops.ravel() == pytest.approx([1.0] * 5)
    assert none.load_t.ravel() == pytest.approx([0.1] * 5)


def test_places_without_a_way_between_them_are_called_alone():
    made = rounds([0.1, 0.1], 4.0, np.inf, 20.0)
    assert made.stops.ravel().tolist() == [1.0, 1.0]


@given(
    rest=st.lists(st.floats(0.01, 4.0), min_size=1, max_size=12),
    apart=st.floats(0.1, 30.0),
    way=st.floats(1.0, 60.0),
)
@settings(max_examples=60, deadline=None)
def test_loads_within_the_truck_and_the_places(rest, apart, way):
    made = rounds(rest, 4.0, apart, way)
    assert (made.load_t <= 4.0 + 1e-9).all()
    assert (made.load_t >= np.array(rest)[:, None] - 1e-12).all()
    assert (made.load_t <= sum(rest) + 1e-9).all()
    assert (made.stops >= 1).all()
    assert (made.stops <= len(rest)).all()
    assert made.km == pytest.approx(apart * (made.stops - 1))


def test_nearest_first_and_never_itself():
    km = np.array([[0.0, 5.0, 1.0], [5.0, 0.0, 2.0], [1.0, 2.0, 0.0]])
    assert nearest(km).tolist() == [[2, 1], [2, 0], [0, 1]]
