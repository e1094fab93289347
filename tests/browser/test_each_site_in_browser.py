"""The page of each site in a real browser: one sheet of paper, open to all."""

from dataclasses import replace

import pypdfium2
import pytest
from accessibility import faults
from support.chromium import SIZES
from support.places import SMALL

from logistics.results.pipeline import run
from logistics.scenario.edits import set_values
from logistics.scenario.scenario import read_scenario
from logistics.studies.comparison import compare
from logistics.studies.each_site import site_changes
from maps.studies.comparison_sheet import write_sheet
from maps.studies.site_costs import MOST

pytestmark = [pytest.mark.slow, pytest.mark.thorough]
LONG = "Gemeindewiese Tolvaheim, oberhalb der Quelle, flach, Teil 12"


@pytest.fixture(scope="module")
def sheet_file(tmp_path_factory):
    """More sites than the page holds, with names of sixty letters and large amounts."""
    scenario = read_scenario(SMALL)
    rows = scenario.yards["yard"].isin(["reef", "mole", "shoal"])
    scenario = set_values(scenario, "yards", rows, {"name": LONG})
    base = run(scenario)
    first = compare(scenario, base, site_changes(base)[:1])[0]
    low = base.plan.objective
    base = replace(base, plan=replace(base.plan, bound=low - 3e6))
    many = []
    for k in range(2 * MOST):
        value = low + (k - 1) * 4e6
        plan = replace(first.replan.plan, objective=value, bound=value - 2e6)
        if k % 7 == 6:
            plan = replace(plan, status="shortage")
        many.append(replace(first, replan=replace(first.replan, plan=plan)))
    path = tmp_path_factory.mktemp("sites") / "compare_sheet.html"
    write_sheet(base, [], path, many)
    return path


def test_each_site_prints_on_one_page_across(show, sheet_file):
    window = show(sheet_file)
    assert window.complaints == []
    document = pypdfium2.PdfDocument(window.page.pdf(prefer_css_page_size=True))
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx((841.89, 595.28), abs=1)
    text = document[0].get_textpage().get_text_bounded()
    assert text.count("as good as equal") >= 1
    assert "Not drawn" in text
    document.close()


def test_each_site_is_open_to_all_on_a_phone(show, sheet_file):
    page = show(sheet_file, *SIZES[1]).page
    assert faults(page) == []
    assert page.evaluate("document.scrollingElement.scrollWidth") <= SIZES[1][0]
