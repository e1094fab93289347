"""
The settings that are being edited: kept at once, until they are saved.

They have a journal as a table has, with the text of the file it began from; a batch is
what was typed, a step back or a step forward. So undo goes on after a reload.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from logistics.scenario import (
    SettingsFault,
    SettingsText,
    settings_document,
    with_typed,
)
from maps.desk.grid.faults import EditFault, NotSaved, StaleEdit
from maps.desk.grid.journal import (
    add_line,
    begin_journal,
    journal_of,
    lay_aside,
    lines_of,
)
from maps.disk import write_whole

NAME = "settings"
"""Of the journal."""
LONGEST_FILE = 200_000
"""Most letters of a settings file that is mended here."""


@dataclass(frozen=True, eq=False)
class SettingsDraft:
    """
    The settings and the edits that are not saved yet.

    Attributes
    ----------
    disk
        What the file holds now.
    base
        Text that it held when editing began.
    text
        Text with the edits.
    past, future
        Texts that undo and redo lead to, the next one last.
    count
        Number of batches in the journal; 0 without one.
    known
        Names of the batches, to tell one that is sent twice.
    seen
        Stamp of what the file held when the planner last saw it.
    """

    disk: SettingsText
    base: str
    text: str
    past: tuple[str, ...] = ()
    future: tuple[str, ...] = ()
    count: int = 0
    known: frozenset[str] = frozenset()
    seen: str = ""

    @property
    def version(self) -> str:
        """State of the settings: what they were begun from, and batches since."""
        begun = replace(self.disk, text=self.base)
        return f"{begun.stamp[:16]}-{self.count}"

    @property
    def edited(self) -> bool:
        """Whether there is anything to save."""
        return self.count > 0 and self.text != self.disk.text

    @property
    def overtaken(self) -> bool:
        """Whether another program has changed the file since editing began."""
        return self.edited and self.seen != self.disk.stamp


def read_draft(folder: Path) -> SettingsDraft:
    """Read the settings of a folder with the edits of their journal."""
    disk = settings_document(folder)
    plain = SettingsDraft(disk, disk.text, disk.text, seen=disk.stamp)
    lines = lines_of(journal_of(folder, NAME))
    if not lines:
        return plain
    base = str(lines[0]["text"])
    begun = replace(disk, text=base)
    draft = SettingsDraft(disk, base, base, seen=begun.stamp)
    for record in lines[1:]:
        draft = _after(draft, record)
    return draft


def _after(draft: SettingsDraft, record: Mapping[str, Any]) -> SettingsDraft:
    """Return a draft after one line of its journal."""
    if "seen" in record:
        return replace(draft, seen=str(record["seen"]))
    past, future, text = draft.past, draft.future, draft.text
    match record:
        case {"turn": "undo"} if past:
            text, past, future = past[-1], past[:-1], (*future, text)
        case {"turn": "redo"} if future:
            text, past, future = future[-1], (*past, text), future[:-1]
        case {"set": {**typed}}:
            told = {str(k): str(v) for k, v in typed.items()}
            text, past, future = with_typed(text, told), (*past, text), ()
        case {"text": str(whole)}:
            plain = whole.replace("\r\n", "\n").encode("utf-8", "replace").decode()
            text, past, future = plain, (*past, text), ()
        case _:
            message = "an edit of the settings is none that is known"
            raise EditFault(message)
    return replace(
        draft,
        text=text,
        past=past,
        future=future,
        count=draft.count + 1,
        known=draft.known | {str(record["name"])},
    )


class SettingsDrafts:
    """
    The settings of one scenario; safe to use from several threads.

    Parameters
    ----------
    folder
        Scenario folder.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.lock = threading.RLock()

    def now(self) -> SettingsDraft:
        """Return the settings as they are with their edits."""
        with self.lock:
            try:
                draft = read_draft(self.folder)
            except (ValueError, LookupError, TypeError):
                lay_aside(journal_of(self.folder, NAME))  # no journal of ours
                draft = read_draft(self.folder)
            if draft.count and not draft.edited and draft.seen != draft.disk.stamp:
                self._forget()  # a kill came between saving and forgetting
                draft = read_draft(self.folder)
            return draft

    def add(self, version: str, batch: Mapping[str, Any]) -> SettingsDraft:
        """
        Keep a batch of edits.

        Parameters
        ----------
        version
            Version that they were made on.
        batch
            A name, and one of: set (dotted name -> typed text, blank takes it out),
            text (the whole file), turn ("undo" or "redo").

        Raises
        ------
        StaleEdit
            If there is a newer version.
        EditFault
            If it does not fit, or the file can only be looked at.
        """
        with self.lock:
            draft = self.now()
            if str(batch["name"]) in draft.known:
                return draft
            if version != draft.version:
                message = f"the settings are at version {draft.version}, not {version}"
                raise StaleEdit(message)
            if draft.disk.view_only:
                raise EditFault(draft.disk.view_only.removesuffix("."))
            if len(str(batch.get("text", ""))) > LONGEST_FILE:
                message = f"the file may have {LONGEST_FILE:,} letters at most"
                raise EditFault(message)
            try:
                fresh = _after(draft, batch)
            except SettingsFault as fault:
                raise EditFault(str(fault)) from None
            journal = journal_of(self.folder, NAME)
            if not draft.count:
                begin_journal(journal, {"text": draft.disk.text})
            add_line(journal, dict(batch))
            return fresh

    def keep_mine(self) -> None:
        """Take what the file holds now as known: saving will replace it."""
        with self.lock:
            draft = self.now()
            if draft.overtaken:
                add_line(journal_of(self.folder, NAME), {"seen": draft.disk.stamp})

    def take_theirs(self) -> None:
        """Lay the edits aside: their journal stays in the folder `aside`."""
        with self.lock:
            lay_aside(journal_of(self.folder, NAME))

    def save(self, version: str) -> None:
        """
        Write the settings to their file.

        Raises
        ------
        NotSaved
            If they are not at this version any more, or another program has changed
            or holds the file: nothing is written then, and the draft stays.
        """
        with self.lock:
            draft = self.now()
            if draft.version != version:
                message = "There are newer edits: save again."
                raise NotSaved(message)
            if draft.overtaken:
                name = draft.disk.path.name
                message = f"{name} was changed by another program: choose first what "
                raise NotSaved(message + "holds.")
            if draft.edited:
                try:
                    write_whole(
                        draft.disk.path, replace(draft.disk, text=draft.text).data
                    )
                except PermissionError:
                    message = f"{draft.disk.path.name} is open in another program: "
                    raise NotSaved(message + "close it there.") from None
            self._forget()

    def _forget(self) -> None:
        journal_of(self.folder, NAME).unlink(missing_ok=True)


@cache
def settings_of_folder(folder: Path) -> SettingsDrafts:
    """Return the settings of a scenario folder, one object for all requests."""
    return SettingsDrafts(folder)
