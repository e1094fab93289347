"""
Who is next: one plan is made at a time, the others wait.

What waits is read from the plan books, so a desk that is started again goes on where
the last one was. A worker outlives its desk; while one holds a plan, no other is sent.
"""

from __future__ import annotations

import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path

from maps.desk.book import PlanEntry, claim, plans
from maps.desk.shelf import PLANS, STUDIES, Shelf

EVERY = 2.0
"""Time between two looks into the books when nothing is heard. [s]"""
NEW_GROUP = 0x200
"""Of Windows: Ctrl-C in the desk's window does not reach its workers."""


def in_line(shelf: Shelf) -> list[tuple[str, PlanEntry]]:
    """Plans and studies under way, with their scenario, in the order of turn."""
    found = [
        (name, entry)
        for name in shelf.names()
        for book in (PLANS, STUDIES)
        for entry in plans(shelf.scenario(name), book)
        if entry.under_way
    ]
    return sorted(found, key=lambda one: (one[1].state == "waiting", one[1].ordered))


class PlanLine:
    """Sends a worker to every plan of the opened folder in turn."""

    def __init__(self, shelf: Shelf) -> None:
        self._shelf = shelf
        self._wake, self._gone = threading.Event(), threading.Event()
        self._expected = threading.Event()
        self._ahead: subprocess.Popen[str] | None = None
        self._sent: subprocess.Popen[str] | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)

    def start(self) -> None:
        """Begin to look for plans that wait."""
        self._thread.start()

    def close(self) -> None:
        """Stop sending workers; one that is at work goes on."""
        self._gone.set()
        self._wake.set()
        self._thread.join(5)
        for worker in filter(None, (self._ahead, self._sent)):
            leave(worker)

    def expect(self) -> None:
        """Say that a plan may be ordered soon: a worker is started ahead of it."""
        self._expected.set()
        self._wake.set()

    def wake(self) -> None:
        """Say that a plan was ordered or has gone."""
        self._wake.set()

    def _run(self) -> None:
        while not self._gone.is_set():
            with suppress(OSError):  # the folder may be away for a moment
                self._step()
            if self._ahead is None and self._expected.is_set():
                self._ahead = started()
            working = self._sent is not None and self._sent.poll() is None
            self._wake.wait(0.2 if working else EVERY)
            self._wake.clear()

    def _step(self) -> None:
        """Send a worker to the next plan, if none is at work."""
        if self._sent is not None:
            if self._sent.poll() is None:
                return
            self._sent = None
        waiting = in_line(self._shelf)
        if not waiting or any(entry.state != "waiting" for _, entry in waiting):
            return
        entry = waiting[0][1]
        if not claim(entry):
            return
        worker = self._ahead or started()
        if worker.poll() is not None:
            worker = started()
        self._ahead, self._sent = None, worker
        send(worker, entry.folder)


def started() -> subprocess.Popen[str]:
    """Start a worker that loads what it needs and waits for its plan."""
    return subprocess.Popen(
        [sys.executable, "-P", "-m", "maps.desk.worker"],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
        start_new_session=sys.platform != "win32",
        creationflags=NEW_GROUP if sys.platform == "win32" else 0,
    )


def send(worker: subprocess.Popen[str], plan: Path) -> None:
    """Tell a worker its plan."""
    assert worker.stdin is not None
    worker.stdin.write(f"{plan}\n")
    worker.stdin.close()


def leave(worker: subprocess.Popen[str]) -> None:
    """Leave a worker: without a plan it ends by itself, with one it goes on."""
    assert worker.stdin is not None
    worker.stdin.close()
    if worker.poll() is None:
        worker.returncode = 0  # nobody waits for it: not a fault of ours
