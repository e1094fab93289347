"""Keep the banner that the solver prints when first created off the screen."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from threading import Lock

import highspy

_LOCK = Lock()
_GREETED: list[bool] = []


def greeted() -> None:
    """Let HiGHS greet once in a process, before any option could forbid it."""
    with _LOCK:
        if not _GREETED:
            with _silent():
                highspy.Highs()  # type: ignore[no-untyped-call]
            _GREETED.append(True)


@contextmanager
def _silent() -> Iterator[None]:
    """
    Send what the process prints to nowhere.

    Only ever by one thread: of two at a time the second would put "nowhere" back as
    the place where all is printed.
    """
    with suppress(Exception):
        sys.stdout.flush()
    keep, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        os.dup2(keep, 1)
        os.close(keep)
        os.close(nowhere)
