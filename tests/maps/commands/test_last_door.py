"""What nobody foresaw ends in one sentence, exit code 70 and a report to send."""

import io
import shutil
import sys
import zipfile

import pytest
from support.places import SMALL

from maps.commands import command_line, last_door, plain_output
from maps.commands.choices import Exit
from maps.commands.command_line import COMMANDS

BROKEN = "made to fail"

MIDDLE = {
    "new": ("logistics.scenario.new_scenario", ["made"]),
    "bring": ("logistics.bringing.propose", ["small/sources.csv", "small"]),
    "materials": ("logistics.scenario.library", []),
    "changes": ("logistics.changes.shown", []),
    "manual": ("maps.manual.manual_html", []),
    "stick": ("maps.manual.manual_html", ["made"]),
    "desk": ("maps.desk.serve", ["small"]),
}
"""Where commands that read no district first fail, and how they are called."""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    shutil.copytree(SMALL, work / "small")
    return work


def run(monkeypatch, *words):
    monkeypatch.setattr(sys, "argv", ["loamhaul", *words])
    with pytest.raises(SystemExit) as end:
        command_line.main()
    return end.value.code


def fail(*_, **__):
    raise ZeroDivisionError(BROKEN)


def report(folder):
    (file,) = folder.glob("loamhaul-report-*.zip")
    with zipfile.ZipFile(file) as archive:
        return {name: archive.read(name).decode() for name in archive.namelist()}


@pytest.mark.parametrize("name", sorted(set(COMMANDS) - set(MIDDLE)))
def test_every_command_that_reads_a_district(name, folder, monkeypatch, capsys):
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    monkeypatch.setattr("logistics.scenario.read_scenario", fail)
    monkeypatch.setattr("logistics.scenario.readers.read_tables", fail)
    words = {"roads": ["roads", "small/sources.csv", "small"]}.get(
        name, [name, "small"]
    )
    assert run(monkeypatch, *words) == Exit.BUG
    said = capsys.readouterr().err
    assert f"while running: loamhaul {' '.join(words)}." in said
    assert "Traceback" not in said
    assert said.count("\n") == 1
    found = report(folder)
    assert set(found) == {"error.txt", "versions.txt", "scenario/scenario.toml"}
    assert found["error.txt"].endswith(f"ZeroDivisionError: {BROKEN}\n")
    assert "highspy" in found["versions.txt"]
    now = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    assert {p: now[p] for p in before} == before
    assert [p.suffix for p in set(now) - set(before)] == [".zip"]


@pytest.mark.parametrize("name", MIDDLE)
def test_every_other_command(name, folder, monkeypatch, capsys):
    place, words = MIDDLE[name]
    monkeypatch.setattr(place, fail)
    assert run(monkeypatch, name, *words) == Exit.BUG
    typed = " ".join([name, *words])
    assert f"while running: loamhaul {typed}." in capsys.readouterr().err
    assert report(folder)["error.txt"].endswith(f"ZeroDivisionError: {BROKEN}\n")
    assert not list(folder.glob("made*"))


def test_tables_go_in_where_they_are_asked_for(folder, monkeypatch, capsys):
    monkeypatch.setattr("logistics.scenario.read_scenario", fail)
    monkeypatch.setattr("logistics.scenario.readers.read_tables", fail)
    assert run(monkeypatch, "--with-data", "check", "small") == Exit.BUG
    assert "your tables too" in capsys.readouterr().err
    held = {name.removeprefix("scenario/") for name in report(folder)}
    tables = {p.name for p in SMALL.iterdir() if p.suffix in last_door.TABLES}
    assert tables <= held


@pytest.mark.slow
def test_what_was_being_written_is_named(folder, monkeypatch, capsys):
    monkeypatch.setattr("maps.outputs.OUTPUTS", {"map.html": fail})
    assert run(monkeypatch, "plan", "small", "--out", "made") == Exit.BUG
    assert "while writing map.html (running: loamhaul plan" in capsys.readouterr().err
    assert not (folder / "made").exists()


def test_where_no_report_can_be_written_the_error_is_shown(folder, monkeypatch, capsys):
    monkeypatch.setattr("logistics.scenario.readers.read_tables", fail)
    monkeypatch.setattr("logistics.scenario.read_scenario", fail)
    monkeypatch.setattr(last_door, "write_here", lambda *_: None)
    assert run(monkeypatch, "check", "small") == Exit.BUG
    assert f"ZeroDivisionError: {BROKEN}" in capsys.readouterr().err


def test_two_errors_in_one_second_keep_both_reports(folder):
    first = last_door.write_here(b"1", "loamhaul-report-1.zip")
    second = last_door.write_here(b"2", "loamhaul-report-1.zip")
    assert (first.name, second.name) == (
        "loamhaul-report-1.zip",
        "loamhaul-report-1-2.zip",
    )
    assert (first.read_bytes(), second.read_bytes()) == (b"1", b"2")


@pytest.mark.parametrize("encoding", ["ascii", "cp437", "cp850", "cp932", "cp1252"])
def test_signs_that_an_output_cannot_write_come_near(encoding, monkeypatch):
    streams = [io.TextIOWrapper(io.BytesIO(), encoding=encoding) for _ in range(2)]
    monkeypatch.setattr(sys, "stdout", streams[0])
    monkeypatch.setattr(sys, "stderr", streams[1])
    plain_output.plain_output()
    text = "5–7 t CO₂e, −3 m², Río, مطحنة\n"
    for stream in streams:
        stream.write(text)
        stream.flush()
        read = stream.buffer.getvalue().decode(encoding)
        assert plain_output.near(read) == plain_output.near(text)


def test_an_output_that_is_closed_is_left_alone(monkeypatch):
    monkeypatch.setattr(sys, "stderr", None)
    plain_output.plain_output()


def test_a_full_disk_is_told_whatever_the_library_says(tmp_path, monkeypatch):
    from maps.shared import output_folder

    monkeypatch.setattr(
        output_folder.shutil, "disk_usage", lambda _: shutil._ntuple_diskusage(1, 1, 3)
    )
    with (
        pytest.raises(OSError, match="No space left on device"),
        output_folder.whole_set(tmp_path / "out", "plan"),
    ):
        raise RuntimeError(BROKEN)
    monkeypatch.undo()
    with (
        pytest.raises(RuntimeError, match=BROKEN),
        output_folder.whole_set(tmp_path / "out", "plan"),
    ):
        raise RuntimeError(BROKEN)
