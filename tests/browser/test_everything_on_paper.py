"""
All that the tool writes for a hard district, printed: nothing outside, over, or cut.

Korravel has ten materials, names of forty letters with commas, amounts of nine digits;
Tessandre is of the size a board reads about. LibreOffice prints the workbooks, Chromium
the pages.
"""

import re
from html import unescape
from statistics import median

import pytest
from support.pages import Page
from support.places import KORRAVEL, TESSANDRE
from support.printed import Sheet, need_office, office_pdfs, sheets

from logistics.changes import ChangeSet, Step
from logistics.rounds import drive
from logistics.scenario import new_scenario
from logistics.scenario.scenario import read_scenario
from logistics.studies import compare
from maps.field import write_rounds
from maps.outputs import write_outputs
from maps.report.report import report_html
from maps.studies import write_comparison

pytestmark = [pytest.mark.thorough, pytest.mark.xdist_group("on paper")]

A4 = (595.0, 842.0)
HEADING = r"(?s)<(?:h2|h3|caption|figcaption)[^>]*>(.*?)</(?:h2|h3|caption|figcaption)>"
MOST_PAGES = {"tessandre": 16, "korravel": 18}
LEAST_HEIGHT = 7.5
"""Half of the words of a page are at least so high; 7 pt has boxes of 8. [pt]"""
LEAST_FILLED = 0.45
"""How far down a page its last line stands, but on the last page."""


@pytest.fixture(scope="module")
def out(planned_stranger, tmp_path_factory):
    """Every file of Korravel: plan, comparison, rounds, blank tables."""
    need_office()
    folder = tmp_path_factory.mktemp("paper")
    result = planned_stranger("korravel")
    write_outputs(result, folder / "plan")
    (folder / "compare").mkdir()
    step = Step("scale_fuel", {"percent": 33}, "test")
    change = ChangeSet("diesel", "Diesel costs a third more", "", (step,))
    outcomes = compare(result.scenario, result, [change])
    write_comparison(result, outcomes, folder / "compare", page=True)
    period = str(result.scenario.tables["periods"]["period"].iloc[0])
    write_rounds(result, drive(result, period), folder / "rounds")
    new_scenario(folder / "new", "xlsx")
    return folder


@pytest.fixture(scope="module")
def books(out):
    """Workbook -> its printed pages."""
    found = sorted(out.rglob("*.xlsx"))
    assert {"plan.xlsx", "budget.xlsx", "compare.xlsx", "rounds.xlsx"} <= {
        book.name for book in found
    }
    return {name: sheets(pdf) for name, pdf in office_pdfs(found, out).items()}


@pytest.fixture(scope="module")
def pages(out, chromium):
    """Page -> its printed pages."""
    found = sorted(out.rglob("*.html"))
    assert {"report.html", "map.html", "compare.html"} <= {page.name for page in found}
    return {page.name: printed(chromium, page) for page in found}


def printed(chromium, page):
    """Print a page as its own style wants it."""
    window = chromium.new_page()
    window.goto(page.resolve().as_uri())
    pdf = page.with_suffix(".pdf")
    window.pdf(path=pdf, prefer_css_page_size=True, print_background=True)
    window.close()
    return sheets(pdf)


def faults(name, found: list[Sheet]):
    """Everything that cannot be read on these pages."""
    for number, sheet in enumerate(found, 1):
        where = f"{name}, page {number}"
        if sorted((sheet.width, sheet.height)) != pytest.approx(list(A4), abs=2):
            yield f"{where} is {sheet.width} x {sheet.height}"
        if sheet.outside():
            yield f"{where}: outside the page: {sheet.outside()}"
        if sheet.over_each_other():
            yield f"{where}: over each other: {sheet.over_each_other()}"
        if median(word.bottom - word.top for word in sheet.words) < LEAST_HEIGHT:
            yield f"{where}: shrunk until it can hardly be read"
        if "###" in sheet.text:
            yield f"{where}: a number does not fit its column"


def test_nothing_in_a_workbook_is_outside_or_over_or_cut(books):
    assert [
        fault for name, found in books.items() for fault in faults(name, found)
    ] == []


def test_workbooks_say_page_sheet_and_title(books):
    for name, found in books.items():
        for number, sheet in enumerate(found, 1):
            assert f"page {number} of {len(found)}" in sheet.text, name
    assert len(books["plan.xlsx"]) <= 68  # with people, exposure, fairness, distances
    assert len(books["budget.xlsx"]) <= 25
    assert all("Korravel" in sheet.text for sheet in books["plan.xlsx"])


def test_nothing_on_a_page_is_outside_or_over_or_cut(pages):
    assert [
        fault for name, found in pages.items() for fault in faults(name, found)
    ] == []


@pytest.fixture(scope="module")
def boards(planned_stranger, tmp_path_factory, chromium, out):
    """District -> HTML of its report, and its printed pages."""
    need_office()
    folder = tmp_path_factory.mktemp("board")
    text = report_html(planned_stranger("tessandre"))
    file = folder / "report.html"
    file.write_text(text, encoding="utf-8")
    own = out / "plan" / "report.html"
    return {
        "tessandre": (text, printed(chromium, file)),
        "korravel": (own.read_text(encoding="utf-8"), printed(chromium, own)),
    }


@pytest.mark.parametrize("name", ["tessandre", "korravel"])
def test_a_report_is_short_with_no_page_nearly_empty(boards, name):
    found = boards[name][1]
    assert len(found) <= MOST_PAGES[name]
    ends = [max(end for end, _ in one.lines()) / one.height for one in found]
    assert min(ends[:-1]) > LEAST_FILLED, ends


@pytest.mark.parametrize("name", ["tessandre", "korravel"])
def test_no_heading_stands_alone_at_the_foot(boards, name):
    text, found = boards[name]
    heads = {
        " ".join(unescape(re.sub("<[^>]*>", "", inner)).split())
        for inner in re.findall(HEADING, text)
    }
    heads |= {
        " ".join(cell.strip() for cell in each["thead"][0])
        for each in Page(text).tables
    }
    assert len(heads) > 40
    for number, sheet in enumerate(found[:-1], 1):
        last = sheet.lines()[-1][1]
        assert last not in heads, f"page {number} ends with the heading {last!r}"


@pytest.mark.parametrize("name", ["tessandre", "korravel"])
def test_no_name_of_a_period_is_cut(boards, name):
    _, found = boards[name]
    scenario = read_scenario({"tessandre": TESSANDRE, "korravel": KORRAVEL}[name])
    names = [str(n) for n in scenario.tables["periods"]["name"]]
    for sheet in found:
        for word in sheet.words:
            cut = word.text.rstrip("…")
            if word.text != cut and len(cut) > 1:
                assert not any(n.startswith(cut) for n in names), word.text
