"""The check of rounds: each rule on a timetable written by hand, at its limit."""

import ast
import inspect
import re
from dataclasses import replace

import numpy as np
import pytest

from logistics.rounds import check
from logistics.rounds.check import (
    RULES,
    TimedTour,
    faults,
    over,
    part_faults,
    place_faults,
    tour_faults,
    unbroken_faults,
    week_faults,
)
from logistics.rounds.leg_times import Call
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
from logistics.rounds.repair import clean_first
from logistics.rounds.visit_records import Visit

SLACK = 1e-6
HOME = Base("hill", 5.0, 12.0)
WAY = Way(HOME, 1, 15.0, 0.5, 3.0, 15.0, 0.5, 3.0)

OUT = Call(0, 0, 7.0, 7.5, 7.5, 7.75, 0.5, 0.0, 0.25, 15.0, 3.0, 0.0, 0.0)
BACK = Call(0, None, 7.75, 8.25, 8.25, 8.5, 0.5, 0.0, 0.25, 15.0, 3.0, 3.0, 12.0)
OVER = Call(0, None, 6.5, 7.0, 7.0, 7.0, 0.5, 0.0, 0.0, 15.0, 3.0, 0.0, 0.0, "out")
AWAY = Call(0, None, 8.5, 9.0, 9.0, 9.0, 0.5, 0.0, 0.0, 15.0, 3.0, 0.0, 0.0, "back")
"""
Half an hour out, a quarter to load 3 t (12 m3), half an hour back, a quarter to unload;
half an hour over from the home of a truck that stands elsewhere, and back there.
"""


def legs(n: int = 2, hours: float = 0.5) -> Legs:
    some = np.full((n, n), hours)
    return Legs(some * 30, some, some * 6, np.zeros((n, n)), np.full((n, n), 0.25))


def day(*calls, way=None, yard=None, stop=None, limits=None, trips=((0,),), **given):
    """The day above, with as much changed as is given."""
    truck = Truck(
        **{
            "code": "light",
            "base": 0,
            "legs": 0,
            "count": 1,
            "payload_t": 4.0,
            "body_m3": 20.0,
            "starts_h": 5.0,
            "ends_h": 18.0,
            "shift_h": 9.0,
            "most_trips": 2,
            "way": way,
            **given,
        }
    )
    farm = Stop("farm", take_t=3.0, take_m3=12.0, **(stop or {}))
    task = Task(
        (Base("shore", **(yard or {})),),
        (farm, replace(farm, code="mill")),
        (truck,),
        (legs(3),),
        Limits(**(limits or {})),
    )
    return TimedTour(task, Tour(0, trips), list(calls or (OUT, BACK)))


def over_there(**given):
    return day(OVER, OUT, BACK, AWAY, **{"way": WAY, **given})


def home(**hours):
    return replace(WAY, home=replace(HOME, **hours))


FULL_OUT = (
    replace(OUT, load_t=3.0, load_m3=12.0),
    replace(BACK, load_t=0.0, load_m3=0.0),
)
SECOND = (
    replace(
        OUT, trip=1, stop=1, leaves_h=9.0, arrives_h=9.5, starts_h=9.5, ends_h=9.75
    ),
    replace(BACK, trip=1, leaves_h=9.75, arrives_h=10.5, starts_h=10.5, ends_h=10.75),
)
TWO = (OUT, BACK, *SECOND)
RESTED = (replace(OUT, drive_h=3.5), replace(BACK, drive_h=3.5, break_h=0.5))
LONG = (replace(OUT, drive_h=9.0, break_h=1.0), replace(BACK, drive_h=1.0))

LOAD = "both limits of the load on every leg"
START = "leaving once the truck may and its yard is open"
DONE = "the yard served before it closes"
END = "home before the truck must and its yard closes"
BREAKS, AGE = "driving without a break", "age of what spoils on arrival"
OPEN = "opening hours of stops"

ROWS = [
    (LOAD, "carries 3 t, 3 t allowed", lambda x: day(payload_t=3 - x)),
    (LOAD, "carries 12 m3, 12 m3 allowed", lambda x: day(body_m3=12 - x)),
    (LOAD, "carries 3 t, 3 t allowed", lambda x: day(*FULL_OUT, payload_t=3 - x)),
    (LOAD, "carries 12 m3, 12 m3 allowed", lambda x: day(*FULL_OUT, body_m3=12 - x)),
    ("shift", "is out for 1.5 h, 1.5 h allowed", lambda x: day(shift_h=1.5 - x)),
    ("shift", "is out for 2.5 h, 2.5 h allowed", lambda x: over_there(shift_h=2.5 - x)),
    (START, "leaves at 7 h, too early", lambda x: day(starts_h=7 + x)),
    (START, "leaves at 7 h, too early", lambda x: day(yard={"opens_h": 7 + x})),
    (START, "leaves at 6.5 h, too early", lambda x: over_there(starts_h=6.5 + x)),
    (
        START,
        "leaves at 6.5 h, too early",
        lambda x: over_there(way=home(opens_h=6.5 + x)),
    ),
    (
        DONE,
        "finishes at 8.5 h, after the yard",
        lambda x: day(yard={"closes_h": 8.5 - x}),
    ),
    (
        DONE,
        "finishes at 8.5 h, after the yard",
        lambda x: over_there(yard={"closes_h": 8.5 - x}),
    ),
    (
        DONE,
        "finishes at 10.75 h, after",
        lambda x: day(*TWO, yard={"closes_h": 10.75 - x}),
    ),
    (END, "is back at 8.5 h, too late", lambda x: day(ends_h=8.5 - x)),
    (END, "is back at 8.5 h, too late", lambda x: day(yard={"closes_h": 8.5 - x})),
    (END, "is back at 9 h, too late", lambda x: over_there(ends_h=9 - x)),
    (END, "is back at 9 h, too late", lambda x: over_there(way=home(closes_h=9 - x))),
    (
        "driving in a day",
        "drives 1 h, 1 h allowed",
        lambda x: day(limits={"day_h": 1 - x}),
    ),
    (
        "driving in a day",
        "drives 2 h, 2 h allowed",
        lambda x: over_there(limits={"day_h": 2 - x}),
    ),
    (
        BREAKS,
        "drives 1 h without a break, 1 h",
        lambda x: day(limits={"unbroken_h": 1 - x}),
    ),
    (
        BREAKS,
        "drives 3.5 h without",
        lambda x: day(*RESTED, limits={"unbroken_h": 3.5 - x}),
    ),
    (OPEN, "farm is not open yet", lambda x: day(stop={"opens_h": 7.5 + x})),
    (OPEN, "farm is closed by then", lambda x: day(stop={"closes_h": 7.75 - x})),
    (
        AGE,
        "farm rides 0.75 h, 0.75 h allowed",
        lambda x: day(stop={"ride_h": 0.75 - x}),
    ),
    (
        AGE,
        "farm rides 0.75 h, 0.75 h allowed",
        lambda x: over_there(stop={"ride_h": 0.75 - x}),
    ),
    (AGE, "mill rides 1 h, 1 h allowed", lambda x: day(*TWO, stop={"ride_h": 1 - x})),
]


@pytest.mark.parametrize(
    ("name", "words", "case"), ROWS, ids=[f"{r[0]}-{n}" for n, r in enumerate(ROWS)]
)
def test_just_inside_is_fine_and_just_outside_is_named(name, words, case):
    assert list(RULES[name](case(0.9 * SLACK))) == []
    assert any(f.startswith(words) for f in RULES[name](case(1.1 * SLACK)))
    if words.startswith("is") or "too" in words:
        assert len(list(RULES[name](case(1.1 * SLACK)))) == 1


def test_trips_are_counted():
    twice = ((0,), (1,))
    assert list(RULES["trips a day"](day(*TWO, trips=twice, most_trips=2))) == []
    found = list(RULES["trips a day"](day(*TWO, trips=twice, most_trips=1)))
    assert found == ["2 trips, 1 allowed"]


def fish_and_compost(first: str) -> TimedTour:
    """Fish from the farm and compost to the mill, on two trips."""
    farm, mill = Stop("farm", take_t=3.0, ride_h=8.0), Stop("mill", bring_t=3.0)
    trips = ((0,), (1,)) if first == "farm" else ((1,), (0,))
    given = day(*TWO)
    task = replace(given.task, stops=(farm, mill))
    calls = [
        call if call.stop is None else replace(call, stop=trips[call.trip][0])
        for call in given.calls
    ]
    return TimedTour(task, Tour(0, trips), calls)


ORDER = "mill gets compost after farm, which spoils"


def test_compost_goes_before_what_spoils_never_after():
    rule = RULES["compost before what spoils"]
    assert list(rule(fish_and_compost("farm"))) == [ORDER]
    right = fish_and_compost("mill")
    assert list(rule(right)) == []
    wrong = fish_and_compost("farm")
    assert clean_first(wrong.task, wrong.tour) == right.tour
    assert clean_first(right.task, right.tour) == right.tour


def test_every_rule_and_every_sentence_has_a_row():
    named = {name for name, _, _ in ROWS}
    named |= {"trips a day", "compost before what spoils"}
    assert named == set(RULES)
    told = [f for name, _, case in ROWS for f in RULES[name](case(1.1 * SLACK))]
    told += ["2 trips, 1 allowed", ORDER]
    for rule in RULES.values():
        for node in ast.walk(ast.parse(inspect.getsource(rule))):
            if isinstance(node, ast.Yield):
                parts = node.value.values
                words = "".join(
                    re.escape(p.value) if isinstance(p, ast.Constant) else ".+"
                    for p in parts
                )
                assert any(re.fullmatch(words, f) for f in told), words


def test_what_was_written_by_hand_keeps_every_rule():
    for good in (day(), over_there(), day(*TWO, trips=((0,), (1,)))):
        assert [f for rule in RULES.values() for f in rule(good)] == []


def test_noise_is_a_millionth():
    assert not over(SLACK, 0.0)
    assert over(float(np.nextafter(SLACK, 1)), 0.0)
    assert over(float("nan"), 1.0)
    assert not over(1.0, float("inf"))


def test_what_is_no_number_is_a_fault():
    for name in ("load_t", "load_m3"):
        call = replace(BACK, **{name: float("nan")})
        assert list(RULES[LOAD](day(OUT, call)))
    late = replace(BACK, ends_h=float("nan"))
    for name in (DONE, END, START, "shift"):
        assert list(RULES[name](day(OUT, late))), name


def test_only_what_is_taken_grows_old():
    driven = day(stop={"ride_h": 0.1})
    assert list(RULES[AGE](driven))
    farm = replace(driven.task.stops[0], take_t=0.0)
    brought = replace(driven.task, stops=(farm, *driven.task.stops[1:]))
    assert list(RULES[AGE](replace(driven, task=brought))) == []
    little = replace(farm, take_t=0.1)
    some = replace(driven.task, stops=(little, *driven.task.stops[1:]))
    assert list(RULES[AGE](replace(driven, task=some)))


DRIVEN = [
    ([(4.0, 0)], []),
    ([(4.0 + 0.9 * SLACK, 0)], []),
    ([(4.0 + 1.1 * SLACK, 0)], ["4"]),
    ([(2.0, 0), (2.0 + 0.9 * SLACK, 0)], []),
    ([(2.0, 0), (2.0 + 1.1 * SLACK, 0)], ["4"]),
    ([(2.0, 0), (4.0, 1)], []),  # the break comes before the leg
    ([(2.0, 0), (4.5, 1)], ["4.5"]),  # and is no break within it
    ([(2.0, 0), (8.0, 2)], []),
    ([(8.0, 1)], []),  # nothing driven before: it comes after 4 h
    ([(8.5, 1)], ["4.5"]),
    ([(8.5, 2)], []),
    ([(5.0, 1), (3.0, 0)], []),  # one hour since the break
    ([(5.0, 1), (3.5, 0)], ["4.5"]),
    ([(3.0, 1), (4.0, 0)], []),  # a break later than needed is not before the leg
    ([(3.0, 1), (4.5, 0)], ["4.5"]),
    ([(1e-9, 0), (8.0, 1)], []),  # nothing but rounding noise before
    ([(1e-5, 0), (8.0, 1)], ["8"]),
    ([(4.5, 0), (1.0, 1), (4.5, 1)], ["4.5", "4.5"]),
]


@pytest.mark.parametrize(("driven", "stretches"), DRIVEN)
def test_driving_without_a_break(driven, stretches):
    words = [f"drives {h} h without a break, 4 h allowed" for h in stretches]
    assert unbroken_faults(driven, 4.0) == words


def test_a_break_of_an_hour_is_one_break():
    """Breaks are counted by their length."""
    hour = {"unbroken_h": 4.0, "break_h": 1.0}
    one = (replace(OUT, drive_h=3.0), replace(BACK, drive_h=5.0, break_h=1.0))
    found = list(RULES[BREAKS](day(*one, limits=hour)))
    assert found == ["drives 5 h without a break, 4 h allowed"]
    assert list(RULES[BREAKS](day(*LONG, limits={"unbroken_h": 4.0}))) == []


def task(**truck) -> Task:
    return day(**truck).task


def test_a_good_day_has_no_faults_and_every_rule_is_asked():
    both, tour = task(), Tour(0, ((0,), (1,)))
    assert faults(both, RoundsSolution((tour,), ())) == []
    names = {
        "most_trips": (1, "2 trips, 1 allowed"),
        "payload_t": (2.5, "carries 3 t, 2.5 t allowed"),
        "body_m3": (11.0, "carries 12 m3, 11 m3 allowed"),
        "shift_h": (2.9, "is out for 3 h, 2.9 h allowed"),
        "ends_h": (7.9, "is back at 8 h, too late"),
    }
    for name, (value, words) in names.items():
        found = tour_faults(task(**{name: value}), tour)
        assert set(found) == {words}
        said = faults(task(**{name: value}), RoundsSolution((tour,), ()))
        assert set(said) == {f"light: {words}"}
    shut = replace(both, bases=(Base("shore", 0.0, 7.9),))
    assert tour_faults(shut, tour)[0].startswith("finishes at 8 h, after the yard")
    tired = replace(both, limits=Limits(day_h=1.9))
    assert tour_faults(tired, tour) == ["drives 2 h, 1.9 h allowed"]
    stops = [replace(s, ride_h=0.7) for s in both.stops]
    old = tour_faults(replace(both, stops=tuple(stops)), tour)
    assert old == [
        "farm rides 0.75 h, 0.7 h allowed",
        "mill rides 0.75 h, 0.7 h allowed",
    ]
    stops = [replace(s, closes_h=5.7) for s in both.stops]
    late = tour_faults(replace(both, stops=tuple(stops)), tour)
    assert "farm is closed by then" in late


def test_a_break_left_out_is_a_fault(monkeypatch):
    """Should the timetable ever forget one."""
    far = replace(task(), legs=(legs(3, hours=2.5),))
    tour = Tour(0, ((0,),))
    assert tour_faults(far, tour) == []
    forgot = check.timetable
    monkeypatch.setattr(
        check,
        "timetable",
        lambda *given: [replace(c, break_h=0.0) for c in forgot(*given)],
    )
    assert tour_faults(far, tour) == ["drives 5 h without a break, 4 h allowed"]


def test_every_leg_must_be_open():
    tour = Tour(0, ((0, 1),))
    for a, b in ((0, 1), (1, 2), (2, 0)):
        here = task(payload_t=9.0, body_m3=99.0)
        hours = here.legs[0].hours.copy()
        assert tour_faults(here, tour) == []
        hours[a, b] = np.inf
        shut = replace(here, legs=(replace(here.legs[0], hours=hours),))
        assert tour_faults(shut, tour) == ["a leg that this truck may not drive"]
        many = replace(shut, trucks=(replace(shut.trucks[0], most_trips=0),))
        assert tour_faults(many, tour)[0] == "1 trips, 0 allowed"


def test_a_trip_goes_somewhere():
    for trips in ((), ((),), ((0,), ()), ((), (0,))):
        assert tour_faults(task(), Tour(0, trips)) == ["a trip without a stop"]


def test_visits_and_trucks_are_counted():
    here, both = task(count=1), Tour(0, ((0,), (1,)))
    free = replace(here, stops=tuple(replace(s, required=False) for s in here.stops))
    one, other = Tour(0, ((0,),)), Tour(0, ((1,),))

    def said(task, tours, left=()):
        return faults(task, RoundsSolution(tuple(tours), tuple(left)))

    assert said(here, [both]) == []
    assert said(free, [one], [1]) == []
    assert said(here, [one], [1]) == ["mill: left out"]
    assert said(here, [one]) == ["mill: visited or left out 0 times"]
    assert said(free, [both], [1]) == ["mill: visited or left out 2 times"]
    assert said(free, [one], [1, 1]) == ["mill: visited or left out 2 times"]
    assert said(here, [one, other]) == ["light: 2 tours, 1 trucks"]
    assert said(task(count=2), [one, other]) == []


@pytest.mark.parametrize("stop", [-1, 2, 3])
def test_a_stop_that_is_not_there_is_named(stop):
    wild = RoundsSolution((Tour(0, ((0,), (1, stop))),), ())
    assert faults(task(), wild) == [f"no stop {stop}"]
    assert faults(task(), RoundsSolution((Tour(0, ((0,), (1,))),), (stop,))) == [
        f"no stop {stop}"
    ]


@pytest.mark.parametrize("truck", [-1, 1])
def test_a_truck_that_is_not_there_is_named(truck):
    wild = RoundsSolution((Tour(truck, ((0,), (1,))),), ())
    assert faults(task(), wild) == [f"no truck {truck}"]


def test_trucks_are_in_one_place():
    out = [("a 1", 1), ("a 1", 2), ("a 2", 1)]
    assert place_faults(out, {"a 1": 1, "a 2": 2}, {"a 1": 2, "a 2": 2}) == []
    twice = [*out, ("a 2", 1), ("a 2", 1)]
    assert place_faults(twice, {}, {}) == ["a 2 is out 3 times on day 1"]
    few = place_faults(out, {"a 1": 1, "a 2": 2}, {"a 1": 1, "a 2": 1})
    assert few == ["a 2 is out, but only 1 are kept there at night"]
    none = place_faults([], {"a 1": 1}, {})
    assert none == ["a 1 is out, but only 0 are kept there at night"]
    both = place_faults([("a 1", 1)] * 2, {"a 1": 1}, {})
    assert len(both) == 2


@pytest.mark.parametrize(
    ("excess", "found"), [(-1.0, 0), (0.9 * SLACK, 0), (1.1 * SLACK, 1)]
)
def test_driving_of_days_and_weeks(excess, found):
    day_over = week_faults({("a", 1): 9 + excess, ("b", 1): 2.0}, 9, 48)
    assert [f[:28] for f in day_over] == ["a drives 9 h on day 1, 9 h a"] * found
    week = {("a", d): 8.0 for d in range(5)} | {("b", d): 9.0 for d in range(5)}
    week_over = week_faults({**week, ("a", 5): 8.0 + excess}, 9, 48)
    assert [f[:29] for f in week_over] == ["a drives 48 h in the week, 48"] * found


HUSK = Visit("in", "y", "mill", "husk", "heavy", 4, 10.0, 90.0, 2.0, False, np.inf, 0)
HUSK = replace(HUSK, first_day=3, last_day=6)
FISH = Visit("in", "y", "quay", "fish", "light", 4, 2.0, 2.0, 1.0, True, 80.0, 1)
FISH = replace(FISH, last_day=6)


def with_rest(day):
    """Working days of a week whose fifth day is free."""
    return day + day // 5


PARTS = [
    ([HUSK.part(4.0), HUSK.part(6.0), FISH], [], []),
    ([HUSK.part(4.0), FISH], [HUSK.part(6.0)], []),
    ([HUSK.part(4.0), FISH], [HUSK.part(6.0 - 0.9 * SLACK)], []),
    ([HUSK.part(4.0), FISH], [HUSK.part(6.0 - 1.1 * SLACK)], ["mill: 10 t driven"]),
    ([HUSK, FISH], [HUSK.part(1.1 * SLACK)], ["mill: 10 t driven"]),
    ([FISH], [], ["mill: 0 t driven or left over, 10 t planned"]),
    ([HUSK, HUSK, FISH], [], ["mill: 20 t driven or left over, 10 t planned"]),
    ([replace(HUSK, day=3), FISH], [], []),
    ([replace(HUSK, day=6), FISH], [], []),
    (
        [replace(HUSK, day=2), FISH],
        [],
        ["mill is driven on day 2, days 3 to 6 allowed"],
    ),
    (
        [replace(HUSK, day=7), FISH],
        [],
        ["mill is driven on day 7, days 3 to 6 allowed"],
    ),
    ([HUSK, replace(FISH, day=5, ride_h=32.0)], [], []),  # the fifth day is free
    ([HUSK, replace(FISH, day=5, ride_h=32 + 0.9 * SLACK)], [], []),
    ([HUSK, replace(FISH, day=5, ride_h=32 + 1.1 * SLACK)], [], ["quay waits 48 h"]),
    ([HUSK, replace(FISH, day=3, ride_h=80.0)], [], ["quay is driven on day 3, days"]),
    ([HUSK, replace(FISH, number=2)], [], ["quay: no planned visit 2"]),
    ([HUSK, replace(FISH, number=-1)], [], ["quay: no planned visit -1"]),
]


@pytest.mark.parametrize(("driven", "left", "words"), PARTS)
def test_loads_are_all_there_and_on_their_days(driven, left, words):
    """Tonnes driven and left over are those planned; nothing is kept too long."""
    found = part_faults([HUSK, FISH], driven, left, with_rest)
    assert len(found) == len(words)
    assert all(f.startswith(w) for f, w in zip(found, words, strict=True)), found
