"""A finding names the file, sheet and row that its table was really read from."""

import csv
from pathlib import Path

import openpyxl
import pytest
from support.places import SMALL

from logistics.diagnosis.findings import warnings
from logistics.diagnosis.places import placed
from logistics.model import prepare
from logistics.scenario.faults import Problem
from logistics.scenario.scenario import Scenario, read_scenario


@pytest.fixture
def in_a_workbook(tmp_path: Path) -> Scenario:
    """The small district in one workbook; a blank row stands above the yards."""
    book = openpyxl.Workbook()
    for path in sorted(SMALL.glob("*.csv")):
        sheet = book.create_sheet(path.stem)
        with path.open(encoding="utf-8", newline="") as lines:
            rows = list(csv.reader(lines))
        if path.stem == "yards":
            rows[1][rows[0].index("area_m2")] = "9000000"
            rows.insert(1, [])
        for row in rows:
            sheet.append([_number(cell) for cell in row])
    del book["Sheet"]
    book.save(tmp_path / "district.xlsx")
    text = (SMALL / "scenario.toml").read_text(encoding="utf-8")
    (tmp_path / "scenario.toml").write_text(text, encoding="utf-8")
    return read_scenario(tmp_path)


def _number(cell: str) -> str | float | None:
    try:
        return float(cell)
    except ValueError:
        return cell or None


def test_sheet_and_row_are_those_of_the_workbook(in_a_workbook: Scenario):
    yard = in_a_workbook.yards["yard"].iloc[1]
    found = Problem("yards.csv", 3, "yard", yard, "cannot be reached", "Draw a road")
    (problem,) = placed([found], in_a_workbook)
    assert problem.file == "district.xlsx sheet 'yards'"
    assert problem.row == 4
    made = Problem("yards.csv", 9, "yard", "by_a_change", "cannot be reached", "")
    assert placed([made], in_a_workbook) == [made]


def test_a_value_that_is_no_code_is_found_by_its_row(in_a_workbook: Scenario):
    """As a site too far from any road, told by its longitude."""
    lon = float(in_a_workbook.yards["lon"].iloc[1])
    far = Problem("yards.csv", 3, "lon", lon, "is 9 km from the nearest road", "")
    (problem,) = placed([far], in_a_workbook)
    assert (problem.file, problem.row) == ("district.xlsx sheet 'yards'", 4)
    made = Problem("yards.csv", 99, "lon", lon, "is in a row that a change made", "")
    assert placed([made], in_a_workbook) == [made]


def test_warnings_are_placed(in_a_workbook: Scenario):
    made = prepare(in_a_workbook)
    far = [
        problem
        for problem in warnings(in_a_workbook, made.travel, made.instance)
        if problem.column == "area_m2"
    ]
    assert far
    assert {p.file for p in far} == {"district.xlsx sheet 'yards'"}


def test_files_stay_as_they_are():
    scenario = read_scenario(SMALL)
    code = scenario.yards["yard"].iloc[0]
    found = Problem("yards.csv", 2, "yard", code, "cannot be reached", "")
    setting = Problem("scenario.toml", 2, "mix.cn_low", 5, "is low", "")
    assert placed([found, setting], scenario) == [found, setting]
