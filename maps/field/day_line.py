"""A truck's day as a line: hours across, what it does, trips, numbers of the calls."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import ceil, floor

import pandas as pd
from markupsafe import Markup

from logistics.rounds import KINDS, Piece, pieces
from logistics.scenario import in_list, records
from maps.field.driven_tables import clock
from maps.report import plain

INK = "#1c1a17"
LEAST_PX = 300.0
"""Width on the narrowest screen; labels are laid out for it and never scaled. [px]"""
DIGIT_PX, TRIP_PX, HOUR_PX, ROW_PX = 6.6, 36.0, 17.0, 12
"""Widths of a digit, of "trip 1", of an hour with its label; height of a row. [px]"""
TOP, HIGH = 15, 14
"""Where the bar begins, and how high it is. [px]"""
Span = tuple[int, int]
FIGURES = dict(
    zip(KINDS, ("loaded", "empty", "handling", "waiting", "break"), strict=True)
)
SHAPES = {
    "loaded": (0, HIGH, f'fill="{INK}"'),
    "empty": (HIGH / 2 - 1.5, 3, f'fill="{INK}"'),
    "handling": (0, HIGH, f'fill="#b3aca3" stroke="{INK}"'),
    "waiting": (HIGH / 2, 0, f'stroke="{INK}" stroke-width="2" stroke-dasharray="2 3"'),
    "break": (0, HIGH, f'fill="#fff" stroke="{INK}"'),
}
"""From the top, height [px], and paint; told apart in grey, not by colour."""


def span_of(tour: pd.DataFrame) -> Span:
    """Full hours around calls, one at least; see `tables.calls`. [h after midnight]"""
    first = floor(_minute(tour["begins_h"].min()) / 60)
    last = ceil(_minute(tour["ends_h"].max()) / 60)
    return first, max(last, first + 1)


def day_line(who: str, tour: pd.DataFrame, unbroken_h: float, span: Span) -> Markup:
    """
    Draw the day of a truck.

    Parameters
    ----------
    who
        Letter and name of the truck, for the text read aloud.
    tour
        Its calls in order, columns as of `tables.calls`.
    unbroken_h
        Most driving without a break. [h]
    span
        Hours that the line covers, such as those of all trucks of a day. [h]

    Returns
    -------
    Markup
        An SVG as wide as its place; what lies along it is in per cent of its width,
        so that labels keep their size on paper and on a phone.
    """
    done = pieces(tour, unbroken_h)
    times = f"{clock(tour['begins_h'].min())} to {clock(tour['ends_h'].max())}"
    numbers, rows = _numbers(tour, span)
    foot = TOP + HIGH + rows * ROW_PX
    return Markup(
        '<svg class="dayline" width="100%" height="{}" role="img" aria-label="{}">'
        "{}{}{}{}</svg>"
    ).format(
        foot + ROW_PX + 4,
        plain(said(f"{who}, {times}", done, len(tour))),
        _hours(span, foot),
        _bar(done, span),
        _trips(done, span),
        numbers,
    )


def said(who: str, done: Sequence[Piece], calls: int) -> str:
    """
    Tell a day in words.

    >>> done = [Piece(KINDS[1], 6.0, 7.5, 1, 1), Piece(KINDS[2], 7.5, 8.0, 1, 1)]
    >>> said("Truck A", done, 1)
    'Truck A: driving empty 1:30 h, loading or unloading 0:30 h; 1 call'
    """
    sums = dict.fromkeys(KINDS, 0)
    for piece in done:
        sums[piece.kind] += _minute(piece.ends_h) - _minute(piece.starts_h)
    parts = [f"{kind} {n // 60}:{n % 60:02d} h" for kind, n in sums.items() if n]
    noun = "call" if calls == 1 else "calls"
    return f"{who}: {in_list(parts) or 'no time'}; {calls} {noun}"


def legend(kinds: Iterable[str] = KINDS) -> Markup:
    """Explain the shapes of a line, each with a sample before its words."""
    wanted = set(kinds)
    samples = Markup("").join(
        Markup(
            '<span class="key"><svg width="22" height="{}" aria-hidden="true">{}</svg>'
            " {}</span> "
        ).format(HIGH, _shape(FIGURES[kind], [(1, 20)]), kind)
        for kind in KINDS
        if kind in wanted
    )
    return samples + Markup("Numbers: calls in order.")


def _minute(hours: float) -> int:
    """Round to the minute that `clock` shows. [min]"""
    return round(hours * 60)


def _bar(done: Sequence[Piece], span: Span) -> Markup:
    """Draw what the truck does, one path a kind, in minutes from the first hour."""
    drawn = Markup("")
    for kind, figure in FIGURES.items():
        runs = [
            (start - 60 * span[0], end - start)
            for piece in done
            if piece.kind == kind
            for start, end in [(_minute(piece.starts_h), _minute(piece.ends_h))]
        ]
        if runs:
            drawn += _shape(figure, runs)
    return Markup(
        '<svg y="{}" width="100%" height="{}" viewBox="0 0 {} {}" overflow="visible" '
        'preserveAspectRatio="none">{}</svg>'
    ).format(TOP, HIGH, 60 * (span[1] - span[0]), HIGH, drawn)


def _shape(figure: str, runs: Iterable[tuple[int, int]]) -> Markup:
    """Draw all pieces of a kind, each from a place on and so long."""
    top, high, paint = SHAPES[figure]
    across = f"v{high}h-{{w}}z" if high else ""
    path = "".join(f"M{x} {top:g}h{w}" + across.format(w=w) for x, w in runs)
    return Markup('<path class="{}" d="{}" {} vector-effect="{}"/>').format(
        figure, path, Markup(paint), "non-scaling-stroke"
    )


def _share(hours: float, span: Span) -> float:
    """How far along the line a time is. [%]"""
    return 100 * (hours - span[0]) / (span[1] - span[0])


def _text(at: float, y: float, words: object, size: int = 11) -> Markup:
    """Write words around a place. [%], [px]"""
    return Markup(
        '<text x="{:.2f}%" y="{:g}" font-size="{}" text-anchor="middle">{}</text>'
    ).format(at, y, size, words)


def _rule(at: float, top: float, foot: float, paint: str) -> Markup:
    """Draw an upright line."""
    return Markup(
        '<line x1="{0:.2f}%" x2="{0:.2f}%" y1="{1:g}" y2="{2:g}" stroke="{3}"/>'
    ).format(at, top, foot, paint)


def _hours(span: Span, foot: float) -> Markup:
    """Mark full hours below, as many as there is room for."""
    hours = span[1] - span[0]
    step = next(n for n in (1, 2, 3, 4, 6, 12, 24) if n * LEAST_PX / hours > HOUR_PX)
    return Markup("").join(
        _rule(_share(hour, span), TOP - 3, foot + 3, "#c9c2b8")
        + _text(_share(hour, span), foot + ROW_PX + 1, f"{hour:02d}", 10)
        for hour in range(span[0], span[1] + 1, step)
    )


def _trips(done: Sequence[Piece], span: Span) -> Markup:
    """Name the trips above, with a line between two."""
    drawn = Markup("")
    for before, piece in pairwise(done):
        if before.trip != piece.trip:
            at = _minute(piece.starts_h) / 60
            drawn += _rule(_share(at, span), 1, TOP + HIGH + 3, INK)
    for trip in dict.fromkeys(piece.trip for piece in done):
        here = [piece for piece in done if piece.trip == trip]
        start, end = (_share(h, span) for h in (here[0].starts_h, here[-1].ends_h))
        room = (end - start) / 100 * LEAST_PX
        words = f"trip {trip}" if room > TRIP_PX else str(trip)
        drawn += _text((start + end) / 2, TOP - 5, words)
    return drawn


def _numbers(tour: pd.DataFrame, span: Span) -> tuple[Markup, int]:
    """Write the number of every call below it, on as many rows as they need."""
    ends: list[float] = []
    drawn = Markup("")
    for row in records(tour):
        at = _share((row["starts_h"] + row["ends_h"]) / 2, span)
        half = len(str(row["call"])) * DIGIT_PX / 2 + 1
        place = at / 100 * LEAST_PX
        level = next((n for n, x in enumerate(ends) if x <= place - half), len(ends))
        ends[level : level + 1] = [place + half]
        drawn += _text(at, TOP + HIGH + (level + 1) * ROW_PX, row["call"])
    return drawn, len(ends)
