"""Every command ends in text and an exit code, whatever it meets."""

import errno
import shutil
from pathlib import Path
from typing import get_args

import pytest
import typer
from support.places import SMALL
from typer.testing import CliRunner

from logistics.land import GridError
from logistics.model import NoPlanError
from logistics.results import AuditError
from logistics.scenario import Problem, ScenarioError
from logistics.studies import RunsError
from maps.commands.choices import Exit
from maps.commands.command_line import COMMANDS, app
from maps.commands.endings import endings

PARAMETERS = {
    name: {p.name: p for p in command.params}
    for name, command in typer.main.get_command(app).commands.items()
}
MAKES = {"new", "stick"}
"""Commands whose folder is still to be made."""
SERVES = {"desk"}
"""Commands that go on until they are stopped; the desk shows faults on its pages."""
READS = [
    name
    for name, of in PARAMETERS.items()
    if "folder" in of and name not in MAKES | SERVES
]
WRITES = [name for name, of in PARAMETERS.items() if {"out", "folder"} <= set(of)]


@pytest.fixture
def folder(tmp_path):
    return Path(shutil.copytree(SMALL, tmp_path / "small"))


def call(name, folder, *options):
    """Call a command; arguments other than DIR are a file that is not there."""
    arguments = [
        str(folder) if p.name == "folder" else str(folder / "no.geojson")
        for p in PARAMETERS[name].values()
        if p.param_type_name == "argument"
    ]
    done = CliRunner().invoke(app, [name, *arguments, *map(str, options)])
    assert done.exception is None or isinstance(done.exception, SystemExit)
    assert "Traceback" not in done.output
    return done


def test_the_commands_are_told_apart():
    """The lists below are made from the commands: none of them may be empty."""
    assert set(PARAMETERS) == set(COMMANDS)
    assert {"check", "plan", "roads", "rounds"} <= set(READS)
    assert {"plan", "compare", "stress", "sheets"} <= set(WRITES)
    others = {"new", "bring", "materials", "changes", "manual", "desk", "stick"}
    assert set(COMMANDS) - set(READS) == others


@pytest.mark.parametrize("name", READS)
def test_a_faulty_scenario_is_code_1_with_the_faults(name, folder):
    file = folder / "sources.csv"
    lines = file.read_text(encoding="utf-8").splitlines()
    file.write_text("\n".join([lines[0], lines[1], lines[1]]), encoding="utf-8")
    done = call(name, folder)
    assert done.exit_code == Exit.FAULTS
    assert done.stderr.startswith("1 fault in the input:\nsources.csv, row 3, column")
    assert done.stdout == ""
    assert not (folder / "out").exists()


@pytest.mark.parametrize("name", READS)
def test_a_missing_folder_is_code_2_in_one_line(name, tmp_path):
    nowhere = tmp_path / "nowhere"
    done = call(name, nowhere)
    assert done.exit_code == Exit.USAGE
    assert done.stderr == f"There is no {nowhere}. Name a scenario folder.\n"
    assert done.stdout == ""


@pytest.mark.parametrize("name", READS)
def test_a_file_that_is_no_folder_is_told(name, tmp_path):
    (tmp_path / "district").write_text("no folder")
    done = call(name, tmp_path / "district")
    assert done.exit_code == Exit.FAULTS
    assert "is not a folder. Name the folder with scenario.toml" in done.stderr


@pytest.mark.parametrize("name", WRITES)
def test_an_out_that_is_a_file_is_code_2_in_one_line(name, folder, tmp_path):
    taken = tmp_path / "taken"
    taken.write_text("mine")
    done = call(name, folder, "--out", taken)
    assert done.exit_code == Exit.USAGE
    why = f"{taken} is a file; name a folder for the outputs"
    assert done.stderr == f"Nothing was written: {why}.\n"
    assert taken.read_text() == "mine"


@pytest.mark.parametrize("name", [n for n, of in PARAMETERS.items() if "out" in of])
def test_an_out_below_a_file_is_code_2_in_one_line(name, folder, tmp_path):
    (tmp_path / "taken").write_text("mine")
    done = call(name, folder, "--out", tmp_path / "taken" / "below")
    assert done.exit_code == Exit.USAGE
    assert done.stderr.startswith(f"Nothing was written: {tmp_path / 'taken'}")
    assert done.stderr.count("\n") == 1


def test_a_folder_that_cannot_be_made_is_code_2(tmp_path):
    (tmp_path / "taken").write_text("mine")
    for folder in (tmp_path / "taken", tmp_path / "taken" / "district"):
        assert call("new", folder).exit_code == Exit.USAGE


@pytest.mark.parametrize("name", [n for n in READS if "change" in PARAMETERS[n]])
def test_an_unknown_change_is_code_2_with_the_nearest(name, folder):
    done = call(name, folder, "--change", "scale_fule")
    assert done.exit_code == Exit.USAGE
    assert "Write 'scale_fuel' if you meant that" in done.stderr


@pytest.mark.parametrize("name", [n for n in READS if "period" in PARAMETERS[n]])
def test_an_unknown_period_is_code_2_with_those_known(name, folder):
    done = call(name, folder, "--period", "m13")
    assert done.exit_code == Exit.USAGE
    said = (
        "There is no period 'm13'. Name one of ",
        "period = 'm13' is not a period. ",
    )
    assert done.stderr.startswith(said)


@pytest.mark.parametrize("name", READS)
def test_ctrl_c_is_code_130_in_one_line(name, folder, monkeypatch):
    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("logistics.scenario.read_scenario", stop)
    done = call(name, folder)
    assert done.exit_code == Exit.INTERRUPTED
    assert done.stderr.startswith("Stopped.")
    assert done.stderr.count("\n") == 1
    assert not (folder / "out").exists()


def test_ctrl_c_before_solving_says_that_nothing_was_written(folder, monkeypatch):
    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("logistics.results.run", stop)
    done = call("plan", folder)
    assert "Nothing was written; older outputs are unchanged." in done.stderr


@pytest.mark.slow
@pytest.mark.parametrize("name", ["compare", "robust"])
def test_ctrl_c_while_writing_leaves_the_older_outputs(name, folder, monkeypatch):
    """Workbooks come last: what was written before them must not be seen."""

    def stop(*_, **__):
        raise KeyboardInterrupt

    kept = folder / "out" / f"{name}.csv" / "overview.csv"
    kept.parent.mkdir(parents=True)
    kept.write_text("older")
    place = {"compare": "comparison", "robust": "robust_page"}[name]
    monkeypatch.setattr(f"maps.studies.{place}.write_tables", stop)
    done = call(name, folder, "--change", "scale_fuel:percent=40")
    assert done.exit_code == Exit.INTERRUPTED
    assert [file.name for file in (folder / "out").rglob("*")] == [
        kept.parent.name,
        "overview.csv",
    ]
    assert kept.read_text() == "older"


FAULT = Problem("a.csv", 2, "b", 3, "is wrong", "Write 4")
ERRORS = {
    "faults": (
        ScenarioError([FAULT]),
        "1 fault in the input:\na.csv, row 2, column 'b': 3 is wrong. Write 4.",
        Exit.FAULTS,
    ),
    "no plan": (NoPlanError("late"), "Nothing was written: late.", Exit.NOTHING),
    "audit": (
        AuditError("the plan fails its audit"),
        "Nothing was written: the plan fails its audit. "
        "This is a bug in Loamhaul, not a fault in your tables.",
        Exit.BUG,
    ),
    "runs": (RunsError("2 runs failed"), "2 runs failed.", Exit.NOTHING),
    "grid": (GridError("too fine"), "Nothing was proposed: too fine.", Exit.USAGE),
    "system": (
        OSError(errno.ENOSPC, "No space left on device", "out/map.html"),
        "Nothing was written: out/map.html: No space left on device.",
        Exit.USAGE,
    ),
}


@pytest.mark.parametrize(("error", "text", "code"), ERRORS.values(), ids=ERRORS)
def test_errors_become_text_and_code(error, text, code, capsys):
    with pytest.raises(typer.Exit) as found, endings():
        raise error
    assert found.value.exit_code == code
    assert capsys.readouterr().err == f"{text}\n"


@pytest.mark.parametrize(("count", "more"), [(100, 0), (101, 1), (30_000, 29_900)])
def test_of_very_many_faults_the_first_hundred_are_shown(
    count, more, tmp_path, monkeypatch, capsys
):
    monkeypatch.chdir(tmp_path)
    faults = [
        Problem("a.csv", row, "b", 3, "is wrong", "Write 4") for row in range(count)
    ]
    for _ in range(2):  # the second time the older file goes
        with pytest.raises(typer.Exit) as found, endings():
            raise ScenarioError(faults)
    assert found.value.exit_code == Exit.FAULTS
    said = capsys.readouterr().err.splitlines()
    said = said[len(said) // 2 :]
    assert said[0] == f"{count:,} faults in the input:".replace(",", "")
    assert len(said) == 1 + 100 + bool(more)
    kept = [path.name for path in tmp_path.iterdir()]
    assert kept == (["loamhaul-faults.txt"] if more else [])
    if more:
        assert said[-1].startswith(f"And {more:,} more: all of them are in {tmp_path}")
        whole = (tmp_path / kept[0]).read_text(encoding="utf-8").splitlines()
        assert len(whole) == 1 + count


def test_a_bug_of_ours_is_not_hidden():
    with pytest.raises(ZeroDivisionError), endings():
        raise ZeroDivisionError


def number_of(parameter):
    """Whether an option takes an integer or any number; None if neither."""
    taken = {parameter.type_descriptor.annotation}
    taken |= set(get_args(parameter.type_descriptor.annotation))
    return next((kind for kind in (int, float) if kind in taken), None)


NUMBERS = [
    pytest.param(name, of, id=f"{name} {of.opts[-1]}")
    for name, parameters in PARAMETERS.items()
    for of in parameters.values()
    if number_of(of) is not None
]


@pytest.mark.parametrize(("name", "of"), NUMBERS)
def test_every_number_asked_for_has_two_ends(name, of, folder):
    """Just outside of each, or no number at all: one line, code 2, nothing done."""
    before = sorted(path.name for path in folder.iterdir())
    step = 1 if number_of(of) is int else 1e-6
    wrong = [of.min - step, of.max + step, "1e999", "nan", "9" * 5000]
    for value in wrong:
        done = call(name, folder, f"{of.opts[-1]}={value}")
        assert done.exit_code == Exit.USAGE, (value, done.output)
        assert of.opts[-1] in done.output
    assert sorted(path.name for path in folder.iterdir()) == before


def test_all_numbers_are_tried():
    assert len(NUMBERS) >= 18
