"""Own trucks at other yards: their empty way, never dearer, never in two places."""

from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logistics.rounds import lending as rounds_lend
from logistics.rounds import trucks as rounds_fleet
from logistics.rounds.check import faults, place_faults, tour_faults
from logistics.rounds.days import Day
from logistics.rounds.leg_times import cost, hours_out, timetable
from logistics.rounds.lending import lend
from logistics.rounds.period_check import named_tours
from logistics.rounds.records import (
    Base,
    Legs,
    Limits,
    RoundsSolution,
    SearchLimits,
    Stop,
    Task,
    Tour,
    Truck,
)
from logistics.rounds.records import Way as EmptyWay
from logistics.rounds.search import solve_task
from logistics.rounds.visit_list import Visit

CREW, HIRE = 2.0, 5.0


def way(home="hill", number=1, km=30.0, hours=1.0, money=9.0):
    return EmptyWay(Base(home), number, km, hours, money, km, hours, money)


def task(loads, **truck):
    """Mills 15 km from the yard at 30 km/h; 0.2 h before and after."""
    n = 1 + len(loads)
    km = np.full((n, n), 20.0)
    km[0], km[:, 0] = 15.0, 15.0
    np.fill_diagonal(km, 0.0)
    legs = Legs(km, km / 30, km * 0.3, np.full((n, n), 0.2), np.full((n, n), 0.2))
    plain = {
        "code": "light, hired", "base": 0, "legs": 0, "count": len(loads),
        "payload_t": 4.0, "starts_h": 6.0, "ends_h": 18.0, "shift_h": 9.0,
        "money_per_h": CREW + HIRE, "most_trips": 3,
    }  # fmt: skip
    stops = tuple(Stop(f"m{k}", take_t=t, required=False) for k, t in enumerate(loads))
    return Task((Base("shore"),), stops, (Truck(**{**plain, **truck}),), (legs,))


def test_the_way_over_counts_as_time_driving_and_money():
    """By hand: 1 h over, 0.2 + 0.5 + 0.2 and 0.2 + 0.5 + 0.2 h, 1 h home."""
    here, tour = task([3.0]), Tour(0, ((0,),))
    lent = replace(here, trucks=(replace(here.trucks[0], way=way()),))
    calls = timetable(lent, tour)
    assert [c.way for c in calls] == ["out", "", "", "back"]
    assert [c.load_t for c in calls] == [0.0, 0.0, 3.0, 0.0]
    assert sum(c.drive_h for c in calls) == pytest.approx(1 + 0.5 + 0.5 + 1)
    assert hours_out(lent, tour, calls) == pytest.approx(3.8)
    assert hours_out(here, tour, timetable(here, tour)) == pytest.approx(1.8)
    more = cost(lent, RoundsSolution((tour,), ())) - cost(
        here, RoundsSolution((tour,), ())
    )
    assert more == pytest.approx(2 * 9.0 + 2 * (CREW + HIRE))
    assert calls[-1].ends_h == pytest.approx(calls[0].leaves_h + 3.8)
    short = replace(lent, trucks=(replace(lent.trucks[0], shift_h=3.7),))
    assert tour_faults(short, tour) == ["is out for 3.8 h, 3.7 h allowed"]
    tight = replace(lent, limits=Limits(day_h=2.9))
    assert tour_faults(tight, tour) == ["drives 3 h, 2.9 h allowed"]
    far = replace(lent.trucks[0], way=way(hours=2.0))
    rest = [c.break_h for c in timetable(replace(lent, trucks=(far,)), tour)]
    assert rest == [0.0, 0.0, 0.0, 0.5]  # 2 + 0.5 + 0.5 h, then 2 h more than 4
    early = replace(lent.trucks[0], way=replace(way(), home=Base("hill", 0, 9.0)))
    assert tour_faults(replace(lent, trucks=(early,)), tour)


def test_the_search_weighs_the_way_against_hire():
    """The own truck comes over where its way costs less than the hire it saves."""
    for money, lent in ((1.0, True), (30.0, False)):
        both = task([3.0, 3.0, 3.0], count=1)
        own = replace(both.trucks[0], money_per_h=CREW, way=way(hours=0.5, money=money))
        both = replace(both, trucks=(both.trucks[0], own))
        answer = solve_task(both, SearchLimits(iterations=100))
        assert faults(both, answer) == []
        assert any(t.truck == 1 for t in answer.tours) == lent


def district(trucks_at, hire_limit=None):
    """What lending asks of a plan: truck types; who stands where is given."""
    trucks = pd.DataFrame(
        {
            "truck": ["light"],
            "crew_cost_per_hour": [CREW],
            "hire_cost_per_hour": [HIRE],
            "hire_limit": [hire_limit],
            "payload_t": [4.0],
            "body_m3": [20.0],
            "carries": ["all"],
            "owned": [sum(trucks_at.values())],
        }
    )
    rules = SimpleNamespace(work=SimpleNamespace(hours_per_day=8.0))
    tables = {"trucks": trucks}
    return SimpleNamespace(scenario=District(trucks, tables, rules))


@dataclass(frozen=True, eq=False)
class District:
    """What lending asks of a scenario."""

    trucks: pd.DataFrame
    tables: dict[str, pd.DataFrame]
    settings: SimpleNamespace


YARDS = ("hill", "shore", "delta")
rounds_of_a_yard = st.lists(st.integers(1, 3), max_size=3)


@settings(max_examples=60, deadline=None)
@given(
    st.tuples(rounds_of_a_yard, rounds_of_a_yard, rounds_of_a_yard),
    st.tuples(*[st.integers(0, 3)] * 3),
    st.tuples(*[st.integers(0, 3)] * 3),
    st.floats(0.1, 3.0),
    st.floats(0.0, 20.0),
)
def test_lending_never_costs_more_and_no_truck_is_in_two_places(
    made, standing, out, hours, money
):
    """Random rounds and own trucks at three yards; some own ones are out at home."""
    stand = dict(zip(YARDS, standing, strict=True))
    days, answers = [], []
    for yard, trips, busy in zip(YARDS, made, out, strict=True):
        loads = [3.0] * sum(trips)
        here = task(loads) if loads else None
        if here is None:
            continue
        own = replace(here.trucks[0], code="light, owned", money_per_h=CREW)
        here = replace(here, trucks=(own, here.trucks[0]))
        tours, first = [], 0
        for k, count in enumerate(trips):
            stops = tuple((s,) for s in range(first, first + count))
            tours.append(Tour(0 if k < min(busy, stand[yard]) else 1, stops))
            first += count
        kinds = (("light", "owned"), ("light", "hired"))
        days.append(Day(yard, 1, (), here, kinds))
        answers.append(RoundsSolution(tuple(tours), ()))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rounds_lend, "homes", lambda _: {"light": stand})
        patch.setattr(
            rounds_lend,
            "way_over",
            lambda _r, _p, _c, home, _y, n: way(home, n, 30.0, hours, money),
        )
        after, better = lend(district(stand), "p1", days, answers)
    costs = [
        sum(cost(d.task, a) for d, a in zip(ds, found, strict=True))
        for ds, found in ((days, answers), (after, better))
    ]
    assert costs[1] <= costs[0] + 1e-9
    names, own, homes = [], {}, {}
    for day, answer, old in zip(after, better, answers, strict=True):
        assert faults(day.task, answer) == []
        assert [t.trips for t in answer.tours] == [t.trips for t in old.tours]
        for name, _ in named_tours(day, answer):
            names.append((name, 1))
            if " owned " in name:
                own[name] = int(name.split()[-1])
                homes[name] = stand[name.split()[0]]
    assert place_faults(names, own, homes) == []
    lent = sum(len(d.task.trucks) for d in after) - 2 * len(days)
    assert (lent > 0) == (costs[1] < costs[0] - 1e-9)


def test_where_nothing_can_be_hired_an_own_truck_comes_over(monkeypatch):
    """Two own trucks at hill, which needs one; shore has none and may not hire."""
    monkeypatch.setattr(
        rounds_fleet, "way_over", lambda _r, _p, _c, home, _y, n: way(home, n)
    )
    monkeypatch.setattr(rounds_fleet, "may_carry", lambda _t, _m: True)
    load = ("mill", "rice_husk", "light", 1, 3.0, 20.0, 5.0, False, np.inf)
    yards = {y: [Visit("in", y, *load)] for y in ("hill", "shore")}
    stand = {"light": {"hill": 2}}
    for limit, hired in ((0.0, 0), (None, 1)):
        shares = rounds_fleet.share_fleet(
            district({"hill": 2}, limit), "p", yards, stand
        )
        hill, shore = shares["hill"]["light"], shares["shore"]["light"]
        assert len(shore.lent) == 1 - hired
        assert hill.own + len(shore.lent) == 2
        assert all(w.number == 2 for w in shore.lent)
        assert (shore.own, shore.hired > 0) == (0, hired == 1)
