"""The change file of the README: it is read, and its command runs on a new district."""

import re
from textwrap import dedent

import pytest
from support.places import ROOT
from typer.testing import CliRunner

from maps.commands.command_line import app

RUNNER = CliRunner()
README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.slow
def test_the_change_file_and_its_command_run_as_they_stand(tmp_path, monkeypatch):
    """What a newcomer copies from the README works on what `new` makes."""
    monkeypatch.chdir(tmp_path)
    name = re.search(r"A file `(\S+\.toml)`", README)[1]
    text = re.search(r"such as:\n\n((?:    .*\n|\n)+)", README)[1]
    command = re.search(r"`uv run loamhaul (compare \S+)`", README)[1].split()
    page = re.search(r"a page to print, `(\S+)`", README)[1]
    assert RUNNER.invoke(app, ["new", command[1]]).exit_code == 0
    file = tmp_path / name
    file.parent.mkdir()
    file.write_text(dedent(text), encoding="utf-8")
    done = RUNNER.invoke(app, command)
    assert done.exit_code == 0, done.output
    assert "The mill stops in October" in done.stdout
    assert "The mill stops in October" in (tmp_path / page).read_text(encoding="utf-8")
