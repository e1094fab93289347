"""
Drafts: edits that are kept at once, until the table is saved.

A table that is being edited has a journal in the folder `.draft` of its scenario. The
first line says what the file held when editing began; every batch of edits is one more
line, on the disk before it is acknowledged. A line torn by a kill is left out when the
journal is read, so what was acknowledged is there and what was not never half is.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from logistics.scenario import TableText, table_texts
from maps.desk.grid.edits import apply_all, narrowed, undone, widened
from maps.desk.grid.faults import EditFault, StaleEdit
from maps.desk.grid.journal import (
    TURNS,
    add_line,
    begin_journal,
    journal_of,
    lay_aside,
    lines_of,
)
from maps.desk.shelf import DRAFTS

Signature = tuple[tuple[str, int, int], ...]
MOST_STEPS = 500
MOST_KEPT_CELLS = 200_000
"""Steps that can be undone after a reload, and cells in all of them."""


@dataclass(frozen=True, eq=False)
class Draft:
    """
    One table and the edits that are not saved yet.

    Attributes
    ----------
    disk
        What the file holds now.
    base
        What it held when editing began; `disk` itself without edits.
    text
        The table with its edits, all known columns shown.
    count
        Number of batches in the journal; 0 without one.
    known
        Names of the batches, to tell one that is sent twice.
    seen
        Stamp of what the file held when the planner last saw it.
    """

    disk: TableText
    base: TableText
    text: TableText
    count: int = 0
    known: frozenset[str] = frozenset()
    seen: str = ""

    @property
    def version(self) -> str:
        """State of the table: what it was begun from, and how many batches followed."""
        return f"{self.base.stamp[:16]}-{self.count}"

    @cached_property
    def edited(self) -> bool:
        """Whether there is anything to save."""
        return self.count > 0 and self.as_file.stamp != self.disk.stamp

    @property
    def overtaken(self) -> bool:
        """Whether another program has changed the table since editing began."""
        return self.edited and self.seen != self.disk.stamp

    @cached_property
    def as_file(self) -> TableText:
        """The table as it would be saved, in the file that holds it now."""
        kept = narrowed(self.text, len(self.base.headings))
        disk = self.disk
        return replace(
            disk, headings=kept.headings, rows=_filled(kept.rows), stored=kept.stored
        )


def _filled(rows: tuple[tuple[str, ...], ...]) -> tuple[tuple[str, ...], ...]:
    """Leave out blank rows at the end."""
    last = len(rows)
    while last and not any(rows[last - 1]):
        last -= 1
    return rows[:last]


class Drafts:
    """
    All tables of one scenario with their drafts; safe to use from several threads.

    Parameters
    ----------
    folder
        Scenario folder.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.lock = threading.RLock()
        self._signature: Signature = ()
        self._disk: dict[str, TableText] = {}
        self._drafts: dict[str, tuple[Signature, Draft]] = {}

    def signature(self) -> Signature:
        """Name, size and time of every file, journals too: another says read again."""
        found = []
        for folder in (self.folder, self.folder / DRAFTS):
            if folder.is_dir():
                for entry in os.scandir(folder):
                    if entry.is_file() and not entry.name.endswith(".part"):
                        told = entry.stat()
                        found.append((entry.path, told.st_size, told.st_mtime_ns))
        return tuple(sorted(found))

    def all(self) -> dict[str, Draft]:
        """Every table with its draft."""
        with self.lock:
            signature = self.signature()
            if signature != self._signature:
                files = [one for one in signature if DRAFTS not in Path(one[0]).parts]
                before = [
                    one for one in self._signature if DRAFTS not in Path(one[0]).parts
                ]
                if files != before or not self._disk:
                    self._disk = table_texts(self.folder)
                self._drafts = {}
                self._signature = signature
            return {table: self._one(table) for table in self._disk}

    def table(self, table: str) -> Draft:
        """One table with its draft."""
        return self.all()[table]

    def edited(self) -> dict[str, TableText]:
        """Tables with edits that are not saved, as they would be saved."""
        return {name: one.as_file for name, one in self.all().items() if one.edited}

    def _one(self, table: str) -> Draft:
        """Read one table's journal, unless it was read before."""
        if table not in self._drafts:
            try:
                draft = read_journal(self._journal(table), self._disk[table])
            except (ValueError, LookupError, TypeError):
                self.take_theirs(table)  # no journal of ours: laid aside, not deleted
                draft = read_journal(self._journal(table), self._disk[table])
            if draft.count and not draft.edited and draft.seen != draft.disk.stamp:
                self.saved(table)  # a kill came between saving and forgetting
                draft = read_journal(self._journal(table), self._disk[table])
            self._drafts[table] = self._signature, draft
        return self._drafts[table][1]

    def _journal(self, table: str) -> Path:
        return self.folder / DRAFTS / f"{table}.jsonl"

    def add(
        self,
        table: str,
        version: str,
        name: str,
        edits: Sequence[Any],
        turn: str = "",
    ) -> str:
        """
        Keep a batch of edits and return the new version.

        Parameters
        ----------
        table
            Table.
        version
            Version that the edits were made on.
        name
            Name of the batch: the same name again is the same batch.
        edits
            See `apply_all`.
        turn
            "undo" or "redo" if the batch takes an earlier one back or does it again.

        Raises
        ------
        StaleEdit
            If there is a newer version.
        EditFault
            If the edits do not fit, or the table can only be looked at.
        """
        with self.lock:
            draft = self.table(table)
            if name in draft.known:
                return draft.version
            if version != draft.version:
                message = f"the table is at version {draft.version}, not {version}"
                raise StaleEdit(message)
            if draft.disk.view_only:
                raise EditFault(draft.disk.view_only)
            journal = journal_of(self.folder, table)
            text = apply_all(draft.text, edits)
            if not draft.count:
                begin_journal(journal, _head(draft.disk))
            told = {"turn": turn} if turn in TURNS else {}
            add_line(journal, {"name": name, "edits": list(edits), **told})
            fresh = replace(
                draft,
                text=text,
                count=draft.count + 1,
                known=draft.known | {name},
            )
            self._signature = self.signature()
            self._drafts[table] = self._signature, fresh
            return fresh.version

    def keep_mine(self, table: str) -> None:
        """Take what the file holds now as known: saving will replace it."""
        with self.lock:
            draft = self.table(table)
            if draft.overtaken:
                add_line(self._journal(table), {"seen": draft.disk.stamp})

    def take_theirs(self, table: str) -> None:
        """Lay the edits of a table aside: its journal stays in the folder `aside`."""
        with self.lock:
            lay_aside(self._journal(table))

    def history(self, table: str) -> dict[str, list[Any]]:
        """Return what can be undone of a table, see `history_of`."""
        with self.lock:
            draft = self.table(table)
            return history_of(self._journal(table), draft)

    def saved(self, table: str) -> None:
        """Forget the journal of a table whose file now holds all of it."""
        with self.lock:
            self._journal(table).unlink(missing_ok=True)


@cache
def drafts_of(folder: Path) -> Drafts:
    """Return the drafts of a scenario folder, one object for all requests."""
    return Drafts(folder)


def _head(disk: TableText) -> dict[str, Any]:
    return {
        "headings": disk.headings,
        "rows": disk.rows,
        "stored": [sorted(places) for places in disk.stored],
        "shown": widened(disk).headings,
    }


def read_journal(journal: Path, disk: TableText) -> Draft:
    """Return a table with the edits of its journal; without one, as the file is."""
    plain = Draft(disk, disk, widened(disk), seen=disk.stamp)
    lines = lines_of(journal)
    if not lines:
        return plain
    base = _based(disk, lines[0])
    text, count, known, seen = _as_shown(base, lines[0]), 0, set(), base.stamp
    for record in lines[1:]:
        if "seen" in record:
            seen = str(record["seen"])
            continue
        text = apply_all(text, record["edits"])
        count += 1
        known.add(str(record["name"]))
    return Draft(disk, base, widened(text), count, frozenset(known), seen)


def _as_shown(base: TableText, head: Any) -> TableText:
    """Lay the table out with the columns that were known when editing began."""
    more = tuple(head["shown"][len(base.headings) :])
    blank = ("",) * len(more)
    rows = tuple(row + blank for row in base.rows)
    return replace(base, headings=base.headings + more, rows=rows)


def _based(disk: TableText, head: Any) -> TableText:
    return replace(
        disk,
        headings=tuple(head["headings"]),
        rows=tuple(tuple(row) for row in head["rows"]),
        stored=tuple(frozenset(places) for places in head["stored"]),
    )


def history_of(journal: Path, draft: Draft) -> dict[str, list[Any]]:
    """
    Return the steps that a page loaded anew can undo, from a table's journal.

    Returns
    -------
    dict
        past, future: steps with their edits and those that take them back, the next
        one last; at most `MOST_STEPS` with `MOST_KEPT_CELLS`.
    """
    past: list[Any] = []
    future: list[Any] = []
    lines = lines_of(journal) if draft.count else []
    if lines:
        text = _as_shown(draft.base, lines[0])
        if len(text.headings) != len(draft.text.headings):
            lines = []  # there are new columns: old rows are too short for the table
    for record in lines[1:]:
        if "seen" in record:
            continue
        turn = record.get("turn", "")
        text, back = undone(text, record["edits"])
        if turn == "undo" and past:
            future.append(past.pop())
        elif turn == "redo" and future:
            past.append(future.pop())
        else:
            past.append({"edits": record["edits"], "back": back})
            future = []
    return {"past": _last_steps(past), "future": _last_steps(future)}


def _last_steps(steps: list[Any]) -> list[Any]:
    """Leave out the earliest steps where there are too many, or they hold too much."""
    cells, first = 0, len(steps)
    for step in reversed(steps[-MOST_STEPS:]):
        for edit in (*step["edits"], *step["back"]):
            block = edit["set"][2] if "set" in edit else edit["rows"][2]
            cells += sum(map(len, block))
        if cells > MOST_KEPT_CELLS:
            break
        first -= 1
    return steps[first:]
