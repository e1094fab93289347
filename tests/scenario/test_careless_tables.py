"""Tables as careless hands and programs leave them: told, or a fault, never silent."""

import csv
import io
import re
import shutil
import time
import zipfile

import openpyxl
import pytest
from support.places import SMALL

from logistics.diagnosis import doubts
from logistics.scenario.cells import read_value
from logistics.scenario.csv_reader import csv_grid, decode
from logistics.scenario.faults import ScenarioError
from logistics.scenario.number_text import CellFault
from logistics.scenario.readers import read_tables
from logistics.scenario.scenario import read_scenario
from logistics.scenario.schema import column
from logistics.scenario.workbook_limits import DEEPEST, MOST_MERGED, _deep, unfit

SOURCES = (SMALL / "sources.csv").read_text()


@pytest.fixture
def folder(tmp_path):
    return shutil.copytree(SMALL, tmp_path / "small")


def noted(folder, check):
    return [n.problem for n in read_tables(folder).notes if n.check == check]


@pytest.mark.parametrize(
    ("first", "last"),
    [
        (("North mill", '"North mill'), ("South mill", 'South mill"')),
        (("mill_north", '"mill_north'), ("Dairy herd", 'Dairy herd"')),
        (("invented,milling,2", '"invented,milling,2'), ("0,50\n", '0,50"\n')),
        (("North mill", '"North,\nmill"'), ("x", "x")),
    ],
)
def test_a_quotation_mark_that_joins_rows_is_a_fault(folder, first, last):
    """Rows were lost in silence; the fault names the line in the file."""
    text = SOURCES.replace(*first, 1).replace(*last, 1)
    (folder / "sources.csv").write_text(text)
    with pytest.raises(ScenarioError) as error:
        read_scenario(folder)
    (problem,) = error.value.problems
    assert "begins in line 2 of the file and runs over" in problem.why


def test_a_line_break_alone_is_a_text(folder):
    text = SOURCES.replace("North mill", '"North\nmill"')
    (folder / "sources.csv").write_text(text)
    assert read_scenario(folder).sources["name"].iloc[0] == "North\nmill"


@pytest.mark.parametrize(
    "name",
    [
        "sources_2.csv", "sources (2).csv", "Copy of sources.csv", "sources-old.csv",
        "sources copy.csv", "sources.bak.csv", "sources.ods", "sources.xls",
        "roads.xls", "sources.txt", "sources.numbers", "sources.xlsb",
    ],
)  # fmt: skip
def test_a_table_beside_the_tables_is_named(folder, name):
    shutil.copy(folder / "sources.csv", folder / name)
    (problem,) = noted(folder, "left_aside")
    assert problem.file == name
    assert problem.why.startswith("is left aside: ")
    assert any(p.file == name for p in doubts(read_scenario(folder)).open)


@pytest.mark.parametrize("name", ["notes.csv", "roads_report.csv", "sourcing.txt"])
def test_other_files_are_left_alone(folder, name):
    (folder / name).write_text("a,b\n")
    assert read_tables(folder).notes == []


def test_a_csv_table_in_two_kinds_is_a_fault(folder):
    shutil.copy(folder / "sources.csv", folder / "sources.tsv")
    with pytest.raises(ScenarioError, match=r"and so does sources\.tsv"):
        read_scenario(folder)


def as_book(folder, change=lambda book: None):
    """Put all tables of a folder into one workbook."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for path in sorted(folder.glob("*.csv")):
        sheet = book.create_sheet(path.stem)
        for row in csv.reader(path.read_text().splitlines()):
            sheet.append([float(x) if re.fullmatch(r"-?[\d.]+", x) else x for x in row])
        path.unlink()
    change(book)
    book.save(folder / "tables.xlsx")
    return folder / "tables.xlsx"


def hide_sheet(book):
    book["markets"].sheet_state = "hidden"


def hide_row(book):
    book["sources"].row_dimensions[3].hidden = True


def hide_column(book):
    book["sources"].column_dimensions["N"].hidden = True


def filter_rows(book):
    book["sources"].auto_filter.ref = "A1:P5"
    book["sources"].row_dimensions[4].hidden = True


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (hide_sheet, "the sheet"),
        (hide_row, "row 3"),
        (hide_column, "column N"),
        (filter_rows, "row 4 (filtered away)"),
    ],
)
def test_what_is_hidden_is_told(folder, change, told):
    as_book(folder, change)
    (problem,) = noted(folder, "hidden")
    assert problem.why == f"is read with what is hidden: {told}"
    assert len(read_scenario(folder).sources) == 4


def test_a_second_sheet_of_a_table_is_named(folder):
    as_book(folder, lambda book: book.copy_worksheet(book["sources"]))
    (problem,) = noted(folder, "left_aside")
    assert problem.file == "tables.xlsx sheet 'sources Copy'"


@pytest.mark.parametrize(
    ("form", "value"),
    [
        ('0.0"%"', 20), (r"0.0\%", 20), ("0_%", 20), ("0*%", 20),
        ("0%", 0.2), ("0.0 %", 0.2), ('0.0"x"%', 0.2), ("[Red]0%;-0%", 0.2),
    ],
)  # fmt: skip
def test_only_a_percent_format_is_a_hundredfold(folder, form, value):
    def change(book):
        sheet = book["sources"]
        at = next(c.column for c in sheet[1] if c.value == "waste_pct")
        sheet.cell(2, at).value, sheet.cell(2, at).number_format = value, form

    as_book(folder, change)
    assert read_scenario(folder).sources["waste"].iloc[0] == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("encoding", "name"),
    [
        ("cp1250", "Młyn Łódź"), ("cp1251", "Мельница"), ("cp1256", "مطحنة"),
        ("cp874", "โรงสี"), ("gbk", "碾米厂"), ("big5", "碾米廠"),
        ("euc_kr", "방앗간"), ("mac_roman", "Moulin Été"), ("cp1252", "Été"),
    ],
)  # fmt: skip
def test_the_encoding_taken_is_told_with_a_name(folder, encoding, name):
    data = SOURCES.replace("North mill", name).encode(encoding)
    (folder / "sources.csv").write_bytes(data)
    (problem,) = noted(folder, "encoding")
    shown = name.encode(encoding).decode("cp1252")
    assert (problem.row, problem.column, problem.value) == (2, "name", shown)
    assert "cp1252" in problem.why


@pytest.mark.parametrize(
    ("names", "stray", "whole"),
    [("Été à Łó", b"\xe9", True), ("Ét", b"\xe9", False), ("Łódź", b"\xe9", True)],
)
def test_one_stray_byte_leaves_the_others_as_they_are(names, stray, whole):
    """Three letters in UTF-8 outweigh one byte that is not; fewer do not."""
    text = decode(f"name\n{names}\nPi".encode() + stray + b"r\n")
    assert (names in text) == whole
    assert ("Pi\ufffdr" in text) == whole


@pytest.mark.parametrize(
    ("text", "why", "remedy"),
    [
        ("7.5k", "is short for 7500", "Write 7500"),
        ("7.5 thousand", "is short for 7500", "Write 7500"),
        ("1 lakh", "is short for 100000", "Write 100000"),
        ("1.5M", "is short for 1500000", "Write 1500000"),
        ("1.5 m", "has a unit in the cell", "Write 1.5 without the unit if it"),
        ("1_200", "has _ between its figures", "Write 1200"),
        ("0x10", "is a hexadecimal number", "Write it in figures"),
        ("7,50,000", "has thousands and lakhs separated", "Write 750000"),
        ("1,20,000.50", "has thousands and lakhs separated", "Write 120000.50"),
        ("७५००", "has figures other than 0 to 9", "Write 7500"),
        ("٧٥٠٠", "has figures other than 0 to 9", "Write 7500"),
        ("7٬500", "has figures other than 0 to 9", "Write 7500"),
        ("７５００", "has figures other than 0 to 9", "Write 7500"),
    ],
)
def test_the_remedy_is_the_number_meant(text, why, remedy):
    with pytest.raises(CellFault) as fault:
        read_value(text, column("sources", "amount"))
    assert fault.value.why.startswith(why)
    assert fault.value.remedy.startswith(remedy)


def test_a_longitude_with_a_comma_stays_on_earth():
    with pytest.raises(CellFault) as fault:
        read_value("-30,520", column("sources", "lon"))
    assert fault.value.remedy == "Write -30.52"


def spoilt(path, change):
    """Rewrite the parts of a workbook."""
    with zipfile.ZipFile(path) as parts:
        data = {name: parts.read(name) for name in parts.namelist()}
    change(data)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as parts:
        for name, text in data.items():
            parts.writestr(name, text)


def in_sheet(more, before=b"</sheetData>"):
    def change(data):
        name = "xl/worksheets/sheet5.xml"
        data[name] = data[name].replace(before, more, 1)

    return change


def merge(ref):
    area = f'<mergeCells count="1"><mergeCell ref="{ref}"/></mergeCells>'
    return in_sheet(b"</sheetData>" + area.encode())


def strict(data):
    for name, text in data.items():
        old = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
        new = b"http://purl.oclc.org/ooxml/spreadsheetml/main"
        data[name] = text.replace(old, new)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (merge("A9:XFD1048576"), "merged cells, 100,000 are the most (first: A9:XFD"),
        (strict, "is saved as Strict Open XML"),
    ],
)
def test_a_workbook_that_would_hang_is_a_quick_fault(folder, change, told):
    spoilt(as_book(folder), change)
    begun = time.monotonic()
    with pytest.raises(ScenarioError) as error:
        read_scenario(folder)
    assert time.monotonic() - begun < 5
    (problem,) = error.value.problems
    assert told in problem.why


@pytest.mark.parametrize(("rows", "count"), [(MOST_MERGED, 0), (MOST_MERGED + 1, 1)])
def test_how_many_cells_may_be_merged(folder, rows, count):
    path = as_book(folder)
    spoilt(path, merge(f"A9:A{rows + 8}"))
    assert len(unfit(path)) == count


@pytest.mark.parametrize(("deep", "too"), [(DEEPEST, False), (DEEPEST + 1, True)])
def test_how_deep_texts_may_nest(deep, too):
    assert _deep(b"<r>" * deep + b"<br/>" + b"</r>" * deep) == too


@pytest.mark.parametrize(
    ("tail", "told"),
    [
        ("EncryptedPackage".encode("utf-16-le"), "is protected by a password"),
        (b"Workbook", "is an old workbook"),
    ],
)
def test_a_locked_workbook_is_named(folder, tail, told):
    path = as_book(folder)
    path.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(500) + tail)
    with pytest.raises(ScenarioError, match=told):
        read_scenario(folder)


def test_styled_blank_cells_are_left_out(folder):
    """60,000 rows that only have a style; a sheet may have a million of them."""
    rows = b"".join(
        b'<row r="%d" s="1"><c r="A%d" s="0"/><c r="B%d" s="0"></c></row>' % (n, n, n)
        for n in range(9, 60009)
    )
    path = as_book(folder)
    before = read_tables(folder).raw["sources"].cells
    spoilt(path, in_sheet(rows + b"</sheetData>"))
    begun = time.monotonic()
    assert read_tables(folder).raw["sources"].cells == before
    assert time.monotonic() - begun < 5


def test_a_mark_before_a_formula_is_taken_off(folder):
    """As our own tables write it; the table at the desk shows the file as it is."""
    text = SOURCES.replace("North mill", "'=1+1").replace("South mill", "''=2")
    (folder / "sources.csv").write_text(text)
    names = read_scenario(folder).sources["name"].tolist()
    assert names[:2] == ["=1+1", "'=2"]
    grid, _ = csv_grid(text.encode(), "sources")
    assert grid[1][1][1] == "'=1+1"
    assert io.StringIO(text).readline().startswith("source,name")
