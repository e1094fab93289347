"""Files and sheets beside the tables that look like tables and are not read."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable

from logistics.scenario.faults import Problem
from logistics.scenario.raw import Remark
from logistics.scenario.schema import plain_name, tables

CHECK = "left_aside"
COPY = re.compile(
    r"(?:^|_)(?:copy|copie|kopie|copia|copy_of|of|old|new|bak|backup|final|draft|v?\d+)"
    r"(?=_|$)"
)
"""Words that programs and people add to the name of a copy (common practice)."""
UNREAD = {".xls", ".ods", ".numbers", ".xlsb", ".txt", ".odt", ".doc", ".docx", ".fods"}
"""Kinds of files that people keep tables in and that are not read."""


def table_meant(name: str) -> str:
    """
    Return the table that a name with the marks of a copy stands for, or nothing.

    Examples
    --------
    >>> [table_meant(n) for n in ("sources (2)", "Copy of yards", "roads-old", "notes")]
    ['sources', 'yards', 'roads', '']
    """
    bare = COPY.sub("", plain_name(name)).strip("_")
    return bare if bare in tables() else ""


def left_aside(
    others: Iterable[tuple[str, str]],
    files: Iterable[tuple[str, str, str]],
    places: dict[str, list[str]],
    told: Collection[str],
) -> list[Remark]:
    """
    Name what looks like a table and is not read.

    Parameters
    ----------
    others
        Label and name of sheets, layers and CSV files that bear no name of a table.
    files
        Name, stem and ending of all files of the folder.
    places
        Table to what it is read from.
    told
        Names of files and sheets that a fault tells of already.

    Returns
    -------
    list of Remark
        One a file or sheet.
    """
    notes = []
    kinds = [(name, stem) for name, stem, kind in files if kind.lower() in UNREAD]
    for label, name in [*others, *kinds]:
        table = table_meant(name)
        if not table or label in told:
            continue
        read = places.get(table)
        from_ = (
            f"the table {table} is read from {read[0]}"
            if read
            else (f"there is no other table {table}")
        )
        remedy = f"Add its rows to {table}, or move it away"
        if not read:
            remedy = f"Save it as {table}.csv or as a sheet of .xlsx, or move it away"
        why = f"is left aside: {from_}"
        notes.append(Remark(CHECK, Problem(label, None, "", None, why, remedy)))
    return notes
