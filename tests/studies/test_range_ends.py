"""Ranges in the money: ends against plans made anew, draws against sums by hand."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from support.places import SMALL
from support.traced import Numbers, wrong

from logistics.changes.files import ChangeSet, Step, apply_changes
from logistics.model.assembly.assembler import prepare
from logistics.model.problem.warm_start import BASIC, Basis, WarmStart
from logistics.model.solving.tangent import _lanes_in, tangent_of
from logistics.results.pipeline import run
from logistics.scenario.defaults import library
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting
from logistics.studies.ends_by_range import ANEW, COLUMNS, LINE, with_ranges
from logistics.studies.money_draws import money_range
from logistics.studies.uncertain_numbers import DEFAULT, default_spreads
from maps.report.report import report_html
from maps.shared.money_between import NOT_RECKONED, range_words
from maps.shared.money_units import MoneyUnit
from maps.tables.all_tables import tables
from maps.tables.lineage_figures import register
from maps.tables.ranges import range_ends as ends_sheet

YARDS = [("reef", "small"), ("shoal", "small")]


@pytest.fixture(scope="module")
def small():
    """Plan the small district, without a rule on small loads, and reckon its ranges."""
    base = read_scenario(SMALL)
    settings = base.settings
    for name in ("haul.least_load_t", "haul.least_t_per_30_days"):
        settings = change_setting(settings, name, 0.0)
    some = library("ranges").frame
    some = some[some["range"].isin(["fuel", "price", "works"])].reset_index(drop=True)
    materials = base.materials.assign(status="measured")
    used = base.defaults_used
    used = used[used["column"] == "process.active_days"]
    tables = {**base.tables, "ranges": some, "materials": materials}
    scenario = replace(base, settings=settings, tables=tables, defaults_used=used)
    return with_ranges(run(scenario, yards=YARDS), anew=True)


@pytest.fixture(scope="module")
def quick(small):
    """The same plan with its ranges along straight lines."""
    bare = replace(small, range_ends=pd.DataFrame(), money_range=pd.DataFrame())
    return with_ranges(bare)


def changed(result, name, **arguments):
    change = ChangeSet("", "", "", (Step(name, arguments, "here"),))
    return apply_changes(result.scenario, change)


def row(result, code):
    return result.range_ends.set_index("range").loc[code]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("code", "change", "end", "value"),
    [
        ("fuel", "scale_fuel", "high", {"percent": 40}),
        ("price", "scale_price", "low", {"percent": -25}),
        ("works", "scale_works", "high", {"percent": 30}),
    ],
)
def test_an_end_is_the_plan_made_anew_with_these_yards(small, code, change, end, value):
    again = run(changed(small, change, **value), yards=YARDS)
    found = row(small, code)
    for figure, key in (
        ("net", "total_cost"),
        ("haulage", "haul_cost"),
        ("capital", "capital"),
    ):
        exact = again.summary[key] - small.summary[key]
        assert found[f"{figure}_{end}"] == pytest.approx(exact, rel=1e-4, abs=0.5)


def test_a_straight_line_touches_the_cost_of_flows_planned_anew(small, quick):
    """The cost of flows anew is a bent line through the plan; prices bend it down."""
    assert set(quick.range_ends["reckoned"]) == {LINE}
    assert set(small.range_ends["reckoned"]) == {ANEW}
    for code in ("fuel", "price", "works"):
        line, anew = row(quick, code), row(small, code)
        for end in ("low", "high"):
            room = 0.05 * abs(anew[f"net_{end}"]) + 0.5
            assert anew[f"net_{end}"] <= line[f"net_{end}"] + 0.5
            assert line[f"net_{end}"] == pytest.approx(anew[f"net_{end}"], abs=room)
    assert row(quick, "works")["capital_high"] == row(small, "works")["capital_high"]


@pytest.mark.slow
def test_a_small_step_along_the_line_is_the_step_of_plans_made_anew(small):
    """The law of the tangent: equal for a small step of prices, below for amounts."""
    tangent = tangent_of(small.instance, small.plan)
    assert tangent is not None
    base = tangent.money(small.instance)
    assert base.net == pytest.approx(small.summary["total_cost"], abs=0.01)
    assert base.haulage == pytest.approx(small.summary["haul_cost"], abs=0.01)
    assert base.capital == pytest.approx(small.summary["capital"])
    for change, percent in (
        *(("scale_fuel", 0.5), ("scale_demand", -2), ("scale_demand", 2)),
    ):
        there = changed(small, change, percent=percent)
        line = tangent.money(prepare(there).instance)
        anew = run(there, yards=YARDS).summary
        exact = anew["total_cost"] - small.summary["total_cost"]
        if change == "scale_demand":  # a cost bends up in what rows have on their side
            assert line.net - base.net <= exact + 0.01
            continue
        assert line.net - base.net == pytest.approx(exact, rel=0.01)
        exact = anew["haul_cost"] - small.summary["haul_cost"]
        assert line.haulage - base.haulage == pytest.approx(exact, rel=0.01)


def test_a_basis_that_is_not_the_plan_gives_no_line(small):
    plan = replace(small.plan, objective=small.plan.objective * 1.001 + 1)
    assert tangent_of(small.instance, plan) is None
    bare = replace(small.plan, warm_start=WarmStart())
    assert tangent_of(small.instance, bare) is None
    lost = replace(small, plan=bare, range_ends=pd.DataFrame())
    assert with_ranges(lost).money_range.empty


def test_defaults_have_spreads_and_what_is_stated_has_none(small):
    assert [o.code for o in default_spreads(small.scenario)] == ["process.active_days"]
    none = small.scenario.defaults_used.iloc[:0]
    assert default_spreads(replace(small.scenario, defaults_used=none)) == []
    every = {one.code for one in default_spreads(read_scenario(SMALL))}
    assert {"process.active_days", "windrow.height_m"} <= every
    assert any(code.startswith("nitrogen ") for code in every)
    found = small.range_ends[~small.range_ends["whole"].astype(bool)]
    assert set(found["standing"]) == {DEFAULT}


def ends(**values):
    made = dict.fromkeys(COLUMNS, 0.0) | {"range": "x", "name": "X", "numbers": 1}
    made |= {"alike": 1.0, "likely": math.nan, "whole": True, "source": ""}
    made |= {"name": "X", "planned": math.nan} | values
    return made


def drawn(small, *rows):
    table = pd.DataFrame(list(rows), columns=COLUMNS)
    return money_range(replace(small, range_ends=table)).set_index("figure")


def test_a_uniform_range_keeps_nine_tenths_of_its_width(small):
    """By hand: from -100 to 100 in straight lines, 5 % cut off at each end."""
    found = drawn(small, ends(low=0.0, high=1.0, net_low=-100.0, net_high=100.0))
    net = small.summary["total_cost"]
    assert found.loc["net", "low"] == pytest.approx(net - 90, abs=2)
    assert found.loc["net", "high"] == pytest.approx(net + 90, abs=2)


def test_independent_ranges_add_as_the_root_of_their_squares(small):
    """25 alike: normal by then, 1.645 standard deviations, not 25 worst cases."""
    each = ends(low=-1.0, high=1.0, net_low=-10.0, net_high=10.0)
    many = drawn(small, *[each] * 25)
    spread = many.loc["net", "high"] - small.summary["total_cost"]
    assert spread == pytest.approx(1.645 * 10 / np.sqrt(3) * 5, rel=0.05)


def test_many_numbers_of_one_range_even_out(small):
    one = ends(low=-1.0, high=1.0, net_low=-10.0, net_high=10.0)
    net = small.summary["total_cost"]
    alone, many = (
        drawn(small, {**one, "alike": count}).loc["net", "high"] - net
        for count in (1.0, 25.0)
    )
    assert many == pytest.approx(1.645 * 10 / np.sqrt(3) / 5, rel=0.05)
    assert alone == pytest.approx(9.0, rel=0.05)


@pytest.mark.slow
def test_report_and_sheet_say_the_range_or_how_to_have_it(small, quick):
    bare = replace(small, range_ends=pd.DataFrame(), money_range=pd.DataFrame())
    unit = MoneyUnit("coin")
    assert range_words(bare, unit) == NOT_RECKONED
    assert ends_sheet(bare).empty
    assert "--ranges" in report_html(bare)
    page = report_html(small)
    assert "In nine cases of ten the net cost lies" in page
    assert "planned anew" in range_words(small, unit)
    assert "quick estimate" in range_words(quick, unit)
    assert "quick estimate" in range_words(quick, unit, brief=True)
    assert "Defaults the answer rests on most" in page
    sheet = ends_sheet(small)
    swing = sheet.filter(like="change of net cost").abs().max(axis=1)
    assert swing.is_monotonic_decreasing


@pytest.mark.slow
def test_every_number_of_a_report_with_ranges_comes_from_the_tables(quick):
    files = tables(quick)
    numbers = Numbers(report_html(quick))
    assert numbers.loose == []
    assert wrong(numbers, register(quick), files) == []
    assert {"net_low", "net_high", "haulage_low", "capital_high"} <= set(
        files["lineage"]["code"]
    )


def test_plans_of_other_goals_and_short_ones_have_no_range(small):
    settings = change_setting(small.scenario.settings, "goal.minimise", "co2e")
    other = replace(small, scenario=replace(small.scenario, settings=settings))
    bare = replace(other, range_ends=pd.DataFrame())
    assert with_ranges(bare).range_ends.empty
    assert list(small.range_ends.columns) == COLUMNS
    short = replace(bare, plan=replace(small.plan, status="shortage"))
    assert with_ranges(short).range_ends.empty


def leaning(small, **of_net):
    """Give the plan a range whose net cost is drawn as told."""
    table = small.money_range.set_index("figure")
    for name, value in {"plan": 100.0, "chiefly": "rain", **of_net}.items():
        table.loc["net", name] = value
    table.loc["haulage", ["plan", "low", "high"]] = [10.0, 5.0, 15.0]
    return replace(small, money_range=table.reset_index())


def test_a_plan_at_the_end_of_its_range_says_so_just_beyond_the_limit(small):
    unit = MoneyUnit("coin")
    inside = leaning(small, low=90.0, middle=119.0, high=190.0)
    assert "near the low end" not in range_words(inside, unit)
    beyond = leaning(small, low=90.0, middle=121.0, high=190.0)
    assert "near the low end" in range_words(beyond, unit)
    assert "rain" in range_words(beyond, unit)
    assert "lies outside" not in range_words(beyond, unit)
    outside = leaning(small, low=100.1, middle=150.0, high=190.0)
    assert "net cost lies outside" in range_words(outside, unit)


def test_counting_all_the_carbon_of_a_material_is_the_plan_as_it_is(small):
    """The range of husk's carbon begins where the plan is: all of it counts."""
    there = changed(small, "count_available", material="husk", percent=100)
    was, now = (prepare(s).instance.feed for s in (small.scenario, there))
    assert now.carbon == pytest.approx(was.carbon)


def test_own_trucks_with_nothing_to_haul_keep_a_lane(small):
    """Their column is in the basis: without it that lacks a column for its rows."""
    inst, plan = small.instance, small.plan
    truck = inst.trucks.codes[inst.inbound.truck[0]]
    for yard, size in plan.yard_sizes:
        own = Basis({f"own.{truck}.{yard}.{size}": BASIC}, {})
        start = replace(plan.warm_start, basis=own)
        lanes = _lanes_in(inst, replace(plan, warm_start=start))
        assert [lane[1:] for lane in lanes] == [(yard, truck)]
