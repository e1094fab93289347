"""Years ahead against the whole programme in one piece, and against laws."""

import shutil
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy import sparse
from support.small_way import SMALL, district

from logistics.model import Effort, Matrix, Session, optimum, prepare, second_stage
from logistics.results import run
from logistics.scenario import (
    ScenarioError,
    change_setting,
    read_scenario,
    with_table,
)
from logistics.years import plan_years, years_ahead
from logistics.years.cutting import choose
from logistics.years.first_stage import Money, first_stage_of
from logistics.years.futures import (
    keys_in,
    kind_of,
    option_costs,
    running_cost,
    to_be_run,
)
from logistics.years.purchases import purchases, worth_left

NAN = float("nan")
PLAIN = {"carry_over": True, "recurrent": NAN, "wages": 1.0, "fuel": 1.0}
PLAIN |= {"compost_price": 1.0, "tipping_fee_per_t": NAN, "subsidy_per_t": NAN}


def ahead_of(capital, supply, *, first=2027, discount=None):
    """Return years with some capital each and a share of the supply."""
    scenario = district()
    if discount is not None:
        settings = change_setting(scenario.settings, "finance.discount_pct", discount)
        scenario = replace(scenario, settings=settings)
    rows = [
        {"year": str(first + n), "capital": money, "supply": share, "demand": share}
        | PLAIN
        | {"changes": ()}
        for n, (money, share) in enumerate(zip(capital, supply, strict=True))
    ]
    columns = scenario.table("years").columns
    table = pd.DataFrame(rows)[list(columns)]
    scenario = with_table(scenario, "years", table)
    return scenario, years_ahead(scenario, {})


class Ready:
    """The first stage of some years, and what running each of them takes."""

    def __init__(self, ahead):
        made = [prepare(one.scenario) for one in ahead]
        self.runs = [to_be_run(m.instance, m.scenario, np.inf) for m in made]
        keys = list(dict.fromkeys(key for inst in self.runs for key in keys_in(inst)))
        self.keys, offered = keys, [set(keys_in(inst)) for inst in self.runs]
        scenarios = [one.scenario for one in ahead]
        self.bought = purchases(scenarios, keys, offered)
        finance = scenarios[0].settings.finance
        idle = [
            [finance.idle * running_cost(option_costs(s)[key]) for key in keys]
            for s in scenarios
        ]
        self.money = Money(
            np.array([one.capital for one in ahead]),
            np.array([float(one.carry_over) for one in ahead]),
            np.array(idle),
            finance.discount,
        )
        self.stage = first_stage_of(keys, self.bought, offered, set(), None, self.money)
        self.weights = self.money.ends / self.stage.scale

    def chosen(self, gap=1e-6):
        """Choose by cuts, each year a kind of its own."""
        session = Session(Effort(seconds=60, threads=1))
        kinds = [
            kind_of(inst, self.keys, [y], session) for y, inst in enumerate(self.runs)
        ]
        start = np.zeros(len(self.stage.matrix.cost))
        found = optimum(replace(self.stage.matrix, cost=start), integer=True)
        return choose(
            self.stage, kinds, self.weights, {}, found.values, session, gap=gap
        )

    def in_one_piece(self):
        """Give first stage and every year to the solver as one programme."""
        stage = self.stage
        parts = [second_stage(inst, self.keys, [], {}) for inst in self.runs]
        rows = [[stage.matrix.rows, *[None] * len(parts)]]
        for y, part in enumerate(parts):
            pick = sparse.csr_matrix(
                (
                    np.ones(len(self.keys)),
                    (np.arange(len(self.keys)), stage.working[y]),
                ),
                shape=(len(self.keys), len(stage.matrix.cost)),
            )
            line = [part.technology @ pick, *[None] * len(parts)]
            line[y + 1] = part.recourse.rows
            rows.append(line)
        cost = stage.matrix.cost.copy()
        for y, part in enumerate(parts):
            cost[stage.working[y]] += self.weights[y] * part.annual
        of = [stage.matrix, *(part.recourse for part in parts)]
        costs = [cost]
        costs += [w * p.recourse.cost for w, p in zip(self.weights, parts, strict=True)]
        constant = sum(
            w * p.recourse.constant for w, p in zip(self.weights, parts, strict=True)
        )
        whole = Matrix(
            rows=sparse.bmat(rows).tocsc(),
            cost=np.concatenate(costs),
            low=np.concatenate([m.low for m in of]),
            high=np.concatenate([m.high for m in of]),
            below=np.concatenate([m.below for m in of]),
            above=np.concatenate([m.above for m in of]),
            constant=constant,
            integer=np.concatenate([m.integer for m in of]),
        )
        return optimum(whole, integer=True, gap=1e-7).value


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
