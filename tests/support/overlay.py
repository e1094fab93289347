"""Lay the files of a faulty case over the small good scenario."""

import shutil
from pathlib import Path

from support.places import SMALL

OWN_FILES = {"expected.txt", "remove.txt"}


def overlay(case: Path, target: Path) -> list[str]:
    """Make the scenario of a case in `target`; return the messages expected."""
    shutil.copytree(SMALL, target, dirs_exist_ok=True)
    removed = case / "remove.txt"
    for name in removed.read_text().split() if removed.exists() else ():
        (target / name).unlink()
    for file in case.iterdir():
        if file.is_dir():
            shutil.copytree(file, target / file.name)
        elif file.name not in OWN_FILES:
            shutil.copy(file, target / file.name)
    return (case / "expected.txt").read_text(encoding="utf-8").splitlines()
