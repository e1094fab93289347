"""A month planned anew: what is in trouble is obeyed, all else is kept and counted."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from logistics.rounds.anew import plan_anew
from logistics.rounds.anew_differences import (
    in_short,
    place_differences,
    truck_differences,
)
from logistics.rounds.driving import drive
from logistics.rounds.fleet import homes
from logistics.rounds.tables import calls, tours
from logistics.rounds.trouble import Trouble, other_yard

PERIOD = "apr"
FIRST, LAST = 12, 13


@pytest.fixture(scope="module")
def driven(highlake_planned):
    """A month of Highlake as driven."""
    return drive(highlake_planned, PERIOD, workers=1, iterations=40)


@pytest.fixture(scope="module")
def lorry(highlake_planned):
    """Type and home of an own truck."""
    stand = homes(highlake_planned)
    return next((c, y) for c, at in stand.items() for y, n in at.items() if n)


def anew(result, driven, **trouble):
    """Plan two days anew, and hold what must always hold."""
    today = trouble.pop("today", None)
    wrong = Trouble(FIRST, LAST, **trouble)
    found = plan_anew(result, driven, wrong, today=today, workers=1)
    assert found.after.faults == ()
    before, after = calls(driven), calls(found.after)
    early = before[before["day"] < FIRST].reset_index(drop=True)
    assert early.equals(after[after["day"] < FIRST].reset_index(drop=True))
    kept = tonnes(before) - found.missing_t + driven.left["tonnes"].sum()
    assert tonnes(after) + found.after.left["tonnes"].sum() == pytest.approx(kept)
    return found


def tonnes(table):
    return table.loc[table["kind"].isin(["in", "out"]), "tonnes"].sum()


def on(table, **where):
    """Calls of the days of the trouble with some columns as told."""
    mask = table["day"].between(FIRST, LAST)
    for column, value in where.items():
        mask &= table[column] == value
    return table[mask]


def test_a_truck_that_is_down_stays_at_home(highlake_planned, driven, lorry):
    found = anew(highlake_planned, driven, down={lorry: 1})
    code, home = lorry
    name = f"{home} {code} owned 1"
    assert len(on(tours(driven), truck=name))
    assert len(on(tours(found.after), truck=name)) == 0
    later = tours(found.after)
    assert name in set(later.loc[later["day"] > LAST, "truck"])
    changed = truck_differences(found)
    row = changed[(changed["truck"] == name) & (changed["day"] == FIRST)].iloc[0]
    assert row["before_trips"] > 0 == row["after_trips"]


def test_more_trucks_cannot_be_down_than_stand_there(highlake_planned, driven, lorry):
    count = homes(highlake_planned)[lorry[0]][lorry[1]]
    anew(highlake_planned, driven, down={lorry: count})
    with pytest.raises(ValueError, match=f"{count + 1} .* down at .* {count} stand"):
        anew(highlake_planned, driven, down={lorry: count + 1})


@pytest.mark.parametrize(("first", "last"), [(0, 1), (2, 1), (1, 99)])
def test_days_that_are_not_there_are_refused(highlake_planned, driven, first, last):
    with pytest.raises(ValueError, match="are not in 1 to"):
        plan_anew(highlake_planned, driven, Trouble(first, last))


def test_without_any_truck_all_is_left_with_a_reason(highlake_planned, driven):
    stand = homes(highlake_planned)
    down = {(c, y): n for c, at in stand.items() for y, n in at.items()}
    found = anew(highlake_planned, driven, down=down, no_hire=frozenset(stand))
    assert len(on(tours(found.after))) == 0
    left = found.after.left
    assert len(left) > len(driven.left)
    assert (left["reason"].str.len() > 0).all()


@pytest.mark.slow
def test_a_mill_that_delivers_half_is_fetched_half(highlake_planned, driven):
    before = on(calls(driven), kind="in")
    mill = before.groupby("place")["tonnes"].sum().idxmax()
    found = anew(highlake_planned, driven, arrives={mill: 0.5})
    was = on(calls(driven), kind="in", place=mill)["tonnes"].sum()
    now = on(calls(found.after), kind="in", place=mill)["tonnes"].sum()
    assert now == pytest.approx(was / 2)
    assert found.missing_t == pytest.approx(was / 2)
    none = anew(highlake_planned, driven, arrives={mill: 0.0})
    assert len(on(calls(none.after), kind="in", place=mill)) == 0
    whole = anew(highlake_planned, driven, arrives={mill: 1.0})
    assert whole.missing_t == 0.0


def test_a_full_yard_takes_nothing_in(highlake_planned, driven):
    """What spoils goes to a yard that has such feedstock; what keeps waits."""
    inward = on(calls(driven), kind="in")
    fish = inward[inward["material"] == "lake_fish_waste"]
    yard = fish["yard"].iloc[0]
    found = anew(highlake_planned, driven, full=frozenset([yard]))
    assert len(on(calls(found.after), kind="in", yard=yard)) == 0
    assert any(one.visit.spoils for one in found.turned)
    lanes = highlake_planned.lanes
    for one in found.turned:
        same = (lanes["material"] == one.visit.material) & (lanes["period"] == PERIOD)
        assert one.yard in set(lanes.loc[same, "destination"]) - {yard}
    keeps = inward[
        (inward["yard"] == yard) & (inward["material"] != fish.iloc[0].material)
    ]
    turned = {(one.visit.place, one.visit.material) for one in found.turned}
    waits = {(r.place, r.material) for r in keeps.itertuples()} - turned
    later = calls(found.after)
    later = later[later["day"] > LAST]
    assert waits
    assert waits <= {(r.place, r.material) for r in later.itertuples()}


def test_the_nearest_yard_that_has_such_feedstock_is_asked(highlake_planned, driven):
    visit = next(
        v
        for day in driven.days
        for v in day.visits
        if v.kind == "in" and v.material == "lake_fish_waste"
    )
    lanes = highlake_planned.lanes
    same = (lanes["material"] == visit.material) & (lanes["period"] == PERIOD)
    yards = set(lanes.loc[same, "destination"])
    state = highlake_planned.travel.pick(visit.truck, PERIOD)
    index = highlake_planned.travel.index
    (place,) = index("source", [visit.place])
    hours = {y: state.hours[place, index("yard", [y])[0]] for y in yards}
    near, *_ = order = sorted(hours, key=hours.get)
    ask = lambda full: other_yard(highlake_planned, PERIOD, visit, frozenset(full))  # noqa: E731
    assert ask([]) == near
    assert ask([near]) == order[1]
    assert ask(yards) == ""
    late = replace(visit, ride_h=float(hours[near]) - 1e-6)
    assert other_yard(highlake_planned, PERIOD, late, frozenset()) == ""


@pytest.mark.slow
def test_nobody_reaches_a_place_whose_road_is_shut(highlake_planned, driven):
    """With no way to a mill its loads stay, and the foreman reads why."""
    mill = on(calls(driven), kind="in")["place"].iloc[0]
    travel = highlake_planned.travel
    (row,) = travel.index("source", [mill])
    states = []
    for state in travel.states:
        hours, km = np.array(state.hours), np.array(state.km)
        for matrix in (hours, km):
            matrix[row, :] = matrix[:, row] = np.inf
        states.append(replace(state, hours=hours, km=km))
    shut = replace(travel, states=tuple(states))
    today = replace(highlake_planned, travel=shut)
    found = anew(highlake_planned, driven, today=today)
    assert len(on(calls(found.after), kind="in", place=mill)) == 0
    left = found.after.left
    reasons = set(left.loc[(left["place"] == mill) & (left["kind"] == "in"), "reason"])
    later = calls(found.after)
    moved = later[
        (later["day"] > LAST) & (later["place"] == mill) & (later["kind"] == "in")
    ]["tonnes"].sum()
    planned = calls(driven)
    was = planned[
        (planned["day"] > LAST) & (planned["place"] == mill) & (planned["kind"] == "in")
    ]["tonnes"].sum()
    assert reasons == {"no road is open to a truck that may carry it"} or moved > was


def test_differences_add_up(highlake_planned, driven, lorry):
    mill = on(calls(driven), kind="in")["place"].iloc[0]
    found = anew(highlake_planned, driven, down={lorry: 1}, arrives={mill: 0.5})
    places, short = place_differences(found), in_short(found)
    more = (places["after_t"] - places["before_t"]).sum()
    assert more == pytest.approx(short["driven_t"])
    assert short["driven_t"] + short["left_t"] == pytest.approx(-short["missing_t"])
    trucks = truck_differences(found)
    paid = (trucks["after_money"] - trucks["before_money"]).sum()
    assert paid == pytest.approx(short["more_money"])
    days = Counter(places["day"].tolist()) | Counter(trucks["day"].tolist())
    assert sorted(days) == short["days"]


def test_nothing_wrong_changes_no_tonne(highlake_planned, driven):
    found = anew(highlake_planned, driven)
    assert in_short(found)["driven_t"] == pytest.approx(0.0, abs=1e-9)
    assert found.turned == ()
