"""Rounds given to trucks and drivers: laws that hold for every month and crew."""

import itertools
from collections import defaultdict

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from maps.desk.assigning import (
    CLOSED,
    NO_DRIVER,
    NO_HIRED,
    NO_TRUCK,
    HandLimits,
    Round,
    assigned,
)
from maps.desk.crew import ALL, Crew, DayOff, Driver, NamedTruck

LIMITS = HandLimits(day_h=9.0, week_h=48.0, shift_h=8.0)
YARDS, TYPES = ("y1", "y2"), ("light", "heavy")


def a_round(day=1, number=1, *, starts=6.0, hours=4.0, driving=3.0, **more):
    values = {"type": "light", "home": "y1", "whose": "owned", "spoils": False} | more
    name = f"{values['home']} {values['type']} {values['whose']} {number}"
    return Round(
        day=day,
        date=day,
        truck=name,
        starts_h=starts,
        ends_h=starts + hours,
        driving_h=driving,
        **values,
    )


def truck(plate, kind="light", yard="y1", whose="own"):
    return NamedTruck(plate, kind, yard, whose)


def driver(name, yard="", drives=""):
    return Driver(name, "", yard, drives)


def off(who, first, last=None):
    return DayOff("m", who, first, last or first, "")


@st.composite
def months(draw):
    """Rounds of a few days, and a crew."""
    rounds = []
    for day in range(1, draw(st.integers(1, 9)) + 1):
        kinds = itertools.product(YARDS, TYPES, ("owned", "hired"))
        for home, kind, whose in kinds:
            for number in range(1, draw(st.integers(0, 2)) + 1):
                hours = draw(st.sampled_from([1.0, 3.0, 4.0, 8.0]))
                rounds.append(
                    a_round(
                        day,
                        number,
                        starts=draw(st.sampled_from([6.0, 9.0, 10.0])),
                        hours=hours,
                        driving=hours * draw(st.sampled_from([0.5, 1.0])),
                        type=kind,
                        home=home,
                        whose=whose,
                        spoils=draw(st.booleans()),
                    )
                )
    trucks = [
        truck(
            f"P{n}",
            draw(st.sampled_from(TYPES)),
            draw(st.sampled_from(YARDS)),
            draw(st.sampled_from(["own", "hired", "hired with driver"])),
        )
        for n in range(draw(st.integers(0, 6)))
    ]
    drivers = [
        driver(
            f"D{n}",
            draw(st.sampled_from(["", *YARDS])),
            draw(st.sampled_from(["", "light", "light heavy"])),
        )
        for n in range(draw(st.integers(0, 5)))
    ]
    names = [*(t.plate for t in trucks), *(d.name for d in drivers), ALL]
    away = draw(
        st.lists(
            st.tuples(st.sampled_from(names), st.integers(1, 9), st.integers(0, 3)),
            max_size=4,
        )
    )
    absent = tuple(off(who, first, first + more) for who, first, more in away)
    return rounds, Crew(tuple(trucks), tuple(drivers), absent)


@settings(max_examples=40, deadline=None)
@given(months())
def test_nobody_is_in_two_places_away_or_over_the_hours(month):
    rounds, crew = month
    found = assigned(rounds, crew, LIMITS)
    assert set(found) == {(one.day, one.truck) for one in rounds}
    trucks = {t.plate: t for t in crew.trucks}
    drivers = {d.name: d for d in crew.drivers}
    drives, carries = defaultdict(list), defaultdict(list)
    for one in rounds:
        who = found[one.day, one.truck]
        theirs = who.plate and trucks[who.plate].whose == "hired with driver"
        complete = (not trucks or who.plate) and (not drivers or who.driver or theirs)
        away = {o.who for o in crew.off if o.first <= one.day <= o.last}
        assert not {who.plate, who.driver} & away
        assert not (ALL in away and (who.plate or who.driver))
        assert bool(who.why) == (ALL in away or not complete)  # what is missing is said
        if who.plate:
            carries[who.plate, one.day].append(one)
            lorry = trucks[who.plate]
            assert lorry.truck == one.type
            assert lorry.yard in ("", one.home)
            assert (lorry.whose == "own") == (one.whose == "owned")
        if who.driver:
            drives[who.driver].append(one)
            hand = drivers[who.driver]
            assert hand.yard in ("", one.home)
            assert not hand.drives or one.type in hand.drives.split()
    assert all(len(here) == 1 for here in carries.values())
    for here in drives.values():
        for a, b in itertools.combinations(here, 2):
            if a.day == b.day:
                assert a.ends_h <= b.starts_h or b.ends_h <= a.starts_h
                assert a.home == b.home
        for one in here:
            day = [r for r in here if r.date == one.date]
            week = [r for r in here if one.date - 7 < r.date <= one.date]
            assert sum(r.driving_h for r in day) <= LIMITS.day_h
            assert sum(r.ends_h - r.starts_h for r in day) <= LIMITS.shift_h
            assert sum(r.driving_h for r in week) <= LIMITS.week_h


@pytest.mark.parametrize(
    ("driving", "limits", "why"),
    [
        (3.0, HandLimits(3.0, 48, 8), ""),
        (3.0, HandLimits(2.99, 48, 8), NO_DRIVER),
        (3.0, HandLimits(9, 3.0, 8), ""),
        (3.0, HandLimits(9, 2.99, 8), NO_DRIVER),
        (3.0, HandLimits(9, 48, 4.0), ""),
        (3.0, HandLimits(9, 48, 3.99), NO_DRIVER),
    ],
)
def test_limits_hold_to_the_last(driving, limits, why):
    one = a_round(driving=driving)
    found = assigned([one], Crew(drivers=(driver("Ada"),)), limits)
    assert found[1, one.truck].why == why


@pytest.mark.parametrize(("day", "why"), [(8, NO_DRIVER), (9, "")])
def test_seven_days_are_reckoned_wherever_they_begin(day, why):
    """Six days of eight hours fill a week; the first of them is free again later."""
    rounds = [a_round(d, driving=8.0, hours=8.0) for d in range(2, 8)]
    last = a_round(day, driving=8.0, hours=8.0)
    found = assigned([*rounds, last], Crew(drivers=(driver("Ada"),)), LIMITS)
    assert all(not found[r.day, r.truck].why for r in rounds)
    assert found[last.day, last.truck].why == why


def test_one_driver_takes_two_rounds_after_each_other_but_not_at_once():
    crew = Crew(drivers=(driver("Ada"),))
    one, after = a_round(), a_round(number=2, starts=10.0)
    found = assigned([one, after], crew, LIMITS)
    assert {g.driver for g in found.values()} == {"Ada"}
    early = a_round(number=2, starts=9.9)
    found = assigned([one, early], crew, LIMITS)
    assert sorted(g.driver for g in found.values()) == ["", "Ada"]


def test_as_many_rounds_as_can_be_have_a_driver():
    """Ada could take both; Ben only the one that she would be asked for first."""
    light, heavy = a_round(), a_round(type="heavy", spoils=True)
    crew = Crew(drivers=(driver("Ada"), driver("Ben", drives="heavy")))
    found = assigned([light, heavy], crew, LIMITS)
    assert found[1, light.truck].driver == "Ada"
    assert found[1, heavy.truck].driver == "Ben"


def test_what_spoils_has_its_driver_first():
    dry, fish = a_round(), a_round(number=2, spoils=True)
    found = assigned([dry, fish], Crew(drivers=(driver("Ada"),)), LIMITS)
    assert found[1, fish.truck].driver == "Ada"
    assert found[1, dry.truck].why == NO_DRIVER


def test_a_truck_keeps_its_round_and_stays_away_when_it_is_off():
    rounds = [a_round(day, number) for day in (1, 2, 3) for number in (1, 2)]
    crew = Crew((truck("AB 1"), truck("CD 2")), (), (off("AB 1", 2),))
    found = assigned(rounds, crew, LIMITS)
    plates = [found[d, f"y1 light owned {n}"].plate for d in (1, 2, 3) for n in (1, 2)]
    assert plates == ["AB 1", "CD 2", "", "CD 2", "AB 1", "CD 2"]
    assert found[2, "y1 light owned 1"].why == NO_TRUCK


def test_trucks_of_the_yard_leave_those_of_any_yard_to_others():
    here = a_round(whose="hired")
    there = a_round(whose="hired", home="y2")
    crew = Crew((truck("A", yard="", whose="hired"), truck("Z", whose="hired")))
    found = assigned([here, there], crew, LIMITS)
    assert (found[1, here.truck].plate, found[1, there.truck].plate) == ("Z", "A")


def test_a_hired_truck_that_nobody_named_is_said():
    one = a_round(whose="hired")
    found = assigned([one], Crew((truck("AB"),)), LIMITS)
    assert found[1, one.truck].why == NO_HIRED


def test_a_hired_truck_with_its_driver_needs_none_of_ours():
    one = a_round(whose="hired")
    crew = Crew((truck("H", whose="hired with driver"),), (driver("Ada"),))
    given_one = assigned([one], crew, LIMITS)[1, one.truck]
    assert (given_one.plate, given_one.driver, given_one.why) == ("H", "", "")


def test_on_a_holiday_nobody_drives():
    one, next_day = a_round(1), a_round(2)
    crew = Crew((truck("AB"),), (driver("Ada"),), (off(ALL, 1),))
    found = assigned([one, next_day], crew, LIMITS)
    assert found[1, one.truck].why == CLOSED
    assert found[2, next_day.truck].driver == "Ada"
