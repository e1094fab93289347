"""Rows of all sheets made rows of our tables: joined, coded, and checked as a whole."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from logistics.bringing.codes import code_from, free_code
from logistics.bringing.complete import NEEDED
from logistics.bringing.drafting import WORST_ACCURACY_M, BroughtRow
from logistics.bringing.headings import PLACED
from logistics.bringing.recipe import NAME, SheetRecipe
from logistics.bringing.seasons_told import ORIGIN, months_to_seasons
from logistics.bringing.standing import Surroundings
from logistics.bringing.twins import joined_rows, twin_faults
from logistics.bringing.words import plain
from logistics.scenario import (
    CellFault,
    Column,
    Problem,
    choose_from,
    columns_of,
    keys_of,
    plain_number,
    read_value,
)

ACCURACY = "note_accuracy_m"
"""Column that keeps the accuracy of a place; all leave headings of notes alone."""
Cells = dict[str, str]


@dataclass(eq=False)
class Gathered:
    """
    Rows for our tables.

    Attributes
    ----------
    tables
        Table -> rows, by our column.
    codes
        Label of a sheet -> name -> code.
    faults, warnings, said
        What keeps them from being written, what is to be looked at, what was done.
    """

    tables: dict[str, list[Cells]] = field(default_factory=dict)
    codes: dict[str, Cells] = field(default_factory=dict)
    faults: list[Problem] = field(default_factory=list)
    warnings: list[Problem] = field(default_factory=list)
    said: list[str] = field(default_factory=list)


def gathered(
    rows: list[BroughtRow], recipes: Mapping[str, SheetRecipe], standing: Surroundings
) -> Gathered:
    """
    Make rows of our tables of the rows of all sheets.

    Parameters
    ----------
    rows
        As drafted, in the order of files and sheets.
    recipes
        By label of the sheet.
    standing
        The scenario they go into.
    """
    found = Gathered(faults=[*_value_faults(recipes, standing)])
    tables = dict.fromkeys(row.table for row in rows)
    for table in tables:
        some = [row for row in rows if row.table == table]
        if table in PLACED:
            some = joined_rows(some, found.faults, found.said)
        for row in some:
            for ours, text in recipes[row.sheet].values.items():
                row.cells.setdefault(ours, text)
        if table in PLACED:
            both = {label: recipe.both for label, recipe in recipes.items()}
            found.faults += twin_faults(some, both)
        _give_codes(table, some, recipes, standing, found)
        _check_accuracy(some, found)
        months_to_seasons(some, standing, found.tables, found.faults, found.said)
        _name_districts(some, standing, found)
        _check_required(table, some, standing, found)
        found.tables[table] = [*found.tables.get(table, []), *map(_cells, some)]
    return found


def _value_faults(
    recipes: Mapping[str, SheetRecipe], standing: Surroundings
) -> Iterator[Problem]:
    """Yield what the recipe gives for rows and cells that no column takes."""
    for label, recipe in recipes.items():
        specs = {c.name: c for c in columns_of(recipe.table)} if recipe.table else {}
        given = [(name, name, value) for name, value in recipe.values.items()]
        for name, words in recipe.words.items():
            given += [(name, f"{name}.{word}", meant) for word, meant in words.items()]
        for name, key, value in given:
            spec = specs.get(name)
            why, remedy = "is not a column of ours", "Delete it"
            if spec is not None:
                why, remedy = _value_fault(spec, value, standing)
            if why:
                yield Problem(NAME, None, f"{label}: {key}", value, why, remedy)


def _value_fault(spec: Column, value: str, standing: Surroundings) -> tuple[str, str]:
    """Say why a column does not take a value, and what to do; blanks if it does."""
    try:
        read_value(value, spec)
    except CellFault as fault:
        return fault.why, fault.remedy
    codes = standing.codes(spec.refers_to) if spec.refers_to else {}
    if codes and value not in codes:
        return f"is not in {spec.refers_to}", choose_from(value, codes)
    return "", ""


def _cells(row: BroughtRow) -> Cells:
    cells = {**row.cells, ORIGIN: "; ".join(row.origins)}
    if row.accuracy_m is not None:
        cells[ACCURACY] = plain_number(round(row.accuracy_m, 1))
    return cells


def _give_codes(
    table: str,
    rows: list[BroughtRow],
    recipes: Mapping[str, SheetRecipe],
    standing: Surroundings,
    found: Gathered,
) -> None:
    """Give every row its code: the file's, the recipe's, its name's, or a new one."""
    keys = keys_of(table)
    if len(keys) != 1:
        return
    key = keys[0]
    kept = {} if standing.example(table) else standing.codes(table)
    if table == "materials":
        kept = {row["material"]: row.get("name", "") for row in standing.rows[table]}
    by_name = {plain(name): code for code, name in kept.items() if name}
    busy = {*kept, *(code for r in recipes.values() for code in r.codes.values())}
    used: set[str] = set()
    repeated = _repeated(rows)
    last: dict[str, int] = {}
    for row in rows:
        name = row.cells.get("name", "")
        label = (
            f"{name} / {row.cells.get('material', '')}" if name in repeated else name
        )
        given = row.cells.get(key, "")
        code = code_from(given) if given and not given.isidentifier() else given
        code = code or recipes[row.sheet].codes.get(label, "")
        if not code and by_name and name and name not in repeated:
            code = by_name.get(plain(name), "")
        if not code or (code in used and not given):
            wish = label.replace(" / ", " ") if name in repeated else name
            code = free_code(wish, table, busy, last)
        if code in used:
            why, remedy = "stands twice", "Give each row a code of its own"
            found.faults.append(
                Problem(row.where[0], row.where[1], key, given, why, remedy)
            )
        used.add(code)
        busy.add(code)
        row.cells[key] = code
        if not given and name:
            found.codes.setdefault(row.sheet, {})[label] = code


def _repeated(rows: list[BroughtRow]) -> set[str]:
    """Names that several rows have, as a mill with two feedstocks."""
    seen: set[str] = set()
    again: set[str] = set()
    for row in rows:
        name = row.cells.get("name", "")
        (again if name in seen else seen).add(name)
    return again - {""}


def _check_accuracy(rows: list[BroughtRow], found: Gathered) -> None:
    for row in rows:
        if row.accuracy_m is not None and row.accuracy_m > WORST_ACCURACY_M:
            why = f"is worse than {WORST_ACCURACY_M:.0f} m"
            remedy = "Take the point again where the sky is open"
            value = f"{row.accuracy_m:g} m"
            found.warnings.append(
                Problem(row.where[0], row.where[1], "accuracy", value, why, remedy)
            )


def _name_districts(
    rows: list[BroughtRow], standing: Surroundings, found: Gathered
) -> None:
    """Make codes of the districts named, and rows for those that are new."""
    known = standing.codes("districts")
    codes: Cells = {}
    new: Cells = {}
    for row in rows:
        name = row.cells.get("district", "")
        if name and name not in known and row.table != "districts":
            if name not in codes:
                free = free_code("", "districts", {*known, *new})
                codes[name] = code_from(name) or free
            code = row.cells["district"] = codes[name]
            if code not in known:
                new[code] = name
    if new and any(row.table != "districts" for row in rows):
        done = {row["district"] for row in found.tables.get("districts", [])}
        found.tables.setdefault("districts", []).extend(
            {"district": code, "name": name} for code, name in new.items()
            if code not in done
        )  # fmt: skip


def _check_required(
    table: str, rows: list[BroughtRow], standing: Surroundings, found: Gathered
) -> None:
    """Report required cells that no file, value or older row gives."""
    keys = keys_of(table)
    older = {tuple(r.get(k, "") for k in keys): r for r in standing.rows[table]}
    if standing.example(table):
        older = {}
    required = [c.name for c in columns_of(table) if c.required]
    faulted = {(fault.file, fault.row) for fault in found.faults}
    for row in rows:
        needed = NEEDED.get((table, row.cells.get("basis", "")), ())
        blank = [name for name in (*required, *needed) if not row.cells.get(name)]
        if not blank:
            continue
        known = older.get(tuple(row.cells.get(k, "") for k in keys), {})
        for name in blank:
            if not known.get(name):
                why = "is given by no file for this row"
                remedy = "Write it, or leave the row out"
                fault = Problem(
                    *row.where, name, row.cells.get("name") or None, why, remedy
                )
                if name not in {"lon", "lat"} or row.where not in faulted:
                    found.faults.append(fault)
