"""The workbook, read back with another library."""

import openpyxl
import pytest
from support.fake_result import HOSTILE, result

from maps.tables.all_tables import TABLES
from maps.tables.plan_workbook import write_workbook


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    path = tmp_path_factory.mktemp("xlsx") / "plan.xlsx"
    write_workbook(result(name=HOSTILE), path)
    return openpyxl.load_workbook(path)


def test_one_sheet_a_table_after_the_cover(book):
    assert book.sheetnames == ["cover", "charts", *TABLES]


def test_headings_stay_in_view(book):
    assert book["hauls"].freeze_panes == "C2"
    assert book["hauls"]["I1"].value == "tonnes [t]"


@pytest.mark.slow
@pytest.mark.parametrize("start", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1"])
def test_names_are_never_formulas(tmp_path, start):
    path = tmp_path / "plan.xlsx"
    write_workbook(result(name=start), path)
    read = openpyxl.load_workbook(path)
    for sheet, cell in (("cover", "A1"), ("supply", "B2")):
        found = read[sheet][cell]
        assert (found.data_type, found.value.strip()) == ("s", start.strip())


def test_hostile_name_is_kept_as_text(book):
    assert book["supply"]["B2"].data_type == "s"
    assert book["supply"]["B2"].value == HOSTILE


def test_every_formula_is_ours(book):
    """Formulas are totals below number columns, and those of the figures' lineage."""
    formulas = [
        cell
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]
    own = [cell for cell in formulas if cell.parent.title == "lineage"]
    assert {cell.column_letter for cell in own} == {"C"}
    rest = [cell.value for cell in formulas if cell not in own]
    assert rest
    assert all(text.startswith("=SUBTOTAL(109,") for text in rest)


@pytest.mark.slow
def test_total_matches_the_rows(tmp_path):
    """The value stored with the formula is what a spreadsheet would show."""
    path = tmp_path / "plan.xlsx"
    write_workbook(result(), path)
    shown = openpyxl.load_workbook(path, data_only=True)["hauls"]
    tonnes = [row[0].value for row in shown["I2:I10"]]
    assert sum(tonnes) == shown["I11"].value == 600


@pytest.mark.slow
def test_missing_numbers_stay_blank(tmp_path):
    planned = result()
    planned.mixes.loc[0, "cn"] = float("nan")
    path = tmp_path / "plan.xlsx"
    write_workbook(planned, path)
    sheet = openpyxl.load_workbook(path)["mixes"]
    headings = [cell.value for cell in sheet[1]]
    assert sheet.cell(2, headings.index("C:N") + 1).value is None
    assert sheet.cell(3, headings.index("C:N") + 1).value == 29.5


@pytest.mark.slow
def test_proven_gap_on_the_cover_keeps_two_digits(tmp_path):
    path = tmp_path / "plan.xlsx"
    write_workbook(result(gap=0.00547), path)
    cover = openpyxl.load_workbook(path)["cover"]
    cell = next(row[1] for row in cover.rows if row[0].value == "Proven gap")
    assert cell.number_format == "0.00"
