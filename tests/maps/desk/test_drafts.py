"""Drafts: what was acknowledged is kept, what was not never half is."""

import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from support.places import ROOT, SMALL
from support.template_book import filled_book

from logistics.scenario import read_scenario
from maps.desk.grid.checking import Checker
from maps.desk.grid.drafts import Drafts
from maps.desk.grid.edits import apply_all, widened
from maps.desk.grid.faults import EditFault, NotSaved, StaleEdit
from maps.desk.grid.saving import differences, save_all
from maps.desk.shelf import DRAFTS


@pytest.fixture
def folder(tmp_path) -> Path:
    """A copy of the small district."""
    return shutil.copytree(SMALL, tmp_path / "small")


def set_name(drafts: Drafts, name: str, row: int = 0, batch: str | None = None) -> str:
    """Type a source's name."""
    one = drafts.table("sources")
    at = one.text.headings.index("name")
    edits = [{"set": [row, at, [[name]]]}]
    return drafts.add("sources", one.version, batch or name, edits)


def name_of(drafts: Drafts, row: int = 0) -> str:
    text = drafts.table("sources").text
    return text.rows[row][text.headings.index("name")]


def test_edits_are_there_for_another_process_and_the_file_is_untouched(folder):
    before = (folder / "sources.csv").read_bytes()
    drafts = Drafts(folder)
    set_name(drafts, "One")
    set_name(drafts, "Two")
    assert name_of(Drafts(folder)) == "Two"
    assert (folder / "sources.csv").read_bytes() == before
    assert list(Drafts(folder).edited()) == ["sources"]


def test_a_journal_torn_at_any_byte_has_all_edits_before(folder):
    drafts = Drafts(folder)
    set_name(drafts, "One")
    journal = folder / DRAFTS / "sources.jsonl"
    whole = len(journal.read_bytes())
    set_name(drafts, "Two")
    data = journal.read_bytes()
    for length in range(whole, len(data)):
        journal.write_bytes(data[:length])
        torn = Drafts(folder)
        assert name_of(torn) == "One"
        assert set_name(torn, "Three").endswith("-2")
        assert name_of(Drafts(folder)) == "Three"


def test_a_batch_sent_twice_is_done_once_and_an_old_version_not_at_all(folder):
    """A page that got no answer sends again; a second window is told."""
    drafts = Drafts(folder)
    first = drafts.table("sources").version
    one = set_name(drafts, "One", batch="a")
    edits = [{"rows": [0, 1, []]}]
    assert drafts.add("sources", first, "a", edits) == one
    assert name_of(drafts) == "One"
    with pytest.raises(StaleEdit):
        drafts.add("sources", first, "b", edits)
    save_all(Checker(drafts))
    with pytest.raises(StaleEdit):
        drafts.add("sources", first, "c", edits)


EDITS = [
    {"set": [0, 0, [["a", "b"], ["c"]]]},
    {"set": [-1, 0, [["a"]]]},
    {"set": [0, -1, [["a"]]]},
    {"set": [True, 0, "ab"]},
    {"set": [0, 0, [[1]]]},
    {"rows": [0, -1, []]},
    {"rows": [0, 0, [["short"]]]},
    {"formula": "=1"},
    "text",
]


@pytest.mark.parametrize("edit", EDITS, ids=str)
def test_edits_that_fit_no_table_are_refused_whole(folder, edit):
    drafts = Drafts(folder)
    good = {"set": [0, 1, [["Good"]]]}
    with pytest.raises(EditFault):
        drafts.add("sources", drafts.table("sources").version, "x", [good, edit])
    assert drafts.edited() == {}
    assert not (folder / DRAFTS).exists()


def test_a_block_fits_up_to_the_last_row_and_column_and_no_further(folder):
    text = widened(Drafts(folder).table("sources").disk)
    rows, columns = len(text.rows), len(text.headings)
    done = apply_all(text, [{"set": [rows - 1, columns - 1, [["x"]]]}])
    assert done.rows[-1][-1] == "x"
    assert apply_all(text, [{"rows": [rows, 0, []]}]).rows == text.rows
    for row, column in ((rows, 0), (rows - 1, columns)):
        with pytest.raises(EditFault):
            apply_all(text, [{"set": [row, column, [["x"]]]}])
    for edit in ([rows + 1, 0, []], [rows - 1, 2, []]):
        with pytest.raises(EditFault):
            apply_all(text, [{"rows": edit}])


def test_nothing_is_written_through_a_link(folder, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    (folder / DRAFTS).symlink_to(tmp_path / "elsewhere")
    with pytest.raises(EditFault, match="is a link"):
        set_name(Drafts(folder), "One")
    assert list((tmp_path / "elsewhere").iterdir()) == []


def test_saving_writes_only_what_was_edited_and_forgets_the_draft(folder):
    before = {p.name: p.read_bytes() for p in folder.glob("*.csv")}
    drafts = Drafts(folder)
    set_name(drafts, "Anew")
    assert save_all(Checker(drafts)) == ["sources.csv"]
    after = {p.name: p.read_bytes() for p in folder.glob("*.csv")}
    assert {name for name in before if before[name] != after[name]} == {"sources.csv"}
    lines = [after["sources.csv"].split(b"\n"), before["sources.csv"].split(b"\n")]
    assert sum(a != b for a, b in zip(*lines, strict=True)) == 1
    assert drafts.edited() == {}
    assert name_of(drafts) == "Anew"


@pytest.mark.slow
def test_a_workbook_stays_one_and_is_read_without_a_fault(tmp_path):
    """With its pick lists, notes and other sheets."""
    filled_book(tmp_path / "book")
    drafts = Drafts(tmp_path / "book")
    before = {name: one.disk.stamp for name, one in drafts.all().items()}
    set_name(drafts, "Anew")
    (file,) = save_all(Checker(drafts))
    assert file.endswith(".xlsx")
    assert not list((tmp_path / "book").glob("*.csv"))
    again = Drafts(tmp_path / "book")
    after = {name: one.disk.stamp for name, one in again.all().items()}
    assert {name for name in before if before[name] != after[name]} == {"sources"}
    assert name_of(again) == "Anew"
    assert read_scenario(tmp_path / "book").sources["name"].iloc[0] == "Anew"


def test_faults_keep_a_table_a_draft_and_those_of_other_tables_do_not(folder):
    drafts = Drafts(folder)
    checker = Checker(drafts)
    yards = (folder / "yards.csv").read_text(encoding="utf-8").splitlines()
    (folder / "yards.csv").write_text("\n".join([*yards, yards[-1]]) + "\n", "utf-8")
    set_name(drafts, "Anew")
    assert checker.check().problems
    assert save_all(checker) == ["sources.csv"]
    at = drafts.table("sources").text.headings.index("amount")
    edits = [{"set": [0, at, [["twelve"]]]}]
    drafts.add("sources", drafts.table("sources").version, "n", edits)
    with pytest.raises(NotSaved, match=r"sources\.csv has 1 fault\. Kept as a draft"):
        save_all(checker)
    assert "twelve" not in (folder / "sources.csv").read_text(encoding="utf-8")


def test_another_program_is_noticed_and_the_planner_chooses(folder):
    """Not by the time of the file but by its texts, and never by guessing."""
    file = folder / "sources.csv"
    drafts = Drafts(folder)
    set_name(drafts, "Mine")
    text = file.read_text(encoding="utf-8")
    file.write_text(text + "\n", encoding="utf-8")
    assert not drafts.table("sources").overtaken
    file.write_text(text.replace("\n", ",,\n", 1).replace(",,\n", "\n", 1) + "x,y\n")
    one = drafts.table("sources")
    assert one.overtaken
    with pytest.raises(NotSaved, match="changed by another program"):
        save_all(Checker(drafts))
    told = differences(one.base, one.as_file, one.disk)["rows"]
    assert {"place": "x", "column": "name", "was": "(no such row)"}.items() <= next(
        row for row in told if row["place"] == "x" and row["column"] == "name"
    ).items()
    assert any(row["mine"] == "Mine" for row in told)
    drafts.keep_mine("sources")
    assert not drafts.table("sources").overtaken
    assert name_of(drafts) == "Mine"
    file.write_text(text, encoding="utf-8")
    assert drafts.table("sources").overtaken
    drafts.take_theirs("sources")
    assert drafts.edited() == {}
    assert len(list((folder / DRAFTS / "aside").iterdir())) == 1


def test_a_kill_between_saving_and_forgetting_is_no_conflict(folder):
    drafts = Drafts(folder)
    set_name(drafts, "Anew")
    journal = folder / DRAFTS / "sources.jsonl"
    kept = journal.read_bytes()
    save_all(Checker(drafts))
    journal.write_bytes(kept)
    again = Drafts(folder)
    assert not again.table("sources").edited
    set_name(again, "Later")
    assert not again.table("sources").overtaken


@pytest.mark.parametrize("line", ["{", "[]", '{"edits": 1}', '{"name": "a"}'])
def test_a_journal_that_is_none_of_ours_is_laid_aside(folder, line):
    drafts = Drafts(folder)
    before = name_of(drafts)
    set_name(drafts, "One")
    journal = folder / DRAFTS / "sources.jsonl"
    journal.write_text(journal.read_text("ascii") + line + "\n", "ascii")
    assert name_of(Drafts(folder)) == before
    (aside,) = (folder / DRAFTS / "aside").iterdir()
    assert aside.read_text("ascii").endswith(line + "\n")


TYPIST = """
import sys
from pathlib import Path
from maps.desk.grid.drafts import Drafts
drafts, n = Drafts(Path(sys.argv[1])), int(sys.argv[2])
while True:
    one = drafts.table("sources")
    at = one.text.headings.index("name")
    edits = [{"set": [0, at, [[str(n)]]]}]
    drafts.add("sources", one.version, str(n), edits)
    print(n, flush=True)
    n += 1
"""


@pytest.mark.thorough
def test_a_typist_killed_at_random_loses_no_acknowledged_edit(folder):
    moments, last = random.Random(18), 0
    for _ in range(5):
        typist = subprocess.Popen(
            [sys.executable, "-c", TYPIST, str(folder), str(last + 1)],
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )
        told = [typist.stdout.readline()]
        time.sleep(moments.uniform(0.0, 0.3))
        typist.send_signal(signal.SIGKILL)
        told += typist.communicate()[0].splitlines()
        acknowledged = max(int(line) for line in told if line.strip().isdigit())
        last = int(name_of(Drafts(folder)))
        assert last in (acknowledged, acknowledged + 1)


def test_undo_and_redo_are_known_from_the_journal(folder):
    """A page loaded anew undoes what the last one did, and no more than that."""
    drafts = Drafts(folder)
    at = drafts.table("sources").text.headings.index("name")
    first = name_of(drafts)
    set_name(drafts, "One")
    set_name(drafts, "Two")

    def turned(turn, which, batch):
        edits = drafts.history("sources")[which][-1][
            "back" if turn == "undo" else "edits"
        ]
        drafts.add("sources", drafts.table("sources").version, batch, edits, turn)
        past, future = (
            Drafts(folder).history("sources")[k] for k in ("past", "future")
        )
        return name_of(Drafts(folder)), len(past), len(future)

    assert turned("undo", "past", "u1") == ("One", 1, 1)
    assert turned("undo", "past", "u2") == (first, 0, 2)
    assert turned("redo", "future", "r1") == ("One", 1, 1)
    version = drafts.table("sources").version
    drafts.add("sources", version, "rows", [{"rows": [0, 1, []]}])
    steps = drafts.history("sources")
    assert steps["future"] == []
    assert steps["past"][-1]["back"][0]["rows"][2][0][at] == "One"
    assert turned("undo", "past", "u3") == ("One", 1, 1)


def test_a_step_that_holds_too_much_is_forgotten_with_all_before_it(
    folder, monkeypatch
):
    drafts = Drafts(folder)
    for name in ("One", "Two", "Three"):
        set_name(drafts, name)
    monkeypatch.setattr("maps.desk.grid.drafts.MOST_KEPT_CELLS", 4)
    assert len(drafts.history("sources")["past"]) == 2
    monkeypatch.setattr("maps.desk.grid.drafts.MOST_KEPT_CELLS", 3)
    assert len(drafts.history("sources")["past"]) == 1
