"""The workbook to fill in: nothing lost, examples never read, what is missing told."""

from dataclasses import replace

import openpyxl
import pytest
from support.template_book import filled_book

from logistics.scenario import (
    ScenarioError,
    new_scenario,
    read_scenario,
    table_file,
    table_texts,
)
from logistics.scenario.cells import read_cells
from logistics.scenario.raw import raw_table
from logistics.scenario.schema import columns_of, heading_text, plain_name, tables
from logistics.scenario.wide_calendar import LONG, long_form, wide_form
from logistics.scenario.xlsx_reader import read_xlsx

START = 'tables.xlsx sheet "{}"'


@pytest.fixture(scope="module")
def blank(tmp_path_factory):
    folder = tmp_path_factory.mktemp("blank") / "d"
    new_scenario(folder, "xlsx")
    return folder


@pytest.fixture(scope="module")
def book(blank):
    return openpyxl.load_workbook(blank / "tables.xlsx")


def cell_with(sheet, text):
    return next(c for row in sheet.iter_rows() for c in row if c.value == text)


def lists_of(sheet):
    """Column -> its pick list or limits."""
    return {
        plain_name(sheet.cell(1, next(iter(one.sqref.ranges)).min_col).value): one
        for one in sheet.data_validations.dataValidation
    }


def test_examples_are_never_read(blank):
    with pytest.raises(ScenarioError) as told:
        read_scenario(blank)
    assert [str(p) for p in told.value.problems] == [
        f"tables.xlsx sheet '{table}': has no rows. Write at least one row under the "
        "headings."
        for table in ("sources", "yards")
    ]


def test_filled_in_it_is_the_same_scenario_as_the_files(tmp_path):
    """Examples made one's own: each table and setting as `new` writes them as CSV."""
    new_scenario(tmp_path / "a")
    ours, theirs = (
        read_scenario(tmp_path / "a"),
        read_scenario(filled_book(tmp_path / "b")),
    )
    for table in tables():
        assert ours.table(table).equals(theirs.table(table)), table
    assert ours.settings == theirs.settings
    assert ours.defaults_used.equals(theirs.defaults_used)


def test_headings_have_units_notes_and_protection(book):
    for table in tables():
        sheet = book[table]
        assert sheet.protection.sheet
        assert not sheet.protection.password
        for place, cell in enumerate(sheet[1]):
            if table != "calendar":
                c = columns_of(table)[place]
                assert cell.value == heading_text(c)
                assert c.meaning in cell.comment.text
                assert plain_name(cell.value) == c.name
            assert cell.protection.locked
        looks = sheet.column_dimensions.values()
        assert not any(look.protection.locked for look in looks)
        assert max(look.max for look in looks) > len(sheet[1])


def test_examples_are_grey_and_data_is_not(book):
    assert book["sources"]["A2"].value == "e.g. mill"
    assert book["sources"]["A2"].font.color.rgb == "FF767676"
    assert book["trucks"]["A2"].font.color is None or (
        book["trucks"]["A2"].font.color.rgb != "FF767676"
    )


def test_the_workbook_has_pick_lists_and_limits(book):
    sources = lists_of(book["sources"])
    assert sources["basis"].formula1 == '"tonnes,processed,cropped,animals"'
    assert sources["must_collect"].formula1 == '"yes,no"'
    assert "pick_lists!$B$2" in sources["material"].formula1
    assert sources["material"].errorStyle == "warning"
    assert "pick_lists!$A$2" in sources["season"].formula1
    waste = sources["waste_pct"]
    assert (float(waste.formula1), float(waste.formula2)) == (0, 100)
    assert "yard_sizes!$A$2" in lists_of(book["yards"])["existing_size"].formula1
    assert "m01,m02" in lists_of(book["period_prices"])["period"].formula1
    assert "price_per_t" not in sources  # limits of money follow the currency


def test_seasons_and_feedstocks_are_listed_once(blank):
    file = blank / "tables.xlsx"
    sheet = openpyxl.load_workbook(file, data_only=True)["pick_lists"]
    assert sheet.sheet_state == "hidden"
    values = [sheet.cell(row, 1).value for row in range(2, 6)]
    assert values == ["milling", "even", "planting", None]
    codes = [c.value for c in sheet["B"][1:] if c.value]
    assert {"rice_husk", "sawdust"} <= set(codes)
    assert len(codes) == len(set(codes))
    _, others, _ = read_xlsx(file)
    assert set(others) == {"start", "notes", "pick_lists"}


def test_the_first_sheet_says_what_is_missing(blank, tmp_path):
    sheet = openpyxl.load_workbook(blank / "tables.xlsx", data_only=True)["start"]
    assert sheet["A1"].value == "Still missing: 2 of 7 sheets"
    states = {
        row[0].value: row[3].value for row in sheet.iter_rows(min_row=4, max_row=10)
    }
    assert (states["sources"], states["markets"], states["trucks"]) == (
        "fill in", "may wait", "complete",
    )  # fmt: skip


def test_a_calendar_has_a_column_a_period(book, blank):
    heads = [c.value for c in book["calendar"][1]]
    assert heads[:3] == ["season", "m01 [%]", "m02 [%]"]
    text = table_texts(blank)["calendar"]
    assert text.headings == tuple(LONG)
    assert text.rows[1] == ("milling", "m02", "10")


@pytest.mark.slow
def test_the_desk_saves_the_calendar_a_row_a_month(tmp_path):
    """As it edits it; nothing else of the workbook changes, and it reads the same."""
    folder = filled_book(tmp_path / "d")
    before, text = read_scenario(folder), table_texts(folder)["calendar"]
    own = [("own", f"m{m:02}", "100" if m == 1 else "0") for m in range(1, 13)]
    rows = [*text.rows, *own]
    fresh = replace(text, rows=tuple(rows), stored=())
    (folder / "tables.xlsx").write_bytes(table_file(fresh))
    after = read_scenario(folder)
    assert after.calendar[:-12].equals(before.calendar)
    assert after.calendar.iloc[-12].tolist() == ["own", "m01", 1.0]
    assert after.sources.equals(before.sources)


@pytest.mark.parametrize(
    "rows",
    [
        [LONG, ["dry", "m01", 0.0], ["dry", "m02", 100.0]],
        [LONG, ["dry", "m01", 55.5], ["dry", "m02", 44.5]],
    ],
)
def test_a_wide_calendar_is_the_long_one(rows):
    wide = wide_form(rows)
    texts = [(n, [str(c) for c in row]) for n, row in enumerate(wide, start=1)]
    long, _, _ = long_form(texts)
    assert [cells for _, cells in long] == [[str(c) for c in row] for row in rows]


@pytest.mark.parametrize(
    "rows",
    [
        [LONG],
        [LONG, ["dry", "m02", 50.0], ["wet", "m01", 100.0], ["dry", "m01", 50.0]],
        [LONG, ["dry", "m01", ""]],
        [LONG, ["dry", "m01", 50.0], ["dry", "m02", 50.0], ["wet", "m02", 100.0]],
        [LONG, ["dry", "M 1", 100.0]],
        [["season", "share_pct"], ["dry", 100.0]],
    ],
)
def test_a_calendar_that_would_lose_anything_stays_long(rows):
    assert wide_form(rows) is None


def test_faults_of_a_wide_calendar_name_its_row_and_column():
    grid = [(1, ["season", "m01", "m02"]), (2, ["dry", "40", "sixty"])]
    raw, problems = raw_table("calendar", "calendar.csv", grid)
    assert (problems, raw.rows, raw.cells["period"]) == ([], [2, 2], ["m01", "m02"])
    _, (fault,) = read_cells(raw)
    assert str(fault).startswith("calendar.csv, row 2, column 'm02': 'sixty' is not")


def test_blank_months_are_none():
    grid = [(1, ["season", "m01", "m02"]), (2, ["dry", "100", ""])]
    raw, _ = raw_table("calendar", "calendar.csv", grid)
    assert raw.cells["share_pct"] == ["100", "0"]


@pytest.mark.parametrize(
    ("first", "kept"), [("e.g. mill", 0), ("E.G. mill", 0), ("eg_mill", 1), ("mill", 1)]
)
def test_only_rows_that_begin_with_eg_are_examples(first, kept):
    grid = [(1, ["district", "name"]), (2, [first, "North"])]
    raw, _ = raw_table("districts", "districts.csv", grid)
    assert len(raw.rows) == kept


def test_a_heading_with_another_unit_is_a_fault():
    """Kilograms under a heading of tonnes would be read a thousand times too large."""
    for heading, known in (("can_hold_t [t]", True), ("can_hold_t [kg]", False)):
        raw, problems = raw_table("sources", "s.csv", [(1, ["source", heading])])
        assert ("can_hold_t" in raw.cells) is known
        assert any(p.column == heading for p in problems) is not known
