"""Sheets and files that are none of the tables: which table each looks like."""

from __future__ import annotations

import csv
from collections.abc import Collection, Sequence
from pathlib import Path

from logistics.scenario.faults import Problem, nearest
from logistics.scenario.lists import in_list
from logistics.scenario.schema import columns_of, plain_name

OURS = {"notes", "pick_lists", "roads_report", "proposed_yards"}
"""What Loamhaul itself puts beside the tables."""
LEAST_LIKE, FEWEST_LIKE = 0.5, 3
"""Share and number of headings that a table must know for a sheet to look like it."""


def foreign_faults(
    others: Sequence[tuple[str, str]], files: Sequence[Path], absent: Sequence[str]
) -> list[Problem]:
    """
    Name the sheets and files that are no table, where tables are lacking.

    Parameters
    ----------
    others
        Label and name of every sheet, layer or file that is no table.
    files
        Files of the folder.
    absent
        Tables that must be there and are not.

    Returns
    -------
    list of Problem
        One for every such sheet, then one for all tables that none of them looks like;
        none if there is no such sheet.
    """
    problems, explained = [], set()
    for label, name in others:
        if plain_name(name) in OURS:
            continue
        like = table_like(_headings(label, name, files), absent)
        if like:
            remedy = (
                f"It has the headings of '{like}': rename it to that, or move it away"
            )
            explained.add(like)
        else:
            some = in_list(absent)
            remedy = f"Rename it to the table it holds ({some}), or move it away"
        why = "is not one of the tables"
        problems.append(Problem(label, None, "", None, why, remedy))
    left = [table for table in absent if table not in explained]
    if problems and left:
        which = in_list(left)
        why = f"lacks the table{'s' if len(left) > 1 else ''} {which}"
        remedy = "Use these names; `loamhaul new` makes them with their headings"
        problems.append(Problem("the folder", None, "", None, why, remedy))
    return problems


def table_like(headings: Sequence[str], tables: Collection[str]) -> str:
    """
    Return the table that headings are most like; nothing if none is close.

    Examples
    --------
    >>> table_like(["Yard", "lon", "lat", "area m2", "owner"], ["yards", "sources"])
    'yards'
    >>> table_like(["producteur", "commune", "tonnes"], ["yards", "sources"])
    ''
    """
    plain = [plain_name(heading) for heading in headings if heading.strip()]
    scores = {}
    for table in tables:
        known = [column.name for column in columns_of(table)]
        hits = sum(bool(nearest(heading, known, cutoff=0.85)) for heading in plain)
        if hits >= FEWEST_LIKE and hits >= LEAST_LIKE * len(plain):
            scores[table] = hits
    best = [table for table, hits in scores.items() if hits == max(scores.values())]
    return best[0] if len(best) == 1 else ""


def _headings(label: str, name: str, files: Sequence[Path]) -> list[str]:
    """Read the first filled row of a sheet or file; nothing if that cannot be done."""
    for path in files:
        kind = path.suffix.lower()
        try:
            if label == path.name and kind in {".csv", ".tsv"}:
                return _of_text(path)
            if label.startswith(f"{path.name} sheet"):
                from logistics.scenario.xlsx_reader import first_row

                return first_row(path, name)
        except (OSError, ValueError, KeyError, csv.Error):
            return []
    return []


def _of_text(path: Path) -> list[str]:
    lines = path.read_text(encoding="utf-8-sig", errors="replace").splitlines()
    first = next((line for line in lines if line.strip()), "")
    return next(csv.reader([first], delimiter=max(",;\t|", key=first.count)), [])
