"""Rounds with trucks missing: loads are cut and moved, and what is left says why."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from logistics.costs import may_carry
from logistics.rounds.driving import drive
from logistics.rounds.fleet import homes
from logistics.rounds.idle import idle_trucks
from logistics.rounds.left_over import COLUMNS
from logistics.rounds.leg_times import loads
from logistics.rounds.placing import Placing
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
from logistics.rounds.repair import driveable
from logistics.rounds.search import solve_task
from logistics.rounds.trucks import way_over
from logistics.rounds.visit_list import days_later, hours_later, visits
from logistics.scenario.rows import records

pytestmark = pytest.mark.slow

FAULTY_WORDS = ("carries", "no stop", "allowed", "m3 of", "out of")
PERIOD = "apr"


@pytest.fixture(scope="module")
def planned(highlake_planned):
    """Highlake, four yards, two lorries and a tractor of its own, more for hire."""
    return highlake_planned


def with_trucks(result, **counts):
    """The same plan with other trucks at hand: (own, for hire) by type."""
    bases = result.plan.bases.copy()
    trucks = result.scenario.trucks.copy()
    for code, (owned, hire) in counts.items():
        trucks.loc[trucks["truck"] == code, ["owned", "hire_limit"]] = owned, hire
        before = bases.loc[bases["truck"] == code, "count"].cumsum()
        bases.loc[before.index, "count"] = np.diff(before.clip(upper=owned), prepend=0)
    scenario = result.scenario
    tables = {**scenario.tables, "trucks": trucks}
    plan = replace(result.plan, bases=bases[bases["count"] > 0])
    return replace(result, scenario=replace(scenario, tables=tables), plan=plan)


CASES = {
    "all but one lorry away": {"lorry": (1, 0), "tractor": (1, 0)},
    "no lorry": {"lorry": (0, 0), "tractor": (1, 1)},
}


FIRST, *MORE = CASES


@pytest.fixture(
    scope="module",
    params=[FIRST, *(pytest.param(c, marks=pytest.mark.thorough) for c in MORE)],
    ids=str,
)
def short(request, planned):
    """A plan whose trucks are away, and its rounds."""
    result = with_trucks(planned, **CASES[request.param])
    return result, drive(result, PERIOD, workers=1, iterations=40)


def parts(driven):
    """Loads driven and loads left over."""
    found = {"driven": [], "left": []}
    for day, answer in zip(driven.days, driven.answers, strict=True):
        for s, visit in enumerate(day.visits):
            found["left" if s in answer.left else "driven"].append(visit)
    return found


def test_no_rule_is_broken(short):
    _, driven = short
    assert driven.faults == ()


def test_tonnes_driven_and_undriven_are_those_planned(short):
    result, driven = short
    got = Counter()
    for some in parts(driven).values():
        for part in some:
            got[part.number] += part.tonnes
    for visit in visits(result, PERIOD):
        assert got[visit.number] == pytest.approx(visit.tonnes)
    assert list(driven.left.columns) == COLUMNS


def test_every_part_fits_its_truck(short):
    _, driven = short
    for day, answer in zip(driven.days, driven.answers, strict=True):
        for tour in answer.tours:
            truck = day.task.trucks[tour.truck]
            for trip in tour.trips:
                for tonnes, volume in loads(day.task, trip):
                    assert tonnes <= truck.payload_t + 1e-6
                    assert volume <= truck.body_m3 + 1e-6


def test_nothing_is_kept_beyond_its_days(short):
    result, driven = short
    keeps = result.scenario.materials.set_index("material")["keep_hours"]
    plan = {visit.number: visit for visit in visits(result, PERIOD)}
    moved = 0
    for part in parts(driven)["driven"]:
        visit = plan[part.number]
        moved += part.day != visit.day
        if np.isnan(keeps.get(part.material, np.nan)):
            continue
        waits = 24 * max(0, part.day - visit.day)
        assert waits <= max(0, keeps[part.material] - 24)
        if visit.spoils:
            assert part.ride_h + waits <= visit.ride_h + 1e-6
    assert moved


def test_what_is_left_has_a_reason_in_words(short):
    """No sentence of the check, and no number of hours or litres, reaches a foreman."""
    _, driven = short
    left = driven.left[driven.left["day"] > 0]
    assert len(left)
    for text in left["reason"]:
        assert text
        assert not any(word in text for word in FAULTY_WORDS), text


def test_no_truck_is_at_home_while_loads_wait_for_want_of_one(short):
    """Where all that may carry a load are said to be away, all of them are out."""
    result, driven = short
    out = Counter()
    for day, answer in zip(driven.days, driven.answers, strict=True):
        out.update((day.day, day.kinds[tour.truck][0]) for tour in answer.tours)
    trucks = records(result.scenario.trucks)
    away = driven.left[driven.left["reason"].str.contains("out elsewhere")]
    fish = driven.left[driven.left["material"] == "lake_fish_waste"]
    if CASES["no lorry"]["lorry"] == (trucks[0]["owned"], trucks[0]["hire_limit"]):
        assert set(fish["reason"]) == {
            "no truck that may carry it is available, owned or hired"
        }
    stand = homes(result)
    for row in records(away):
        for truck in trucks:
            code, count = truck["truck"], truck["owned"] + truck["hire_limit"]
            if not may_carry(truck, row["material"]) or out[row["day"], code] == count:
                continue
            (home,) = stand[code]  # one is at home: too far from there
            assert way_over(result, PERIOD, code, home, row["yard"], 1) is None


def test_a_day_is_looked_at_again_after_every_change_of_its_rounds(short):
    """A new answer may lie where an older one lay in memory; it is another."""
    result, driven = short
    placing = Placing(result, PERIOD, list(driven.days), list(driven.answers))
    n = next(n for n, answer in enumerate(placing.answers) if answer.tours)
    out, day = placing.answers[n].tours, placing.days[n]
    here = [k for k, other in enumerate(placing.days) if other.day == day.day]
    for times in range(1, 9):
        for at in here:
            placing.answers[at] = RoundsSolution((), ())
        nobody_out = placing.idle(day)
        for _ in range(times):
            placing.answers[n] = RoundsSolution(out, ())
        rows = [(placing.days[k], placing.answers[k]) for k in here]
        expected = idle_trucks(result, PERIOD, rows, day, placing.stand)
        assert placing.idle(day) == expected != nobody_out


def test_a_large_load_is_split_for_small_trucks(short):
    """The tractor takes 9 m3 of stover, the lorry 20: without lorries loads are cut."""
    result, driven = short
    plan = {visit.number: visit for visit in visits(result, PERIOD)}
    cut = Counter(part.number for part in parts(driven)["driven"])
    assert [n for n, count in cut.items() if count > 1 and plan[n].m3 > 9]


def line(loads, **truck):
    """Mills 3 km from a yard, a quarter of an hour to load and to unload."""
    n = 1 + len(loads)
    km = np.full((n, n), 3.0)
    np.fill_diagonal(km, 0.0)
    hours = np.full((n, n), 0.25)
    legs = Legs(km, km / 30, km, np.zeros((n, n)), hours)
    kept = {"shift_h": 8.0, "starts_h": 6.0, "most_trips": 12, "count": 1, **truck}
    stops = tuple(Stop(f"m{k}", take_t=t, required=False) for k, t in enumerate(loads))
    return Task(
        (Base("y"),), stops, (Truck("light", 0, 0, payload_t=4.0, **kept),), (legs,)
    )


def test_a_tour_that_breaks_a_rule_loses_no_more_than_it_must():
    """Thirteen full loads take 9.1 h of 8: all but two are kept, not one."""
    task = line([4.0] * 13)
    tour = Tour(0, tuple((s,) for s in range(13)))
    kept = driveable(task, RoundsSolution((tour,), ()))
    assert [len(t.stops) for t in kept.tours] == [11]
    assert kept.left == (11, 12)
    heavy = line([4.0, 4.1, 4.0])
    kept = driveable(heavy, RoundsSolution((Tour(0, ((0, 1, 2),)),), ()))
    assert kept.left in ((0, 1), (1, 2))


def test_a_day_with_far_too_much_is_used_to_the_full():
    """Seventy loads and one truck: it drives eleven of them, the most a shift holds."""
    answer = solve_task(line([4.0] * 70), SearchLimits(iterations=100))
    assert len(answer.left) == 70 - 11


def test_a_yard_without_trucks_leaves_everything_over():
    task = replace(line([4.0] * 3), trucks=(), legs=())
    assert solve_task(task, SearchLimits(iterations=10)).left == (0, 1, 2)


@pytest.mark.parametrize("rest", [1.0, 7 / 6, 7 / 5, 30 / 25, 31 / 26])
def test_what_spoils_waits_no_longer_than_it_may(rest):
    """Every day counts with all free days that may lie between."""
    for ride in (0.5, 23, 25, 47, 49, 80, 150):
        later = days_later(ride, rest)
        assert hours_later(later, rest) < ride
        assert later <= ride / 24


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("name", "period", "away"),
    [("tessandre", "m04", "camion"), ("korravel", "q2", "kipper")],
)
def test_strangers_drive_with_a_truck_away(planned_stranger, name, period, away):
    """One own truck of the largest type less: all is driven, or says why not."""
    result = planned_stranger(name)
    trucks = result.scenario.trucks.set_index("truck")
    counts = (trucks["owned"][away] - 1, trucks["hire_limit"][away])
    result = with_trucks(result, **{away: counts})
    driven = drive(result, period, workers=1, iterations=40)
    assert driven.faults == ()
    assert (driven.left["reason"].str.len() > 0).all()
    planned = result.lanes[result.lanes["period"] == period]["tonnes"].sum()
    assert driven.left["tonnes"].sum() < 0.01 * planned
