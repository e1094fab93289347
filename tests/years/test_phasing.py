"""Years ahead against the whole programme in one piece, and against laws."""

import shutil
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from support.small_way import SMALL
from support.years_whole import Ready, ahead_of

from logistics.results import run
from logistics.scenario import (
    ScenarioError,
    read_scenario,
    with_table,
)
from logistics.years import plan_years, years_ahead
from logistics.years.purchases import worth_left

CASES = [
    ((60_000, 60_000), (0.6, 1.1)),
    ((150_000, 0), (1.0, 1.0)),
    pytest.param((0, 120_000, 120_000), (0.5, 1.0, 1.3), marks=pytest.mark.slow),
    pytest.param((1e6, 1e6, 1e6), (1.0, 0.3, 1.5), marks=pytest.mark.slow),
]


@pytest.mark.parametrize(("capital", "supply"), CASES)
def test_cuts_find_what_the_whole_programme_finds(capital, supply):
    """Value and bound of the choice are the optimum of one programme for all years."""
    ready = Ready(ahead_of(capital, supply)[1])
    found, whole = ready.chosen(), ready.in_one_piece()
    assert found.value == pytest.approx(whole, rel=1e-5)
    assert found.bound == pytest.approx(whole, rel=1e-5)
    spent = found.x[: len(ready.bought.year)] @ ready.bought.capital
    assert (np.cumsum(spent) <= np.cumsum(capital) + 1e-6).all()


@pytest.mark.slow
def test_more_money_never_costs_more():
    """Nor does the same money earlier; without any, nothing is bought."""
    values = [
        Ready(ahead_of(capital, (0.8, 1.2))[1]).chosen().value
        for capital in ((0, 0), (0, 100_000), (100_000, 0), (200_000, 0))
    ]
    assert values == sorted(values, reverse=True)
    assert values[0] > values[-1]


@pytest.mark.slow
def test_where_it_does_not_bind_money_may_come_in_any_year():
    """Ample money spread differently changes nothing."""
    early, late = (
        Ready(ahead_of(capital, (1.0, 1.0))[1]).chosen().value
        for capital in ((3e6, 0), (1.5e6, 1.5e6))
    )
    assert early == pytest.approx(late, rel=1e-6)


@pytest.mark.slow
def test_one_year_is_the_plan_of_the_year():
    """Salvage is the annuities left, so a year costs what its plan says, discounted."""
    scenario, ahead = ahead_of((1e9,), (1.0,))
    yards = scenario.yards.assign(existing_size="")
    scenario = with_table(scenario, "yards", yards)
    (one,) = ahead
    bare = replace(one, scenario=with_table(one.scenario, "yards", yards))
    way = plan_years(scenario, [bare], seconds=20)
    plan = run(scenario).plan
    rate = scenario.settings.finance.discount
    assert way.value * (1 + rate) == pytest.approx(plan.objective, rel=1e-6)
    assert set(way.results[0].plan.yard_sizes) == set(plan.yard_sizes)


@pytest.mark.slow
def test_later_years_are_the_same_years_later():
    """Nothing rests on the number of a year; at no interest values are sums."""
    ways = [
        plan_years(*ahead_of((80_000, 80_000), (1.0, 1.2), first=y, discount=0.0))
        for y in (2027, 2040)
    ]
    assert ways[1].value == ways[0].value
    steps = ways[1].steps.assign(year=ways[1].steps["year"] - 13)
    pd.testing.assert_frame_equal(steps, ways[0].steps)
    money = ways[0].money
    assert money["value"].sum() == pytest.approx(money["net"].sum())


def test_what_is_left_of_a_price_is_the_annuities_to_come():
    """An annuity a year pays the price off: a handbook's loan, after some payments."""
    rate, life = 0.08, 10
    annuity = rate / (1 - (1 + rate) ** -life)
    owed = 1.0
    for year in range(life + 1):
        assert worth_left(rate, life, life - year) == pytest.approx(owed, abs=1e-12)
        owed = owed * (1 + rate) - annuity


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2028", None),
        ("27", "row 3.*is not a year"),
        ("2029", "row 3.*does not follow 2027"),
        ("2026", "row 3.*does not follow 2027"),
    ],
)
def test_years_that_cannot_be_gone_through_are_faults(tmp_path, text, said):
    """Whoever reads the scenario is told, `check` too."""
    folder = shutil.copytree(SMALL, tmp_path / "district")
    (folder / "years.csv").write_text(f"year\n2027\n{text}\n")
    if said is None:
        assert len(years_ahead(read_scenario(folder), {})) == 2
        return
    with pytest.raises(ScenarioError, match=said):
        read_scenario(folder)


def test_a_change_that_is_unknown_is_told():
    scenario, _ = ahead_of((1.0,), (1.0,))
    table = scenario.table("years").copy()
    table["changes"] = [("mill_opens",)]
    with pytest.raises(ScenarioError, match=r"years.csv, row 2.*'mill_opens'"):
        years_ahead(with_table(scenario, "years", table), {})
