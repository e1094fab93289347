"""A calendar with a column a period, as people fill it in, made a row a period."""

from __future__ import annotations

import re
from collections.abc import Sequence

from logistics.scenario.schema import plain_name

Rows = list[tuple[int, list[str]]]
Places = frozenset[tuple[int, int]]
LONG = ["season", "period", "share_pct"]


def period_places(headings: Sequence[str]) -> dict[int, str]:
    """
    Return the places of the periods of a wide calendar; none if it is not one.

    Examples
    --------
    >>> period_places(["season", "m01 [%]", "m02", "note"])
    {1: 'm01', 2: 'm02'}
    >>> period_places(["season", "period", "share_pct"])
    {}
    """
    names = [plain_name(heading) for heading in headings]
    if "season" not in names or {"period", "share_pct"} & set(names):
        return {}
    return {
        place: re.sub(r"\s*\[?%\]?$", "", headings[place])
        for place, name in enumerate(names)
        if name and name != "season" and not name.startswith("note")
    }


def long_form(
    rows: Rows, reported: Places = frozenset(), numbers: Places = frozenset()
) -> tuple[Rows, Places, Places]:
    """
    Bring a calendar to the columns season, period and share_pct.

    Parameters
    ----------
    rows
        Row numbers and cells, the headings first.
    reported, numbers
        Cells (row number, place) that are faulty, and that hold numbers.

    Returns
    -------
    tuple
        The same three; blank shares are 0, as they must be where the others add up to
        100. A calendar that has a row a period comes back as it is.
    """
    heading_row, headings = rows[0]
    periods = period_places(headings)
    if not periods:
        return rows, reported, numbers
    at = [plain_name(heading) for heading in headings].index("season")
    long: Rows = [(heading_row, list(LONG))]
    for row, cells in rows[1:]:
        full = [*cells, *[""] * (len(headings) - len(cells))]
        told = any(full[place] for place in periods)
        for place, period in periods.items():
            if told:
                long.append((row, [full[at], period, full[place] or "0"]))
        if not told and full[at]:
            long.append((row, [full[at], "", ""]))
    shares = frozenset((row, 2) for row, place in reported if place in periods)
    stored = frozenset((row, 2) for row, place in numbers if place in periods)
    return long, shares, stored


def wide_form(rows: Sequence[Sequence[object]]) -> list[list[object]] | None:
    """
    Lay a calendar out with a column a period; None if that would lose anything.

    Parameters
    ----------
    rows
        Headings and rows with the columns of `LONG`.

    Examples
    --------
    >>> wide_form([LONG, ["dry", "m01", 40], ["dry", "m02", 60]])
    [['season', 'm01', 'm02'], ['dry', 40, 60]]
    """
    if list(rows[0]) != LONG or len(rows) < 2:
        return None
    periods = list(dict.fromkeys(str(period) for _, period, _ in rows[1:]))
    seasons: dict[str, dict[str, object]] = {}
    for season, period, share in rows[1:]:
        seasons.setdefault(str(season), {})[str(period)] = share
    back = [
        [season, period, shares.get(period)]
        for season, shares in seasons.items()
        for period in periods
    ]
    whole = back == [list(row) for row in rows[1:]]
    blank = any(share == "" for _, _, share in rows[1:])
    if not whole or blank or {*periods} & {"season", "period", "share_pct"}:
        return None
    if any(plain_name(p).startswith("note") or plain_name(p) != p for p in periods):
        return None
    return [
        ["season", *periods],
        *(
            [season, *(shares[period] for period in periods)]
            for season, shares in seasons.items()
        ),
    ]
