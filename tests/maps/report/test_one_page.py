"""The plan on one page: each sentence stands only where it is so, with its figures."""

import re
from dataclasses import replace

import pandas as pd
import pytest
from support.fake_result import HOSTILE, result, without_yards
from support.places import SMALL
from support.random_district import random_district
from support.traced import Numbers, wrong

from logistics.results.pipeline import run
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting
from logistics.studies.ends_by_range import with_ranges
from maps.report import doubts_in_words as doubts
from maps.report import plan_in_words as words
from maps.report.one_page import PARTS, explain_html
from maps.report.origins import END, MARK
from maps.report.plan_facts import facts
from maps.tables.all_tables import tables
from maps.tables.lineage_figures import register


def said(sentence, planned):
    """What a sentence says, without marks and markup."""
    text = sentence(facts(planned))
    text = re.sub(r"<[^>]*>", "", MARK.sub(r"\2", str(text)))
    return text.replace("\N{NO-BREAK SPACE}", " ")


def with_ledger(**amounts):
    """The tiny district with other amounts on lines of its ledger."""
    planned = result()
    at = planned.ledger["line"].map(amounts).astype(float)
    planned.ledger = planned.ledger.assign(amount=at.fillna(planned.ledger["amount"]))
    return planned


def disposing(*, a_tonne, then):
    """The tiny district whose port pays for disposal: today, and with the plan."""
    planned = result()
    price = pd.Series([0.0, a_tonne, 0.0])
    planned.scenario.sources["disposal_cost_per_t"] = price
    row = planned.ledger.iloc[0].to_dict()
    row |= {"account": "left behind", "line": "present disposal", "place": "port"}
    extra = pd.DataFrame([row | {"amount": then}])
    planned.ledger = pd.concat([planned.ledger, extra], ignore_index=True)
    return planned


def uncertain(*nets, name="Price of compost [% more]"):
    """The tiny district with ranges of a net cost at both ends."""
    planned = result()
    planned.range_ends = pd.DataFrame(
        [
            (f"r{n}", f"{name}{n or ''}", -25.0, 15.0, *ends)
            for n, ends in enumerate(nets)
        ],
        columns=["range", "name", "low", "high", "net_low", "net_high"],
    )
    planned.range_ends = planned.range_ends.assign(
        standing="", numbers=1, alike=1.0, likely=0.0, planned=0.0, whole=True,
        haulage_low=0.0, haulage_high=0.0, capital_low=0.0, capital_high=0.0,
        reckoned="straight line", source="",
    )  # fmt: skip
    return planned


def assert_traced(planned, files):
    numbers = Numbers(explain_html(planned))
    assert numbers.loose == []
    assert numbers.unnamed == []
    assert wrong(numbers, register(planned), files) == []
    return len(numbers.marked)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["Eastmill", HOSTILE, "Mill 7"])
def test_every_figure_comes_from_the_tables_whatever_the_names(name):
    planned = result(name=name)
    assert assert_traced(planned, tables(planned)) > 15
    assert "<script" not in explain_html(planned)


def test_every_figure_leads_to_the_report_beside_it():
    page = explain_html(result())
    links = re.findall(r'class="from" href="([^"]*)"', page)
    assert links
    assert {link.partition("#")[0] for link in links} == {"report.html"}
    assert END not in page


def test_what_to_build_is_what_the_plan_builds():
    assert said(words.what_to_build, result()) == (
        "Build 1 yard (Small yard, 4,000 m²): Hill yard."
    )
    built = result()
    yards = built.scenario.tables["yards"]
    yards.loc[yards["yard"] == "hill", "existing_size"] = "small"
    assert said(words.what_to_build, built).startswith("Keep 1 yard as built (Small")
    assert said(words.what_to_build, without_yards()).startswith(
        "Build nothing: under these"
    )
    none = without_yards()
    none.summary["nothing_possible"] = ["No yard can compost."]
    assert said(words.what_to_build, none).startswith("Build nothing: No yard can")


@pytest.mark.parametrize(
    "sentence",
    [each for _, some, _ in PARTS for each in some if each.__name__ not in (
        "what_to_build", "the_other_sites", "how_near_the_best", "defaults",
    )],
    ids=lambda each: each.__name__,
)  # fmt: skip
def test_without_yards_nothing_is_said_of_them(sentence):
    assert said(sentence, without_yards()) == ""


def test_why_there_says_least_cost_only_of_a_plan_of_least_cost():
    assert said(words.why_there, result()).startswith("Of all choices this one")
    other = result()
    other.scenario.settings = change_setting(
        other.scenario.settings, "goal.minimise", "uncollected"
    )
    assert said(words.why_there, other).startswith("Feedstock travels 9 km one way")


def test_the_money_of_the_year_and_who_pays_it():
    assert said(words.what_it_costs, result()) == (
        "A year costs the programme 13,000 shells and brings in 3,000 shells: a net "
        "cost of 10,000 shells."
    )
    gain = with_ledger(sale=-20_000.0)
    assert "a surplus of 7,000 shells" in said(words.what_it_costs, gain)
    assert said(words.paid_back, result()).startswith("The programme does not earn")
    assert "does not earn" not in said(words.paid_back, gain)


def test_what_the_sources_pay_is_set_beside_what_they_pay_today():
    assert said(words.who_pays, result()) == ""
    assert said(words.who_pays, disposing(a_tonne=100.0, then=500.0)) == (
        "The sources pay 15,000 shells a year today to be rid of all this; with the "
        "plan they pay 500 shells. All together, the district then pays 10,500 shells "
        "a year."
    )
    assert said(words.who_pays, disposing(a_tonne=10.0, then=500.0)).endswith(
        "with the plan they pay 500 shells."
    )
    assert said(words.who_pays, disposing(a_tonne=3.0, then=500.0)) == (
        "The sources would pay 500 shells a year with the plan and pay 450 shells "
        "today: agree on that first."
    )


def test_a_tenth_off_the_price_is_a_tenth_of_the_sales():
    assert "bring in 300 shells less" in said(
        doubts.if_compost_sells_for_less, result()
    )
    assert said(doubts.if_compost_sells_for_less, with_ledger(sale=0.0)) == ""
    assert said(words.what_compost_covers, with_ledger(sale=0.0)) == ""
    assert said(words.what_compost_covers, result()).startswith(
        "Selling compost brings in 23 %"
    )


def test_a_tonne_is_priced_only_where_it_costs_something():
    assert "costs the programme 22.22 shells" in said(
        words.what_a_tonne_costs, result()
    )
    assert said(words.what_a_tonne_costs, with_ledger(sale=-20_000.0)) == ""


def test_the_largest_source_is_named():
    assert said(doubts.if_the_largest_source_closes, result()).startswith(
        "If Eastmill closed, 300 t a year"
    )


def test_how_near_the_best_is_said_only_where_it_is_known():
    assert "at most 40 shells" in said(doubts.how_near_the_best, result(bound=9_960.0))
    assert said(doubts.how_near_the_best, result(status="shortage")) == ""
    assert said(doubts.how_near_the_best, result(bound=float("-inf"))) == ""


def test_defaults_are_counted():
    assert said(doubts.defaults, result()).startswith("2 numbers are defaults")
    none = result()
    none.scenario.defaults_used = none.scenario.defaults_used.iloc[:0]
    assert said(doubts.defaults, none).startswith("Every number was given")


def test_haulage_is_called_driven_only_where_it_is():
    assert "is an estimate" in said(doubts.haulage_as_driven, result())
    driven = result()
    driven.summary["rounds_above_plan"] = 0.02
    assert said(doubts.haulage_as_driven, driven).startswith("Haulage is what")


def test_what_to_find_out_first_is_what_moves_the_money_most():
    assert doubts.find_out_first(facts(result())) == []
    planned = uncertain((5.0, -5.0), (900.0, -400.0), (300.0, 200.0), (-2000.0, 1.0))
    found = doubts.find_out_first(facts(planned))
    assert len(found) == doubts.FIRST
    order = [re.search(r"more\](\d?)<", str(text)) for text in found]
    assert [at.group(1) if at else "" for at in order] == ["3", "1", "2"]
    unmet = uncertain((900.0, float("nan")), (float("inf"), -400.0), (300.0, 200.0))
    assert len(doubts.find_out_first(facts(unmet))) == 1
    small = uncertain((5.0, -5.0))
    assert doubts.find_out_first(facts(small)) == []
    assert said(doubts.how_to_find_out, small) == ""
    assert "this moves the cost" in said(
        doubts.how_to_find_out, uncertain((900.0, 1.0))
    )


def test_the_ends_of_a_range_are_said_with_their_unit():
    (one,) = doubts.find_out_first(facts(uncertain((900.0, -400.0))))
    assert re.sub(r"<[^>]*>", "", MARK.sub(r"\2", str(one))) == (
        "Price of compost may be anything from 25 % less to 15 % more: the year then "
        "costs 900 shells more or 400 shells less."
    )


@pytest.mark.slow
def test_every_figure_of_both_demos_comes_from_the_tables(
    brackwater_planned, highlake_planned
):
    for planned in (brackwater_planned, highlake_planned):
        found = with_ranges(planned)
        assert len(found.range_ends) > doubts.FIRST
        assert assert_traced(found, tables(found)) > 30


@pytest.mark.thorough
@pytest.mark.parametrize("seed", range(20))
def test_every_figure_of_random_districts_comes_from_the_tables(seed):
    scenario = random_district(seed)
    quick = change_setting(scenario.settings, "solve.gap_pct", 10.0)
    found = with_ranges(run(replace(scenario, settings=quick)))
    assert assert_traced(found, tables(found)) > 15


@pytest.mark.slow
def test_a_small_plan_in_words():
    planned = run(read_scenario(SMALL), yards=[("reef", "small"), ("shoal", "small")])
    assert assert_traced(planned, tables(planned)) > 15
