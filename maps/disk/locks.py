"""Locks on files: each goes with the program that holds it, however that ends."""

from __future__ import annotations

from pathlib import Path
from typing import IO


def hold(path: Path) -> IO[bytes] | None:
    """
    Take the lock of a file; None if another program has it.

    The lock goes with the program that holds it, however that ends.
    """
    handle = path.open("ab")
    try:
        _lock(handle)
    except OSError:
        handle.close()
        return None
    return handle


def is_held(path: Path) -> bool:
    """Tell whether a program holds the lock of a file."""
    if not path.is_file():
        return False
    handle = hold(path)
    if handle is None:
        return True
    handle.close()
    return False


def _lock(handle: IO[bytes]) -> None:
    """Lock the first byte, or raise OSError at once."""
    try:
        import fcntl
    except ImportError:
        import msvcrt

        handle.seek(0)
        msvcrt.locking(handle.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        return
    fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
