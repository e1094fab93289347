"""
The plan book: every plan of a scenario in a folder of its own, never overwritten.

A plan's folder holds the `inputs` as they were when it was ordered, `order.json`, the
worker's events, a map of the first answer in `first` and of the plan that was found in
`best`, all `outputs`, and `label.json`.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from maps.desk.events import NOT_OURS, Event, last_events, last_of, last_word
from maps.desk.shelf import PLANS, NameFault, NotThere, safe_name
from maps.disk import is_held, read_json, write_json, write_whole

State = Literal["waiting", "starting", "running", "interrupted", "done", "failed"]
TABLES = frozenset({".csv", ".tsv", ".xlsx", ".xlsm", ".gpkg", ".toml"})
"""Endings of the files that are a scenario's inputs."""
ORDER, LABEL = "order.json", "label.json"
CLAIM, STOP, DROP, LOCK = "claimed", "stop", "drop", "worker.lock"
INPUTS, OUTPUTS, FIRST, BEST = "inputs", "outputs", "first", "best"
LONGEST_LABEL = 120
"""Of a plan's own name. [letter]"""
STARTING = 30.0
"""Time in which a worker that was sent must have taken its plan in hand. [s]"""


@dataclass(frozen=True)
class PlanEntry:
    """
    A plan of the book.

    Attributes
    ----------
    code, folder
        Name of its folder, and the folder.
    state
        Where it stands.
    ordered
        When it was asked for. [s since 1970]
    name, star
        As the planner named and starred it.
    order, end, summary
        What was asked, the last word of the worker, and the key figures; empty where
        there is none.
    """

    code: str
    folder: Path
    state: State
    ordered: float
    name: str
    star: bool
    order: Mapping[str, Any] = field(default_factory=dict)
    end: Event = field(default_factory=dict)
    summary: Mapping[str, Any] = field(default_factory=dict)

    @property
    def under_way(self) -> bool:
        """Whether it waits or is being made."""
        return self.state in ("waiting", "starting", "running")

    @property
    def title(self) -> str:
        """Name the planner gave it, or when it was asked for."""
        what = "Plan" if self.folder.parent.name == PLANS else "Study"
        return self.name or f"{what} of {when(self.ordered)}"


def when(seconds: float) -> str:
    """Write a moment as date and time of this computer's clock."""
    moment = datetime.fromtimestamp(seconds)
    return f"{moment.day} {moment:%B %Y, %H:%M}"


def state_of(*, claimed: float | None, alive: bool, end: Event, now: float) -> State:
    """
    Tell where a plan stands.

    Parameters
    ----------
    claimed
        When a worker was sent; None if none was. [s since 1970]
    alive
        Whether a worker holds the plan's lock.
    end
        The worker's last word; empty if it has said none.
    now
        The time. [s since 1970]

    Examples
    --------
    >>> state_of(claimed=None, alive=False, end={}, now=0.0)
    'waiting'
    >>> state_of(claimed=0.0, alive=False, end={}, now=STARTING + 1)
    'interrupted'
    >>> state_of(claimed=0.0, alive=False, end={"how": "done"}, now=9.0)
    'done'
    """
    if end:
        return "done" if end.get("how") == "done" else "failed"
    if claimed is None:
        return "waiting"
    if alive:
        return "running"
    return "starting" if 0 <= now - claimed < STARTING else "interrupted"


def plans(scenario: Path, of: str = PLANS) -> list[PlanEntry]:
    """Return all plans (or studies) of a scenario, the newest first."""
    book = scenario / of
    if book.is_symlink() or book.is_junction() or not book.is_dir():
        return []
    with os.scandir(book) as entries:
        names = [e.name for e in entries if e.is_dir(follow_symlinks=False)]
    found = [_entry(book / name) for name in names if _is_code(name)]
    return sorted(found, key=lambda one: (one.ordered, one.code), reverse=True)


def _is_code(name: str) -> bool:
    """Whether a name may be that of a plan's folder."""
    try:
        return bool(safe_name(name))
    except NameFault:
        return False


def plan_of(scenario: Path, code: str, of: str = PLANS) -> PlanEntry:
    """
    Return a plan (or a study) of a scenario.

    Raises
    ------
    NotThere
        If there is none of that code.
    """
    folder = scenario / of / code
    book = folder.parent
    linked = any(one.is_symlink() or one.is_junction() for one in (folder, book))
    if not _is_code(code) or linked or not folder.is_dir():
        raise NotThere(code)
    return _entry(folder)


def _entry(folder: Path) -> PlanEntry:
    """Read a plan's folder."""
    order, label = read_json(folder / ORDER), read_json(folder / LABEL)
    end = last_word(last_of(last_events(folder), "end"))
    claimed = _moment(folder / CLAIM)
    ours = bool(end) or claimed is not None or (folder / ORDER).exists()
    if not ours:
        end = last_word(NOT_OURS)
    alive = claimed is not None and not end and is_held(folder / LOCK)
    state = state_of(claimed=claimed, alive=alive, end=end, now=time.time())
    at = order.get("at")
    return PlanEntry(
        code=folder.name,
        folder=folder,
        state=state,
        ordered=float(at) if isinstance(at, int | float) and 0 < at < 1e11 else 0.0,
        name=str(label.get("name", "") if ours else folder.name)[:LONGEST_LABEL],
        star=label.get("star") is True,
        order=order,
        end=end,
        summary=read_json(folder / OUTPUTS / "summary.json") if end else {},
    )


def _moment(path: Path) -> float | None:
    """When a file was last written; None if it is not there. [s since 1970]"""
    try:
        return path.stat().st_mtime
    except OSError:
        return None


def input_files(scenario: Path) -> list[Path]:
    """Files of a scenario that are its inputs, in the order of their names."""
    with os.scandir(scenario) as entries:
        found = [
            Path(entry.path)
            for entry in entries
            if entry.is_file(follow_symlinks=False)
            and not entry.name.startswith((".", "~"))
            and Path(entry.name).suffix.lower() in TABLES
        ]
    return sorted(found)


def digest_of(scenario: Path) -> str:
    """Digest of the names and bytes of a scenario's inputs."""
    digest = hashlib.sha256()
    for path in input_files(scenario):
        content = path.read_bytes()
        digest.update(f"{path.name}\n{len(content)}\n".encode())
        digest.update(content)
    return digest.hexdigest()


def order_plan(
    scenario: Path, asked: Mapping[str, object], of: str = PLANS
) -> PlanEntry:
    """
    Put a plan into the book, to be made: its inputs are kept as they are now.

    Parameters
    ----------
    scenario
        Folder of the scenario.
    asked
        What is asked: settings by name, and yards of an earlier plan under "start".
    of
        Book that it goes into.
    """
    book = scenario / of
    book.mkdir(exist_ok=True)
    if book.is_symlink() or book.is_junction():
        raise NotThere(of)
    draft = Path(tempfile.mkdtemp(prefix=".new-", dir=book))
    try:
        (draft / INPUTS).mkdir()
        for path in input_files(scenario):
            write_whole(draft / INPUTS / path.name, path.read_bytes())
        at = time.time()
        kept = {"at": at, "digest": digest_of(draft / INPUTS), "asked": dict(asked)}
        write_json(draft / ORDER, kept)
        draft.chmod(0o755)
        return _entry(_placed(draft, book, at))
    except BaseException:
        shutil.rmtree(draft, ignore_errors=True)
        raise


def _placed(draft: Path, book: Path, at: float) -> Path:
    """Give a new plan the first free name of its second."""
    stem = f"{datetime.fromtimestamp(at):%Y-%m-%d_%H%M%S}"
    for number in range(1, 1_000):
        place = book / (stem if number == 1 else f"{stem}_{number}")
        if place.exists():
            continue
        try:
            return draft.rename(place)
        except OSError:
            if not place.exists():
                raise
    message = f"{book} holds a thousand plans of one second"
    raise FileExistsError(message)


def label(
    entry: PlanEntry, *, name: str | None = None, star: bool | None = None
) -> None:
    """Name or star a plan; what is left out stays."""
    told = {
        "name": entry.name if name is None else " ".join(name.split())[:LONGEST_LABEL],
        "star": entry.star if star is None else star,
    }
    write_json(entry.folder / LABEL, told)


def delete(entry: PlanEntry) -> None:
    """
    Delete a plan that is not being made.

    Raises
    ------
    NameFault
        If it is being made.
    """
    if entry.state in ("running", "starting"):
        message = "This plan is being made. Stop it first"
        raise NameFault(message)
    gone = entry.folder.with_name(f".gone-{entry.code}-{os.getpid()}")
    entry.folder.rename(gone)
    shutil.rmtree(gone, ignore_errors=True)


def claim(entry: PlanEntry) -> bool:
    """Take a waiting plan in hand; False if another desk was faster."""
    try:
        (entry.folder / CLAIM).touch(exist_ok=False)
    except OSError:
        return False
    return True


def ask(entry: PlanEntry, wish: str) -> None:
    """Ask the worker of a plan to keep the best (`STOP`), or to end (`DROP`)."""
    (entry.folder / wish).touch()


def make_again(entry: PlanEntry) -> None:
    """Let a plan that was interrupted wait for a worker again."""
    if entry.state == "interrupted":
        for name in (STOP, DROP, CLAIM):
            (entry.folder / name).unlink(missing_ok=True)


def last_done(entries: list[PlanEntry]) -> PlanEntry | None:
    """Return the newest finished plan."""
    return next((one for one in entries if one.state == "done"), None)


def yards_of(entry: PlanEntry | None) -> dict[str, str]:
    """Yards and their sizes in a finished plan; none if there is none."""
    told = entry.summary.get("yards") if entry else None
    if not isinstance(told, dict):
        return {}
    return {str(yard): str(size) for yard, size in told.items()}


def is_older(entry: PlanEntry, digest: str, fingerprint: str | None) -> bool:
    """
    Tell whether a plan is older than the data of today.

    Parameters
    ----------
    entry
        The plan.
    digest, fingerprint
        Of the inputs' bytes today, and of what they say; None if they have faults.
    """
    if entry.order.get("digest") == digest:
        return False
    return fingerprint is None or entry.end.get("fingerprint") != fingerprint
