"""No cell of a CSV output is a formula, and reading takes the mark away again."""

import csv

import pandas as pd
import pytest

from maps.shared import read_back, write_csv

BAD = [
    '=HYPERLINK("http://x")', "+cmd|' /C calc'!A0", "@SUM(1)", "-2+3", "=1+1", "'=1",
    "\t=1", "''+x",
]  # fmt: skip
GOOD = ["-4.5", "+3", "1e-5", "Mill", "l'eau", "", "-12%", "–"]


@pytest.mark.parametrize("text", BAD)
def test_a_formula_gets_a_mark(tmp_path, text):
    table = pd.DataFrame({"name": [text, "Mill"], "tonnes [t]": [-1.5, 2.0]})
    write_csv(table, tmp_path / "t.csv")
    with (tmp_path / "t.csv").open(newline="") as file:
        rows = list(csv.reader(file))
    assert rows[1] == [f"'{text}", "-1.5"]
    assert read_back(tmp_path / "t.csv")["name"].tolist() == [text, "Mill"]


def test_numbers_and_plain_words_stay(tmp_path):
    pd.DataFrame({"x": GOOD}).to_csv(tmp_path / "a.csv", index=False)
    write_csv(pd.DataFrame({"x": GOOD}), tmp_path / "b.csv")
    assert (tmp_path / "a.csv").read_bytes() == (tmp_path / "b.csv").read_bytes()


def test_a_heading_is_no_formula_either(tmp_path):
    write_csv(pd.DataFrame({"=1+1": [1.0]}), tmp_path / "t.csv")
    assert (tmp_path / "t.csv").read_text() == "'=1+1\n1.0\n"
    assert list(read_back(tmp_path / "t.csv")) == ["=1+1"]


def test_every_table_of_outputs_is_written_so():
    """A module that writes a CSV by itself would forget it."""
    from support.places import ROOT

    own = [
        path.name
        for path in (ROOT / "maps").rglob("*.py")
        if ".to_csv(" in path.read_text(encoding="utf-8")
    ]
    assert own == ["csv_text.py"]


def test_gpx_holds_no_sign_that_xml_cannot():
    """U+FFFF in a name made the whole file unreadable."""
    from maps.field.round_lines import _text

    assert _text("Mill\uffff \ufffe<A>") == "Mill &lt;A&gt;"
