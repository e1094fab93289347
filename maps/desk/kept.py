"""
Plans and rounds kept beside their outputs, for work that goes on from them.

What is read back may run anything when it is opened, so it is opened only if this
computer wrote it: each file carries a seal made with a secret that lies in the person's
own folder, outside of every scenario, and of the versions that can read it. A file from
elsewhere is as good as none; its plan is made again from its tables.
"""

from __future__ import annotations

import hashlib
import hmac
import os
import pickle
import platform
import secrets
import sys
import zlib
from functools import cache
from importlib.metadata import version
from pathlib import Path

from maps.disk import write_whole

PACKAGES = ("loamhaul", "numpy", "pandas", "pydantic")
SEAL = 32
"""Length of a seal and of the secret. [byte]"""
MOST = 500_000_000
"""Largest file that is read back. [byte]"""


def keep(value: object, path: Path, what: str) -> None:
    """
    Keep a value in a file of this computer.

    Parameters
    ----------
    value
        What is kept.
    path
        The file.
    what
        What it is and of which plan; only asked for by the same words it is opened.
    """
    content = zlib.compress(pickle.dumps(value), 1)
    write_whole(path, _seal(content, what) + content)


def kept(path: Path, what: str) -> object | None:
    """Open what this computer kept in a file as the same thing; None if it did not."""
    content = _content(path, what)
    if content is None:
        return None
    found: object = pickle.loads(zlib.decompress(content))
    return found


def opens(path: Path, what: str) -> bool:
    """Tell whether this computer kept a file as a thing, without opening it."""
    return _content(path, what) is not None


def _content(path: Path, what: str) -> bytes | None:
    """Read what stands behind the right seal; None behind another."""
    try:
        if path.is_symlink() or path.stat().st_size > MOST:
            return None
        whole = path.read_bytes()
    except OSError:
        return None
    seal, content = whole[:SEAL], whole[SEAL:]
    return content if hmac.compare_digest(seal, _seal(content, what)) else None


def _seal(content: bytes, what: str) -> bytes:
    """Seal content, what it is and who can read it."""
    versions = [f"{name} {version(name)}" for name in PACKAGES]
    head = "\n".join([what, platform.python_version(), *versions]).encode()
    digest = hashlib.sha256(head).digest()
    return hmac.new(_secret(), digest + content, hashlib.sha256).digest()


@cache
def _secret() -> bytes:
    """Return this computer's secret; the first time it is made."""
    place = secret_file()
    place.parent.mkdir(parents=True, exist_ok=True)
    draft = place.with_name(f".{place.name}-{secrets.token_hex(4)}.part")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as target:
            target.write(secrets.token_bytes(SEAL))
        if not _whole(place):
            draft.replace(place)
    finally:
        draft.unlink(missing_ok=True)
    return place.read_bytes()


def _whole(place: Path) -> bool:
    """Whether there is a secret of the right length."""
    try:
        return len(place.read_bytes()) == SEAL
    except OSError:
        return False


def secret_file() -> Path:
    """Return the file of this computer's secret."""
    home = Path.home()
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_STATE_HOME") or home / ".local" / "state")
    return base / "loamhaul" / "desk.key"
