"""Outputs appear as one set or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def check_out(out_dir: Path) -> None:
    """Raise OSError at once if the outputs could not be written later."""
    if out_dir.exists() and not out_dir.is_dir():
        message = f"{out_dir} is a file; name a folder for the outputs"
        raise NotADirectoryError(message)
    nearest = out_dir.absolute()
    while not nearest.exists():
        nearest = nearest.parent
    if not nearest.is_dir() or not os.access(nearest, os.W_OK):
        message = f"{nearest} cannot be written to; name another folder"
        raise PermissionError(message)


@contextmanager
def whole_set(out_dir: Path) -> Iterator[Path]:
    """
    Give a folder to write into; at the end all that is in it moves into `out_dir`.

    It is a temporary folder, inside `out_dir` if that is there and beside it if not, so
    always on the same disk. If anything fails, or somebody stops the run, nothing is
    moved, or moved back, and `out_dir` is as it was. A file or folder takes the place
    of an older one of its name; all others in `out_dir` are left alone.

    Parameters
    ----------
    out_dir
        Folder for the outputs; made if it is not there.

    Raises
    ------
    OSError
        If `out_dir` cannot be written to.
    """
    check_out(out_dir)
    out_dir.parent.mkdir(parents=True, exist_ok=True)
    place = out_dir if out_dir.exists() else out_dir.parent
    work = Path(tempfile.mkdtemp(prefix=f".{out_dir.name}-", dir=place))
    try:
        new, old = work / "new", work / "old"
        new.mkdir()
        old.mkdir()
        yield new
        _swap(new, old, out_dir)
    finally:
        shutil.rmtree(work, ignore_errors=True)


def _swap(new: Path, old: Path, out_dir: Path) -> None:
    """Move what is in `new` into `out_dir`; undo everything if one move fails."""
    if not out_dir.exists():
        new.rename(out_dir)
        return
    done: list[tuple[Path, Path]] = []
    try:
        for name in sorted(file.name for file in new.iterdir()):
            if (out_dir / name).exists():
                _move(out_dir / name, old / name, done)
            _move(new / name, out_dir / name, done)
    except BaseException:
        for here, there in reversed(done):
            there.rename(here)
        raise


def _move(here: Path, there: Path, done: list[tuple[Path, Path]]) -> None:
    """Rename, and remember it."""
    here.rename(there)
    done.append((here, there))
