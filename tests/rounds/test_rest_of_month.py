"""The rest of a month from stock at hand: no tonne is lost, what was counted counts."""

import random
from collections import defaultdict

import pytest

from logistics.rounds.at_hand import (
    KEY,
    AtHand,
    Counted,
    Hauled,
    account,
    reckoned,
    share_from,
)
from logistics.rounds.driving import drive
from logistics.rounds.matter import LIMIT_T, matter_faults
from logistics.rounds.rest_of_month import SMALL, next_due, plan_rest
from logistics.rounds.tables import calls
from logistics.rounds.visit_list import planned_flows

pytestmark = pytest.mark.slow

PERIOD, FIRST, LAST = "apr", 12, 25


@pytest.fixture(scope="module")
def driven(highlake_planned):
    """A month of Highlake as driven."""
    return drive(highlake_planned, PERIOD, workers=1, iterations=40)


@pytest.fixture(scope="module")
def log(driven):
    """Lines of a log of the days before, all as driven."""
    table = calls(driven)
    table = table[table["kind"].isin(["in", "out"]) & (table["day"] < FIRST)]
    return tuple(
        Hauled(int(r.day), r.kind, r.place, r.material, r.yard, float(r.tonnes))
        for r in table.itertuples()
    )


def sums(table, column="rest_t"):
    """A column by kind, place, material and yard."""
    return table.set_index(KEY)[column].to_dict()


def kept_inward(result):
    """A source that keeps, with its yard: kind, place, material, yard."""
    flow = next(
        f for f in planned_flows(result, PERIOD) if f.kind == "in" and not f.spoils
    )
    return flow.kind, flow.place, flow.material, flow.yard


def checked(result, at_hand):
    """Account, held against itself: what is left is taken as driven."""
    table = account(result, PERIOD, at_hand)
    assert matter_faults(table, sums(table), {}) == []
    assert (table.drop(columns=KEY) >= 0).all(axis=None)
    return table


def test_the_rest_is_hauled_and_days_gone_stay_as_they_were(
    highlake_planned, driven, log
):
    most = max(log, key=lambda one: one.tonnes)
    short = tuple(one for one in log if one != most)
    found = plan_rest(highlake_planned, driven, AtHand(FIRST, short), workers=1)
    after, before = calls(found.anew.after), calls(driven)
    assert found.anew.after.faults == ()
    early = before[before["day"] < FIRST].reset_index(drop=True)
    assert early.equals(after[after["day"] < FIRST].reset_index(drop=True))
    new = after[(after["day"] >= FIRST) & after["kind"].isin(["in", "out"])]
    left = found.anew.after.left
    still = new["tonnes"].sum() + left.loc[left["day"] >= FIRST, "tonnes"].sum()
    small = left.loc[left["reason"] == SMALL, "tonnes"].sum()
    assert still + small == pytest.approx(found.account["rest_t"].sum(), abs=LIMIT_T)
    hauled = sum(one.tonnes for one in short)
    table = found.account
    gone = table[["elsewhere_t", "spoilt_t", "not_there_t", "not_needed_t"]]
    plan = sum(f.tonnes for f in planned_flows(highlake_planned, PERIOD))
    assert hauled + still + small + gone.to_numpy().sum() == pytest.approx(
        plan + table["over_t"].sum()
    )
    last = defaultdict(int)
    for row in early[early["material"] == "lake_fish_waste"].itertuples():
        last[row.place] = max(last[row.place], row.day)
    every = {f.place: f.every for f in planned_flows(highlake_planned, PERIOD)}
    fish = new[new["material"] == "lake_fish_waste"]
    assert len(fish)
    for place, day in fish.groupby("place")["day"].min().items():
        assert day <= max(FIRST, last[place] + every[place])


@pytest.mark.parametrize("day", [0, 26])
def test_days_that_are_not_there_are_refused(highlake_planned, driven, day):
    with pytest.raises(ValueError, match="is not one of the working days 1 to 25"):
        plan_rest(highlake_planned, driven, AtHand(day))


def test_what_was_hauled_is_not_hauled_again(highlake_planned):
    key = kept_inward(highlake_planned)
    kind, place, material, yard = key
    plan = sums(checked(highlake_planned, AtHand(FIRST)), "plan_t")
    here = [k for k in plan if k[:3] == key[:3]]
    whole = sum(plan[k] for k in here)
    part = Hauled(2, kind, place, material, yard, plan[key] / 4)
    table = checked(highlake_planned, AtHand(FIRST, (part,)))
    assert sums(table)[key] == pytest.approx(plan[key] * 3 / 4)
    late = Hauled(FIRST, kind, place, material, yard, plan[key] / 4)
    assert sums(checked(highlake_planned, AtHand(FIRST, (late,))))[key] == plan[key]
    other = Hauled(2, kind, place, material, "elsewhere", whole + 1)
    table = checked(highlake_planned, AtHand(FIRST, (other,)))
    assert all(sums(table)[k] == pytest.approx(0.0, abs=1e-9) for k in here)
    assert table["over_t"].sum() - table["elsewhere_t"].sum() == pytest.approx(1.0)


def test_no_more_is_fetched_than_was_counted(highlake_planned):
    key = kept_inward(highlake_planned)
    place, material = key[1:3]
    none = sums(account(highlake_planned, PERIOD, AtHand(FIRST)))
    whole = sum(t for k, t in none.items() if k[1:3] == (place, material))
    supply = highlake_planned.instance.supply
    t = list(highlake_planned.scenario.periods["period"]).index(PERIOD)
    month = supply.tonnes[supply.codes.index(place), t]
    later = month * share_from(highlake_planned, PERIOD, FIRST)
    enough = whole - later

    def rest(tonnes, **more):
        count = Counted(FIRST, place, material, tonnes)
        table = checked(highlake_planned, AtHand(FIRST, (), (count,), **more))
        found = sums(table)
        return sum(t for k, t in found.items() if k[1:3] == (place, material))

    assert rest(0.0) == pytest.approx(min(whole, later))
    assert rest(max(0.0, enough) + 1) == pytest.approx(whole)
    there = max(0.0, enough) + 1 + later
    assert rest(max(0.0, enough) + 1, fetch_all=True) == pytest.approx(there)


def test_a_count_of_an_earlier_day_is_carried_on(highlake_planned):
    kind, place, material, yard = kept_inward(highlake_planned)
    early = Counted(3, place, material, 1.0)
    late = Counted(FIRST + 1, place, material, 0.0)
    gone = Hauled(5, kind, place, material, yard, 0.4)
    at_hand = AtHand(FIRST, (gone,), (late, early), fetch_all=True)
    table = checked(highlake_planned, at_hand)
    supply = highlake_planned.instance.supply
    t = list(highlake_planned.scenario.periods["period"]).index(PERIOD)
    month = supply.tonnes[supply.codes.index(place), t]
    there = 1.0 - 0.4 + month * share_from(highlake_planned, PERIOD, 3)
    here = table[(table["place"] == place) & (table["material"] == material)]
    assert here["rest_t"].sum() == pytest.approx(there)


def test_a_store_above_the_plan_needs_less_and_one_below_gets_more(highlake_planned):
    _, _, material, yard = kept_inward(highlake_planned)
    plan = account(highlake_planned, PERIOD, AtHand(FIRST))
    inward = plan[(plan["kind"] == "in") & (plan["material"] == material)]
    log = tuple(
        Hauled(2, "in", row.place, material, yard, row.plan_t * 0.8)
        for row in inward[inward["yard"] == yard].itertuples()
    )

    def corrected(tonnes, more=()):
        count = Counted(FIRST, yard, material, tonnes)
        return checked(highlake_planned, AtHand(FIRST, (*log, *more), (count,)))

    def expected(*more):
        none = Counted(FIRST, yard, material, 0.0)
        at_hand = AtHand(FIRST, (*log, *more))
        return reckoned(highlake_planned, PERIOD, yard, none, at_hand)

    level = expected()
    assert level > 0.5
    assert corrected(level + 0.5)["not_needed_t"].sum() == pytest.approx(0.5)
    even = corrected(level)[["not_needed_t", "more_t"]]
    assert even.to_numpy().sum() == pytest.approx(0.0)
    came = Hauled(2, "in", "nobody", material, yard, 3.0)
    assert expected(came) == pytest.approx(level + 3.0)
    supply = highlake_planned.instance.supply
    t = list(highlake_planned.scenario.periods["period"]).index(PERIOD)
    made = dict(zip(supply.codes, supply.tonnes[:, t], strict=True))
    by_place = inward.groupby("place")["plan_t"].sum()
    places = set(inward.loc[inward["yard"] == yard, "place"])
    spare = sum(max(0.0, made[p] - by_place[p]) for p in places)
    table = corrected(level, (came,))  # three tonnes came and are not there
    assert table["more_t"].sum() == pytest.approx(min(3.0, spare))


def test_no_more_compost_goes_out_than_is_there(highlake_planned):
    plan = account(highlake_planned, PERIOD, AtHand(FIRST))
    out = plan[plan["kind"] == "out"]
    yard = out["yard"].iloc[0]
    compost = highlake_planned.plan.compost
    here = (compost["yard"] == yard) & (compost["period"] == PERIOD)
    later = compost.loc[here, "made_t"].sum() * share_from(
        highlake_planned, PERIOD, FIRST
    )
    still = out.loc[out["yard"] == yard, "rest_t"].sum()
    for counted in (0.0, still):
        count = Counted(FIRST, yard, "compost", counted)
        table = checked(highlake_planned, AtHand(FIRST, (), (count,)))
        rows = table[(table["kind"] == "out") & (table["yard"] == yard)]
        assert rows["rest_t"].sum() == pytest.approx(min(still, counted + later))


def test_what_spoils_and_was_not_fetched_is_gone_unless_it_was_counted(
    highlake_planned,
):
    flow = next(f for f in planned_flows(highlake_planned, PERIOD) if f.spoils)
    table = checked(highlake_planned, AtHand(FIRST))
    fish = table[table["place"] == flow.place]
    share = (LAST - FIRST + 1 + flow.every - 1) / LAST
    expected = min(fish["plan_t"].sum(), flow.made_t * share)
    assert fish["rest_t"].sum() == pytest.approx(expected)
    assert fish["spoilt_t"].sum() == pytest.approx(fish["plan_t"].sum() - expected)
    count = Counted(FIRST, flow.place, flow.material, 1e3)
    table = checked(highlake_planned, AtHand(FIRST, (), (count,)))
    assert table["spoilt_t"][table["place"] == flow.place].sum() == 0.0


@pytest.mark.parametrize(("out", "faults"), [(0.99, 0), (1.01, 1)])
@pytest.mark.parametrize("sign", [-1, 1])
def test_a_tonne_lost_or_made_is_found(highlake_planned, out, faults, sign):
    table = account(highlake_planned, PERIOD, AtHand(FIRST))
    driven = sums(table)
    key = kept_inward(highlake_planned)
    driven[key] += sign * out * LIMIT_T
    assert len(matter_faults(table, driven, {})) == faults


def test_no_tonne_is_lost_whatever_was_logged_and_counted(highlake_planned):
    """Random logs and counts, some of them absurd."""
    chance = random.Random(18)
    flows = planned_flows(highlake_planned, PERIOD)
    for _ in range(4):
        log = tuple(
            Hauled(
                chance.randint(1, LAST),
                f.kind,
                f.place,
                f.material,
                chance.choice([f.yard, f.yard, "elsewhere"]),
                f.tonnes * chance.choice([0.1, 0.5, 2.0]),
            )
            for f in chance.choices(flows, k=12)
        )
        counts = tuple(
            Counted(
                chance.randint(1, LAST),
                chance.choice([f.place, f.yard]),
                f.material,
                chance.choice([0.0, 1.0, 30.0, 1e4]),
            )
            for f in chance.choices(flows, k=12)
        )
        first, every = chance.randint(1, LAST), chance.random() < 0.5
        checked(highlake_planned, AtHand(first, log, counts, fetch_all=every))


def test_what_no_row_asks_for_is_found(highlake_planned):
    table = account(highlake_planned, PERIOD, AtHand(FIRST))
    other = ("in", "nowhere", "husk", "y")
    assert matter_faults(table, sums(table), {other: 1.0}) == [
        "in nowhere husk y: hauled, but not planned"
    ]


def test_a_source_is_due_again_when_its_interval_has_gone(highlake_planned, driven):
    flows = planned_flows(highlake_planned, PERIOD)
    due = next_due(flows, driven, FIRST, LAST)
    assert due
    assert all(1 <= day <= LAST - FIRST + 1 for day in due.values())
    table = calls(driven)
    for flow in (f for f in flows if f.place in due):
        here = table[(table["place"] == flow.place) & (table["day"] < FIRST)]
        assert due[flow.place] == max(1, here["day"].max() + flow.every - FIRST + 1)
