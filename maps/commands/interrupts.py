"""
Ctrl-C is answered within seconds, whatever the program is busy with.

Python raises `KeyboardInterrupt` only between two steps of its own: a library that
reckons for half a minute holds it up. So a thread is told of every press at once. It
says what will be kept, and ends the program where that does not end by itself. Files
are safe then too: outputs are moved as one set, and what a killed run left is put in
order by the next.
"""

from __future__ import annotations

import os
import signal
import socket
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from math import inf
from multiprocessing import active_children
from time import monotonic
from types import FrameType
from typing import NoReturn

import typer

from maps.commands.choices import Exit

GRACE_S = 2.0
"""Time from Ctrl-C after which a program that should end is ended. [s]"""

KEEPS = (
    "Ctrl-C: the best plan found so far is taken. Press Ctrl-C again to end at once, "
    "with nothing written."
)
"""What is said while the solver finishes."""

ENDED = "Stopped. Nothing new was written."

SHOW_CURSOR = "\x1b[?25h"
"""A live line hides the cursor, and is not asked to show it where all ends at once."""

_kept: list[str] = []
"""What is said to Ctrl-C in the parts of a command that it does not end."""

_finishing = threading.Event()


def stopped_by_user() -> bool:
    """Say whether Ctrl-C has told a solver to finish."""
    return _finishing.is_set()


@contextmanager
def keeping(said: str) -> Iterator[None]:
    """Let Ctrl-C end only what is done within, and answer it with a sentence."""
    _kept.append(said)
    try:
        yield
    finally:
        _kept.pop()


@contextmanager
def answering() -> Iterator[None]:
    """Answer Ctrl-C within; nothing is done where the program is to leave it alone."""
    if signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return
    ours, told = socket.socketpair()
    for end in (ours, told):
        end.setblocking(False)
    presses = _Presses()
    before = signal.set_wakeup_fd(ours.fileno(), warn_on_full_buffer=False)
    signal.signal(signal.SIGINT, presses.pressed)
    told.setblocking(True)
    threading.Thread(target=presses.watch, args=[told], daemon=True).start()
    try:
        yield
    except Exception:
        if presses.ending:  # a library may make an error of its own of a press
            end_at_once()
        raise
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        signal.set_wakeup_fd(before)
        presses.over = True
        _finishing.clear()
        ours.close()


class _Presses:
    """What has been pressed, and whether it is being answered."""

    def __init__(self) -> None:
        self.over, self.ending, self.seen = False, False, -inf
        self._finishing: object = None

    def pressed(self, _number: int, _frame: FrameType | None) -> NoReturn:
        """Answer between two steps of the program, where no solver does."""
        self.seen = monotonic()
        if _kept:
            say(_kept[-1])
        else:
            self.ending = True
        raise KeyboardInterrupt

    def watch(self, told: socket.socket) -> None:
        """Be told of every press, in a thread of its own."""
        with told:
            while told.recv(1) == bytes([signal.SIGINT]):
                handler = signal.getsignal(signal.SIGINT)
                if handler == self.pressed or getattr(handler, "waits", False):
                    late: Callable[[float], None] = self._late
                elif handler is self._finishing:
                    late = self._insisted
                else:
                    self._finishing = handler
                    _finishing.set()
                    say(KEEPS)
                    continue
                timer = threading.Timer(GRACE_S, late, [monotonic()])
                timer.daemon = True
                timer.start()

    def _late(self, pressed: float) -> None:
        """End the program if it should have ended, or took no notice of a press."""
        unseen = self.seen < pressed - GRACE_S / 4 and not _kept
        if not self.over and (self.ending or unseen):
            end_at_once()

    def _insisted(self, _pressed: float) -> None:
        """End the program if a solver was told twice."""
        if not self.over:
            end_at_once()


def say(words: str) -> None:
    """Say something on the error output, if anybody reads it."""
    with suppress(OSError, ValueError):
        typer.echo(words, err=True)


def end_at_once() -> NoReturn:
    """End this program and those that it started, without another step of theirs."""
    for child in active_children():
        child.terminate()
    say((SHOW_CURSOR if sys.stderr.isatty() else "") + ENDED)
    os._exit(Exit.INTERRUPTED)
