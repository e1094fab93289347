"""A truck's day in pieces, from the timetable: driving, handling, waiting, breaks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pandas as pd

from logistics.rounds.leg_times import TINY, breaks_on
from logistics.scenario import records

LOADED, EMPTY, HANDLING, WAITING, BREAK = KINDS = (
    *("driving loaded", "driving empty", "loading or unloading"),
    *("waiting", "break"),
)


@dataclass(frozen=True, slots=True)
class Piece:
    """
    What a truck does for a while.

    Attributes
    ----------
    kind
        One of `KINDS`.
    starts_h, ends_h
        From and to. [h after midnight]
    trip, call
        Numbers as in `tables.calls`; call 0 is loading at the yard before a trip.
    """

    kind: str
    starts_h: float
    ends_h: float
    trip: int
    call: int


def pieces(tour: pd.DataFrame, unbroken_h: float) -> list[Piece]:
    """
    Cut a truck's day into pieces that follow each other without a gap.

    Parameters
    ----------
    tour
        Its calls in order, columns as of `tables.calls`.
    unbroken_h
        Most driving without a break. [h]

    Notes
    -----
    A break stands where the timetable counts it: before the leg that would go over
    `unbroken_h`, and within a leg that is longer than that.
    """
    found: list[Piece] = []
    driven = 0.0
    for row in records(tour):
        count, after = breaks_on(row["drive_h"], driven, unbroken_h)
        stretches = [row["drive_h"]]
        if count:
            stretches = _stretches(row["drive_h"], count, driven, unbroken_h)
        driven = after
        found += _pieces(row, stretches)
    return found


def _pieces(row: dict[str, Any], stretches: list[float]) -> Iterator[Piece]:
    """Cut one call; its driving in stretches with breaks between them."""
    way = LOADED if row["load_t"] > TINY else EMPTY
    rest = row["break_h"] / (len(stretches) - 1) if len(stretches) > 1 else 0.0
    times = [(HANDLING, row["begins_h"], row["leaves_h"], 0)]
    now = row["leaves_h"]
    for n, stretch in enumerate(stretches):
        if n:
            times.append((BREAK, now, now + rest, row["call"]))
            now += rest
        times.append((way, now, now + stretch, row["call"]))
        now += stretch
    times.append((WAITING, row["arrives_h"], row["starts_h"], row["call"]))
    times.append((HANDLING, row["starts_h"], row["ends_h"], row["call"]))
    for kind, start, end, call in times:
        if end - start > TINY:
            yield Piece(kind, start, end, int(row["trip"]), int(call))


def _stretches(
    drive_h: float, count: int, driven_h: float, unbroken_h: float
) -> list[float]:
    """
    Cut the driving of a leg at its breaks. [h]

    >>> _stretches(1.5, 1, 3.0, 4.0)
    [0.0, 1.5]
    >>> _stretches(9.0, 2, 0.0, 4.0)
    [4.0, 4.0, 1.0]
    """
    ahead = [0.0] if driven_h > TINY else []
    inside = count - len(ahead)
    return [*ahead, *([unbroken_h] * inside), drive_h - inside * unbroken_h]
