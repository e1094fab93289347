"""Columns of a survey export made ours: answers with several choices, points, keys."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from logistics.bringing.sheets import ReadSheet
from logistics.scenario import in_list

MARK = "loamhaul_units"
"""Question of our own forms: where it is answered, all units are ours."""
KEYS = {
    *("key", "parent_key", "submissiondate", "instanceid", "meta/instanceid"),
    *("meta-instanceid", "formdef_version", "deviceid", "username", "start", "end"),
}
SIGNS = {"_id", "_uuid", "_index", "_parent_index", "_submission__id", "key",
         "parent_key", "meta/instanceid", "meta-instanceid"}  # fmt: skip
"""Headings that only exports of survey forms have."""
SEVERAL = {"closed_periods", "carries", "ticked_months", "here"}
"""Questions with several answers, whose ticks are joined though no column has them."""
TICKED, BLANK = {"1", "true", "yes", "1.0"}, {"0", "false", "no", "0.0", "", "n/a"}
PART = re.compile(
    r"_?(?:.*\W)?_?(?P<name>\w+?)[-_.:/](?P<part>latitude|longitude|altitude"
    r"|accuracy|precision)",
    re.IGNORECASE,
)
POINT = re.compile(r"-?\d+(?:\.\d+)? -?\d+(?:\.\d+)?(?: -?\d+(?:\.\d+)?){1,2}")
PARTS = ("Latitude", "Longitude", "Altitude", "Accuracy")


@dataclass(frozen=True)
class _Answers:
    """One column: its heading, its cells, and which of them hold numbers."""

    heading: str
    cells: list[str]
    stored: frozenset[int] = frozenset()


def tail_of(heading: str) -> str:
    """
    Return the name of a question without the groups it is in.

    >>> tail_of("sources/how_much/amount"), tail_of("how_much-amount"), tail_of("a b/c")
    ('amount', 'amount', 'a b/c')
    """
    found = re.fullmatch(r"(?:[A-Za-z_]\w*[/:-])+([A-Za-z_]\w*)", heading)
    return found[1] if found and not PART.fullmatch(heading) else heading


def is_survey(headings: Sequence[str]) -> bool:
    """Whether headings are those of an export of a survey form."""
    return bool(SIGNS & {heading.casefold() for heading in headings})


def tidied(sheet: ReadSheet) -> ReadSheet:
    """
    Return a survey export without its book-keeping, each answer in one column.

    Ticks of one question (`closed_periods/m06`, 0 or 1) become one column with the
    chosen codes; a point in one cell (latitude, longitude, altitude, accuracy) becomes
    four.
    Other sheets come back as they are.
    """
    if not sheet.rows or not is_survey(sheet.rows[0]):
        return sheet
    whole = _columns(sheet)
    columns = [c for c in whole if not _is_key(c.heading)]
    keys = [c.heading for c in whole if c.heading and _is_key(c.heading)]
    columns, joined = _ticks_joined(columns)
    columns = _points_parted(columns)
    rows = [[c.heading for c in columns]]
    rows += [[c.cells[p] for c in columns] for p in range(len(sheet.rows) - 1)]
    stored = frozenset(
        (position + 1, place)
        for place, c in enumerate(columns)
        for position in c.stored
    )
    said = [f"has book-keeping that no table needs: {in_list(keys)}"] if keys else []
    said += [f"has {name} joined from {n} ticks" for name, n in joined.items()]
    return replace(
        sheet, rows=rows, stored=stored, said=(*sheet.said, *said), survey=True
    )


def _columns(sheet: ReadSheet) -> list[_Answers]:
    count = len(sheet.rows) - 1
    marks: dict[int, set[int]] = {}
    for position, place in sheet.stored:
        marks.setdefault(place, set()).add(position - 1)
    return [
        _Answers(
            heading,
            [sheet.cell(position + 1, place) for position in range(count)],
            frozenset(marks.get(place, ())),
        )
        for place, heading in enumerate(sheet.rows[0])
    ]


def _is_key(heading: str) -> bool:
    """Whether a column is book-keeping of the server, and no answer."""
    bare = heading.casefold()
    own = bare.startswith("_") and not PART.fullmatch(heading)
    links = bare.startswith("set-of-") or bare.endswith("_url")
    return own or bare in KEYS or links


def _ticks_joined(
    columns: Sequence[_Answers],
) -> tuple[list[_Answers], dict[str, int]]:
    """Put the ticks of a question into one column; return how many there were."""
    named = {c.heading: c for c in columns}
    ticks: dict[str, list[_Answers]] = {}
    for c in columns:
        base, _, choice = c.heading.rpartition("/")
        if not base or not {x.casefold() for x in c.cells} <= TICKED | BLANK:
            continue
        whole = named.get(base)
        if tail_of(base) in SEVERAL or (whole and _agrees(c, choice, whole)):
            ticks.setdefault(base, []).append(c)
    found: list[_Answers] = []
    done: set[str] = set()
    for c in columns:
        base = c.heading if c.heading in ticks else c.heading.rpartition("/")[0]
        parts = ticks.get(base, [])
        if (c.heading != base and c not in parts) or base not in ticks:
            found.append(c)
        elif base not in done:
            done.add(base)
            found.append(_joined(base, named.get(base), parts))
    return found, {base: len(parts) for base, parts in ticks.items()}


def _agrees(ticks: _Answers, choice: str, whole: _Answers) -> bool:
    """Whether ticks say of every row what the cell with all choices says."""
    return all(
        (tick.casefold() in TICKED) == (choice in cell.split())
        for tick, cell in zip(ticks.cells, whole.cells, strict=True)
        if cell.casefold() not in {"", "n/a"}
    )


def _joined(base: str, whole: _Answers | None, parts: Sequence[_Answers]) -> _Answers:
    cells = []
    for position in range(len(parts[0].cells)):
        chosen = [
            part.heading.rpartition("/")[2]
            for part in parts
            if part.cells[position].casefold() in TICKED
        ]
        told = whole.cells[position] if whole else ""
        cells.append(told if told.casefold() not in {"", "n/a"} else " ".join(chosen))
    return _Answers(base, cells)


def _points_parted(columns: Sequence[_Answers]) -> list[_Answers]:
    """Part points that stand in one cell; drop them where their parts stand too."""
    parted = {
        found["name"].casefold().strip("_")
        for c in columns
        if (found := PART.fullmatch(c.heading))
    }
    result: list[_Answers] = []
    for c in columns:
        filled = [cell for cell in c.cells if cell]
        if not filled or not all(map(POINT.fullmatch, filled)):
            result.append(c)
        elif tail_of(c.heading).casefold() not in parted:
            for order, part in enumerate(PARTS):
                cells = [(cell.split() + [""] * 4)[order] for cell in c.cells]
                result.append(_Answers(f"{c.heading}-{part}", cells))
    return result
