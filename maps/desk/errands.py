"""
Short work on a finished plan: rounds of a month, a day planned anew, trucks to own.

Each errand has a folder in the folder of its plan, with what was asked, the events that
its program tells and what it made; so a page loaded again, or another tab, sees the
same. One errand is done at a time; a plan that is being made goes on meanwhile.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from threading import Condition, Thread
from typing import Any, Literal

from maps.desk.book import CLAIM, DROP, LOCK, ORDER, PlanEntry
from maps.desk.events import EVENTS, Event, last_events, last_of, last_word, tell
from maps.desk.line import NEW_GROUP
from maps.desk.shelf import NameFault, safe_name
from maps.disk import is_held, read_json, write_json

MONTHS, TODAY, FLEET = "months", "today", "fleet"
"""Folders in a plan's folder: rounds by period, days planned anew by their code, and
how many trucks to own, in `OWN`."""
OWN, FLEET_FACTS = "own", "fleet.json"
STARTING = 60.0
"""Time in which a program that was sent must have taken its errand in hand. [s]"""
MOST_WAITING = 20
KEEP = frozenset({ORDER, EVENTS, LOCK, CLAIM, "worker.log"})
"""Files of an errand that say how it went; all others are what it made."""
STOPPED = "Stopped. Nothing of it was kept."
State = Literal[
    "none", "waiting", "running", "interrupted", "done", "failed", "stopped"
]
ENDS: dict[str, State] = {"done": "done", "stopped": "stopped"}


@dataclass(frozen=True)
class Errand:
    """
    Work on a plan.

    Attributes
    ----------
    folder
        Its own.
    state
        Where it stands.
    asked
        What was asked.
    words
        What is being done.
    end
        Last word of its program; empty until then.
    """

    folder: Path
    state: State
    asked: Mapping[str, Any]
    words: str
    end: Event


def errand_at(folder: Path) -> Errand:
    """Read how an errand stands; one that was never asked for has the state "none"."""
    if folder.is_symlink() or folder.is_junction() or not folder.is_dir():
        return Errand(folder, "none", {}, "", {})
    order = read_json(folder / ORDER)
    asked = order.get("asked")
    events = last_events(folder)
    end = last_word(last_of(events, "end"))
    words = str(last_of(events, "phase").get("words", ""))
    state: State = "interrupted"
    if end:
        state = ENDS.get(end["how"], "failed")
    elif is_held(folder / LOCK):
        state = "running"
    elif _age(folder / CLAIM) < STARTING:
        state = "waiting"
    return Errand(folder, state, asked if isinstance(asked, dict) else {}, words, end)


def _age(path: Path) -> float:
    """Time since a file was written; endless if it is not there. [s]"""
    try:
        return abs(time.time() - path.stat().st_mtime)
    except OSError:
        return float("inf")


def folder_of(entry: PlanEntry, part: str, code: str) -> Path:
    """
    Return the folder of an errand of a plan; it need not be there.

    Raises
    ------
    NameFault
        If the code cannot be the name of a folder, or a link leads elsewhere.
    """
    base = entry.folder / part
    if base.is_symlink() or base.is_junction():
        message = f"{part} of this plan is a link. Remove it"
        raise NameFault(message)
    return base / safe_name(code)


class Errands:
    """Does the errands of the opened folder, one after another."""

    def __init__(self) -> None:
        self._waiting: deque[Path] = deque()
        self._wake = Condition()
        self._thread: Thread | None = None

    def order(
        self, folder: Path, asked: Mapping[str, object], *, again: bool = False
    ) -> Errand:
        """
        Ask for an errand, anew if it was stopped, failed or was interrupted.

        `again` asks for one that is done once more; what it made is set aside until
        the new is there, see `put_back`.

        Raises
        ------
        NameFault
            If too many wait already.
        """
        now = errand_at(folder)
        if now.state in ("waiting", "running") or (now.state == "done" and not again):
            return now
        with self._wake:
            if len(self._waiting) >= MOST_WAITING:
                message = "Too much is asked for at once. Wait until it is done"
                raise NameFault(message)
            if now.state == "done":
                set_aside(folder)
            folder.mkdir(parents=True, exist_ok=True)
            clear(folder)
            (folder / EVENTS).unlink(missing_ok=True)
            write_json(folder / ORDER, {"at": time.time(), "asked": dict(asked)})
            (folder / CLAIM).touch()
            self._waiting.append(folder)
            if self._thread is None or not self._thread.is_alive():
                self._thread = Thread(target=self._run, daemon=True)
                self._thread.start()
        return errand_at(folder)

    def stop(self, folder: Path) -> None:
        """Stop an errand that waits or is being done; one that has ended stays."""
        with self._wake:
            if folder in self._waiting:
                self._waiting.remove(folder)
                tell(folder, "end", how="stopped", why=STOPPED, lines=[])
                return
        if errand_at(folder).state in ("waiting", "running"):
            (folder / DROP).touch()

    def _run(self) -> None:
        """Send a program to each errand in turn, until none waits."""
        while True:
            with self._wake:
                if not self._waiting:
                    self._thread = None
                    return
                folder = self._waiting.popleft()
                for one in (folder, *self._waiting):
                    (one / CLAIM).touch()
            done(folder)
            if errand_at(folder).state == "stopped":
                clear(folder)


def done(folder: Path) -> None:
    """Do an errand in a program of its own, and wait for its end."""
    subprocess.run(
        [sys.executable, "-P", "-m", "maps.desk.errand_worker"],
        input=f"{folder}\n",
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        check=False,
        text=True,
        encoding="utf-8",
        start_new_session=sys.platform != "win32",
        creationflags=NEW_GROUP if sys.platform == "win32" else 0,
    )


def clear(folder: Path) -> None:
    """Take away what an errand made, whole or in part."""
    for path in folder.iterdir():
        if path.name in KEEP:
            continue
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)


def set_aside(folder: Path) -> None:
    """Keep what an errand made, while it is done once more, in place of older."""
    aside = aside_of(folder)
    if aside.is_dir():
        discard(aside)
    folder.rename(aside)


def aside_of(folder: Path) -> Path:
    """Where an errand is kept while it is done once more; it need not be there."""
    return folder.with_name(f".before-{folder.name}")


def put_back(folder: Path) -> bool:
    """Take what was set aside in place of an errand that came to nothing."""
    aside = aside_of(folder)
    if not aside.is_dir() or aside.is_symlink():
        return False
    if errand_at(folder).state in ("waiting", "running", "done"):
        return False
    if folder.is_dir():
        discard(folder)
    aside.rename(folder)
    return True


def discard(folder: Path) -> None:
    """Take an errand's folder away, in one step."""
    gone = folder.with_name(f".gone-{folder.name}-{time.time_ns()}")
    folder.rename(gone)
    shutil.rmtree(gone, ignore_errors=True)
