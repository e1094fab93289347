"""Timetables by hand: half an hour between any two places, 6 and 15 min at each."""

from dataclasses import replace

import numpy as np
import pytest

from logistics.rounds.leg_times import breaks_on, cost, hours_out, loads, timetable
from logistics.rounds.records import (
    Base,
    Legs,
    Limits,
    RoundsSolution,
    Stop,
    Task,
    Tour,
    Truck,
    Way,
)

EACH = 0.1 + 0.5 + 0.25
"""Handling before a leg, the leg, handling behind it. [h]"""
WAY = Way(Base("hill", 5.0), 1, 12.0, 0.5, 7.0, 12.0, 0.25, 6.0)


def task(*stops: Stop, way: Way | None = None, hours: float = 0.5) -> Task:
    n = 1 + len(stops)
    some = np.ones((n, n))
    legs = Legs(15 * some, hours * some, 3 * some, 0.1 * some, 0.25 * some)
    truck = Truck("light", 0, 0, 1, 4.0, starts_h=5.0, money_per_h=2.0,
                  money_per_day=40.0, most_trips=9, way=way)  # fmt: skip
    return Task((Base("shore", 6.0),), stops, (truck,), (legs,), Limits())


def leaves(task: Task, *trips: tuple[int, ...]) -> float:
    """When the truck leaves, with the handling before."""
    calls = timetable(task, Tour(0, trips))
    return calls[-1].ends_h - hours_out(task, Tour(0, trips), calls)


PLAIN, LATE = Stop("plain"), Stop("late", opens_h=14.0)
EARLY = Stop("early", closes_h=8.0)


def test_a_truck_leaves_when_its_yard_opens():
    calls = timetable(task(PLAIN), Tour(0, ((0,),)))
    assert [c.leaves_h for c in calls] == pytest.approx([6.1, 6.95])
    assert [c.arrives_h for c in calls] == pytest.approx([6.6, 7.45])
    assert [c.ends_h for c in calls] == pytest.approx([6.85, 7.7])
    assert [c.handled_h for c in calls] == pytest.approx([0.35, 0.35])
    assert [(c.km, c.money) for c in calls] == [(15.0, 3.0)] * 2
    assert leaves(task(PLAIN), (0,)) == pytest.approx(6.0)


def test_it_leaves_as_late_as_costs_no_time_at_the_end():
    """Loading begins at 14, half an hour and the handling before that are earlier."""
    assert leaves(task(LATE), (0,)) == pytest.approx(14 - 0.6)
    assert leaves(task(PLAIN, LATE), (0, 1)) == pytest.approx(14 - 0.6 - EACH)
    assert leaves(task(PLAIN, LATE), (0,), (1,)) == pytest.approx(14 - 0.6 - 2 * EACH)


@pytest.mark.parametrize("trips", [((0, 1),), ((0,), (1,))])
def test_but_no_later_than_the_first_stop_closes(trips):
    """The early one closes at 8, whatever the late one opens at."""
    both = task(EARLY, LATE)
    assert leaves(both, *trips) == pytest.approx(8 - EACH)
    calls = timetable(both, Tour(0, trips))
    assert calls[0].ends_h == pytest.approx(8.0)
    assert max(c.starts_h - c.arrives_h for c in calls) > 4


def test_a_truck_from_elsewhere_leaves_home_as_late():
    """Half an hour over before all that, a quarter back when all is done."""
    far = task(LATE, way=WAY)
    assert leaves(far, (0,)) == pytest.approx(14 - 0.6 - 0.5)
    calls = timetable(far, Tour(0, ((0,),)))
    assert [c.way for c in calls] == ["out", "", "", "back"]
    assert calls[-1].ends_h == pytest.approx(14.25 + EACH + 0.25)
    assert calls[-1].trip == 0
    assert (calls[0].km, calls[-1].money) == (12.0, 6.0)
    total = 7 + 6 + 2 * 3 + 40 + 2 * (0.5 + 0.6 + 0.25 + EACH + 0.25)
    assert cost(far, RoundsSolution((Tour(0, ((0,),)),), ())) == pytest.approx(total)


def test_it_waits_for_the_yard_to_open():
    """Home opens at 5, the yard served at 6: the way over ends then."""
    calls = timetable(task(PLAIN, way=WAY), Tour(0, ((0,),)))
    assert calls[0].ends_h == pytest.approx(6.0)
    assert calls[0].leaves_h == pytest.approx(5.5)


def test_no_tour_takes_no_time():
    assert hours_out(task(PLAIN), Tour(0, ()), []) == 0.0


def test_what_is_on_board_on_every_leg():
    stops = [
        Stop("a", bring_t=1.0, bring_m3=2.0, take_t=0.5, take_m3=4.0),
        Stop("b", bring_t=2.0, bring_m3=3.0, take_t=1.5, take_m3=5.0),
    ]
    expected = [(3.0, 5.0), (2.5, 7.0), (2.0, 9.0)]
    assert np.allclose(loads(task(*stops), (0, 1)), expected)
    calls = timetable(task(*stops), Tour(0, ((0, 1),)))
    assert np.allclose([(c.load_t, c.load_m3) for c in calls], expected)


@pytest.mark.parametrize(
    ("drive", "before", "count", "since"),
    [
        (4.0, 0.0, 0, 4.0),
        (4.0 + 1e-6, 0.0, 1, 1e-6),
        (2.0, 2.0, 0, 4.0),
        (2.5, 2.0, 1, 2.5),
        (8.0, 0.0, 1, 4.0),  # the second stretch ends with the leg
        (8.0, 1.0, 2, 4.0),
        (8.5, 0.0, 2, 0.5),
        (8.5, 1.0, 3, 0.5),
        (8.0, 1e-12, 1, 4.0),
        (np.inf, 0.0, 0, np.inf),
        (np.inf, 1.0, 1, np.inf),
    ],
)
def test_breaks_due_on_a_leg(drive, before, count, since):
    assert breaks_on(drive, before, 4.0) == (count, pytest.approx(since))


def test_a_break_is_taken_before_the_leg_that_needs_it():
    """Legs of 1.5 h: the third would make 4.5 h, so half an hour before it."""
    far = task(PLAIN, PLAIN, hours=1.5)
    far = replace(far, stops=(PLAIN, replace(PLAIN, code="other")))
    calls = timetable(far, Tour(0, ((0, 1),)))
    assert [c.break_h for c in calls] == [0.0, 0.0, 0.5]
    assert calls[2].arrives_h - calls[2].leaves_h == pytest.approx(2.0)
    lent = replace(far, trucks=(replace(far.trucks[0], way=WAY),))
    rests = [c.break_h for c in timetable(lent, Tour(0, ((0, 1),)))]
    assert rests == [0.0, 0.0, 0.0, 0.5, 0.0]
    longer = replace(WAY, back_h=3.0)
    lent = replace(far, trucks=(replace(far.trucks[0], way=longer),))
    rests = [c.break_h for c in timetable(lent, Tour(0, ((0, 1),)))]
    assert rests == [0.0, 0.0, 0.0, 0.5, 0.5]
