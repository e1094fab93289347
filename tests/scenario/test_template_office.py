"""LibreOffice opens the workbook, reckons its first sheet and saves it without loss."""

import shutil
import subprocess

import openpyxl
import pytest
from support.printed import need_office
from support.template_book import filled_book

from logistics.scenario import read_scenario, tables

pytestmark = pytest.mark.thorough


def converted(kind, books, out):
    """Let one start of LibreOffice save books as another kind."""
    profile = f"-env:UserInstallation={(out.parent / 'profile').as_uri()}"
    command = ["soffice", profile, "--headless", "--convert-to", kind, "--outdir", out]
    subprocess.run([*command, *books], check=True, capture_output=True, timeout=300)
    return [out / f"{book.stem}.{kind}" for book in books]


def test_saved_as_ods_and_as_xlsx_again_it_is_the_same(tmp_path):
    need_office()
    folder = filled_book(tmp_path / "a")
    book = openpyxl.load_workbook(folder / "tables.xlsx")
    book["markets"]["I2"] = None  # an amount that is still to be asked
    book["calendar"]["C3"] = 9  # a season that is short of 100 %
    book.save(tmp_path / "lacks.xlsx")
    (tmp_path / "b").mkdir()
    books = [folder / "tables.xlsx", tmp_path / "lacks.xlsx"]
    saved = converted("xlsx", converted("ods", books, tmp_path / "ods"), tmp_path / "b")
    whole, lacks = (openpyxl.load_workbook(b, data_only=True)["start"] for b in saved)
    assert whole["A1"].value == "Nothing is missing: now run loamhaul check"
    states = {row[0].value: row[2].value for row in lacks.iter_rows(4, 10)}
    assert lacks["A1"].value == "Still missing: 2 of 7 sheets"
    assert {name: n for name, n in states.items() if n} == {"calendar": 1, "markets": 1}
    saved[1].unlink()
    shutil.copy(folder / "scenario.toml", tmp_path / "b")
    ours, theirs = read_scenario(folder), read_scenario(tmp_path / "b")
    for table in tables():
        assert ours.table(table).equals(theirs.table(table)), table
