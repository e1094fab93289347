"""What each other site would cost: forced yards, bars in order, ties, hostile names."""

import re
from dataclasses import replace
from io import StringIO

import openpyxl
import pytest
from rich.console import Console
from support.places import SMALL
from typer.testing import CliRunner

from logistics.changes.files import apply_changes, parse_change
from logistics.results.pipeline import run
from logistics.scenario.edits import set_values
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting
from logistics.studies.comparison import compare
from logistics.studies.each_site import other_sites, site_changes, site_costs
from maps.commands.command_line import app
from maps.studies.comparison import comparison_tables, write_comparison
from maps.studies.comparison_map import comparison_html
from maps.studies.comparison_sheet import sheet_html
from maps.studies.site_costs import (
    EQUAL,
    MOST,
    UNMET,
    _not_asked,
    show_sites,
    site_page,
)

pytestmark = pytest.mark.slow

HOSTILE = '<script>alert("x")</script>, a name of forty letters & more'


@pytest.fixture(scope="module")
def scenario():
    return read_scenario(SMALL)


@pytest.fixture(scope="module")
def base(scenario):
    return run(scenario)


@pytest.fixture(scope="module")
def sites(scenario, base):
    return compare(scenario, base, site_changes(base))


def bounded(outcome, objective, bound):
    """The same outcome, of a plan of this objective and bound."""
    plan = replace(outcome.replan.plan, objective=objective, bound=bound)
    return replace(outcome, replan=replace(outcome.replan, plan=plan))


def at(base, objective, bound):
    return replace(base, plan=replace(base.plan, objective=objective, bound=bound))


def test_every_other_site_is_asked_once(base):
    assert other_sites(base) == ["reef", "mole"]
    changes = site_changes(base, [parse_change("force_yard:yard=mole")])
    assert [one.title for one in changes] == ["A yard at Reef yard"]


def test_sites_closed_refused_or_too_small_are_not_asked(scenario):
    closed = apply_changes(scenario, parse_change("close_yard:yard=reef"))
    small = apply_changes(closed, parse_change("set_area:yard=mole,area_m2=100"))
    assert other_sites(run(small)) == []
    wet = set_values(
        closed, "yards", closed.yards["yard"] == "mole", {"water_table_m": 0.01}
    )
    base = run(wet)
    assert other_sites(base) == []
    said = [str(line) for line in _not_asked(base)]
    assert said == [
        "Not tried (closed by the scenario): <bdi>Reef yard</bdi>.",
        "Not tried (refused by the land screening): <bdi>Mole yard</bdi>.",
    ]


def test_an_existing_yard_that_is_given_up_is_a_site(base):
    plan = replace(base.plan, yards=base.plan.yards.iloc[:0])
    assert "shoal" in other_sites(replace(base, plan=plan))


def test_a_forced_yard_is_open_and_paid_for(base, sites):
    """Its yearly cost stands in the ledger, and no plan beats the base's bound."""
    for one in site_costs(base, sites):
        found = one.outcome.replan
        options = found.instance.options
        opened = options.annual[found.instance.options_of([(one.yard, one.size)])]
        assert one.size
        assert opened.sum() > 0
        ledger = found.ledger[found.ledger["account"] == "yards"]
        assert any(one.yard in map(str, row) for row in ledger.to_numpy())
        booked = ledger["amount"].sum()
        every = options.annual[found.instance.options_of(found.plan.yard_sizes)]
        assert booked >= every.sum() - 0.01
        assert found.summary["total_cost"] == pytest.approx(found.plan.objective)
        assert found.plan.objective >= base.plan.bound - 0.01


def test_a_yard_forced_where_no_size_fits_is_a_demand_not_met(scenario):
    small = apply_changes(scenario, parse_change("set_area:yard=mole,area_m2=100"))
    found = run(apply_changes(small, parse_change("force_yard:yard=mole")))
    assert found.plan.status == "shortage"
    words = found.plan.shortages["words"].tolist()
    assert words == ["Mole yard must be open and is not."]


def test_bars_and_table_are_sorted(base, sites):
    backwards = site_costs(base, sites[::-1])
    above = [one.above for one in backwards]
    assert above == sorted(above)
    assert [one.yard for one in backwards] == ["reef", "mole"]
    page = site_page(base, sites)
    wide = [
        float(w)
        for w in re.findall(r'width="([\d.]+)" height="11"', page.chart.drawing)
    ]
    assert wide == sorted(wide)
    assert wide[0] / wide[1] == pytest.approx(above[0] / above[1], abs=0.01)
    assert [row[0] for row in page.table.rows] == ["Reef yard", "Mole yard"]


@pytest.mark.parametrize(
    ("bound", "equal", "least"), [(100_000, True, 0), (100_001, False, 1)]
)
def test_ties_just_inside_and_outside(base, sites, bound, equal, least):
    """The base costs 100,000 coin, and the best is not below 99,000."""
    before = at(base, 100_000.0, 99_000.0)
    outcome = bounded(sites[0], 100_500.0, float(bound))
    (one,) = site_costs(before, [outcome])
    assert one.equal is equal
    assert one.proven == (least, 1_500)
    page = site_page(before, [outcome])
    assert (EQUAL in page.chart.drawing) is equal
    bar = re.search(r'height="11" fill="([^"]+)"', page.chart.drawing)
    assert bar.group(1).startswith("url(") is equal
    assert page.table.rows[0][-3:] == ["500", str(least), "1,500"]


def test_a_plan_that_beats_the_base_is_drawn_below_zero_and_said(base, sites):
    before = at(base, 100_000.0, 99_000.0)
    outcomes = [bounded(sites[0], 99_500.0, 99_200.0), sites[1]]
    page = site_page(before, [outcomes[0]])
    assert page.table.rows[0][-3:] == ["\N{MINUS SIGN}500", "0", "500"]
    assert any("Cheaper than the base plan" in line for line in page.lines)


def test_another_goal_is_told_in_its_own_unit(scenario):
    asked = replace(
        scenario,
        settings=change_setting(
            change_setting(scenario.settings, "goal.minimise", "uncollected"),
            "policy.max_yards",
            1,
        ),
    )
    base = run(asked)
    outcomes = compare(asked, base, site_changes(base)[:1])
    page = site_page(base, outcomes)
    assert page.chart.caption.endswith("[t a year]")
    assert re.match(r"Base plan: [\d,]+ t a year, proven", page.lines[1])


def test_what_leaves_demands_unmet_is_named_and_not_drawn(base, sites):
    short = replace(sites[0].replan.plan, status="shortage", objective=1.0)
    outcome = replace(sites[0], replan=replace(sites[0].replan, plan=short))
    found = site_costs(base, [outcome, sites[1]])
    assert [one.above is None for one in found] == [False, True]
    page = site_page(base, [outcome, sites[1]])
    assert "Reef yard" not in page.chart.drawing
    assert [row[0] for row in page.table.rows] == ["Mole yard"]
    assert any("demands are not met: <bdi>Reef yard" in str(x) for x in page.lines)
    text = StringIO()
    show_sites(base, [outcome, sites[1]], Console(file=text))
    assert UNMET in text.getvalue()


def test_many_sites_make_one_page_and_say_how_many_more(base, sites):
    many = [bounded(sites[0], 20_000.0 + k, 20_000.0) for k in range(MOST + 3)]
    page = site_page(base, many)
    assert page.chart.drawing.count('height="11" fill') == len(page.table.rows) == MOST
    assert any(str(line).startswith("3 more sites") for line in page.lines)
    html = sheet_html(base, [], many)
    assert html.count('<section class="sheet') == 1


def test_only_named_changes_stand_side_by_side(base, sites):
    html = sheet_html(base, sites[:1], sites[1:])
    assert html.count('<section class="sheet') == 2
    assert html.index("what each site would cost") < html.index(
        "plans side by side</h1>"
    )
    assert "A yard at Reef yard" in html
    assert "A yard at Mole yard" not in html
    assert "what each site would cost" not in sheet_html(base, sites)


def test_hostile_and_equal_names_are_text_and_told_apart(scenario, base, sites):
    rows = scenario.yards["yard"].isin(["reef", "mole"])
    named = set_values(scenario, "yards", rows, {"name": HOSTILE})
    base = replace(base, scenario=named)
    changes = site_changes(base)
    assert len({one.title for one in changes}) == 2
    outcomes = [
        replace(old, change=new, replan=replace(old.replan, scenario=named))
        for old, new in zip(sites, changes, strict=True)
    ]
    html = sheet_html(base, [], outcomes)
    assert "<script" not in html
    assert "&lt;script&gt;" in html
    page = comparison_html(base, [], outcomes)
    assert "<script>alert" not in page
    assert 'href="compare_sheet.html#sites"' in page
    money = comparison_tables(base, outcomes)["money"]
    assert len(money.columns) == 5
    text = StringIO()
    show_sites(base, outcomes, Console(file=text, width=200))
    assert "(reef)" in text.getvalue()
    assert "(mole)" in text.getvalue()


def test_the_workbook_has_all_sites(base, sites, tmp_path):
    written = write_comparison(base, [], tmp_path, sites=sites)
    assert written == ["compare_sheet.html", "compare.xlsx", "compare.csv"]
    book = openpyxl.load_workbook(tmp_path / "compare.xlsx")
    cells = {cell.value for row in book["sites"].iter_rows() for cell in row}
    assert {"Reef yard", "Mole yard"} <= cells
    assert len(book["charts"]._charts) == 1
    assert (tmp_path / "compare.csv" / "sites.csv").exists()


def test_the_command_asks_for_each_site(tmp_path):
    words = ["compare", str(SMALL), "--each-site", "--out", str(tmp_path)]
    done = CliRunner().invoke(app, words)
    assert done.exit_code == 0, done.output
    assert "What each site would cost" in done.output
    assert (tmp_path / "compare_sheet.html").exists()
