"""
The messy text files as workbooks that LibreOffice itself has written.

Cells stay texts, as people type them, but for the plain numbers, which are stored. So
each must come to the same end as its text file: the right numbers, a fault, a question.
"""

import csv
import io
import shutil
import subprocess

import openpyxl
import pytest
from bringing.test_messy_files import CASES
from support.brought_in import brought, right
from support.printed import need_office

from logistics.scenario import plain_number

LEFT = {
    "decimal comma in a comma file",
    "both signs",
}
"""What only a text file can have, or what a stored number shows no more."""
CHOSEN = {
    name: case
    for name, case in CASES.items()
    if isinstance(case.data, str) and case.name.endswith("csv") and name not in LEFT
    and not case.data.startswith("sep=") and "never closed" not in case.fault
    and name not in {"semicolons and decimal commas", "tabs", "bars"}
}  # fmt: skip
SHOWN = {"one cell against the others"}
"""Here the stored numbers show no decimal sign, so that the only text decides."""


def plain(text):
    """Numbers that read the same when stored; all else stays text."""
    try:
        return float(text) if plain_number(float(text)) == text else text
    except ValueError:
        return text


@pytest.fixture(scope="module")
def office(tmp_path_factory):
    """Folder with every case as .ods, made by one start of LibreOffice."""
    need_office()
    place = tmp_path_factory.mktemp("office")
    for number, case in enumerate(CHOSEN.values()):
        book = openpyxl.Workbook()
        book.active.title = "Mills"
        for row in csv.reader(io.StringIO(case.data)):
            book.active.append([plain(cell) or None for cell in row])
        book.save(place / f"case{number}.xlsx")
    profile = f"-env:UserInstallation={(place / 'profile').as_uri()}"
    books = sorted(place.glob("*.xlsx"))
    subprocess.run(
        ["soffice", profile, "--headless", "--convert-to", "ods", "--outdir", place / "ods", *books],
        check=True, capture_output=True, timeout=300,
    )  # fmt: skip
    return place


@pytest.mark.slow
def test_each_comes_to_the_end_of_its_text_file(office, tmp_path):
    """Where the only decimals are stored numbers now, the sign is asked about."""
    assert len(CHOSEN) >= 30
    for number, (name, case) in enumerate(CHOSEN.items()):
        folder = tmp_path / f"{number}"
        folder.mkdir()
        file = folder / "mills.ods"
        shutil.copyfile(office / "ods" / f"case{number}.ods", file)
        answers = [a.replace("mills.csv", file.name) for a in case.answers]
        found = brought([file], *answers)
        open_ = [q.key for q in found.questions]
        if open_ == ["columns.amount.decimal"] and not case.asks:
            told = "mills.ods:columns.amount.decimal=."
            found, open_ = brought([file], *answers, told), []
        if name in SHOWN:
            assert found.rows["sources"][2]["amount"] == "96.25", name
        elif case.asks:
            assert case.asks in open_, name
            assert found.rows == {}, name
        elif case.fault:
            assert found.told, name
            assert found.rows == {}, name
        else:
            assert (found.told, open_) == ("", []), name
            assert right(found.rows), name
