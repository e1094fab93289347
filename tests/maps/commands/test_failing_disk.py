"""
The disk refuses one thing after the other: outputs are the old ones or the new ones.

Each open for writing, folder, rename and sync below the district fails in turn, with no
room, no right or a broken disk. Of the points of a command one in so many is tried, as
`COMMANDS` says.
"""

import shutil
from pathlib import Path

import pytest
from support.failing_disk import failing
from support.places import SMALL
from typer.testing import CliRunner

from maps.commands.command_line import app

pytestmark = pytest.mark.thorough

OLD = b"old"
BRIEF = ("--workers", "1", "--iterations", "10")
LESS = "scale_fuel:percent=-10"
COMMANDS = {
    "form": (["form", "DIR"], 3),
    "export csv": (["export", "DIR", "--to", "csv", "--out", "DIR/out"], 3),
    "export kml": (["export", "DIR", "--to", "kml", "--out", "DIR/out"], 3),
    "sheets": (["sheets", "DIR", "--period", "m01"], 6),
    "plan": (["plan", "DIR", "--estimate"], 12),
    "rounds": (["rounds", "DIR", "--period", "m01", *BRIEF], 9),
    "why": (["why", "DIR", "--up-to", "0"], 1),
    "alternatives": (["alternatives", "DIR"], 2),
    "robust": (["robust", "DIR", "--change", LESS], 2),
    "frontier": (["frontier", "DIR", "--points", "3"], 3),
    "compare": (["compare", "DIR", "--change", LESS], 2),
    "shares": (["shares", "DIR"], 3),
}
"""Name -> words, DIR for the folder; one of so many points is tried."""


def call(words: list[str], folder: Path) -> int:
    typed = [word.replace("DIR", str(folder)) for word in words]
    done = CliRunner().invoke(app, typed)
    assert done.exception is None or isinstance(done.exception, SystemExit), (
        done.exception
    )
    assert done.exit_code in {0, 2, 3}, done.output
    assert done.exit_code != 2 or done.stderr.count("\n") == 1
    return done.exit_code


def files(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


@pytest.mark.parametrize("name", COMMANDS)
def test_old_whole_or_new_whole(name, tmp_path):
    words, step = COMMANDS[name]
    inputs = files(SMALL)
    home = Path(shutil.copytree(SMALL, tmp_path / "made"))
    with failing(home) as disk:
        assert call(words, home) != 2
    made = set(files(home)) - set(inputs)
    assert made
    assert len(disk.asked) > len(made)
    told = set()
    for refused in range(0, len(disk.asked), step):
        home = Path(shutil.copytree(SMALL, tmp_path / f"{refused}"))
        for file in made:
            (home / file).parent.mkdir(parents=True, exist_ok=True)
            (home / file).write_bytes(OLD)
        with failing(home, refused):
            told.add(call(words, home))
        now = files(home)
        assert {file: now[file] for file in inputs} == inputs
        kept = {file for file in made if now.get(file) == OLD}
        assert kept in (set(), made), disk.asked[refused]
    assert 2 in told
