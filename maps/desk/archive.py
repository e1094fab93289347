"""
ZIP files in and out: a share file is a scenario with one plan.

A ZIP from elsewhere is unpacked only after all its names, kinds and sizes were looked
at, into a new folder, and no more is read of it than it says it holds.
"""

from __future__ import annotations

import stat
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from maps.desk.shelf import NameFault, safe_name

PIECE = 65_536
"""Read at once. [byte]"""
KINDS = frozenset(
    (
        *(".toml", ".csv", ".tsv", ".xlsx", ".xlsm", ".gpkg", ".md", ".txt"),
        *(".json", ".jsonl", ".html", ".kml", ".geojson", ".gpx"),
    )
)
"""Endings of files that a share file may hold."""


@dataclass(frozen=True)
class ZipLimits:
    """
    What a ZIP file may hold at most.

    Attributes
    ----------
    files, depth
        Files, and folders one in another.
    whole
        Of all files unpacked. [byte]
    ratio
        Unpacked to packed, of a file above `small` and of all together. [1]
    small
        Below it no ratio is looked at. [byte]
    """

    files: int = 1_000
    depth: int = 5
    whole: int = 300_000_000
    ratio: float = 150.0
    small: int = 1_000_000


class ZipFault(ValueError):
    """A ZIP file that is damaged, too large, or holds what it may not."""


class NotOurs(ZipFault):
    """A file without tables of ours, which may be brought in all the same."""


LIMITS = ZipLimits()


def checked(
    file: zipfile.ZipFile, limits: ZipLimits = LIMITS, kinds: frozenset[str] = KINDS
) -> list[zipfile.ZipInfo]:
    """
    Look at everything a ZIP file says of itself; return its files.

    Parameters
    ----------
    file
        Opened for reading.
    limits
        What it may hold at most.
    kinds
        Endings its files may have; empty where nothing is to be unpacked from it, and
        names and kinds do not matter.

    Raises
    ------
    ZipFault
        If there is anything wrong with any name, kind or size.
    """
    infos = file.infolist()
    if len(infos) > limits.files:
        message = f"holds {len(infos):,} files; {limits.files:,} are the most"
        raise ZipFault(message)
    found = [info for info in infos if not info.is_dir()]
    for info in infos if kinds else ():
        _check_name(info, limits)
    seen: set[str] = set()
    for info in found:
        key = info.filename.casefold()
        if key in seen:
            message = f"holds {info.filename!r} twice"
            raise ZipFault(message)
        seen.add(key)
        _check_kind(info, kinds)
        _check_ratio(info.file_size, info.compress_size, limits, info.filename)
    for name in seen:
        parents = [name.rsplit("/", up)[0] for up in range(1, name.count("/") + 1)]
        if seen.intersection(parents):
            message = f"holds {name!r} below a file"
            raise ZipFault(message)
    size = sum(info.file_size for info in found)
    if size > limits.whole:
        message = (
            f"unpacks to {size / 1e6:,.0f} MB; {limits.whole / 1e6:,.0f} are the most"
        )
        raise ZipFault(message)
    _check_ratio(size, sum(info.compress_size for info in found), limits, "all")
    return found


def _check_name(info: zipfile.ZipInfo, limits: ZipLimits) -> None:
    """See that a name climbs nowhere and may be a file's on every system."""
    told = info.orig_filename
    parts = told.removesuffix("/").split("/")
    if len(parts) > limits.depth:
        message = f"holds folders {len(parts)} deep; {limits.depth} is the most"
        raise ZipFault(message)
    try:
        for part in parts:
            safe_name(part)
    except NameFault as fault:
        message = f"holds a name it may not: {fault}"
        raise ZipFault(message) from None


def _check_kind(info: zipfile.ZipInfo, kinds: frozenset[str]) -> None:
    """See that a file is a plain one that can be read."""
    mode = info.external_attr >> 16
    if stat.S_IFMT(mode) not in (0, stat.S_IFREG):
        message = f"holds {info.filename!r}, which is a link or a device"
        raise ZipFault(message)
    if info.flag_bits & 0x1:
        message = f"holds {info.filename!r} with a password"
        raise ZipFault(message)
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        message = f"holds {info.filename!r} packed in a way that is not read here"
        raise ZipFault(message)
    if kinds and Path(info.filename).suffix.lower() not in kinds:
        message = f"holds {info.filename!r}, a kind of file that no scenario has"
        raise ZipFault(message)


def _check_ratio(size: int, packed: int, limits: ZipLimits, name: str) -> None:
    """See that a file does not unpack to very much more than it is."""
    if size > limits.small and size > limits.ratio * max(packed, 1):
        times = size / max(packed, 1)
        message = f"unpacks to {times:,.0f} times its size ({name}); it is not read"
        raise ZipFault(message)


def opened(path: Path) -> zipfile.ZipFile:
    """
    Open a ZIP file.

    Raises
    ------
    ZipFault
        If it is none, or damaged.
    """
    try:
        return zipfile.ZipFile(path)
    except (zipfile.BadZipFile, ValueError, NotImplementedError, OSError) as error:
        message = f"cannot be opened ({error})"
        raise ZipFault(message) from None


def unpack(
    path: Path,
    folder: Path,
    limits: ZipLimits = LIMITS,
    kinds: frozenset[str] = KINDS,
) -> None:
    """
    Unpack a ZIP file into an empty folder.

    Raises
    ------
    ZipFault
        If anything is wrong with it; what was unpacked until then is left there.
    """
    with opened(path) as file:
        left = limits.whole
        for info in checked(file, limits, kinds):
            target = folder.joinpath(*info.filename.split("/"))
            target.parent.mkdir(parents=True, exist_ok=True)
            try:
                with file.open(info) as packed, target.open("xb") as handle:
                    left -= _copy(packed, handle, min(left, info.file_size))
            except (zipfile.BadZipFile, ValueError, EOFError) as error:
                message = f"is damaged at {info.filename!r} ({error})"
                raise ZipFault(message) from None


def _copy(packed: IO[bytes], handle: IO[bytes], most: int) -> int:
    """Copy at most so many bytes; more than was said is a fault. [byte]"""
    copied = 0
    while piece := packed.read(PIECE):
        copied += len(piece)
        if copied > most:
            message = "holds more than it says"
            raise ZipFault(message)
        handle.write(piece)
    return copied


def pack(target: IO[bytes], files: Iterator[tuple[str, Path]]) -> None:
    """Write files under their names into a ZIP file; the same files, the same bytes."""
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as made:
        for name, path in files:
            info = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = (stat.S_IFREG | 0o644) << 16
            with path.open("rb") as handle, made.open(info, "w") as packed:
                while piece := handle.read(PIECE):
                    packed.write(piece)
