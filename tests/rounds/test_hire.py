"""Hired trucks are paid for a least time, and for being called out."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.rounds.check import faults
from logistics.rounds.leg_times import cost, hire_cost, tour_cost
from logistics.rounds.records import (
    Base,
    Legs,
    RoundsSolution,
    SearchLimits,
    Stop,
    Task,
    Tour,
    Truck,
)
from logistics.rounds.search import solve_task

CREW, HIRE = 2.0, 6.0


def landings(count, hours=0.1, **truck):
    """Landings a few minutes off, a full load of a tricycle each."""
    n = 1 + count
    drive = np.full((n, n), hours)
    np.fill_diagonal(drive, 0.0)
    legs = Legs(drive * 20, drive, drive, np.zeros((n, n)), np.zeros((n, n)))
    plain = {
        "count": count, "payload_t": 1.0, "starts_h": 6.0, "shift_h": 8.0,
        "money_per_h": CREW + HIRE, "hire_per_h": HIRE, "most_trips": 12,
    }  # fmt: skip
    stops = tuple(Stop(f"s{k}", take_t=1.0, required=False) for k in range(count))
    return Task(
        (Base("y"),), stops, (Truck("tricycle", 0, 0, **{**plain, **truck}),), (legs,)
    )


@pytest.mark.parametrize(
    ("hours", "paid"), [(0.25, 2 * HIRE), (2.0, 2 * HIRE), (2.5, 2.5 * HIRE)]
)
def test_hire_is_paid_for_the_least_time(hours, paid):
    truck = Truck("a", 0, 0, 1, 1.0, hire_per_h=HIRE, hire_least_h=2.0)
    assert hire_cost(truck, hours) == pytest.approx(paid)
    called = replace(truck, money_per_day=5.0)
    assert hire_cost(called, hours) == pytest.approx(paid + 5.0)


def test_a_short_round_by_hand():
    """0.2 h out: two legs of 0.1, crew for 0.2 h, hire for one hour, the call 3."""
    task = landings(1, hire_least_h=1.0, money_per_day=3.0)
    assert tour_cost(task, Tour(0, ((0,),))) == pytest.approx(
        2 * 0.1 + CREW * 0.2 + HIRE * 1.0 + 3.0
    )


def test_one_tricycle_comes_for_an_hour_not_five_for_a_quarter_each():
    """As five are as cheap as one without a least time, so one is much cheaper with."""
    task = landings(5, hire_least_h=1.0)
    answer = solve_task(task, SearchLimits(iterations=100))
    assert faults(task, answer) == []
    assert [len(tour.stops) for tour in answer.tours] == [5]
    assert cost(task, answer) == pytest.approx(10 * 0.1 + CREW * 1.0 + HIRE * 1.0)


def cheapest(task):
    """Cost of the cheapest way to share the stops out, every stop a trip of its own."""
    count = len(task.stops)
    found = []
    for by in product(range(count), repeat=count):
        groups = [[s for s in range(count) if by[s] == v] for v in set(by)]
        tours = tuple(Tour(0, tuple((s,) for s in group)) for group in groups)
        if not faults(task, RoundsSolution(tours, ())):
            found.append(cost(task, RoundsSolution(tours, ())))
    return min(found)


@settings(max_examples=12, deadline=None)
@given(st.integers(1, 4), st.floats(0.1, 0.6), st.floats(0, 3), st.sampled_from([0, 4]))
def test_the_search_pays_hire_as_the_accounts_do(count, hours, least, call):
    """Against all ways to share up to four landings out among hired tricycles."""
    task = landings(count, hours, hire_least_h=least, money_per_day=call, shift_h=2.5)
    answer = solve_task(task, SearchLimits(iterations=100))
    assert faults(task, answer) == []
    assert answer.left == ()
    assert cost(task, answer) == pytest.approx(cheapest(task), rel=1e-3)
