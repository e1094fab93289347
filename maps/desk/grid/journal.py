"""
A journal: what editing began from, then a flushed line for every batch of edits.

A line torn by a kill is left out when the journal is read, so what was acknowledged is
there and what was not never half is.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

from maps.desk.grid.faults import EditFault
from maps.desk.shelf import DRAFTS
from maps.disk import write_whole

TURNS = ("undo", "redo")
"""What a batch may be besides an edit of its own."""


def journal_of(folder: Path, name: str) -> Path:
    """
    Return the journal of a table, or of the settings; it need not be there.

    Raises
    ------
    EditFault
        If the folder of journals is a link to another place.
    """
    if (folder / DRAFTS).is_symlink():
        message = f"{DRAFTS} is a link to another place"
        raise EditFault(message)
    return folder / DRAFTS / f"{name}.jsonl"


def begin_journal(journal: Path, head: object) -> None:
    """Write the first line: what editing begins from."""
    journal.parent.mkdir(exist_ok=True)
    write_whole(journal, _line(head))


def add_line(journal: Path, record: object) -> None:
    """Add a line and wait until it is on the disk; cut off what a kill left torn."""
    with journal.open("r+b") as file:
        data = file.read()
        file.seek(data.rfind(b"\n") + 1)
        file.truncate()
        file.write(_line(record))
        file.flush()
        os.fsync(file.fileno())


def lines_of(journal: Path) -> list[Any]:
    """Whole lines of a journal; none if there is none or its head is torn."""
    try:
        data = journal.read_bytes()
    except FileNotFoundError:
        return []
    return [json.loads(line) for line in data[: data.rfind(b"\n") + 1].splitlines()]


def lay_aside(journal: Path) -> None:
    """Move a journal to the folder `aside`: its edits hold no more, but are there."""
    if journal.exists():
        aside = journal.parent / "aside"
        aside.mkdir(exist_ok=True)
        count = sum(1 for _ in aside.iterdir())
        journal.replace(aside / f"{journal.stem}-{count + 1:04d}.jsonl")


def _line(record: object) -> bytes:
    return json.dumps(record, ensure_ascii=True).encode("ascii") + b"\n"
