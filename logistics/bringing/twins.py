"""Rows that are one place: joined across sheets, and asked about within one."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from math import cos, radians

from logistics.bringing.drafting import BroughtRow
from logistics.bringing.words import plain
from logistics.scenario import Problem

NEAR_M = 100.0
"""Points of one table nearer than this may be one place. [m]"""
MOST_PAIRS = 100_000
"""More rows that are near each other are told as one fault."""
METRES_A_DEGREE = 111_320.0
Pair = tuple[str, str]


def key_of(row: BroughtRow) -> tuple[str, str, str]:
    """Table, bare name and feedstock: what tells places apart."""
    name = row.cells.get("name", "")
    return row.table, plain(name) or name, row.cells.get("material", "")


def metres(one: BroughtRow, other: BroughtRow) -> float | None:
    """Distance between two rows [m]; None if one has no place."""
    places = []
    for row in (one, other):
        if "lon" not in row.cells or "lat" not in row.cells:
            return None
        places.append((float(row.cells["lon"]), float(row.cells["lat"])))
    (x, y), (a, b) = places
    wide = cos(radians((y + b) / 2)) * (x - a)
    return float(METRES_A_DEGREE * (wide**2 + (y - b) ** 2) ** 0.5)


def joined_rows(
    rows: Iterable[BroughtRow], faults: list[Problem], said: list[str]
) -> list[BroughtRow]:
    """
    Join rows of one name in several sheets, which give each other what they lack.

    Parameters
    ----------
    rows
        Rows of all sheets.
    faults
        Gets pairs that say different things of one cell.
    said
        Gets what was joined though the names are not quite the same.
    """
    order: list[BroughtRow] = []
    by_name: dict[tuple[str, str], dict[str, list[BroughtRow]]] = {}
    for row in rows:
        key = key_of(row)
        if not key[1]:
            order.append(row)
            continue
        sheets = by_name.setdefault(key[:2], {})
        mates = [other for label, some in sheets.items() if label != row.sheet
                 for other in some if _one(other, row)]  # fmt: skip
        if not mates:
            sheets.setdefault(row.sheet, []).append(row)
            order.append(row)
            continue
        for mate in mates:
            _join(mate, row, faults)
            if mate.cells["name"].casefold() != row.cells["name"].casefold():
                one, other = mate.cells["name"], row.cells["name"]
                said.append(f"{one!r} and {other!r} are taken for one place")
    for sheets in by_name.values():
        _share_place([row for some in sheets.values() for row in some])
    return order


def _one(one: BroughtRow, other: BroughtRow) -> bool:
    """Whether two rows of a name may be one: no other feedstock on either side."""
    first, second = one.cells.get("material", ""), other.cells.get("material", "")
    return not first or not second or first == second


def _join(into: BroughtRow, row: BroughtRow, faults: list[Problem]) -> None:
    """Add what a row has; cells that contradict each other are faults."""
    far = metres(into, row)
    for ours, text in row.cells.items():
        known = into.cells.get(ours)
        if ours in {"lon", "lat"} and known is not None:
            if ours == "lon" and far is not None and far > NEAR_M:
                why = f"lies {far:,.0f} m from where {_where(into)} has it"
                faults.append(_fault(row, "lon", text, why, "Leave one out"))
            continue
        if known is None:
            into.cells[ours] = text
        elif known != text and ours != "name":
            why = f"is {known} in {_where(into)}, for the same name"
            faults.append(_fault(row, ours, text, why, "Correct one, or leave it out"))
    into.origins += row.origins
    into.months = into.months or row.months
    if into.accuracy_m is None:
        into.accuracy_m = row.accuracy_m


def _share_place(rows: list[BroughtRow]) -> None:
    """Give rows of one name, as a mill with two feedstocks, the place of one."""
    located = next((row for row in rows if "lon" in row.cells), None)
    for row in rows if located is not None else ():
        if "lon" not in row.cells and located is not None:
            row.cells |= {"lon": located.cells["lon"], "lat": located.cells["lat"]}


def _where(row: BroughtRow) -> str:
    return f"{row.where[0]}, row {row.where[1]}"


def _fault(row: BroughtRow, ours: str, value: object, why: str, remedy: str) -> Problem:
    return Problem(row.where[0], row.where[1], ours, value, why, remedy)


def twin_faults(
    rows: list[BroughtRow], confirmed: Mapping[str, Collection[Pair]]
) -> list[Problem]:
    """
    Return rows that look like one place twice, and would double what it has.

    Parameters
    ----------
    rows
        Rows of one table.
    confirmed
        Label of a sheet -> pairs of names that are two places.
    """
    pairs = {frozenset(pair) for some in confirmed.values() for pair in some}
    faults = []
    seen: dict[tuple[str, str, str], BroughtRow] = {}
    for row in rows:
        key = key_of(row)
        if not key[1]:
            continue
        first = seen.setdefault(key, row)
        if first is not row and not _confirmed(first, row, pairs):
            faults.append(_twin(row, first, "has the name of"))
    for row, other, far in _near(rows, faults):
        if key_of(row) != key_of(other) and not _confirmed(row, other, pairs):
            faults.append(_twin(row, other, f"lies {far:.0f} m from"))
    return faults


def _confirmed(one: BroughtRow, other: BroughtRow, pairs: set[frozenset[str]]) -> bool:
    names = frozenset((one.cells.get("name", ""), other.cells.get("name", "")))
    return names in pairs


def _twin(row: BroughtRow, first: BroughtRow, how: str) -> Problem:
    name, other = row.cells.get("name", ""), first.cells.get("name", "")
    why = f"{how} {other!r} ({_where(first)}): one place twice would count double"
    remedy = f'Leave one out (--answer "{row.sheet}:leave_out={row.where[1]}"), or say '
    remedy += f'that they are two (--answer "{row.sheet}:both={name} = {other}")'
    return _fault(row, "name", name, why, remedy)


def _near(
    rows: list[BroughtRow], faults: list[Problem]
) -> list[tuple[BroughtRow, BroughtRow, float]]:
    """Pairs of rows of one feedstock nearer than `NEAR_M`; too many are one fault."""
    import numpy as np
    from scipy.spatial import cKDTree

    found = []
    groups: dict[str, list[BroughtRow]] = {}
    for row in rows:
        if "lon" in row.cells and "lat" in row.cells:
            groups.setdefault(row.cells.get("material", ""), []).append(row)
    for some in groups.values():
        points = np.array(
            [[float(r.cells["lon"]), float(r.cells["lat"])] for r in some]
        )
        points[:, 0] *= np.cos(np.radians(points[:, 1]))
        tree = cKDTree(points * METRES_A_DEGREE)
        many = (int(tree.count_neighbors(tree, NEAR_M)) - len(some)) // 2
        if many > MOST_PAIRS:
            why = f"and {many:,} other pairs of rows lie nearer than {NEAR_M:.0f} m"
            remedy = "Correct the places: most of the rows stand at a few of them"
            name = some[0].cells.get("name")
            faults.append(_fault(some[0], "lon", name, why, remedy))
            continue
        for a, b in sorted(tree.query_pairs(NEAR_M)):
            far = metres(some[a], some[b])
            found.append((some[b], some[a], far or 0.0))
    return found
