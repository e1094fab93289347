"""Rows that were brought, put into the tables as they stand; what changes is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from logistics.bringing.collector import collector_paused
from logistics.bringing.drafting import PHOTO
from logistics.bringing.gathering import ACCURACY, Cells, Gathered
from logistics.bringing.seasons_told import ORIGIN
from logistics.bringing.standing import EXAMPLES, Surroundings
from logistics.scenario import (
    Problem,
    ScenarioError,
    SettingsText,
    TableText,
    columns_of,
    is_example,
    keys_of,
    plain_name,
    plain_number,
    settings_document,
    table_file,
    with_typed,
)

MARGIN = 0.05
"""Around the places, in the edges of a new district. [degrees]"""
MOST_TOLD = 8
"""Changed cells that are told one by one."""


@dataclass(frozen=True)
class Change:
    """
    What happens to one table.

    Attributes
    ----------
    table
        Which.
    added, changed, same, gone
        Rows: new, with other cells than before, as before; examples that give way.
    cells
        Changed cells in words, the first of them.
    kept
        Rows that no file speaks of and that stay.
    """

    table: str
    added: int
    changed: int
    same: int
    gone: int
    kept: int
    cells: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Merged:
    """Whole files to be written, and what changes in each table."""

    files: dict[Path, bytes]
    changes: tuple[Change, ...]
    said: tuple[str, ...] = ()


@collector_paused()
def merged(made: Gathered, standing: Surroundings, name: str) -> Merged:
    """
    Put rows into the tables of a scenario, which gets the name if it has none yet.

    A row whose key is there already gets the cells that a file gives; its others stay.

    Raises
    ------
    ScenarioError
        If a table cannot be written to.
    """
    changes, faults = [], []
    texts: dict[Path, list[TableText]] = {}
    for table, rows in made.tables.items():
        text = standing.texts[table]
        if text.view_only:
            why = f"cannot be written to: {text.view_only.rstrip('.')}"
            remedy = "Then bring the files again"
            faults.append(Problem(text.label, None, "", None, why, remedy))
            continue
        fresh, change = _table(table, rows, text, example=standing.example(table))
        changes.append(change)
        texts.setdefault(fresh.path, []).append(fresh)
    if faults:
        raise ScenarioError(faults)
    for table in EXAMPLES if standing.has_starter_edges() and texts else ():
        if table not in made.tables and standing.example(table):
            text = standing.texts[table]
            gone = sum(map(any, text.rows))
            changes.append(Change(table, 0, 0, 0, gone, 0))
            empty = replace(text, rows=(), stored=())
            texts.setdefault(text.path, []).append(empty)
    files = {path: table_file(*some) for path, some in texts.items()}
    settings, said = _edges(made, standing, name)
    if settings is not None:
        files[settings.path] = settings.data
    return Merged(files, tuple(changes), tuple(said))


def _table(
    table: str, rows: Sequence[Cells], text: TableText, *, example: bool
) -> tuple[TableText, Change]:
    """Return the text of a table with the rows in it."""
    headings = list(text.headings)
    at = {plain_name(head): place for place, head in enumerate(headings)}
    order = [c.name for c in columns_of(table)] + [ORIGIN, ACCURACY, PHOTO]
    given = {name for row in rows for name, cell in row.items() if cell}
    for name in order:
        if name in given and name not in at:
            at[name] = len(headings)
            headings.append(name)
    old = [] if example else [list(r) for r in text.rows if not is_example(r)]
    old = [row + [""] * (len(headings) - len(row)) for row in old]
    keys = keys_of(table)
    index = {}
    for place, row in enumerate(old):
        key = tuple(row[at[k]] if k in at else "" for k in keys)
        if any(key):
            index[key] = place
    added = changed = same = 0
    told: list[str] = []
    touched = set()
    for cells in rows:
        key = tuple(cells.get(k, "") for k in keys)
        if key not in index:
            index[key] = len(old)
            fresh_row = [""] * len(headings)
            for name, cell in cells.items():
                if name in at:
                    fresh_row[at[name]] = cell
            old.append(fresh_row)
            touched.add(index[key])
            added += 1
            continue
        row = old[index[key]]
        touched.add(index[key])
        differ = [
            n for n, cell in cells.items() if cell and n in at and row[at[n]] != cell
        ]
        real = [n for n in differ if n not in {ORIGIN, ACCURACY, PHOTO}]
        for name in real:
            was = row[at[name]] or "blank"
            told.append(f"{' '.join(key)}: {name} {was} → {cells[name]}")
        for name in differ:
            row[at[name]] = cells[name]
        changed, same = (changed + 1, same) if real else (changed, same + 1)
    gone = sum(map(any, text.rows)) if example else 0
    kept = sum(map(any, old)) - len(touched)
    more = [f"and {len(told) - MOST_TOLD} more cells"] if len(told) > MOST_TOLD else []
    lines = (*told[:MOST_TOLD], *more)
    fresh = replace(
        text, headings=tuple(headings), rows=tuple(map(tuple, old)), stored=()
    )
    return fresh, Change(table, added, changed, same, gone, kept, lines)


def _edges(
    made: Gathered, standing: Surroundings, name: str
) -> tuple[SettingsText | None, list[str]]:
    """Set the edges of a new district around its places, and give it its name."""
    if not standing.has_starter_edges():
        return None, []
    places = [(float(row["lon"]), float(row["lat"]))
              for table in EXAMPLES for row in made.tables.get(table, [])
              if row.get("lon") and row.get("lat")]  # fmt: skip
    places += standing.points()
    if not places:
        return None, []
    xs, ys = zip(*places, strict=True)
    edges = {"west": min(xs) - MARGIN, "south": min(ys) - MARGIN,
             "east": max(xs) + MARGIN, "north": max(ys) + MARGIN}  # fmt: skip
    document = settings_document(standing.folder)
    typed = {f"district.{side}": plain_number(round(v, 3)) for side, v in edges.items()}
    if standing.name.startswith("Example district"):
        typed["name"] = name
    text = with_typed(document.text, typed)
    said = "the edges of the district go around these places"
    return replace(document, text=text), [said]
