"""
Two sets of files exchanged as one, whatever happens on the way.

Files move one by one, as no system can exchange many at once and leave others in the
folder alone. Which ones is written down first; a program that is killed leaves that
list, and the next one moves back what had moved. Until then a file with a plain name
says that the folder holds a mixture.
"""

from __future__ import annotations

import json
import os
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from glob import escape
from pathlib import Path

from maps.disk import hold, is_held

NEW, OLD, MOVES, HELD = "new", "old", "moves.json", "held"
"""In a work folder: the new set, the one it replaces, what moves, and a lock."""

UNFINISHED = "unfinished.txt"
"""Stands in a folder while files move there, or after a program was killed then."""

WARNING = (
    "A run of Loamhaul is moving its files here, or was stopped while it did: some\n"
    "files may be of the run before. If none is at work, give any command this folder\n"
    "as --out again: it first puts the older files back.\n"
)

AGE_S = 60.0
"""Age from which a work folder that no program holds is nobody's. [s]"""

WAIT_S = 10.0
"""Longest time to wait for another program that moves files here. [s]"""


@contextmanager
def work_folder(place: Path, out_dir: Path) -> Iterator[Path]:
    """Give a work folder for a set, and take it away; only not while moves stand."""
    work = Path(tempfile.mkdtemp(prefix=f".{out_dir.name}-", dir=place))
    try:
        held = hold(work / HELD)
        try:
            for name in (NEW, OLD):
                (work / name).mkdir()
            yield work
        finally:
            if held is not None:
                held.close()
    finally:
        if not (work / MOVES).exists():
            shutil.rmtree(work, ignore_errors=True)


def swap_sets(
    work: Path, out_dir: Path, standing: Callable[[], list[str]], fresh: Sequence[str]
) -> None:
    """
    Exchange the set in a folder for the new one; move all back if one move fails.

    Parameters
    ----------
    work
        See `work_folder`; the new set is in it.
    out_dir
        Folder of the set; it need not be there.
    standing
        Tells the files of the older set, once no other program moves any: paths from
        the folder.
    fresh
        Those of the new one.

    Raises
    ------
    OSError
        If a file cannot be moved, or another program moves files there.
    """
    if not out_dir.exists():
        (work / NEW).rename(out_dir)
        return
    for name in fresh:
        if (out_dir / name).is_dir() and not (out_dir / name).is_symlink():
            message = f"{out_dir / name} is a folder, where a file must be written"
            raise IsADirectoryError(message)
    with _alone(out_dir):
        stale = standing()
        moves = json.dumps({"stale": stale, "fresh": list(fresh)})
        try:
            _write(work / MOVES, moves)
            _write(out_dir / UNFINISHED, WARNING)
            for name in stale:
                _move(out_dir / name, work / OLD / name)
            for name in fresh:
                _move(work / NEW / name, out_dir / name)
        except BaseException:
            _undo(work, out_dir)
            raise
        (work / MOVES).unlink()
        (out_dir / UNFINISHED).unlink(missing_ok=True)
        for folder in {(out_dir / name).parent for name in stale} - {out_dir}:
            if not any(folder.iterdir()):
                folder.rmdir()


def take_back(out_dir: Path) -> None:
    """
    Put a folder in order in which a program was killed: its older set comes back.

    Work folders of programs that are still there are left to them.
    """
    works = [
        work
        for place in (out_dir, out_dir.parent)
        for work in sorted(place.glob(f".{escape(out_dir.name)}-*"))
    ]
    stopped = [work for work in works if (work / MOVES).is_file()]
    if stopped or _lock_file(out_dir).exists():
        with _alone(out_dir):  # so none of them is still at it
            for work in stopped:
                _undo(work, out_dir)
            (out_dir / UNFINISHED).unlink(missing_ok=True)
    for work in works:
        with suppress(OSError):
            if work in stopped or _is_nobodys(work):
                shutil.rmtree(work, ignore_errors=True)


def _is_nobodys(work: Path) -> bool:
    """Whether no program holds a work folder, nor is just making it."""
    young = time.time() - work.stat().st_mtime < AGE_S
    return not young and not is_held(work / HELD)


def _undo(work: Path, out_dir: Path) -> None:
    """Move back what has moved, by the list of moves; the list goes last."""
    try:
        moves = json.loads((work / MOVES).read_text(encoding="utf-8"))
    except (FileNotFoundError, ValueError):  # not written whole: nothing has moved
        moves = {"stale": [], "fresh": []}
    for name in moves["fresh"]:
        if not (work / NEW / name).exists() and (out_dir / name).exists():
            _move(out_dir / name, work / NEW / name)
    for name in moves["stale"]:
        if (work / OLD / name).exists():
            _move(work / OLD / name, out_dir / name)
    (work / MOVES).unlink(missing_ok=True)
    (out_dir / UNFINISHED).unlink(missing_ok=True)


def _move(here: Path, there: Path) -> None:
    there.parent.mkdir(parents=True, exist_ok=True)
    here.rename(there)


def _write(path: Path, text: str) -> None:
    """Write a file and see it on the disk."""
    with path.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())


@contextmanager
def _alone(out_dir: Path) -> Iterator[None]:
    """Keep other programs from moving files into a folder, or wait for them."""
    lock = _lock_file(out_dir)
    end = time.monotonic() + WAIT_S
    while True:
        handle = hold(lock)
        if handle is not None and _is_same(handle.fileno(), lock):
            break
        if handle is not None:
            handle.close()  # the other program took its lock away with the file
        if time.monotonic() > end:
            message = (
                f"another run is writing into {out_dir}: wait, or name another folder"
            )
            raise BlockingIOError(message)
        time.sleep(0.05)
    try:
        yield
    finally:
        with suppress(OSError):
            lock.unlink()
        handle.close()


def _lock_file(out_dir: Path) -> Path:
    return out_dir / f".{out_dir.name}.moving"


def _is_same(handle: int, path: Path) -> bool:
    """Whether an open file is still the one of that name."""
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except OSError:
        return False
