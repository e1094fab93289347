"""What the district page is told, and what it may do: folder and words in, data out."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from maps.desk.grid.checking import checker_of, placed
from maps.desk.grid.columns import (
    filled_from_library,
    pick_lists,
    shown_columns,
    table_name,
    table_order,
)
from maps.desk.grid.drafts import Draft, drafts_of
from maps.desk.grid.faults import EditFault, NoPlace
from maps.desk.grid.places import background, places_of, points
from maps.desk.grid.saving import differences, save_all

Data = dict[str, Any]
LONGEST_CELL = 1000
"""Of what a siting rule looks at. [letter]"""


class NoTable(LookupError):
    """There is no such table."""


def overview(folder: Path) -> Data:
    """Every table: rows, draft or not, changed by another program or not."""
    tables = drafts_of(folder).all()
    return {"tables": [_brief(tables[name]) for name in table_order()]}


def _brief(one: Draft) -> Data:
    return {
        "table": one.disk.table,
        "name": table_name(one.disk.table),
        "file": one.disk.label,
        "rows": len(one.as_file.rows),
        "version": one.version,
        "edited": one.edited,
        "overtaken": one.overtaken,
        "viewOnly": one.disk.view_only,
    }


def _known(name: str, tables: Collection[str]) -> str:
    if name not in tables:
        message = f"There is no table {name!r}"
        raise NoTable(message)
    return name


def table(folder: Path, name: str) -> Data:
    """One table as the grid shows it."""
    tables = drafts_of(folder).all()
    one, good = tables[_known(name, tables)], checker_of(folder).good
    texts = {each: draft.text for each, draft in tables.items()}
    return {
        **_brief(one),
        "firstRow": one.disk.heading_row + 1,
        "columns": shown_columns(one.text, len(one.base.headings), good),
        "picks": pick_lists(name, texts, good),
        "filled": filled_from_library(name, good),
        "cells": one.text.rows,
    }


def check(folder: Path) -> Data:
    """Every fault of the scenario with its drafts."""
    checker = checker_of(folder)
    checked = checker.check()
    faults = placed(checked.problems, checker.drafts.all())
    return {"versions": checked.versions, "faults": faults}


def ground(folder: Path) -> Data:
    """Land, roads and the points of the tables."""
    texts = {name: one.text for name, one in drafts_of(folder).all().items()}
    return {**background(texts), "points": points(texts)}


def no_go(folder: Path, area: str) -> Data:
    """Shapes in which a yard of an area would be refused. [m2]"""
    try:
        area_m2 = float(area)
    except ValueError:
        area_m2 = -1.0
    if not 0 <= area_m2 <= 1e7:
        message = "An area is a number from 0 to 10,000,000 m2"
        raise EditFault(message)
    try:
        return places_of(folder).no_go(area_m2)
    except NoPlace as fault:
        return {"refused": [], "partly": [], "fault": f"{fault}."}


def both(folder: Path, name: str) -> Data:
    """Tell what differs between a draft and what another program made of its file."""
    tables = drafts_of(folder).all()
    one = tables[_known(name, tables)]
    return differences(one.base, one.as_file, one.disk)


def edit(folder: Path, name: str, sent: Mapping[str, Any]) -> Data:
    """Keep a batch of edits."""
    _known(name, table_order())
    match sent:
        case {"version": str(version), "name": str(batch), "edits": list(edits)}:
            return {"version": drafts_of(folder).add(name, version, batch[:80], edits)}
    message = "These are no edits"
    raise EditFault(message)


def save(folder: Path) -> Data:
    """Save all drafts."""
    return {"files": save_all(checker_of(folder))}


def choose(folder: Path, name: str, sent: Mapping[str, Any]) -> Data:
    """Decide between a draft and what another program made of the file."""
    _known(name, table_order())
    drafts = drafts_of(folder)
    choices = {"mine": drafts.keep_mine, "theirs": drafts.take_theirs}
    if sent.get("keep") not in choices:
        message = "Choose mine or theirs"
        raise EditFault(message)
    choices[sent["keep"]](name)
    return {"version": drafts.table(name).version}


def judge(folder: Path, sent: Mapping[str, Any]) -> Data:
    """Say what a yard would meet at a place."""
    cells = sent.get("cells")
    if not isinstance(cells, dict) or not all(
        isinstance(text, str) and len(text) < LONGEST_CELL for text in cells.values()
    ):
        message = "A place needs the cells of its row"
        raise NoPlace(message)
    return places_of(folder).judge(cells)
