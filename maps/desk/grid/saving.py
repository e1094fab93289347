"""Save drafts to the plain tables of the scenario, and tell what differs."""

from __future__ import annotations

import itertools
from typing import Any

from logistics.scenario import (
    TableText,
    keys_of,
    plain_name,
    table_file,
    table_texts,
)
from maps.desk.grid.checking import Checker, table_faults
from maps.desk.grid.faults import NotSaved
from maps.disk import write_whole

MOST_SHOWN = 200
"""Differences told one by one."""


def save_all(checker: Checker) -> list[str]:
    """
    Write every edited table to its file, in the form that the file has.

    Returns
    -------
    list of str
        Names of the files written.

    Raises
    ------
    NotSaved
        If an edited table has faults, or another program has changed its file: nothing
        is written then, and the draft stays.
    """
    drafts = checker.drafts
    checked = checker.check()
    with drafts.lock:
        tables = {n: one for n, one in drafts.all().items() if one.edited}
        if {n: one.version for n, one in tables.items()} != {
            n: checked.versions[n] for n in tables
        }:
            message = "There are newer edits: save again."
            raise NotSaved(message)
        for table, one in tables.items():
            if one.overtaken:
                message = f"{one.disk.label} was changed by another program: choose "
                raise NotSaved(message + "first what holds.")
            count = len(table_faults(checked, table, one.disk.label))
            if count:
                faults = "1 fault" if count == 1 else f"{count} faults"
                message = f"{one.disk.label} has {faults}. Kept as a draft till mended."
                raise NotSaved(message)
        for table, one in tables.items():
            _write(one.as_file, one.disk)
            drafts.saved(table)
    return sorted({one.disk.path.name for one in tables.values()})


def _write(text: TableText, disk: TableText) -> None:
    """Write a table's file, unless it is no longer what it was a moment ago."""
    try:
        data = table_file(text)
        now = table_texts(disk.path.parent)[text.table]
        if now.stamp != disk.stamp or now.label != disk.label:
            message = f"{disk.label} was changed by another program just now."
            raise NotSaved(message)
        write_whole(text.path, data)
    except PermissionError:
        message = f"{disk.path.name} is open in another program: close it there."
        raise NotSaved(message) from None


def differences(base: TableText, mine: TableText, theirs: TableText) -> dict[str, Any]:
    """
    Tell what two editors made of a table.

    Returns
    -------
    dict
        rows: one for each cell that is not the same in both, with place, column, was,
        mine and theirs, at most `MOST_SHOWN`; more: how many are left out.
    """
    was, own, other = (_by_key(text) for text in (base, mine, theirs))
    found = (
        _difference(key, column, was.get(key), own.get(key), other.get(key))
        for key in dict.fromkeys([*own, *other])
        for column in dict.fromkeys([*own.get(key, {}), *other.get(key, {})])
        if own.get(key, {}).get(column, "") != other.get(key, {}).get(column, "")
    )
    rows = list(itertools.islice(found, MOST_SHOWN))
    return {"rows": rows, "more": sum(1 for _ in found)}


def _difference(
    key: str,
    column: str,
    was: dict[str, str] | None,
    own: dict[str, str] | None,
    other: dict[str, str] | None,
) -> dict[str, str]:
    def shown(row: dict[str, str] | None) -> str:
        return "(no such row)" if row is None else row.get(column, "")

    return {
        **{"place": key, "column": column},
        **{"was": shown(was), "mine": shown(own), "theirs": shown(other)},
    }


def _by_key(text: TableText) -> dict[str, dict[str, str]]:
    """Rows by their codes, a repeated one by how often it came; else by row number."""
    names = [plain_name(heading) for heading in text.headings]
    places = [names.index(key) for key in keys_of(text.table) if key in names]
    found: dict[str, dict[str, str]] = {}
    for number, row in enumerate(text.rows, start=text.heading_row + 1):
        key = " ".join(row[p] for p in places).strip() or f"row {number}"
        while key in found:
            key += " again"
        found[key] = dict(zip(text.headings, row, strict=True))
    return found
