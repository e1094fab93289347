"""A set of files is the old one or the new one, wherever a program fails or dies."""

import json
import os
import subprocess
import sys
import threading

import pytest

from maps.shared import output_folder, swapping
from maps.shared.output_folder import check_out, whole_set
from maps.shared.swapping import UNFINISHED

FIRST = {"compare.html": "old", "compare.csv/a.csv": "old", "compare.csv/b.csv": "old"}
SECOND = {"compare.html": "new", "compare.xlsx": "new", "compare.csv/a.csv": "new"}
MINE = {"notes.txt": "mine", "compare.csv/notes.txt": "mine"}


def write(folder, files):
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")


def run(folder, files):
    with whole_set(folder, "compare") as made:
        write(made, files)


def contents(folder):
    found = (path for path in folder.rglob("*") if path.is_file())
    return {p.relative_to(folder).as_posix(): p.read_text("utf-8") for p in found}


@pytest.fixture
def out(tmp_path):
    folder = tmp_path / "out"
    run(folder, FIRST)
    write(folder, MINE)
    return folder


STEPS = ("rename", "unlink", "mkdir", "open", "rmdir", "write_text")
"""What touches the disk on the way: a program is killed at one of its calls."""

KILLED = """
import json, os, sys
from pathlib import Path
from maps.shared.output_folder import whole_set

names, files, jobs = map(json.loads, sys.argv[1:])
calls, last = 0, 0

def counted(real):
    def call(*given, **more):
        global calls
        calls += 1
        if calls == last:
            os._exit(9)
        return real(*given, **more)
    return call

def run(out):
    with whole_set(Path(out), "compare") as made:
        for name, text in files.items():
            (made / name).parent.mkdir(parents=True, exist_ok=True)
            (made / name).write_text(text, encoding="utf-8")

for name in names:
    setattr(Path, name, counted(getattr(Path, name)))
os.fsync = counted(os.fsync)
ends = []
for out, last in jobs:
    child = os.fork()
    if child == 0:
        run(out)
        os._exit(0)
    ends.append(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
print(json.dumps(ends))
"""


def killed_at(jobs):
    """Write the second set in programs killed at a step each; whether they were."""
    words = [json.dumps(part) for part in (STEPS, SECOND, jobs)]
    done = subprocess.run(
        [sys.executable, "-c", KILLED, *words],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    ends = json.loads(done.stdout)
    assert set(ends) <= {0, 9}
    return [end == 9 for end in ends]


def left_over(out):
    """Hidden files and folders of a run."""
    return [p.name for place in (out, out.parent) for p in place.iterdir()
            if p.name.startswith(".")]  # fmt: skip


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="programs are killed by forks")
def test_killed_at_every_step(tmp_path, monkeypatch):
    """The old set or the new one, or a mixture that says so and is put back."""
    monkeypatch.setattr(swapping, "AGE_S", 0.0)
    old, new = FIRST | MINE, SECOND | MINE
    outs = {step: tmp_path / f"{step}" / "out" for step in range(1, 40)}
    for out in outs.values():
        run(out, FIRST)
        write(out, MINE)
    killed = killed_at([(str(out), step) for step, out in outs.items()])
    assert killed == sorted(killed, reverse=True)
    mixtures = 0
    for step, out in outs.items():
        stood = {name: text for name, text in contents(out).items() if name[0] != "."}
        warned = stood.pop(UNFINISHED, "")
        assert stood in (old, new) or warned, step
        mixtures += stood not in (old, new)
        check_out(out)
        assert contents(out) in (old, new), step
        assert left_over(out) == [], step
        run(out, SECOND)
        assert contents(out) == new
    assert 30 < sum(killed) < 39
    assert mixtures > 3


def test_an_error_at_any_step_leaves_the_older_set(out, monkeypatch):
    """A full disk, a file held open, a folder without rights: nothing is torn."""
    before = contents(out)
    failed = 0
    for at in range(1, 200):
        calls = 0

        def counted(real, at=at):
            def call(*given, **more):
                nonlocal calls
                calls += 1
                if calls == at:
                    raise OSError(28, "No space left on device")
                return real(*given, **more)

            return call

        with monkeypatch.context() as patch:
            for name in ("rename", "mkdir", "open", "write_text"):
                patch.setattr(
                    swapping.Path, name, counted(getattr(swapping.Path, name))
                )
            patch.setattr(os, "fsync", counted(os.fsync))
            try:
                run(out, SECOND)
            except OSError:
                failed += 1
            else:
                break
        assert contents(out) == before, at
        assert left_over(out) == [], at
    assert failed > 15
    assert contents(out) == SECOND | MINE


def test_where_moving_back_fails_too_the_next_command_does_it(out, monkeypatch):
    before = contents(out)
    real, calls = swapping._move, []

    def refuse(here, there):
        calls.append(here)
        if len(calls) >= 5:
            raise PermissionError(here)
        real(here, there)

    monkeypatch.setattr(swapping, "_move", refuse)
    with pytest.raises(PermissionError):
        run(out, SECOND)
    assert (out / UNFINISHED).is_file()
    monkeypatch.undo()
    check_out(out)
    assert contents(out) == before
    assert left_over(out) == []


def test_two_runs_at_once_leave_the_set_of_one(out):
    """Eight times two runs with sets of their own; never a file of each."""
    sets = [{name: str(n) for name in SECOND} for n in range(2)]
    for _ in range(8):
        runs = [threading.Thread(target=run, args=(out, files)) for files in sets]
        for one in runs:
            one.start()
        for one in runs:
            one.join()
        assert contents(out) in [files | MINE for files in sets]


def test_a_run_that_is_at_work_is_left_alone(out):
    with whole_set(out, "compare") as made:
        write(made, SECOND)
        check_out(out)
        assert made.is_dir()
    assert contents(out) == SECOND | MINE


def test_another_program_that_moves_files_is_waited_for_not_for_ever(out, monkeypatch):
    monkeypatch.setattr(swapping, "WAIT_S", 0.1)
    with (
        swapping._alone(out),
        pytest.raises(OSError, match="another run is writing into"),
    ):
        run(out, SECOND)
    assert contents(out) == FIRST | MINE


@pytest.mark.slow
def test_folders_with_odd_names_are_put_in_order_too(tmp_path):
    out = tmp_path / "a[b]*?"
    run(out, FIRST)
    assert killed_at([(str(out), 24)]) == [True]
    check_out(out)
    assert contents(out) == FIRST
    assert left_over(out) == []


def test_an_unwritable_place_is_told_before_work(tmp_path, monkeypatch):
    monkeypatch.setattr(output_folder.os, "access", lambda *_: False)
    with pytest.raises(PermissionError, match="cannot be written to"):
        check_out(tmp_path / "out")
