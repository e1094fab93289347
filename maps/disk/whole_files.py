"""Files put on the disk so that a killed program leaves the old ones whole."""

from __future__ import annotations

import json
import os
import secrets
from contextlib import suppress
from pathlib import Path
from typing import Any


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


def write_set(files: dict[Path, bytes]) -> None:
    """Write all files, or leave all as they were."""
    before = {path: path.read_bytes() if path.is_file() else None for path in files}
    drafts = {path: path.with_name(path.name + ".part") for path in files}
    try:
        for path, data in files.items():
            drafts[path].write_bytes(data)
        for path in files:
            drafts[path].replace(path)
    except BaseException:
        for path, old in before.items():
            drafts[path].unlink(missing_ok=True)
            if old is None:
                path.unlink(missing_ok=True)
            else:
                path.write_bytes(old)
        raise
