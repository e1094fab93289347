"""
Files that are dropped in are read by a program of its own, for so long and no longer.

A workbook can be small and yet take very long to read. The desk waits for the program
in a thread; when its time is over the program is ended and nothing of the file is kept.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from maps.desk.archive import NotOurs, ZipFault
from maps.desk.beginnings import from_geopackage, from_share, from_workbook
from maps.desk.line import NEW_GROUP
from maps.desk.shelf import NameFault

LONGEST = 90.0
"""Time in which a file that is dropped in must have been read. [s]"""
PROGRAM = (sys.executable, "-P", "-m", "maps.desk.apart")
BROKEN = "could not be read: the program that reads it ended"
WAYS: dict[str, Callable[[Path, Path, str], None]] = {
    "workbook": from_workbook,
    "geopackage": from_geopackage,
    "share": from_share,
}
"""What makes a scenario of a file."""


def brought_apart(
    way: str, file: Path, folder: Path, name: str, seconds: float = LONGEST
) -> None:
    """
    Fill a folder with the scenario of a file, in a program of its own.

    Parameters
    ----------
    way
        One of `WAYS`.
    file, folder, name
        The file, where its scenario goes, and the scenario's name.
    seconds
        Time in which it must be done. [s]

    Raises
    ------
    NotOurs
        If it has no tables of ours, and may be brought in as any file.
    ZipFault
        If the file is not what it should be, or takes too long.
    NameFault
        If a name in it cannot be one.
    """
    asked = json.dumps([way, str(file), str(folder), name])
    said = answer_within(PROGRAM, asked, seconds)
    if said is None:
        message = f"takes longer than {seconds:g} s to read, so it was not brought in. "
        message += "Take out sheets and rows that are no tables of a district"
        raise ZipFault(message)
    try:
        kind, words = json.loads(said)
    except ValueError:
        raise ZipFault(BROKEN) from None
    if kind == "other":
        raise NotOurs(words)
    if kind == "name":
        raise NameFault(words)
    if kind != "done":
        raise ZipFault(words)


def answer_within(command: Sequence[str], asked: str, seconds: float) -> str | None:
    """
    Run a program, and return what it says; None if it had to be ended.

    Parameters
    ----------
    command
        The program with its arguments.
    asked
        What it reads.
    seconds
        Time that it has. [s]
    """
    try:
        ran = subprocess.run(
            list(command),
            input=asked,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            check=False,
            text=True,
            encoding="utf-8",
            timeout=seconds,
            start_new_session=sys.platform != "win32",
            creationflags=NEW_GROUP if sys.platform == "win32" else 0,
        )
    except subprocess.TimeoutExpired:
        return None
    return ran.stdout


def main(asked: str) -> list[str]:
    """Do what is asked; say "done", or what is wrong with the file or its name."""
    way, file, folder, name = json.loads(asked)
    try:
        WAYS[way](Path(file), Path(folder), name)
    except NotOurs as fault:
        return ["other", str(fault)]
    except ZipFault as fault:
        return ["file", str(fault)]
    except NameFault as fault:
        return ["name", str(fault)]
    except Exception:  # whatever a strange file does, the desk has words for it
        return ["file", BROKEN]
    return ["done", ""]


if __name__ == "__main__":
    sys.stdout.write(json.dumps(main(sys.stdin.read())))
