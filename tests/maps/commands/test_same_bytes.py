"""
Two runs with the same seed give the same files, whatever surrounds them.

Each command runs twice as a program of its own: once here, once in another time zone,
language, order of hashes, number of threads and workers. What differs by nature, how
long things took, is named in `manual/plan.md` and taken out here.
"""

import io
import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from support.places import ROOT, SMALL

pytestmark = pytest.mark.thorough

HERE = {"TZ": "UTC", "LC_ALL": "C.UTF-8", "PYTHONHASHSEED": "0"}
ELSEWHERE = {
    **{"TZ": "Pacific/Chatham", "LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8"},
    **{"PYTHONHASHSEED": "4711", "OMP_NUM_THREADS": "1"},
}
FUEL = ["--change", "scale_fuel:percent=40"]
COMMANDS = {
    "plan": (["plan", "DIR"], []),
    "coarsen": (["plan", "DIR", "--coarsen", "--edge", "20"], []),
    "compare": (["compare", "DIR", *FUEL, "--map"], []),
    "rounds": (["rounds", "DIR", "--period", "m01"], ["--workers", "2"]),
    "sheets": (["sheets", "DIR", "--period", "m01"], []),
    "stress": (["stress", "DIR", "--draws", "1", "--workers", "1"], ["--workers", "2"]),
    "robust": (["robust", "DIR", *FUEL], []),
    "frontier": (["frontier", "DIR", "--points", "3"], []),
    "shares": (["shares", "DIR"], []),
    "why": (["why", "DIR", "--up-to", "0"], []),
    "alternatives": (["alternatives", "DIR", "--most", "3"], []),
    "years": (["plan", "DIR", "--years"], []),
    "export": (["export", "DIR", "--to", "gpkg"], []),
    "export xlsx": (["export", "DIR", "--to", "xlsx"], []),
    "form": (["form", "DIR"], []),
}
"""Name -> words, DIR for the folder; more words for the second run."""

SAMPLE = ("stress", "robust", "export xlsx", "form")
TRIED = COMMANDS if os.environ.get("LOAMHAUL_ALL_COMMANDS") else SAMPLE
"""All take minutes: they are tried by hand, with LOAMHAUL_ALL_COMMANDS=1."""

TIMES = re.compile(
    rb'"seconds": ([0-9.e-]+)'
    rb"|(?:solving time|time for the joint choice) \[s\],([0-9.]+)"
)
SECONDS = re.compile(rb"([0-9.]{8,}),(?:optimal|time_limit|shortage)$", re.MULTILINE)
"""Where tables say how long something took."""


def made(folder: Path, words: list[str], around: dict[str, str]) -> dict[str, bytes]:
    """Run a command in other surroundings, and read what it wrote."""
    home = Path(shutil.copytree(SMALL, folder / "small"))
    (home / "years.csv").write_text("year,capital\n2027,900000\n2028,900000\n")
    typed = ["small" if word == "DIR" else word for word in words]
    done = subprocess.run(
        [sys.executable, "-m", "maps", *typed],
        cwd=folder,
        env={**os.environ, **around, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode in {0, 4}, done.stdout + done.stderr
    return {
        path.relative_to(home).as_posix(): path.read_bytes()
        for path in sorted((home / "out").rglob("*"))
        if path.is_file()
    }


def durations(files: dict[str, bytes]) -> list[bytes]:
    """Find how long things took, to as many digits as a workbook has for sure."""
    found = set()
    for name, content in files.items():
        if name.endswith((".csv", ".json", ".jsonl")):
            found |= {one or two for one, two in TIMES.findall(content)}
        if name.endswith("shares.csv/groups.csv"):
            found |= set(SECONDS.findall(content))
    return [one[:12] for one in found if len(one) > 6]


def bare(name: str, content: bytes, files: dict[str, bytes]) -> object:
    """Take out how long something took."""
    if name.endswith(".xlsx"):
        with zipfile.ZipFile(io.BytesIO(content)) as book:
            parts = [
                name.encode() + b"\n" + book.read(name) for name in book.namelist()
            ]
        content = b"\n".join(parts)
    if name.endswith(".jsonl"):  # in the order in which runs ended
        content = b"\n".join(sorted(content.splitlines()))
    for one in durations(files):
        content = re.sub(re.escape(one) + rb"\d*", b"", content)
    if name.endswith(".html"):
        content = re.sub(rb"[0-9.]+ s(?=[,.< ])", b"", content)
    return re.sub(rb'"seconds": (\[[^]]*\]|[0-9.e-]+)', b"", content)


@pytest.mark.parametrize("name", TRIED)
def test_the_same_files(name, tmp_path):
    words, more = COMMANDS[name]
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    one = made(tmp_path / "a", words, HERE)
    two = made(tmp_path / "b", [*words, *more], ELSEWHERE)
    assert one.keys() == two.keys()
    assert one
    unlike = [
        file for file in one if bare(file, one[file], one) != bare(file, two[file], two)
    ]
    assert not unlike
