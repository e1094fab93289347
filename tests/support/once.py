"""Things that several processes of a test run need, made by the first of them."""

import fcntl
import pickle
from collections.abc import Callable
from pathlib import Path


def once[T](file: Path, make: Callable[[], T]) -> T:
    """Make something once, however many processes test, and keep it in a file."""
    file.parent.mkdir(parents=True, exist_ok=True)
    with file.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not file.exists():
            file.write_bytes(pickle.dumps(make()))
    found: T = pickle.loads(file.read_bytes())
    return found
