"""The same years give the same files, and every file tells the same figures."""

import json
import re
from dataclasses import replace
from html import unescape

import openpyxl
import pytest
from support.small_way import small_way

from maps import outputs
from maps.outputs import write_years
from maps.report import write_report

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def report_only():
    """Of the plan of the last year only the report is written."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outputs, "OUTPUTS", {"report.html": write_report})
        yield


@pytest.fixture(scope="module")
def folder(way_planned, report_only, tmp_path_factory):
    out = tmp_path_factory.mktemp("years")
    write_years(way_planned, out)
    return out


def test_planning_the_years_twice_gives_the_same_bytes(
    folder, way_planned, tmp_path, report_only
):
    """All but the time that solving took, which the report of a plan tells."""
    again = small_way()
    last = again.results[-1]
    seconds = way_planned.results[-1].plan.seconds
    timed = replace(last, plan=replace(last.plan, seconds=seconds))
    timed = replace(timed, summary={**last.summary, "seconds": seconds})
    write_years(replace(again, results=(*again.results[:-1], timed)), tmp_path)
    files = [path for path in sorted(folder.rglob("*")) if path.is_file()]
    assert {path.name for path in files} >= {"way.html", "way.xlsx", "report.html"}
    for path in files:
        name = path.relative_to(folder)
        assert (tmp_path / name).read_bytes() == path.read_bytes(), name


def words(path):
    """Text of a page, without its drawings."""
    page = re.sub(r"<(style|svg|script).*?</\1>", "", path.read_text(), flags=re.S)
    page = unescape(re.sub(r"<[^>]+>", "", page))
    return " ".join(page.split())


def row_of(sheet, name):
    """Values of the row that a name begins."""
    return next(
        [cell.value for cell in row[1:]]
        for row in sheet.iter_rows()
        if row[0].value == name
    )


def test_page_report_workbook_and_record_tell_the_same(folder):
    """Money, gaps, what is borrowed and what is collected."""
    record = json.loads((folder / "way.json").read_text())
    book = openpyxl.load_workbook(folder / "way.xlsx", data_only=True)
    money = book["money"]
    count = len(record["years"])
    worth = row_of(money, "present value of net cost")
    assert worth[count] == pytest.approx(record["net_present_cost"], abs=0.01)
    capital, borrowed = (
        row_of(money, n)[count] for n in ("spent on yards", "borrowed")
    )
    assert capital == pytest.approx(record["capital"], abs=0.01)
    assert borrowed == pytest.approx(record["borrowed"], abs=0.01)
    table = [row for row in book["tonnes"].iter_rows(values_only=True) if row[0]]
    collected = {str(row[0]): row[2] for row in table}
    told = dict(zip(map(str, record["years"]), record["collected_t"], strict=True))
    for year, tonnes in told.items():
        assert collected[year] == pytest.approx(tonnes)
    nothing = record["against_nothing"]
    said = [
        f"costs {record['net_present_cost']:,.0f} coin in all",
        f"No way costs less than {record['proven_bound']:,.0f} coin",
        f"{100 * record['gap']:.2f} % could be saved",
        f"{record['capital']:,.0f} coin are spent on yards",
        f"{record['borrowed']:,.0f} coin are borrowed",
        f"the district gains {nothing['district']['present_value']:,.0f} coin",
    ]
    page, report = words(folder / "way.html"), words(folder / "last_year/report.html")
    for text in said:
        assert text in page
        assert text in report
    for tonnes in told.values():
        assert f"{tonnes:,.0f} t collected in the year" in page
    last = f"takes in {record['collected_t'][-1]:,.0f} t of feedstock a year"
    assert last in report


def test_the_report_does_not_call_the_last_year_proven(folder):
    """Its yards were given by the years before: of other yards nothing is known."""
    report = words(folder / "last_year/report.html")
    assert "It is proven that" not in report
    assert "Nothing is proven about a plan with other yards." in report
