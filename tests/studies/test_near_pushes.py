"""What a board may want: measured by hand, and the right plan is named."""

from dataclasses import replace
from types import SimpleNamespace

import pandas as pd
import pytest
from support.fake_result import result

from logistics.accounts.exposure import exposure_table
from logistics.model.problem.plan import Plan
from logistics.studies.near_best import gathered, most_different
from logistics.studies.near_marks import how_often, with_plan
from logistics.studies.near_pushes import (
    PUSHES,
    people_near,
    pushed,
    unevenness,
    work_hours,
)
from maps.studies.nearby_charts import unbeaten
from maps.studies.nearby_words import WANTED


def district(sources, yards, arises, taken):
    """Make as much of a result as unevenness looks at."""
    codes = tuple(f"s{n}" for n in range(len(sources)))
    supply = SimpleNamespace(codes=codes, tonnes=pd.DataFrame(arises).to_numpy())
    return SimpleNamespace(
        scenario=SimpleNamespace(
            sources=pd.DataFrame({"source": codes, "district": sources}),
            yards=pd.DataFrame({"yard": list("abc")[: len(yards)], "district": yards}),
        ),
        instance=SimpleNamespace(supply=supply),
        plan=SimpleNamespace(hauls=pd.DataFrame(taken, columns=["yard", "tonnes"])),
    )


def test_unevenness_is_the_share_that_would_have_to_move():
    # north has 60 of 80 t, south 20: shares 3/4, 1/4; taken in 30 and 30
    arises = [[10.0, 20.0], [30.0, 0.0], [5.0, 15.0]]
    where, taken = ["north", "north", "south"], [("a", 30.0), ("b", 20.0), ("b", 10.0)]
    found = unevenness(district(where, ["north", "south"], arises, taken))
    assert found == pytest.approx(0.25)
    even = [("a", 45.0), ("b", 15.0)]
    assert unevenness(district(where, ["north", "south"], arises, even)) == 0
    alone = [("b", 60.0)]  # a yard in a third district: all of it would have to move
    assert unevenness(
        district(where, ["north", "east"], arises, alone)
    ) == pytest.approx(1.0)
    one = ["north"] * 3
    assert unevenness(district(one, ["north", "north"], arises, even)) is None


def test_work_is_the_hours_by_hand_and_on_the_road(brackwater_planned):
    result = brackwater_planned
    factors = result.scenario.factors.set_index("factor")["value"]
    by_hand = result.plan.charges["tonnes"].sum() * float(factors["yard_hand_h_per_t"])
    assert work_hours(result) == pytest.approx(by_hand + result.driven["hours"].sum())


def test_people_near_yards_are_those_of_the_account():
    """Those of the year within the greatest distance; unknown without a place."""
    planned = result()
    table = exposure_table(planned).set_index("period")
    assert people_near(planned) == table.loc["year", "far"] > 0
    nobody = result()
    for name in ("people", "land"):
        table = nobody.scenario.tables[name].iloc[:0]
        nobody.scenario.tables[name] = table
        setattr(nobody.scenario, name, table)
    assert people_near(nobody) is None


def test_the_plan_named_has_most_of_it_and_is_the_cheapest_of_those(monkeypatch):
    monkeypatch.setattr(
        "logistics.studies.near_pushes.PUSHES",
        tuple(
            replace(push, measure=lambda result, code=push.code: result[code])
            for push in PUSHES
        ),
    )
    wanted = ("yards", "capital", "haulage", "work", "uneven", "people")
    results = [
        dict(zip(wanted, (7, 90, 9.0, 5.0, None, 3), strict=True)),
        dict(zip(wanted, (6, 90, 8.0, 6.0, 0.1, 3), strict=True)),
        dict(zip(wanted, (6, 90, 8.5, 7.0, 0.2, 2), strict=True)),
    ]
    found = {one.push.code: one.best for one in pushed(results)}  # not what is alike
    assert found == {"yards": 1, "haulage": 1, "work": 2, "people": 2}


def test_everything_that_may_be_wanted_has_its_words():
    assert {push.code for push in PUSHES} == set(WANTED)


def test_the_line_joins_plans_that_none_cheaper_beats():
    above, values = [0.0, 0.01, 0.02, 0.03], [5.0, 6.0, 4.0, 4.0]
    assert unbeaten(above, values, more=False) == [0, 2]
    assert unbeaten(above, values, more=True) == [0, 1]


def plans(*sites_and_costs):
    """Make plans of which only sites and cost are told, and a problem of the sites."""
    made = []
    for sites, cost in sites_and_costs:
        plan = object.__new__(Plan)
        yards = pd.DataFrame({"yard": list(sites), "size": ["small"] * len(sites)})
        plan.__dict__.update(objective=cost, yards=yards)
        made.append(plan)
    return SimpleNamespace(yards=SimpleNamespace(codes=tuple("abcdef"))), made


def test_plans_that_differ_most_are_chosen_first():
    instance, made = plans(
        ("abc", 100.0), ("abd", 101.0), ("def", 104.0), ("ae", 102.0), ("cdf", 120.0)
    )
    chosen = most_different(instance, made, 0.05, 1, 3)
    assert [plan.objective for plan in chosen] == [100.0, 104.0, 102.0]
    chosen = most_different(instance, made, 0.05, 3, 9)
    assert [plan.objective for plan in chosen] == [100.0, 104.0, 102.0]
    assert most_different(instance, made, 0.005, 1, 9) == made[:1]


def test_a_proof_lasts_as_long_as_all_plans_it_was_made_for_are_shown():
    instance, made = plans(
        ("abc", 100.0), ("abd", 104.0), ("abe", 103.0), ("abf", 98.0)
    )
    found = gathered(
        instance, made[:2], share=0.05, least=3, most=9, tried=2, complete=True
    )
    assert [one.above for one in found.plans] == pytest.approx([0.0, 0.04])
    assert found.shown == (0,)
    more = with_plan(found, made[2])
    assert more.shown == (0,)
    assert more.complete
    better = with_plan(more, made[3])  # 104 is beyond 1.05 * 98
    assert [one.plan.objective for one in better.plans] == [98.0, 100.0]
    assert not better.complete


def test_sites_are_marked_by_how_many_plans_have_them():
    marks = [how_often(n, 5) for n in range(6)]
    assert marks == ["never", "in some", "in some", "in most", "in most", "always"]
