"""What lies in a scenario folder and is no file, or never ends: a fault, at once."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from support.places import SMALL

from logistics.changes.files import read_changes
from logistics.scenario.readers import no_file
from logistics.scenario.scenario import ScenarioError, read_scenario

NAMES = ("sources.csv", "tables.xlsx", "tables.gpkg", "scenario.toml")


def pipe(path):
    os.mkfifo(path)


def dangling(path):
    path.symlink_to("nowhere")


def folder_of_name(path):
    path.mkdir()


KINDS = {
    pipe: "pipe or a device",
    dangling: "leads to a file that is not there",
    folder_of_name: "is a folder",
}


@pytest.fixture
def folder(tmp_path):
    return Path(shutil.copytree(SMALL, tmp_path / "small"))


@pytest.mark.skipif(sys.platform == "win32", reason="no pipes with names")
@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
@pytest.mark.parametrize("name", NAMES)
def test_a_table_that_is_no_file_is_a_fault(kind, name, folder):
    (folder / name).unlink(missing_ok=True)
    kind(folder / name)
    with pytest.raises(ScenarioError) as raised:
        read_scenario(folder)
    said = [str(problem) for problem in raised.value.problems]
    (line,) = [text for text in said if text.startswith(f"{name}:")]
    other = "is missing" if kind is dangling else "is not a file"
    assert (other if name == "scenario.toml" else KINDS[kind]) in line


@pytest.mark.skipif(sys.platform == "win32", reason="no pipes with names")
@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_change_that_is_no_file_is_a_fault(kind, folder):
    (folder / "changes").mkdir(exist_ok=True)
    kind(folder / "changes" / "a.toml")
    with pytest.raises(ScenarioError, match=KINDS[kind]):
        read_changes(folder)


def test_files_and_links_to_files_are_read(tmp_path):
    file, link = tmp_path / "a.csv", tmp_path / "b.csv"
    file.write_text("a", encoding="utf-8")
    link.symlink_to(file)
    assert no_file(file) == no_file(link) == ""


@pytest.mark.parametrize(
    "value",
    ["[" * 5000 + "]" * 5000, "{b=" * 3000 + "1" + "}" * 3000, "9" * 5000],
    ids=["lists", "tables", "digits"],
)
def test_a_change_nested_or_long_without_end_is_a_fault(value, folder):
    (folder / "changes").mkdir(exist_ok=True)
    text = f"[[change]]\ndo = {value}\n"
    (folder / "changes" / "a.toml").write_text(text, encoding="utf-8")
    with pytest.raises(ScenarioError, match="is not TOML"):
        read_changes(folder)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="no pipes with names")
def test_check_ends_at_once_on_a_pipe(folder):
    """As lived: the command, which waited for ever."""
    pipe(folder / "yards.xlsx")
    done = subprocess.run(
        [sys.executable, "-m", "maps", "check", str(folder)],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 1
    assert "is a pipe or a device" in done.stdout + done.stderr
