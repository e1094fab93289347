"""Workbooks on paper: A4, to the width, headings repeated, nothing too wide to show."""

import itertools

import openpyxl
import pandas as pd
import pytest
from support.fake_result import result

from logistics.scenario import new_scenario
from logistics.scenario.paper import (
    ACROSS,
    LEAST_ACROSS,
    MM_PER_DIGIT,
    SIDE,
    UPRIGHT,
)
from maps.tables.plan_workbook import write_tables, write_workbook
from maps.tables.sheet import number_width, shown

TITLE = "Mills & Co, 3rd district"


def written(tmp_path, tables, title=TITLE):
    path = tmp_path / "t.xlsx"
    answers = dict.fromkeys(tables, "what it is")
    write_tables(tables, path, title, "a study", answers)
    return openpyxl.load_workbook(path)


def table_of(columns, rows=3, value=1.5):
    return pd.DataFrame({f"amount {n} [t]": [value] * rows for n in range(columns)})


def width_on_paper(sheet, columns):
    """Width of columns [mm], as the file has it; one record may stand for several."""
    of = {
        column: record.width
        for record in sheet.column_dimensions.values()
        for column in range(record.min, record.max + 1)
    }
    return sum(of[column] * MM_PER_DIGIT for column in columns)


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    folder = tmp_path_factory.mktemp("paper")
    write_workbook(result(), folder / "plan.xlsx")
    new_scenario(folder / "new", "xlsx")
    files = [folder / "plan.xlsx", *sorted((folder / "new").glob("*.xlsx"))]
    assert len(files) == 2
    return [openpyxl.load_workbook(file) for file in files]


def test_every_sheet_of_every_book_is_set_up_for_a4(books):
    for book in books:
        for sheet in book:
            if sheet.sheet_state != "visible":
                continue  # nobody prints it
            assert sheet.page_setup.paperSize == 9, sheet.title
            assert sheet.print_area, sheet.title
            assert "&P of &N" in sheet.oddFooter.right.text, sheet.title
            assert "&A" in sheet.oddHeader.right.text, sheet.title
            if sheet.title not in ("cover", "charts", "start"):
                assert sheet.print_title_rows == "$1:$1", sheet.title


def test_title_stands_at_the_head_and_steers_nothing(tmp_path):
    sheet = written(tmp_path, {"a": table_of(2)})["a"]
    assert "Mills && Co, 3rd district" in sheet.oddHeader.left.text


@pytest.mark.parametrize("columns", [3, 12, 18, 40])
def test_no_sheet_shrinks_below_what_can_be_read(tmp_path, columns):
    """A narrow one stands upright, a wider one lies across, the widest is divided."""
    sheet = written(tmp_path, {"a": table_of(columns)})["a"]
    breaks = [b.id for b in sheet.col_breaks.brk]
    if not breaks:
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.page_setup.fitToHeight == 0
        page = UPRIGHT if sheet.page_setup.orientation == "portrait" else ACROSS
        wide = width_on_paper(sheet, range(1, columns + 1))
        assert wide * LEAST_ACROSS <= page[0] - 2 * SIDE
        assert columns < 40
        return
    kept = width_on_paper(sheet, [1])
    bounds = [1, *breaks, columns]
    for first, last in itertools.pairwise(bounds):
        wide = kept + width_on_paper(sheet, range(first + 1, last + 1))
        assert wide * sheet.page_setup.scale / 100 <= ACROSS[0] - 2 * SIDE
    assert sheet.page_setup.scale >= LEAST_ACROSS * 100 - 1
    assert sheet.print_title_cols == "$A:$A"


@pytest.mark.parametrize("value", [987654321.4, -987654321.4, 0.00001, 12345.6])
def test_every_number_fits_its_column_and_so_does_the_total(tmp_path, value):
    table = pd.DataFrame({"cost [money]": [value] * 30})
    sheet = written(tmp_path, {"a": table})["a"]
    total = sheet["A32"]
    assert total.value.startswith("=SUBTOTAL")
    room = sheet.column_dimensions["A"].width
    assert len(f"{value * 30:,.0f}") + 1 <= room
    assert number_width("", [value], "big") >= len(shown(value, "big")) + 1


def test_small_numbers_do_not_look_like_nothing(tmp_path):
    sheet = written(tmp_path, {"a": pd.DataFrame({"allowed": [1e-5]})})["a"]
    assert sheet["A2"].number_format.startswith("0.0E")


def test_long_sheets_print_their_start_and_the_front_says_so(tmp_path):
    book = written(tmp_path, {"short": table_of(2, 20), "long": table_of(2, 900)})
    assert "$B$22" in book["short"].print_area
    last = int(book["long"].print_area.rpartition("$")[2])
    assert 30 < last < 100
    front = {row[0].value: row[3].value for row in book["cover"].iter_rows()}
    assert front["short"] == "all, 1 page"
    assert front["long"] == f"first {last - 1} of 900 rows"
    assert front["long"] in book["long"].oddFooter.left.text
    notes = " ".join(str(row[0].value) for row in book["cover"].iter_rows())
    assert "clear a sheet's print area" in notes


def test_the_front_leads_to_every_sheet(books):
    for book in books[:1]:
        links = {
            cell.value: cell.hyperlink.location
            for cell in book["cover"]["A"]
            if cell.hyperlink
        }
        assert links == {n: f"'{n}'!A1" for n in book.sheetnames if n != "cover"}
        told = {row[0].value: row[2].value for row in book["cover"].iter_rows()}
        assert all(told[name] for name in links)


def test_long_texts_go_over_several_lines(tmp_path):
    table = pd.DataFrame({"yard": ["Mill"], "note": ["many a word " * 30]})
    sheet = written(tmp_path, {"a": table})["a"]
    assert sheet["B2"].alignment.wrap_text
    assert sheet.column_dimensions["B"].width < 60
    assert sheet.row_dimensions[2].height > 60


def test_charts_are_drawn_from_cells_beside_them(books):
    sheet = books[0]["charts"]
    assert sheet._charts or "nothing to draw" in str(sheet["A1"].value)
    assert not sheet.print_area.endswith("L")
