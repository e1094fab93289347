"""Every fault a planner can make is named with its place and its remedy."""

import re
import shutil
import warnings
from pathlib import Path

import pytest
from support.overlay import overlay
from support.places import DATA, SMALL

from logistics.scenario.faults import Problem, ScenarioError, choose_from, nearest
from logistics.scenario.scenario import read_scenario

CASES = sorted((DATA / "bad").iterdir())


def faults(folder: Path) -> list[Problem]:
    with pytest.raises(ScenarioError) as raised:
        read_scenario(folder)
    return raised.value.problems


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_fault_is_named_word_for_word(case, tmp_path):
    """One fault a folder; the message says place, value, fault and remedy."""
    expected = overlay(case, tmp_path)
    assert [str(problem) for problem in faults(tmp_path)] == expected


def test_there_are_many_cases():
    assert len(CASES) >= 30


def test_twenty_five_faults_in_one_go(tmp_path):
    """A planner mends the sheet in one sitting: all faults, each with its cell."""
    expected = overlay(DATA / "bad_many", tmp_path)
    problems = faults(tmp_path)
    assert len(problems) == 25
    assert all(p.file and p.row and p.column for p in problems)
    assert len({(p.file, p.row, p.column) for p in problems}) == 25
    assert [str(p) for p in problems] == expected


def test_error_text_counts_and_lists_all(tmp_path):
    overlay(DATA / "bad_many", tmp_path)
    with pytest.raises(ScenarioError, match=r"^25 faults in the input:\n") as raised:
        read_scenario(tmp_path)
    assert len(str(raised.value).splitlines()) == 26


def test_missing_folder_is_a_fault(tmp_path):
    (problem,) = faults(tmp_path / "nowhere")
    assert problem.why == "does not exist"


def test_empty_folder_says_how_to_start(tmp_path):
    named = {problem.file: problem.remedy for problem in faults(tmp_path)}
    assert set(named) == {"scenario.toml", "the folder"}
    assert named["the folder"] == "Run `loamhaul new` to start a district"


def test_a_folder_with_one_table_names_all_that_are_missing(tmp_path):
    (tmp_path / "markets.csv").write_text("market,lon,lat,amount,season\n")
    names = [problem.file for problem in faults(tmp_path)]
    assert names == [
        "calendar.csv",
        "materials.csv",
        "scenario.toml",
        "sources.csv",
        "trucks.csv",
        "yard_sizes.csv",
        "yards.csv",
    ]


@pytest.mark.parametrize(
    ("text", "why", "remedy"),
    [
        ("1,200", "has a decimal comma", "Write 1.2"),  # 1200 t is no payload
        ("1,200,000", "has a thousands separator", "Write 1200000"),
        ("1.200.000", "has a thousands separator", "Write 1200000"),
        ("1'200.5", "has a thousands separator", "Write 1200.5"),
        ("1 200 000", "has a thousands separator", "Write 1200000"),
        ("1.200,5", "has a decimal comma", "Write 1200.5"),
        ("0,76", "has a decimal comma", "Write 0.76"),
        ("12 t", "has a unit in the cell", "Write 12 without the unit if it is in t"),
        ("3.5m3", "has a unit in the cell", "Write 3.5 without the unit if it is in t"),
        ("$40", "has a unit in the cell", "Write 40 without the unit if it is in t"),
        ("10 to 12", "is a range, not a single number", "Write one number"),
        ("#DIV/0!", "is a spreadsheet error", None),
        ("#N/A", "is a spreadsheet error", None),
        ("3-Apr", "is a date or a time, not a number", None),
        ("Apr-24", "is a date or a time, not a number", None),
        ("03/04/2024", "is a date or a time, not a number", None),
        ("2024-05-01 00:00:00", "is a date or a time, not a number", None),
        ("12:30", "is a date or a time, not a number", None),
        ("-inf", "is not a finite number", None),
        ("NaN", "is not a finite number", None),
        ("1e999", "is too large to be a number", None),
        ("1_000", "has _ between its figures", "Write 1000"),
        ("0x10", "is a hexadecimal number, as computers write it", None),
        ("１２", "has figures other than 0 to 9", "Write 12"),
        ("twelve", "is not a number", None),
        ("-", "is not a number", None),
    ],
)
def test_number_cell(text, why, remedy):
    """What people type into number cells is recognised."""
    from logistics.scenario.number_text import CellFault, read_number
    from logistics.scenario.schema import column

    with pytest.raises(CellFault) as raised:
        read_number(text, column("trucks", "payload_t"))
    assert raised.value.why == why
    assert remedy is None or raised.value.remedy == remedy


@pytest.mark.parametrize("text", ["12", "+12", "12.", "12.0", "1.2e1", "\u221212"])
def test_number_cell_that_is_fine(text):
    from logistics.scenario.number_text import read_number
    from logistics.scenario.schema import Column

    free = Column("t", "c", "number", "", None, None, "", False, False, "", "")
    assert abs(read_number(text, free)) == 12


def test_small_percentages_that_make_sense_pass():
    """0.35 % nitrogen is husk; only where a fraction is likely is it a fault."""
    from logistics.scenario.number_text import read_number
    from logistics.scenario.schema import column

    for name in ("nitrogen_pct", "p2o5_pct", "salt_pct", "store_loss_pct"):
        assert read_number("0.35", column("materials", name)) == 0.35
    assert read_number("0.5", column("calendar", "share_pct")) == 0.5
    assert read_number("76 %", column("materials", "moisture_pct")) == 76


def test_nearest_word():
    assert nearest("m2", ["m02", "m12"]) == "m02"
    assert nearest("x" * 100_000, ["husk"]) == ""
    assert choose_from("zzz", []) == "Leave it blank"


def test_long_values_are_cut_in_messages():
    text = str(Problem("a.csv", 2, "b", "x" * 10_000, "is long", "Shorten it"))
    assert len(text) < 150
    assert re.search(r"x…' is long", text)


def test_shape_with_a_hole_in_its_numbers_warns_of_nothing(tmp_path):
    """The fault is listed; no library's own warning reaches the planner."""
    shutil.copytree(SMALL, tmp_path, dirs_exist_ok=True)
    text = 'road,wkt\nr1,"LINESTRING (-30.5 0.5, nan 0.5)"\n'
    (tmp_path / "roads.csv").write_text(text)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        (problem,) = faults(tmp_path)
    assert problem.why == "has a coordinate that is not a finite number"
