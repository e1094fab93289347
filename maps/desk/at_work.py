"""How a program of the desk does its work: alone, told in steps, to a last word."""

from __future__ import annotations

import os
import traceback
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from functools import partial
from pathlib import Path

from maps.desk.book import LOCK
from maps.desk.events import tell
from maps.desk.telling import Tell
from maps.disk import hold, write_whole

LastWord = Mapping[str, object]
"""How the work ended, see `events.last_word`."""


def at_work(
    folder: Path,
    doing: Callable[[Path, Tell], LastWord],
    words_of: Callable[[Exception], LastWord],
    watching: Callable[[Path, Tell], AbstractContextManager[None]],
) -> None:
    """
    Do the work of a folder, unless another program has it in hand.

    Parameters
    ----------
    folder
        Of a plan, study or errand.
    doing
        Does it; its answer is the last word.
    words_of
        Puts an error into words: "why", "lines", and "ours" if it is a bug.
    watching
        What looks meanwhile for a wish to stop.
    """
    lock = hold(folder / LOCK)
    if lock is None:
        return
    told = partial(tell, folder)
    with lock:
        with watching(folder, told):
            told("start", pid=os.getpid())
            try:
                end = doing(folder, told)
            except Exception as error:  # the last word must be said, whatever happens
                end = {"how": "failed", **words_of(error)}
                if end["ours"]:
                    write_whole(folder / "worker.log", traceback.format_exc().encode())
        told("end", **end)  # nobody can ask to stop any more: there is one last word
