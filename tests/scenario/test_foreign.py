"""A planner's own sheets and files are named, not six tables that are missing."""

import openpyxl
import pytest
from support.template_book import filled_book

from logistics.scenario import ScenarioError, new_scenario, read_scenario
from logistics.scenario.starter import FILL_FIRST


def told(folder):
    """Faults of a folder as they are printed."""
    with pytest.raises(ScenarioError) as caught:
        read_scenario(folder)
    return [str(problem) for problem in caught.value.problems]


def workbook(folder, sheets):
    """A workbook of a planner's own beside a settings file."""
    folder.mkdir(exist_ok=True)
    (folder / "scenario.toml").write_text('name = "Ours"\n', encoding="utf-8")
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(folder / "district.xlsx")


def test_foreign_sheets_are_named_in_place_of_what_is_missing(tmp_path):
    workbook(
        tmp_path,
        {
            "Producteurs 2025": [["producteur", "commune"], ["Moulin", "Nord"]],
            "Lieux": [
                ["Yard", "lon", "lat", "area m2", "remarque"],
                ["a", 1, 2, 3, ""],
            ],
        },
    )
    faults = told(tmp_path)
    assert not any("is missing" in fault for fault in faults)
    assert faults[1] == (
        "district.xlsx sheet 'Producteurs 2025': is not one of the tables. Rename it "
        "to the table it holds (materials, sources, calendar, yards, yard_sizes, "
        "trucks), or move it away."
    )
    assert faults[0] == (
        "district.xlsx sheet 'Lieux': is not one of the tables. It has the headings of "
        "'yards': rename it to that, or move it away."
    )
    assert faults[2].startswith(
        "the folder: lacks the tables materials, sources, calendar, yard_sizes, trucks."
    )
    assert len(faults) == 3


def test_a_foreign_csv_file_is_named_too(tmp_path):
    new_scenario(tmp_path)
    (tmp_path / "trucks.csv").rename(tmp_path / "Fahrzeuge 2025.csv")
    (fault,) = told(tmp_path)
    assert fault == (
        "Fahrzeuge 2025.csv: is not one of the tables. It has the headings "
        "of 'trucks': rename it to that, or move it away."
    )


def test_a_plan_that_has_all_tables_may_have_other_sheets_too(tmp_path):
    filled_book(tmp_path)
    file = tmp_path / "tables.xlsx"
    book = openpyxl.load_workbook(file)
    book.create_sheet("Producteurs 2025").append(["source", "name", "lon", "lat"])
    book.save(file)
    assert len(read_scenario(tmp_path).sources) == 3


def test_a_copy_of_the_workbook_is_one_fault(tmp_path):
    """Not one more for each of its tables, nor for what is wrong inside."""
    new_scenario(tmp_path, format="xlsx")
    book = openpyxl.load_workbook(tmp_path / "tables.xlsx")
    book["yards"]["A1"] = "of the plan"
    book.save(tmp_path / "plan.xlsx")
    (fault,) = told(tmp_path)
    assert fault == (
        "plan.xlsx: is next to tables.xlsx. Keep one of them in the folder and move "
        "the others away."
    )


def test_what_is_ours_is_not_foreign(tmp_path):
    """The notes of the starter are no sheet to be renamed."""
    new_scenario(tmp_path)
    (tmp_path / "trucks.csv").unlink()
    (fault,) = told(tmp_path)
    assert fault.startswith("trucks.csv: is missing")


def test_what_is_filled_in_first_is_what_the_example_fills(tmp_path):
    """The tables named by `loamhaul new` are those with example rows of a place."""
    made = read_scenario(new_scenario(tmp_path)[0].parent)
    for table in FILL_FIRST:
        assert len(made.table(table))
