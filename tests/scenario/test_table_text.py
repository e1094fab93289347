"""A table as text: what is not edited is the same in the file afterwards."""

import csv
import io
import shutil
from dataclasses import replace

import openpyxl
import pytest
from support.places import DEMO, SMALL

from logistics.scenario.csv_reader import CsvForm
from logistics.scenario.faults import ScenarioError
from logistics.scenario.scenario import read_scenario
from logistics.scenario.table_text import MOST_ROWS, table_file, table_texts

FORMS = (
    CsvForm(),
    CsvForm(";", "\r\n", "utf-8-sig"),
    CsvForm("\t", "\r\n", "utf-16"),
    CsvForm(",", "\n", "cp1252"),
    CsvForm(";", "\n", "utf-8", named=True),
)


def written(rows, form):
    """The bytes of a file in a form, by another writer than ours."""
    out = io.StringIO()
    if form.named:
        out.write(f"sep={form.delimiter}{form.newline}")
    for row in rows:
        quoted = [f'"{c}"' if form.delimiter in c or "\n" in c else c for c in row]
        out.write(form.delimiter.join(quoted) + form.newline)
    return out.getvalue().encode(form.encoding)


@pytest.mark.parametrize("form", FORMS, ids=str)
def test_a_file_written_back_is_the_same_bytes(tmp_path, form):
    """Delimiter, line ends, encoding, mark, notes, blank rows: all stay."""
    rows = [
        ["land", "Name", "note of ours", "kind", "wkt"],
        ["café", "Café; here, there", "", "well", "POINT (1 2)"],
        ["", "", "", "", ""],
        ["b", "two\nlines", "x", "well", "POINT (3 4)"],
    ]
    data = written(rows, form)
    (tmp_path / "land.csv").write_bytes(data)
    text = table_texts(tmp_path)["land"]
    assert text.headings == tuple(rows[0])
    assert [list(row) for row in text.rows] == rows[1:]
    assert table_file(text) == data


@pytest.mark.parametrize("name", [p.name for p in sorted(DEMO.glob("*.csv"))])
def test_tables_of_the_demo_are_written_back_as_they_came(name):
    text = table_texts(DEMO)[name.removesuffix(".csv")]
    assert table_file(text) == (DEMO / name).read_bytes()


def test_a_table_read_as_edited_has_the_faults_of_the_same_file(tmp_path):
    """The check of what is typed is the check of the file, word for word."""
    text = table_texts(SMALL)["sources"]
    rows = [list(row) for row in text.rows]
    amount = text.headings.index("amount")
    rows[0][amount], rows[-1][text.headings.index("material")] = "12 t", "goald"
    rows.append(rows[0][:])
    edited = replace(text, rows=tuple(map(tuple, rows)))
    with pytest.raises(ScenarioError) as typed:
        read_scenario(SMALL, {"sources": edited})
    shutil.copytree(SMALL, tmp_path / "saved")
    (tmp_path / "saved" / "sources.csv").write_bytes(table_file(edited))
    with pytest.raises(ScenarioError) as saved:
        read_scenario(tmp_path / "saved")
    assert str(typed.value) == str(saved.value)
    assert len(typed.value.problems) >= 3


def book(path):
    """A workbook with a number as text, a percentage, a formula and another sheet."""
    made = openpyxl.Workbook()
    sheet = made.active
    sheet.title = "Materials"
    sheet.append(["material", "moisture_pct", "carbon_pct", "note"])
    sheet.append(["husk", 0.1, 38.125, "dry"])
    sheet.append(["fish", 0.76, 45, "=B2*2"])
    for row in (2, 3):
        sheet.cell(row, 2).number_format = "0%"
    sheet.cell(2, 1).font = openpyxl.styles.Font(bold=True)
    other = made.create_sheet("my notes")
    other["A1"] = "=1+1"
    made.save(path)


def test_a_workbook_keeps_its_other_cells_and_runs_no_formula(tmp_path):
    """Texts that look like formulas are texts; numbers stay numbers."""
    path = tmp_path / "tables.xlsx"
    book(path)
    text = table_texts(tmp_path)["materials"]
    assert text.rows[0] == ("husk", "10%", "38.125", "dry")
    assert text.stored[0] == {1, 2}
    rows = [list(row) for row in text.rows]
    rows[0][0], rows[0][1], rows[0][3] = "rice_husk", "12.5", "=HYPERLINK(1)"
    rows.append(["straw", "15%", "4.125", ""])
    path.write_bytes(table_file(replace(text, rows=tuple(map(tuple, rows)))))
    made = openpyxl.load_workbook(path)
    cells = {c.coordinate: c for row in made["Materials"].iter_rows() for c in row}
    assert (cells["A2"].value, cells["A2"].font.bold) == ("rice_husk", True)
    assert (cells["B2"].value, cells["B2"].number_format) == (12.5, "General")
    assert (cells["B4"].value, cells["C4"].value) == (0.15, 4.125)
    assert (cells["D2"].value, cells["D2"].data_type) == ("=HYPERLINK(1)", "s")
    assert cells["D3"].data_type != "f"
    assert made["my notes"]["A1"].value == "=1+1"
    again = table_texts(tmp_path)["materials"]
    assert list(again.rows[0]) == rows[0]
    assert again.rows[2] == ("straw", "15%", "4.125", "")


def test_what_cannot_be_edited_here_says_why(tmp_path):
    """Two homes, no text, a link, too many rows: each in words, and nothing is read."""
    (tmp_path / "land.csv").write_text("land,kind,wkt\na,well,POINT (1 2)\n")
    (tmp_path / "Land.tsv").write_text("land\tkind\twkt\nb\twell\tPOINT (1 2)\n")
    (tmp_path / "trucks.csv").write_bytes(b"PK\x03\x04 zipped")
    (tmp_path / "yards.csv").write_text('yard,name\na,"never closed\n')
    (tmp_path / "markets.csv").symlink_to(tmp_path / "land.csv")
    texts = table_texts(tmp_path)
    assert "keep one" in texts["land"].view_only
    assert "cannot be read as CSV" in texts["trucks"].view_only
    assert "cannot be read as CSV" in texts["yards"].view_only
    assert "is a link" in texts["markets"].view_only
    assert all(not texts[t].rows for t in ("land", "trucks", "yards", "markets"))


@pytest.mark.slow
@pytest.mark.parametrize("over", [0, 1])
def test_rows_are_taken_up_to_a_limit(tmp_path, over):
    with (tmp_path / "land.csv").open("w", newline="") as file:
        csv.writer(file).writerows([["land"]] + [["a"]] * (MOST_ROWS + over))
    text = table_texts(tmp_path)["land"]
    assert bool(text.view_only) == bool(over)
    assert len(text.rows) == (0 if over else MOST_ROWS)
