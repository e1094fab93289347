"""The wheel in an empty place: the story from new to compare, on every Python meant."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from hatchling.builders.wheel import WheelBuilder
from support.places import ROOT, TESTS

PLACE = 'O\'Brien "pier" Ñandú 堆肥 مركز'
"""Blank, both quotes and letters of four scripts, in the path of everything."""
PYTHONS = ("3.12", "3.14")
"""Oldest and newest; the memory stick is tried with the one that all tests run on."""


def made(*words: object, **more) -> str:
    """Run a program that must not fail; return what it says."""
    told = subprocess.run(
        [str(word) for word in words],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        **more,
    )
    assert told.returncode == 0, told.stdout[-1500:] + told.stderr[-3000:]
    return told.stdout


def uv(*words: object) -> subprocess.CompletedProcess[str]:
    """Run uv where it never fetches a Python."""
    command = ["uv", *map(str, words), "--no-python-downloads"]
    return subprocess.run(
        command, cwd=ROOT, capture_output=True, text=True, check=False
    )


def interpreter(version: str) -> str:
    """Path of a Python that is here already, beside this one or as uv finds it."""
    beside = Path(sys.base_prefix).parent.glob(f"{version}*/bin/python3")
    found = [str(path) for path in beside]
    asked = uv("python", "find", "--no-project", version)
    return found[0] if found else asked.stdout.strip()


@pytest.mark.thorough
@pytest.mark.skipif(sys.platform != "linux", reason="mounts as on Linux")
@pytest.mark.parametrize("python", PYTHONS)
def test_the_story_passes_where_nothing_but_the_wheel_is(tmp_path, python):
    if shutil.which("uv") is None or uv("--version").returncode:
        pytest.skip("there is no uv")
    found = interpreter(python)
    if not found:
        pytest.skip(f"Python {python} is not installed here")
    apart = ["unshare", "-mn"] if os.geteuid() == 0 else ["unshare", "-rmn"]
    if subprocess.run([*apart, "true"], check=False).returncode:
        pytest.skip("no folder can be made read-only here")
    place = tmp_path / PLACE
    work, home = place / "work", place / "home"
    work.mkdir(parents=True)
    home.mkdir()
    wheel = next(WheelBuilder(str(ROOT)).build(directory=str(tmp_path / "built")))
    venv = place / "its own"
    limits = ROOT / ".ci" / "constraints.txt"
    made("uv", "venv", "-q", "-p", found, venv, cwd=ROOT)
    made("uv", "pip", "install", "-q", "-p", venv, "-c", limits, wheel, cwd=ROOT)
    (site,) = venv.glob("lib/python3*/site-packages")
    kept = {"PATH": "/usr/bin:/bin", "HOME": str(home), "LANG": "C.UTF-8"}
    script = TESTS / "support" / "installed_story.sh"
    said = made(*apart, "sh", script, venv, site, cwd=work, env=kept)
    assert "Written to" in said
    (district,) = (path for path in work.iterdir() if path.is_dir())
    assert (district / "out" / "rounds_m01" / "rounds.xlsx").is_file()
    assert (district / "out" / "compare.html").is_file()
    assert ROOT.as_posix() not in (district / "out" / "map.html").read_text("utf-8")
    assert not list(Path(work).glob("loamhaul-report-*"))
