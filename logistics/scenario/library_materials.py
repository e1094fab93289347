"""Feedstocks of the library, used by their code alone: the figures a row leaves out."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache

from logistics.scenario.cells import Cells
from logistics.scenario.csv_reader import read_csv
from logistics.scenario.defaults import library
from logistics.scenario.faults import Problem, choose_from, nearest_material
from logistics.scenario.raw import IS_MISSING, RawTable
from logistics.scenario.schema import LIBRARY, columns_of

TABLE = "materials"
FILE = f"{TABLE}.csv"
NO_FIGURE = {"material", "name", "colour", "status", "source"}
HOW_TO_LIST = "`loamhaul materials` lists them"


@dataclass(frozen=True, eq=False)
class Completed:
    """
    The table of materials with the library's figures in it.

    Attributes
    ----------
    raw
        Table of texts; None if nothing asks for one.
    filled
        Cells that hold a figure of the library: column to positions.
    problems
        Faults that are left, of those given, and rows that are of no use.
    """

    raw: RawTable | None
    filled: dict[str, list[int]]
    problems: list[Problem]


@cache
def stock() -> dict[str, dict[str, str]]:
    """
    Return the library's materials as texts: code to column to text.

    Examples
    --------
    >>> stock()["sawdust"]["moisture_pct"]
    '35'
    """
    raw, _ = read_csv(LIBRARY / FILE, TABLE)
    if raw is None:
        message = f"the library table {TABLE} is damaged"
        raise RuntimeError(message)
    codes = raw.cells["material"]
    return {
        code: {name: texts[place] for name, texts in raw.cells.items()}
        for place, code in enumerate(codes)
    }


def called_for(raw: Mapping[str, RawTable]) -> list[str]:
    """Return the library's codes that sources name and materials has no row for."""
    named = raw["sources"].cells.get("material", []) if "sources" in raw else []
    own = raw[TABLE].cells.get("material", []) if TABLE in raw else []
    return [c for c in dict.fromkeys(named) if c in stock() and c not in own]


def complete_materials(
    tables: Mapping[str, RawTable], readable: bool, problems: Iterable[Problem]
) -> Completed:
    """
    Put in what the library knows of the materials that a scenario uses.

    A row with a code of the library that leaves a required figure blank takes all that
    it leaves blank from there. A source may name a code that has no row at all.

    Parameters
    ----------
    tables
        Tables of texts.
    readable
        Whether the table materials is absent or could be read.
    problems
        Faults found so far.

    Returns
    -------
    Completed
        The table and the faults that are left.
    """
    raw, more = tables.get(TABLE), called_for(tables)
    if not readable or (raw is None and not more):
        return Completed(raw, {}, list(problems))
    raw = _with_rows(raw or RawTable(TABLE, FILE, 1, {}, []), more)
    needed = [c.name for c in columns_of(TABLE) if c.required and not c.key]
    codes = raw.cells["material"]
    lacking = [
        [n for n in needed if not raw.cells[n][p] and (p, n) not in raw.bad]
        for p in range(len(codes))
    ]
    from_stock = [p for p, code in enumerate(codes) if lacking[p] and code in stock()]
    useless = [
        p
        for p, code in enumerate(codes)
        if code and code not in stock() and lacking[p] == needed
    ]
    answered = {*from_stock, *useless}
    settled = {
        name
        for name in raw.missing
        if codes and all(p in answered for p in range(len(codes)) if name in lacking[p])
    }
    filled: dict[str, list[int]] = {}
    for position in from_stock:
        _fill(raw, position, filled)
    ours = {(p, name) for name, positions in filled.items() for p in positions}
    bad = raw.bad | {(p, name) for p in useless for name in needed}
    left = [p for p in problems if not _is_settled(p, raw, settled)]
    left += [_no_figures(raw, position) for position in useless]
    whole = replace(
        raw, bad=frozenset(bad), missing=raw.missing - settled, stored=raw.stored | ours
    )
    return Completed(whole, filled, left)


def _with_rows(raw: RawTable, codes: Collection[str]) -> RawTable:
    """Return a copy with every column, and a row with the code alone for each code."""
    cells = {}
    for column in columns_of(TABLE):
        texts = raw.cells.get(column.name, [""] * len(raw.rows))
        cells[column.name] = [*texts, *(codes if column.key else [""] * len(codes))]
    return replace(raw, cells=cells, rows=[*raw.rows, *[0] * len(codes)])


def _fill(raw: RawTable, position: int, filled: dict[str, list[int]]) -> None:
    """Write the library's texts into the blank cells of a row, and note which."""
    texts = stock()[raw.cells["material"][position]]
    own = any(raw.cells[n][position] for n in raw.cells if n not in NO_FIGURE)
    for name, text in texts.items():
        if not text or raw.cells[name][position] or (position, name) in raw.bad:
            continue
        told = (
            f"of the figures left blank: {text}" if own and name == "source" else text
        )
        raw.cells[name][position] = told
        filled.setdefault(name, []).append(position)


def _is_settled(problem: Problem, raw: RawTable, settled: Collection[str]) -> bool:
    """Whether it tells of a missing column that the library makes up for."""
    place = (problem.file, problem.row) == (raw.file, raw.heading_row)
    return place and problem.why == IS_MISSING and problem.column in settled


def _no_figures(raw: RawTable, position: int) -> Problem:
    """Return the fault of a row with a code alone that the library does not know."""
    code, row = raw.cells["material"][position], raw.rows[position]
    like = nearest_material(code, structure_of())
    remedy = f"Write {like!r} if you meant that, or give its figures"
    if not like:
        remedy = f"Write its figures, or a code of the library: {HOW_TO_LIST}"
    why = "has no figures and is not a material of the library"
    return Problem(raw.file, row, "material", code, why, remedy)


def with_filled(cells: Cells, filled: Mapping[str, list[int]]) -> Cells:
    """Return the typed table with the library's cells among those filled."""
    joined = {
        name: sorted({*cells.filled.get(name, []), *filled.get(name, [])})
        for name in {**cells.filled, **filled}
    }
    return replace(cells, filled=joined)


def structure_of(own: Cells | None = None) -> dict[str, bool]:
    """Return which materials, of a scenario and the library, give structure."""
    found: dict[str, bool] = {}
    for frame in (library(TABLE).frame, *([own.frame] if own else [])):
        found |= dict(
            zip(frame["material"].tolist(), frame["structure"].tolist(), strict=True)
        )
    found.pop("", None)
    return found


def material_remedy(
    word: str, own: Mapping[str, bool], others: Collection[str] = ()
) -> str:
    """
    Return the remedy for an unknown material.

    Parameters
    ----------
    word
        What was written.
    own
        Codes that may be used here, and whether each gives structure.
    others
        Words that may stand there beside codes.

    Examples
    --------
    >>> material_remedy("rice_huks", {"rice_husk": True})
    "Write 'rice_husk' if you meant that"
    >>> material_remedy("coffee_husk", {"rice_husk": True}).partition(",")[0]
    'Use one of: rice_husk'
    """
    if word in stock():
        return f"Add a row with only this code to {TABLE}: the library has its figures"
    like = nearest_material(word, {**own, **dict.fromkeys(others, False)})
    if like:
        return f"Write {like!r} if you meant that"
    used = choose_from("", [*own, *others])
    return (
        f"{used}, or add a row to {TABLE}: with its figures, or with only a code of "
        f"the library ({HOW_TO_LIST})"
    )
