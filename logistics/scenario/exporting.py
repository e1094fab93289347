"""A scenario as texts to be written in another form: tables with notes, settings."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path

import pandas as pd

from logistics.scenario.scenario import Scenario
from logistics.scenario.schema import columns_of, keys_of, plain_name, tables
from logistics.scenario.settings_file import FILE
from logistics.scenario.starter import notes
from logistics.scenario.table_text import TableText, table_texts
from logistics.scenario.workbook import BOOK, book_cell, write_book
from logistics.scenario.writing import outside, replace_file

CHANGES = "changes"
"""Folder of the changes that belong to a scenario."""


def exported_tables(scenario: Scenario) -> dict[str, pd.DataFrame]:
    """
    Return the tables as texts that read back the same, with the notes beside them.

    Parameters
    ----------
    scenario
        Read from a folder.

    Returns
    -------
    dict
        Table -> texts by column, only tables with rows; defaults that nobody wrote are
        blank. Notes of a GeoPackage are left out.
    """
    kept = {} if scenario.path is None else table_texts(scenario.path)
    found = {}
    for table in tables():
        used = scenario.defaults_used
        scale = scenario.settings.finance.money_scale
        frame = outside(
            table, scenario.table(table), used[used["table"] == table], scale
        ).reset_index(drop=True)
        if len(frame):
            found[table] = _with_notes(table, frame, kept.get(table))
    return found


def _with_notes(
    table: str, frame: pd.DataFrame, text: TableText | None
) -> pd.DataFrame:
    """Put the columns of notes beside the rows that have the same keys."""
    if text is None or not text.rows:
        return frame
    names = [plain_name(heading) for heading in text.headings]
    notes_at = {
        text.headings[place]: place
        for place, name in enumerate(names)
        if name.startswith("note")
    }
    keys = [key for key in keys_of(table) if key in names]
    if not notes_at or not keys:
        return frame
    by_key = {tuple(row[names.index(k)] for k in keys): row for row in text.rows}
    rows = [by_key.get(tuple(line)) for line in frame[keys].to_numpy().tolist()]
    more = {
        heading: [row[place] if row else "" for row in rows]
        for heading, place in notes_at.items()
    }
    return frame.assign(**more)


def copy_settings(folder: Path, target: Path) -> list[str]:
    """Copy settings and changes as they stand; return the names of what was written."""
    names = [FILE]
    names += [f"{CHANGES}/{f.name}" for f in sorted((folder / CHANGES).glob("*.toml"))]
    for name in names:
        (target / name).parent.mkdir(exist_ok=True)
        shutil.copyfile(folder / name, target / name)
    return names


def export_csv(found: Mapping[str, pd.DataFrame], target: Path) -> list[str]:
    """Write one CSV file a table; return their names."""
    for table, frame in found.items():
        text = frame.to_csv(index=False, lineterminator="\n")
        replace_file(target / f"{table}.csv", text)
    return [f"{table}.csv" for table in found]


def export_book(found: Mapping[str, pd.DataFrame], target: Path) -> list[str]:
    """Write one workbook with a sheet a table; return its name."""
    sheets: dict[str, list[list[object]]] = {}
    for table in tables():
        known = {c.name: c for c in columns_of(table)}
        if table not in found:
            sheets[table] = [list(known)]
            continue
        frame = found[table]
        columns = [
            [book_cell(known[name], text) if name in known else text for text in texts]
            for name, texts in frame.items()
        ]
        rows = [list(row) for row in zip(*columns, strict=True)]
        sheets[table] = [list(frame.columns), *rows]
    write_book(target / BOOK, sheets, notes())
    return [BOOK]
