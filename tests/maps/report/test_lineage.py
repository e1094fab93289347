"""Every number of the report is found again in the tables that it says it is from."""

import re
from dataclasses import replace

import pandas as pd
import pytest
from support.fake_result import HOSTILE, result
from support.places import SMALL
from support.traced import Numbers, says, wrong

from logistics.results.pipeline import run
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting
from maps.outputs import write_tables
from maps.report.origins import END, MIDDLE, START, counted, linked, quoted, traced
from maps.report.plan_facts import facts
from maps.report.report import report_html
from maps.tables.all_tables import TABLES, tables
from maps.tables.lineage_figures import register

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def small():
    """Plan the small district: one yard built, one kept."""
    return run(read_scenario(SMALL), yards=[("reef", "small"), ("shoal", "small")])


@pytest.fixture(scope="module")
def written(small, tmp_path_factory):
    """Tables of that plan as a reader of its folder has them."""
    folder = tmp_path_factory.mktemp("plan") / "plan.csv"
    write_tables(small, folder)
    return {file.stem: pd.read_csv(file) for file in folder.iterdir()}


def assert_traced(planned, files):
    numbers = Numbers(report_html(planned))
    assert numbers.loose == [], "numbers that lead nowhere: use `traced` or `stated`"
    assert numbers.unnamed == [], "tables or drawings without `rows_of`"
    named = {name for rows, _ in numbers.tables for name in rows.split()}
    assert named <= set(files)
    assert wrong(numbers, register(planned), files) == []
    return numbers


def test_every_number_of_the_report_comes_from_the_tables(small, written):
    numbers = assert_traced(small, written)
    assert len(numbers.marked) > 50
    assert len(numbers.tables) > 300
    kinds = {kind for kind, _ in numbers.plain}
    assert kinds <= {
        "a name",
        "chemical formula",
        "name of a setting",
        "number of a section",
    }


def test_every_number_of_brackwater_comes_from_the_tables(brackwater_planned):
    assert_traced(brackwater_planned, tables(brackwater_planned))


@pytest.mark.parametrize("name", ["Eastmill", HOSTILE, "Mill 7"])
def test_names_with_figures_and_signs_change_nothing(name):
    planned = result(name=name)
    assert_traced(planned, tables(planned))


@pytest.mark.thorough
def test_plans_with_shortages_and_with_other_goals_are_traced_too(small):
    base = small.scenario
    for goal in ("uncollected", "co2e"):
        settings = change_setting(base.settings, "goal.minimise", goal)
        planned = run(replace(base, settings=settings))
        assert_traced(planned, tables(planned))
    policy = base.policy.assign(share=1.0) if len(base.policy) else base.policy
    short = replace(base, tables={**base.tables, "policy": policy})
    planned = run(short, yards=[("reef", "small")])
    assert_traced(planned, tables(planned))


def test_a_figure_of_no_lineage_is_not_shown(small):
    with pytest.raises(LookupError, match="lineage_figures"):
        traced(facts(small), "beauty", "12")
    with pytest.raises(LookupError, match="no table of the plan"):
        quoted("beauty", "12 of 12")
    with pytest.raises(LookupError, match="no table of the plan"):
        counted("beauty", "12")


def test_a_number_that_is_not_that_of_the_tables_is_found(small, written):
    """The check itself: a wrong number, a loose one, a nameless table."""
    page = report_html(small)
    value = register(small)["net"].formula.value(written)
    shown = re.search(r'data-from="net"[^>]*>([^<]*)<', page).group(1)
    assert says(shown, value)
    number = re.search(r"[\d,.]+", shown).group()
    other = f"{float(number.replace(',', '')) + 2:,.0f}"
    false = page.replace(f">{shown}<", f">{shown.replace(number, other)}<")
    found = wrong(Numbers(false), register(small), written)
    assert "net" in {code for code, _, _ in found}
    assert Numbers(page.replace("</main>", "<p>12 t</p></main>")).loose == ["12 t"]
    bare = re.sub(r'data-rows="[^"]*"', 'data-rows=""', page, count=2)
    assert Numbers(bare).unnamed


def test_each_link_leads_to_a_row_of_the_page(small):
    page = report_html(small)
    links = set(re.findall(r'class="from" href="#([^"]*)"', page))
    assert links
    assert links <= set(re.findall(r' id="([^"]*)"', page))


def test_marks_within_tags_are_taken_out():
    mark = f"{START}rows/yards{MIDDLE}3{END}"
    assert linked(f'<i title="{mark}">{mark}</i>', {}) == (
        '<i title="3"><a class="from" href="#from-rows" data-from="rows/yards" '
        'title="rows of yards">3</a></i>'
    )


def test_the_sheet_has_every_figure_of_the_register(small, written):
    sheet = written["lineage"].set_index("code")
    values = {c: each.formula.value(written) for c, each in register(small).items()}
    known = {c: each for c, each in register(small).items() if pd.notna(values[c])}
    assert list(sheet.index) == list(known)
    assert len(known) > 0.8 * len(values)
    for code, each in known.items():
        assert sheet.loc[code, "value [unit beside it]"] == pytest.approx(values[code])
        assert set(each.formula.tables()) <= set(TABLES)
    assert (sheet["defaults among these [values]"] >= 0).all()
