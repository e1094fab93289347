"""The command `manual`: where it writes, what it opens, how it fails."""

import webbrowser
import zipfile

import pytest
from hatchling.builders.wheel import WheelBuilder
from support.manual import FOLDER, html
from support.places import ROOT
from typer.testing import CliRunner

from maps.commands import app

RUNNER = CliRunner()


@pytest.fixture
def opened(monkeypatch):
    """Addresses that the browser was asked to open; a browser is there."""
    asked = []
    monkeypatch.setattr(webbrowser, "open", lambda url: asked.append(url) or True)
    return asked


def test_it_writes_and_opens_the_page(opened, tmp_path):
    file = tmp_path / "deep" / "page.html"
    done = RUNNER.invoke(app, ["manual", "--out", str(file)])
    assert done.exit_code == 0, done.output
    assert opened == [file.as_uri()]
    page = file.read_text(encoding="utf-8")
    assert page.partition("</header>")[2] == html().partition("</header>")[2]
    assert list(file.parent.iterdir()) == [file]


def test_it_keeps_the_page_in_the_users_own_folder(opened, tmp_path, monkeypatch):
    monkeypatch.setattr("typer.get_app_dir", lambda name: str(tmp_path / name))
    done = RUNNER.invoke(app, ["manual", "--no-browser"])
    assert (done.exit_code, opened) == (0, [])
    file = tmp_path / "loamhaul" / "manual.html"
    assert str(file) in done.output
    assert file.is_file()


def test_without_a_browser_it_names_the_file(tmp_path, monkeypatch):
    monkeypatch.setattr(webbrowser, "open", lambda _: False)
    done = RUNNER.invoke(app, ["manual", "--out", str(tmp_path / "page.html")])
    assert done.exit_code == 0
    assert str(tmp_path / "page.html") in done.output
    assert "No browser was found" in done.output


def test_a_place_that_cannot_be_written_is_named(opened, tmp_path):
    done = RUNNER.invoke(app, ["manual", "--out", str(tmp_path)])
    assert done.exit_code == 2
    assert f"{tmp_path} is a folder" in done.output
    (tmp_path / "file").write_text("as it was")
    done = RUNNER.invoke(app, ["manual", "--out", str(tmp_path / "file" / "page.html")])
    assert done.exit_code == 2
    assert str(tmp_path / "file") in done.output
    assert opened == []
    assert (tmp_path / "file").read_text() == "as it was"


@pytest.mark.slow
def test_the_wheel_holds_pages_and_pictures(tmp_path):
    """Built as an installer does."""
    made = next(WheelBuilder(str(ROOT)).build(directory=str(tmp_path)))
    names = set(zipfile.ZipFile(made).namelist())
    wanted = [
        path
        for path in (*FOLDER.rglob("*.md"), *FOLDER.glob("pictures/*"))
        if path.is_file()
    ]
    assert len(wanted) > 15
    assert {path.relative_to(ROOT).as_posix() for path in wanted} <= names
    assert "maps/demos/brackwater/scenario.toml" in names
    assert not any("/out/" in name or "/plans/" in name for name in names)
