"""Files put on the disk so that a killed program leaves the old ones whole."""

from __future__ import annotations

import json
import os
import secrets
from contextlib import suppress
from pathlib import Path
from typing import IO, Any


def write_whole(target: Path, content: bytes) -> None:
    """Write a file beside its place, see it on the disk, and put it in place."""
    draft = target.with_name(f".{target.name}-{secrets.token_hex(4)}.part")
    try:
        with draft.open("xb") as handle:
            handle.write(content)
            handle.flush()
            os.fsync(handle.fileno())
        draft.replace(target)
    except BaseException:
        draft.unlink(missing_ok=True)
        raise
    _see_folder(target.parent)


def write_json(target: Path, value: object) -> None:
    """Write a value as JSON, whole or not at all."""
    text = json.dumps(value, ensure_ascii=False, indent=1, sort_keys=True)
    write_whole(target, text.encode())


def read_json(path: Path) -> dict[str, Any]:
    """Read a record; one that is not there or not to be read is empty."""
    try:
        value = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    return value if isinstance(value, dict) else {}


def _see_folder(folder: Path) -> None:
    """See that a new name in a folder is on the disk, where the system lets us."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


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
