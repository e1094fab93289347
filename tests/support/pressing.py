"""Ctrl-C pressed in a running command, and how long its answer takes."""

import os
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from support.places import ROOT

ANSWERS_S = 3.0
"""Longest time for an answer to Ctrl-C. [s]"""
AGAIN = "Press Ctrl-C again"
"""Said where one press does not end a command."""
BEGINS_S = 1.5
"""Python itself starts until then on a busy machine, and knows no Ctrl-C. [s]"""


@dataclass(frozen=True)
class Pressed:
    """
    What came of it.

    Attributes
    ----------
    code
        Exit code; None if the command had ended before.
    told, ended
        Time from the first press to a sentence, from the last press to the end. [s]
    said
        The error output.
    """

    code: int | None
    told: float
    ended: float
    said: str


def _hears() -> None:
    """Let Ctrl-C through: a shell that runs tests in the background shuts it off."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def press(words: list[str], moment: float, log: Path) -> Pressed:
    """
    Start a command, press Ctrl-C at a moment, and again if it only says what it keeps.

    Parameters
    ----------
    words
        After ``loamhaul``.
    moment
        From the start. [s]
    log
        File for the error output.
    """
    call = [sys.executable, "-m", "maps", *words]
    with log.open("wb") as error:
        running = subprocess.Popen(
            call,
            cwd=ROOT,
            stdout=subprocess.DEVNULL,
            stderr=error,
            env=os.environ,
            preexec_fn=_hears,
        )
    time.sleep(moment)
    if running.poll() is not None:
        return Pressed(None, 0.0, 0.0, log.read_text())
    begun = last = time.monotonic()
    running.send_signal(signal.SIGINT)
    while running.poll() is None and AGAIN not in log.read_text():
        if time.monotonic() - begun > 60:
            running.kill()
        time.sleep(0.02)
    told = time.monotonic() - begun
    while running.poll() is None:
        last = time.monotonic()
        running.send_signal(signal.SIGINT)
        try:
            running.wait(4 * ANSWERS_S)
        except subprocess.TimeoutExpired:
            continue
    ended = time.monotonic() - last
    return Pressed(running.returncode, told, ended, log.read_text())
