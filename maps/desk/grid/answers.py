"""
What the district page is told, and what it may do: folder and question in, data out.

A question has what stands in its address (`table`), what stands behind it (`area_m2`)
and the object that was sent (`sent`).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from pathlib import Path
from typing import Any

from maps.desk.grid.checking import checker_of, doubted, placed
from maps.desk.grid.columns import (
    filled_from_library,
    library_rows,
    pick_lists,
    shown_columns,
    table_name,
    table_order,
)
from maps.desk.grid.drafts import Draft, drafts_of
from maps.desk.grid.faults import EditFault, NoPlace
from maps.desk.grid.places import background, places_of, points
from maps.desk.grid.saving import differences, save_all

Asked = Mapping[str, Any]
Data = dict[str, Any]
LONGEST_CELL = 1000
"""Of what a siting rule looks at. [letter]"""


class NoTable(LookupError):
    """There is no such table."""


def overview(folder: Path, _: Asked) -> Data:
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


def _known(asked: Asked, tables: Collection[str]) -> str:
    """Name of the table that is asked about."""
    name = str(asked.get("table", ""))
    if name not in tables:
        message = f"There is no table {name[:40]!r}"
        raise NoTable(message)
    return name


def table(folder: Path, asked: Asked) -> Data:
    """One table as the grid shows it."""
    tables = drafts_of(folder).all()
    name = _known(asked, tables)
    one, good = tables[name], checker_of(folder).good
    texts = {each: draft.text for each, draft in tables.items()}
    return {
        **_brief(one),
        "firstRow": one.disk.heading_row + 1,
        "columns": shown_columns(one.text, len(one.base.headings), good),
        "picks": pick_lists(name, texts, good),
        "filled": filled_from_library(name, good),
        "cells": one.text.rows,
        "library": [] if one.disk.view_only else library_rows(one.text, good),
        **drafts_of(folder).history(name),
    }


def check(folder: Path, _: Asked) -> Data:
    """Every fault of the scenario with its drafts, and what may be a slip."""
    checker = checker_of(folder)
    checked = checker.check()
    tables, settled = checker.drafts.all(), checked.settled
    return {
        "versions": checked.versions,
        "faults": placed(checked.problems, tables),
        "doubts": doubted(settled.open, tables),
        "accepted": list(settled.accepted),
    }


def ground(folder: Path, _: Asked) -> Data:
    """Land, roads and the points of the tables."""
    texts = {name: one.text for name, one in drafts_of(folder).all().items()}
    return {**background(texts), "points": points(texts)}


def no_go(folder: Path, asked: Asked) -> Data:
    """Shapes in which a yard of an area would be refused. [m2]"""
    try:
        area_m2 = float(asked.get("area_m2", ""))
    except ValueError:
        area_m2 = -1.0
    if not 0 <= area_m2 <= 1e7:
        message = "An area is a number from 0 to 10,000,000 m2"
        raise EditFault(message)
    try:
        return places_of(folder).no_go(area_m2)
    except NoPlace as fault:
        return {"refused": [], "partly": [], "fault": f"{fault}."}


def both(folder: Path, asked: Asked) -> Data:
    """Tell what differs between a draft and what another program made of its file."""
    tables = drafts_of(folder).all()
    one = tables[_known(asked, tables)]
    return differences(one.base, one.as_file, one.disk)


def edit(folder: Path, asked: Asked) -> Data:
    """Keep a batch of edits."""
    name = _known(asked, table_order())
    match asked["sent"]:
        case {"version": str(version), "name": str(batch), "edits": list(edits)}:
            turn, drafts = str(asked["sent"].get("turn", "")), drafts_of(folder)
            return {"version": drafts.add(name, version, batch[:80], edits, turn)}
    message = "These are no edits"
    raise EditFault(message)


def save(folder: Path, _: Asked) -> Data:
    """Save all drafts."""
    return {"files": save_all(checker_of(folder))}


def choose(folder: Path, asked: Asked) -> Data:
    """Decide between a draft and what another program made of the file."""
    name, keep = _known(asked, table_order()), asked["sent"].get("keep")
    drafts = drafts_of(folder)
    choices = {"mine": drafts.keep_mine, "theirs": drafts.take_theirs}
    if keep not in choices:
        message = "Choose mine or theirs"
        raise EditFault(message)
    choices[keep](name)
    return {"version": drafts.table(name).version}


def judge(folder: Path, asked: Asked) -> Data:
    """Say what a yard would meet at a place."""
    cells = asked["sent"].get("cells")
    if not isinstance(cells, dict) or not all(
        isinstance(text, str) and len(text) < LONGEST_CELL for text in cells.values()
    ):
        message = "A place needs the cells of its row"
        raise EditFault(message)
    try:
        return places_of(folder).judge(cells)
    except NoPlace as fault:
        return {"fault": f"{fault}."}


READ: dict[str, Callable[[Path, Asked], Data]] = {
    "tables": overview,
    "table": table,
    "both": both,
    "check": check,
    "ground": ground,
    "no-go": no_go,
}
DONE: dict[str, Callable[[Path, Asked], Data]] = {
    "edits": edit,
    "choice": choose,
    "save": save,
    "place": judge,
}


def answer(folder: Path, asked: Asked) -> Data:
    """
    Answer a question: `what` of `READ`, or of `DONE` if something was sent.

    Raises
    ------
    NoTable
        If there is nothing of that name.
    """
    works, what = DONE if "sent" in asked else READ, asked["what"]
    if what not in works:
        message = f"There is no {what[:40]!r} to ask for"
        raise NoTable(message)
    return works[what](folder, asked)
