"""A disk that refuses the n-th thing asked of it, below one folder."""

from __future__ import annotations

import builtins
import errno
import io
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

ERRORS = (errno.ENOSPC, errno.EACCES, errno.EIO)


class Disk:
    """
    Counts what is asked below a folder, and refuses one of it.

    Attributes
    ----------
    asked
        What was asked so far, in order.
    """

    def __init__(self, folder: Path, refused: int | None = None) -> None:
        self.folder = str(folder)
        self.refused = refused
        self.asked: list[str] = []

    def ask(self, what: str, path: object) -> None:
        """Count one thing; raise OSError if it is the one refused."""
        text = os.fspath(path) if isinstance(path, str | os.PathLike) else ""
        if isinstance(text, bytes) or not os.path.abspath(text).startswith(self.folder):
            return
        self.asked.append(f"{what} {os.path.basename(text)}")
        if len(self.asked) - 1 == self.refused:
            number = ERRORS[self.refused % len(ERRORS)]
            raise OSError(number, os.strerror(number), text)


@contextmanager
def failing(folder: Path, refused: int | None = None) -> Iterator[Disk]:
    """
    Refuse one open for writing, rename, folder or sync below a folder.

    Parameters
    ----------
    folder
        Only what lies in it counts.
    refused
        Which one, from 0; None refuses nothing and only counts.
    """
    disk = Disk(folder, refused)
    with pytest.MonkeyPatch.context() as patch:
        for module, name, paths in (
            (os, "mkdir", 1), (os, "rename", 2), (os, "replace", 2), (os, "link", 2),
        ):  # fmt: skip
            patch.setattr(
                module, name, _asking(disk, name, getattr(module, name), paths)
            )
        opened = _opening(disk, io.open)
        patch.setattr(builtins, "open", opened)
        patch.setattr(io, "open", opened)
        patch.setattr(os, "open", _low_open(disk, os.open))
        patch.setattr(os, "fsync", _syncing(disk, os.fsync))
        yield disk


def _asking(
    disk: Disk, name: str, real: Callable[..., Any], paths: int
) -> Callable[..., Any]:
    def asked(*words: Any, **named: Any) -> Any:
        disk.ask(name, words[paths - 1])
        return real(*words, **named)

    return asked


def _opening(disk: Disk, real: Callable[..., Any]) -> Callable[..., Any]:
    def opened(file: Any, mode: str = "r", *words: Any, **named: Any) -> Any:
        if set(mode) & set("wax+"):
            disk.ask("open", file)
        return real(file, mode, *words, **named)

    return opened


def _low_open(disk: Disk, real: Callable[..., Any]) -> Callable[..., Any]:
    def opened(path: Any, flags: int, *words: Any, **named: Any) -> Any:
        if flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
            disk.ask("os.open", path)
        return real(path, flags, *words, **named)

    return opened


def _syncing(disk: Disk, real: Callable[[int], None]) -> Callable[[int], None]:
    def synced(descriptor: int) -> None:
        disk.ask("fsync", _name_of(descriptor))
        real(descriptor)

    return synced


def _name_of(descriptor: int) -> str:
    try:
        return os.readlink(f"/proc/self/fd/{descriptor}")
    except OSError:
        return ""
