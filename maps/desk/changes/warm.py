"""The desk's side of the program that answers: one is kept, for the plan in use."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from maps.desk.changes.tray import Wishes, key_of
from maps.desk.line import NEW_GROUP

ENDED = "The program that answers has ended. Load this page again."
MAP = "tried.html"
"""Map of the last answer, in the plan's folder."""
KEPT = 20
"""Answers that are remembered."""


@dataclass(frozen=True)
class Reply:
    """
    Where a question stands.

    Attributes
    ----------
    state
        "loading" the plan, "ready", "reckoning", "answered", or "failed".
    effect
        The answer, or why there is none.
    mapped
        Whether its map is there.
    """

    state: str
    effect: dict[str, Any] = field(default_factory=dict)
    mapped: bool = False


class Answering:
    """Keeps one program for the plan that was asked about last."""

    def __init__(self) -> None:
        self._turn = threading.Lock()
        self._program: Program | None = None

    def warm(self, plan: Path, *, afresh: bool = False) -> Program:
        """
        Have the program of a plan ready, or on its way.

        Parameters
        ----------
        plan
            Folder of the plan.
        afresh
            Whether to try again where the last program failed.
        """
        with self._turn:
            held = self._program
            again = held is not None and (held.gone or (afresh and held.failed))
            if held is None or held.plan != plan or again:
                if held is not None:
                    held.close()
                held = self._program = Program(plan)
            return held

    def ask(self, plan: Path, wishes: Wishes) -> Reply:
        """Ask what changes do to a plan, once; say how the question stands."""
        program = self.warm(plan)
        return program.ask(wishes) if wishes else program.standing()

    def close(self) -> None:
        """Let the program go."""
        with self._turn:
            if self._program is not None:
                self._program.close()
            self._program = None


class Program:
    """One program with one plan loaded."""

    def __init__(self, plan: Path) -> None:
        self.plan = plan
        self._turn = threading.Lock()
        self._answers: dict[str, dict[str, Any]] = {}
        self._last = self._mapped = self._state = ""
        self._fault: dict[str, Any] = {}
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-m", "maps.desk.changes.answering"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
            start_new_session=sys.platform != "win32",
            creationflags=NEW_GROUP if sys.platform == "win32" else 0,
        )
        self._write(f"{plan}\n")
        self._ear = threading.Thread(target=self._listen, daemon=True)
        self._ear.start()

    @property
    def gone(self) -> bool:
        """Whether it was ready and has ended since, as it does when nobody asks."""
        return self._process.poll() is not None and not self._fault

    @property
    def failed(self) -> bool:
        """Whether it could not load its plan."""
        return bool(self._fault)

    def standing(self) -> Reply:
        """Say whether it can be asked."""
        with self._turn:
            if self._fault:
                return Reply("failed", self._fault)
            return Reply("ready" if self._state else "loading")

    def ask(self, wishes: Wishes) -> Reply:
        """Ask, if another question was the last, and say how this one stands."""
        key = key_of(wishes)
        with self._turn:
            if self._fault:
                return Reply("failed", self._fault)
            if self._last != key:  # also where only its map is of another question
                self._last = key
                self._write(json.dumps({"key": key, "wishes": wishes}) + "\n")
            if key in self._answers:
                return Reply("answered", self._answers[key], self._mapped == key)
            return Reply("reckoning" if self._state else "loading")

    def close(self) -> None:
        """End the program with its input."""
        assert self._process.stdin is not None
        with suppress(OSError):  # it may have ended before
            self._process.stdin.close()
        try:
            self._process.wait(2)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait(2)
        self._ear.join(2)

    def _write(self, line: str) -> None:
        assert self._process.stdin is not None
        with suppress(OSError):  # where it has ended `gone` says so
            self._process.stdin.write(line)
            self._process.stdin.flush()

    def _listen(self) -> None:
        """Take what the program tells, until it ends."""
        assert self._process.stdout is not None
        with self._process.stdout as heard:
            for line in heard:
                self._take(json.loads(line))
        with self._turn:
            if not self._state and not self._fault:
                self._fault = {"faults": [ENDED]}

    def _take(self, told: dict[str, Any]) -> None:
        """Take one line of the program."""
        with self._turn:
            if told["kind"] == "ready":
                self._state = "ready"
            elif told["kind"] == "failed":
                self._fault = {"faults": [told["why"], *told["lines"]]}
            elif told["kind"] == "map":
                self._mapped = told["key"]
            else:
                self._remember(told["key"], told["effect"])

    def _remember(self, key: str, effect: dict[str, Any]) -> None:
        self._answers[key] = effect
        while len(self._answers) > KEPT:
            del self._answers[next(iter(self._answers))]
