"""Raw tables: text in rows and columns as it stood in the file, headings recognised."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from logistics.scenario.faults import Problem, nearest
from logistics.scenario.lists import in_list
from logistics.scenario.schema import Column, columns_of, plain_name
from logistics.scenario.wide_calendar import long_form, period_places

Grid = Sequence[tuple[int, Sequence[str]]]

UNREADABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufffd\ud800-\udfff]")
IS_MISSING = "is missing"
EDGES = " \t\r\n\xa0\u200b\ufeff"
EXAMPLE = "e.g."
"""How the first cell of a row begins that shows how to fill in a table."""


@dataclass(frozen=True, slots=True)
class Remark:
    """
    What a planner should know of how a file was read, though it could be.

    Attributes
    ----------
    check
        Name by which the planner may accept it.
    problem
        Place, what was done, and what to do if that is wrong.
    """

    check: str
    problem: Problem


@dataclass(frozen=True, eq=False)
class RawTable:
    """
    One input table as text.

    Attributes
    ----------
    table, file
        Name of the table, and the file with its sheet or layer, for messages.
    heading_row
        Row of the headings.
    cells
        Known columns that are present: name to cell texts, trimmed.
    rows
        Row number of each line, as the spreadsheet counts.
    bad
        Cells already reported, as (position, column).
    missing
        Required columns that are not there (already reported).
    stored
        Cells that hold numbers and no text, as (position, column): the point in them is
        ours, and shows nothing of how the planner writes numbers.
    notes
        What was done with the file that its maker may not expect.
    wide
        Whether the file has a column a period, and `cells` a row a period.
    """

    table: str
    file: str
    heading_row: int
    cells: dict[str, list[str]]
    rows: list[int]
    bad: frozenset[tuple[int, str]] = frozenset()
    missing: frozenset[str] = field(default_factory=frozenset)
    stored: frozenset[tuple[int, str]] = frozenset()
    notes: tuple[Remark, ...] = ()
    wide: bool = False

    def shown(self, position: int, name: str) -> str:
        """Return the heading under which a cell stands in the file."""
        wide = self.wide and name == "share_pct"
        return self.cells["period"][position] if wide else name


def is_example(cells: Sequence[str]) -> bool:
    """
    Whether a row is an example, which is never read as data.

    Examples
    --------
    >>> is_example(["", "e.g. mill", "North mill"]), is_example(["eg_mill"])
    (True, False)
    """
    first = next((cell for cell in cells if cell), "")
    return first.casefold().startswith(EXAMPLE)


def column_letter(position: int) -> str:
    """
    Name a column as spreadsheets do.

    Examples
    --------
    >>> column_letter(0), column_letter(27)
    ('A', 'AB')
    """
    letters = ""
    position += 1
    while position:
        position, rest = divmod(position - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def raw_table(
    table: str,
    file: str,
    grid: Grid,
    reported: frozenset[tuple[int, int]] = frozenset(),
    numbers: frozenset[tuple[int, int]] = frozenset(),
) -> tuple[RawTable | None, list[Problem]]:
    """
    Recognise the headings of a grid of texts and drop what is blank.

    Parameters
    ----------
    table, file
        Name of the table; file for messages.
    grid
        Row number and cells of each row; rows may differ in length.
    reported
        Cells (row number, column position) whose fault is known already.
    numbers
        Cells (row number, column position) that hold numbers and no text.

    Returns
    -------
    RawTable or None
        None if no heading could be recognised.
    list of Problem
        Faults of headings and rows.
    """
    trimmed = [(row, [cell.strip(EDGES) for cell in cells]) for row, cells in grid]
    filled = [(row, cells) for row, cells in trimmed if any(cells)]
    if not filled:
        why, remedy = "is empty", f"Write the headings in row 1: {_heading_list(table)}"
        return None, [Problem(file, None, "", None, why, remedy)]
    wide = table == "calendar" and bool(period_places(filled[0][1]))
    if wide:
        filled, reported, numbers = long_form(filled, reported, numbers)
    heading_row, headings = filled[0]
    places, problems = _recognise(table, file, heading_row, headings)
    if not places:
        why = "has no known heading"
        remedy = f"Write the headings in row 1: {_heading_list(table)}"
        return None, [Problem(file, heading_row, "", None, why, remedy)]
    body = [(row, cells) for row, cells in filled[1:] if not is_example(cells)]
    problems += _stray_cells(file, headings, body)
    bad, more = _unreadable(file, places, body)
    by_place = {place: name for name, place in places.items()}
    at: dict[int, list[int]] = {}
    for position, (row, _) in enumerate(body):
        at.setdefault(row, []).append(position)

    def inside(marked: frozenset[tuple[int, int]]) -> set[tuple[int, str]]:
        return {
            (position, by_place[place])
            for row, place in marked
            if place in by_place
            for position in at.get(row, ())
        }

    bad |= inside(reported)
    cells = {
        name: [line[place] if place < len(line) else "" for _, line in body]
        for name, place in places.items()
    }
    missing, absent = _missing(table, file, heading_row, places, problems)
    rows = [row for row, _ in body]
    stored = frozenset(inside(numbers))
    raw = RawTable(
        table,
        file,
        heading_row,
        cells,
        rows,
        frozenset(bad),
        missing,
        stored,
        wide=wide,
    )
    return raw, [*problems, *more, *absent]


def _heading_list(table: str) -> str:
    return in_list(c.name for c in columns_of(table) if c.required)


def _recognise(
    table: str, file: str, row: int, headings: Sequence[str]
) -> tuple[dict[str, int], list[Problem]]:
    """Match headings to columns; unknown and repeated ones are faults."""
    known = [c.name for c in columns_of(table)]
    places: dict[str, int] = {}
    problems = []
    for place, heading in enumerate(headings):
        name = plain_name(heading)
        if not name or name.startswith("note"):
            continue
        if name in places:
            why = f"appears twice, in columns {column_letter(places[name])} and "
            why += column_letter(place)
            problems.append(
                Problem(file, row, heading, None, why, "Delete one of them")
            )
        elif name in known:
            places[name] = place
        else:
            like = nearest(name, [n for n in known if n not in places])
            remedy = "Delete it, or begin its heading with 'note' to keep it as a note"
            if like:
                remedy = f"Write {like!r} if you meant that, or begin it with 'note'"
            why = "is not a known column"
            problems.append(Problem(file, row, heading, None, why, remedy))
    return places, problems


def _missing(
    table: str,
    file: str,
    row: int,
    places: dict[str, int],
    problems: Sequence[Problem],
) -> tuple[frozenset[str], list[Problem]]:
    """Find required columns without a heading, unless a misspelt one explains it."""
    missing = [c for c in columns_of(table) if c.required and c.name not in places]
    guessed = {
        p.remedy.split("'")[1] for p in problems if p.remedy.startswith("Write '")
    }
    absent = [
        Problem(file, row, c.name, None, IS_MISSING, f"Add the column: {_about(c)}")
        for c in missing
        if c.name not in guessed
    ]
    return frozenset(c.name for c in missing), absent


def _about(c: Column) -> str:
    return f"{c.meaning} [{c.unit}]" if c.unit else c.meaning


def _stray_cells(
    file: str, headings: Sequence[str], body: Sequence[tuple[int, Sequence[str]]]
) -> list[Problem]:
    """Find values under no heading; the usual reason is a comma inside a cell."""
    problems = []
    for row, cells in body:
        stray = [
            place
            for place, cell in enumerate(cells)
            if cell and (place >= len(headings) or not headings[place])
        ]
        if stray:
            place = stray[0]
            why = "is in a column without a heading"
            remedy = (
                "Delete it or give the column a heading. If a comma inside a cell "
                "pushed it there, put that cell in quotation marks or write a decimal "
                "point"
            )
            letter = column_letter(place)
            problems.append(Problem(file, row, letter, cells[place], why, remedy))
    return problems


def _unreadable(
    file: str, places: dict[str, int], body: Sequence[tuple[int, Sequence[str]]]
) -> tuple[set[tuple[int, str]], list[Problem]]:
    """Find cells with control characters or characters lost in a wrong encoding."""
    bad: set[tuple[int, str]] = set()
    problems = []
    for position, (row, cells) in enumerate(body):
        if not UNREADABLE.search("\t".join(cells)):
            continue
        for name, place in places.items():
            found = UNREADABLE.search(cells[place]) if place < len(cells) else None
            if found:
                why = f"holds an unreadable character (U+{ord(found[0]):04X})"
                remedy = "Type the cell again and save the file as UTF-8"
                value = UNREADABLE.sub("?", cells[place])
                problems.append(Problem(file, row, name, value, why, remedy))
                bad.add((position, name))
    return bad, problems
