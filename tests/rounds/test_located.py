"""Yards and rounds together: planted faults are found, and the least total is."""

from dataclasses import replace
from itertools import combinations, permutations, product

import numpy as np
import pytest

from logistics.rounds.located.check import Siting, located_cost, located_faults
from logistics.rounds.located.moves import estimate, moved
from logistics.rounds.located.search import locate, promising
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

PLACES = [(0, 0), (10, 0), (5, 9), (1, 1), (2, 5), (8, 1), (9, 4), (5, 5)]
TAKES = [3.0, 2.0, 3.0, 2.0, 2.0]


@pytest.fixture
def siting():
    """Three candidate yards, five farms, trucks of 6 t, room for 8 t a yard."""
    xy = np.array(PLACES, dtype=float)
    money = np.ceil(100 * np.linalg.norm(xy[:, None] - xy[None, :], axis=2))
    none = np.zeros_like(money)
    legs = Legs(money / 100, none, money, none, none)
    stops = tuple(Stop(f"farm {n}", take_t=q) for n, q in enumerate(TAKES))
    trucks = tuple(Truck(f"t{b}", b, 0, 5, 6.0, money_per_day=100.0) for b in range(3))
    task = Task(tuple(Base(f"y{b}") for b in range(3)), stops, trucks, (legs,))
    return Siting(task, (700.0, 500.0, 900.0), (8.0, 8.0, 8.0))


GOOD = RoundsSolution((Tour(0, ((0, 1),)), Tour(1, ((2, 3),)), Tour(1, ((4,),))), ())


def test_checker_passes_a_good_answer_and_adds_openings(siting):
    assert located_faults(siting, GOOD) == []
    money = siting.task.legs[0].money
    ways = [(0, 3), (3, 4), (4, 0), (1, 5), (5, 6), (6, 1), (1, 7), (7, 1)]
    by_hand = sum(money[way] for way in ways) + 3 * 100 + 700 + 500
    assert located_cost(siting, GOOD) == by_hand


@pytest.mark.parametrize(
    ("tours", "fault"),
    [
        ((Tour(0, ((0, 1),)), Tour(0, ((2, 3),)), Tour(1, ((4,),))), "10 t of 8"),
        ((Tour(0, ((0, 1),)), Tour(1, ((2, 3),))), "farm 4: visited or left out 0"),
        ((*GOOD.tours, Tour(2, ((4,),))), "farm 4: visited or left out 2"),
        (
            (Tour(0, ((0, 1, 3),)), Tour(1, ((2,),)), Tour(1, ((4,),))),
            "7 t, 6 t allowed",
        ),
    ],
)
def test_checker_names_the_fault(siting, tours, fault):
    assert any(
        fault in line for line in located_faults(siting, RoundsSolution(tours, ()))
    )


def test_tables_must_fit(siting):
    with pytest.raises(ValueError, match="opening_money has 1 entries for 3 bases"):
        Siting(siting.task, (1.0,), (1.0, 1.0, 1.0))


def all_tours(siting):
    """Cheapest tour of every yard and every set of farms that a truck carries."""
    found = {}
    for b, size in product(range(3), range(1, 6)):
        for farms in combinations(range(5), size):
            if sum(TAKES[s] for s in farms) <= 6:
                tours = [Tour(b, (order,)) for order in permutations(farms)]
                money = siting.task.legs[0].money
                found[b, farms] = min(
                    sum(
                        money[a, c]
                        for a, c in zip(
                            [b, *(s + 3 for s in t.trips[0])],
                            [*(s + 3 for s in t.trips[0]), b],
                            strict=True,
                        )
                    )
                    + 100
                    for t in tours
                )
    return found


def least_by_enumeration(siting):
    """Least total over all ways to split the farms into tours of yards."""
    tours = all_tours(siting)
    least = np.inf

    def extend(left, money, loads):
        nonlocal least
        if not left:
            opened = [b for b in range(3) if loads[b]]
            money += sum(siting.opening_money[b] for b in opened)
            least = min(least, money)
            return
        for (b, farms), own in tours.items():
            if farms[0] == left[0] and set(farms) <= set(left):
                after = list(loads)
                after[b] += sum(TAKES[s] for s in farms)
                if after[b] <= siting.capacity_t[b]:
                    extend([s for s in left if s not in farms], money + own, after)

    extend(list(range(5)), 0.0, [0.0, 0.0, 0.0])
    return least


@pytest.mark.parametrize("room", [(8.0, 8.0, 8.0), (5.0, 5.0, 5.0), (20.0, 9.0, 3.0)])
def test_search_finds_what_enumeration_finds(siting, room):
    siting = replace(siting, capacity_t=room)
    answer = locate(siting, SearchLimits(iterations=10, seconds=20))
    assert located_faults(siting, answer) == []
    assert located_cost(siting, answer) == least_by_enumeration(siting)


def test_estimate_is_never_above_the_least(siting):
    siting = replace(siting, capacity_t=(20.0, 20.0, 20.0))
    least = least_by_enumeration(siting)
    sets = promising(siting)
    assert len(sets) == 7
    assert sets[0][0] <= least
    only = [siting.opening_money[b] for b in range(3)]
    for low, bases in sets:
        assert low == estimate(siting, bases) >= sum(only[b] for b in bases)


def test_too_little_room_leaves_everything_out(siting):
    full = replace(siting, capacity_t=(3.0, 3.0, 3.0))
    assert locate(full, SearchLimits(iterations=20, seconds=5)).left == (0, 1, 2, 3, 4)


def test_moved_stops_keep_the_capacities(siting):
    crowded = [Tour(0, ((0, 1),)), Tour(0, ((2, 3),)), Tour(0, ((4,),))]
    groups = moved(siting, (0, 1), crowded)
    assert sorted(groups[0] | groups[1]) == [0, 1, 2, 3, 4]
    assert all(sum(TAKES[s] for s in group) <= 8 for group in groups.values())
    assert groups[1] <= {2, 3, 4}
    assert moved(replace(siting, capacity_t=(5.0, 5.0, 8.0)), (0, 1), crowded) is None
