"""Years planned for tonnes in place of money, and the earliest year of a demand."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from support.years_whole import Ready, ahead_of

from logistics.results import run
from logistics.scenario import with_settings, with_table
from logistics.years import early_compost, plan_years
from logistics.years.earliest import earliest_year
from logistics.years.years_ready import made_ready

pytestmark = pytest.mark.slow


def for_goal(goal, capital, supply, recurrent=()):
    """Return years planned for a goal, with limits on running costs where given."""
    scenario, ahead = ahead_of(capital, supply)
    asked = {"goal.minimise": goal}
    scenario = with_settings(scenario, asked)
    limits = [*recurrent, *[float("inf")] * len(ahead)]
    return scenario, [
        replace(one, scenario=with_settings(one.scenario, asked), recurrent=limit)
        for one, limit in zip(ahead, limits, strict=False)
    ]


@pytest.mark.parametrize("goal", ["uncollected", "co2e"])
@pytest.mark.parametrize(
    ("capital", "supply"),
    [((60_000, 60_000), (0.6, 1.1)), ((0, 120_000, 120_000), (0.5, 1.0, 1.3))],
)
def test_cuts_find_the_least_tonnes_of_the_whole_programme(goal, capital, supply):
    ready = Ready(ahead_of(capital, supply)[1], goal)
    found, whole = ready.chosen(), ready.in_one_piece()
    assert found.value == pytest.approx(whole, rel=1e-5, abs=1e-3)
    assert found.bound <= whole * (1 + 1e-6) + 1e-6


def left(way):
    return sum(result.plan.objective for result in way.results)


def test_more_money_never_leaves_more_and_least_cost_never_leaves_less():
    ways = {
        (goal, capital): plan_years(*for_goal(goal, (capital, capital), (0.6, 1.1)))
        for goal, capital in [
            ("uncollected", 20_000), ("uncollected", 90_000), ("cost", 90_000)
        ]
    }  # fmt: skip
    few, much, cost = ways.values()
    assert few.goal == "uncollected"
    assert few.value == pytest.approx(left(few))
    assert much.value <= few.value * (1 + much.gap)
    of_cost = sum(
        float(result.plan.uncollected["tonnes"].sum()) for result in cost.results
    )
    assert of_cost >= much.bound - 1e-6
    assert cost.present_cost <= much.present_cost * (1 + cost.gap)


def test_of_ways_that_leave_as_little_the_cheapest_is_taken():
    """With nothing to collect no yard is bought, whatever money there is."""
    scenario, ahead = for_goal("uncollected", (5e6, 5e6), (1.0, 1.0))
    none = []
    for one in ahead:
        sources = one.scenario.sources.assign(amount=1e-6)
        none.append(replace(one, scenario=with_table(one.scenario, "sources", sources)))
    way = plan_years(scenario, none)
    assert not {"opens", "enlarged"} & set(way.steps["step"])


@pytest.mark.parametrize("share", [0.05, 0.3, 0.4, 0.5, 0.95])
def test_no_year_is_earlier_by_the_whole_programme(share):
    """What the halving finds is what trying every year in one piece finds."""
    _, ahead = for_goal("cost", (30_000, 30_000, 40_000), (0.6, 1.6, 1.8))
    rule = pd.DataFrame(
        [{"rule": "least_share", "material": "", "district": "", "share": share}]
    )
    ahead = [
        replace(one, scenario=with_table(one.scenario, "policy", rule)) for one in ahead
    ]
    last = run(ahead[-1].scenario).plan
    found = earliest_year(made_ready(ahead), last, 60)
    assert found.proven
    can = [
        Ready(ahead, asked_from=first, held=last.contents).in_one_piece() is not None
        for first in range(len(ahead))
    ]
    assert can == sorted(can)  # what holds from a year on holds from the next one on
    assert found.place == (can.index(True) if any(can) else None)


def test_compost_that_is_not_ripe_yet_is_told_of_a_new_yard(way_planned):
    """Day by day: what is piled on a day is ripe after the days of the process."""
    process = way_planned.scenario.settings.process
    wait = process.active_days + process.curing_days
    told = dict(zip(way_planned.years, early_compost(way_planned), strict=True))
    new = way_planned.steps[way_planned.steps["step"] == "opens"]
    assert len(new)
    for year, result in zip(way_planned.years, way_planned.results, strict=True):
        inst, late = result.instance, 0.0
        yards = set(new[new["year"] == year]["yard"])
        per_t = dict(zip(inst.feed.codes, inst.feed.product_per_t, strict=True))
        days = dict(zip(inst.periods, result.scenario.periods["days"], strict=True))
        end = np.cumsum(list(days.values()))
        begin = dict(zip(days, end - list(days.values()), strict=True))
        for row in result.plan.charges.itertuples():
            if row.yard in yards:
                dates = begin[row.period] + np.arange(days[row.period]) + wait
                share = float((dates >= end[-1]).mean())
                late += row.tonnes * per_t[row.feedstock] * share
        assert told[year] == pytest.approx(late, rel=0.05, abs=1e-6), year


def test_all_that_is_left_of_a_year_is_carried_into_the_next(way_planned):
    money = way_planned.money
    first, second, _ = money.to_dict("records")
    assert first["carried"] == pytest.approx(first["capital_limit"] - first["capital"])
    there = second["capital_limit"] + first["carried"]
    assert second["carried"] == pytest.approx(there - second["capital"])
    assert money["carried"].iloc[-1] == 0
