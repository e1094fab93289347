"""
What a planning worker tells: lines of JSON in a file of the plan's folder.

The file is all there is between worker and pages, so a page that is loaded again, a
second tab and a desk that is started again see the same.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

EVENTS = "events.jsonl"
TAIL = 16_384
"""Bytes at the end of the file in which its last lines are looked for."""

Event = dict[str, Any]
TEXTS = ("how", "status", "fingerprint", "note", "why")
LISTS = ("lines", "nothing")
"""Parts of a worker's last word that are texts, and lists of texts."""
NOT_OURS: Event = {
    "how": "failed",
    "why": "This folder was put into the plan book by hand, from the command plan or "
    "an older Loamhaul perhaps: it has no order.json, so what it was planned from is "
    "not known. Its files are left as they are and can be opened there. To have the "
    "plan here, plan again.",
}
"""The last word of a folder that was not ordered at a desk."""


def tell(folder: Path, kind: str, **values: object) -> None:
    """Add an event to a plan's file, in one write."""
    event = {"kind": kind, "at": round(time.time(), 2), **values}
    line = json.dumps(event, allow_nan=False) + "\n"
    way = os.O_WRONLY | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0)
    handle = os.open(folder / EVENTS, way, 0o644)
    try:
        os.write(handle, line.encode())
    finally:
        os.close(handle)


def read_events(folder: Path, start: int = 0) -> tuple[list[Event], int]:
    """
    Read events from a place in the file on.

    Parameters
    ----------
    folder
        Folder of the plan.
    start
        Where the last reading ended. [byte]

    Returns
    -------
    list, int
        Whole lines that are records, and where the next reading begins. A last line
        without its end is left for the next reading.
    """
    try:
        with (folder / EVENTS).open("rb") as handle:
            handle.seek(start)
            text = handle.read()
    except OSError:
        return [], start
    whole = text[: text.rfind(b"\n") + 1]
    return _records(whole), start + len(whole)


def last_events(folder: Path) -> list[Event]:
    """Read the last events of a file without reading the whole of it."""
    try:
        size = (folder / EVENTS).stat().st_size
    except OSError:
        return []
    return read_events(folder, max(0, size - TAIL))[0]


def last_of(events: list[Event], kind: str) -> Event:
    """Return the last event of a kind; an empty one if there is none."""
    return next((one for one in reversed(events) if one.get("kind") == kind), {})


def _records(text: bytes) -> list[Event]:
    """Read lines; those that are no record are passed over."""
    found: list[Event] = []
    for line in text.splitlines():
        try:
            value = json.loads(line)
        except (ValueError, RecursionError):
            continue
        if isinstance(value, dict) and isinstance(value.get("kind"), str):
            found.append(value)
    return found


def number_in(record: Mapping[str, Any], name: str) -> float | None:
    """
    Return a finite number of a record; None where it holds something else.

    >>> number_in({"a": 1.5, "b": "2", "c": True}, "a"), number_in({"b": "2"}, "b")
    (1.5, None)
    """
    value = record.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if abs(value) < 1e300 else None


def last_word(event: Event) -> Event:
    """
    Return a worker's last word with all its parts, whatever the file holds.

    >>> last_word({}), last_word({"how": "done", "lines": 3})["lines"]
    ({}, [])
    """
    if not event:
        return {}
    texts = {name: str(event.get(name, "")) for name in TEXTS}
    lists = {name: event.get(name) for name in LISTS}
    shown = {k: v if isinstance(v, list) else [] for k, v in lists.items()}
    return texts | {k: [str(one) for one in v] for k, v in shown.items()}
