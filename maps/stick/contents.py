"""The list of a stick: what is on it, for whom, how long and with which checksum."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

LIST = "contents.txt"
FOR_READING = "reading"
"""Label of files that no install script uses."""


@dataclass(frozen=True)
class Content:
    """
    One file of a stick, for one use.

    Attributes
    ----------
    name
        Path from the folder of the stick, with / between.
    label
        What uses it: a kind of computer, or that with a version of Python.
    size
        Length. [byte]
    sha256
        Checksum, in hexadecimal digits.
    """

    name: str
    label: str
    size: int
    sha256: str

    def __str__(self) -> str:
        """
        Write the line as the install scripts read it.

        >>> str(Content("wheels/a.whl", "linux-x86_64-3.13", 5, "ab12"))
        'ab12 5 linux-x86_64-3.13 wheels/a.whl'
        """
        return f"{self.sha256} {self.size} {self.label} {self.name}"


def line_of(folder: Path, path: Path, label: str) -> Content:
    """Read a file of the stick for its line."""
    with path.open("rb") as opened:
        digest = hashlib.file_digest(opened, "sha256").hexdigest()
    return Content(
        path.relative_to(folder).as_posix(), label, path.stat().st_size, digest
    )


def pins(lines: Iterable[Content]) -> str:
    """
    Name and checksum of each wheel, as uv reads them; nothing else is installed.

    >>> print(pins([Content("a_b-1.0-py3-none-any.whl", "x", 5, "ab12")]), end="")
    a_b==1.0 --hash=sha256:ab12
    """
    text = []
    for line in sorted(lines, key=lambda x: x.name):
        name, version = line.name.rpartition("/")[2].split("-")[:2]
        text.append(f"{name}=={version} --hash=sha256:{line.sha256}\n")
    return "".join(text)


def listed(lines: Iterable[Content]) -> str:
    """Write the list, in the order of labels and names."""
    ordered = sorted(lines, key=lambda x: (x.label, x.name))
    return "".join(f"{line}\n" for line in ordered)
