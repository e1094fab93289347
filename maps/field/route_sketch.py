"""A round as a small drawing: the yard, the stops by number, north, a scale."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import cos, radians

import pandas as pd
from markupsafe import Markup

from logistics.roads import Line
from logistics.scenario import in_list, records

WIDE, HIGH, EDGE = 300.0, 210.0, 24.0
KM_PER_DEG = 111.2
NAMED = 6
"""So many numbers of calls stand beside one place; the rest is an ellipsis."""
BESIDE, BELOW = 18.0, 12.0
"""Nearer places than this share a label."""
Point = tuple[float, float]


def sketch(tour: pd.DataFrame, legs: Sequence[Line]) -> Markup:
    """
    Draw a round.

    Parameters
    ----------
    tour
        Its calls, columns as of `rounds.calls`.
    legs
        The way to every call, lon and lat. [degrees]

    Returns
    -------
    Markup
        An SVG; solid lines are driven loaded, dashed ones empty.
    """
    spots = [(float(x), float(y)) for leg in legs for x, y in leg]
    place, km_unit = _scale(spots)
    parts = [Markup("")]
    rows = records(tour)
    for row, leg in zip(rows, legs, strict=True):
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in map(place, leg))
        dash = "" if row["load_t"] > 1e-9 else ' stroke-dasharray="2 4"'
        parts.append(
            Markup(
                '<polyline points="{}" fill="none" stroke="#444" stroke-width="1.6"{}/>'
            ).format(points, Markup(dash))
        )
    stops: dict[Point, list[int]] = {}
    yards: list[Point] = []
    for row, leg in zip(rows, legs, strict=True):
        at = place(leg[-1])
        if row["kind"] in ("yard", "way"):
            yards.append(at)
        else:
            stops.setdefault(at, []).append(int(row["call"]))
    for x, y in dict.fromkeys([*yards, place(legs[0][0])]):
        parts.append(
            Markup(
                '<rect x="{:.1f}" y="{:.1f}" width="11" height="11" fill="#1c1a17"/>'
            ).format(x - 5.5, y - 5.5)
        )
    parts += [_stop(at) for at in stops]
    parts += [_numbers(at, calls) for at, calls in _together(stops).items()]
    said = f"Sketch of the round: {len(stops)} places from the yard, numbered in order"
    return Markup(
        '<svg viewBox="0 0 {} {}" role="img" aria-label="{}">{}{}{}</svg>'
    ).format(
        int(WIDE), int(HIGH), said, Markup("").join(parts), _north(), _bar(km_unit)
    )


def _scale(spots: Sequence[Point]) -> tuple[Callable[[Point], Point], float]:
    """Fit places into the drawing: a function to its units, and units per km."""
    lons, lats = [x for x, _ in spots], [y for _, y in spots]
    middle = (max(lons) + min(lons)) / 2, (max(lats) + min(lats)) / 2
    narrow = cos(radians(middle[1]))
    wide = max((max(lons) - min(lons)) * narrow, 1e-4)
    high = max(max(lats) - min(lats), 1e-4)
    unit = min((WIDE - 2 * EDGE) / wide, (HIGH - 2 * EDGE) / high)

    def place(spot: Point) -> Point:
        return (
            round(WIDE / 2 + (spot[0] - middle[0]) * narrow * unit, 1),
            round(HIGH / 2 - (spot[1] - middle[1]) * unit, 1),
        )

    return place, unit / KM_PER_DEG


def _together(stops: dict[Point, list[int]]) -> dict[Point, list[int]]:
    """Put the numbers of places that are too near for two labels beside the first."""
    found: dict[Point, list[int]] = {}
    for (x, y), calls in stops.items():
        near = (p for p in found if abs(p[0] - x) < BESIDE and abs(p[1] - y) < BELOW)
        found.setdefault(next(near, (x, y)), []).extend(calls)
    return found


def _stop(at: Point) -> Markup:
    """One place."""
    return Markup(
        '<circle cx="{:.1f}" cy="{:.1f}" r="4.5" fill="#fff" stroke="#1c1a17" '
        'stroke-width="1.6"/>'
    ).format(*at)


def _numbers(at: Point, calls: Sequence[int]) -> Markup:
    """Write the numbers of calls beside their place."""
    words = in_list(map(str, calls[:NAMED])) + (" …" if len(calls) > NAMED else "")
    left = at[0] > WIDE * 0.7
    return Markup(
        '<text x="{:.1f}" y="{:.1f}" font-size="12" '
        'font-weight="700" text-anchor="{}" stroke="#fff" stroke-width="3" '
        'paint-order="stroke">{}</text>'
    ).format(
        at[0] + (-8 if left else 8), at[1] - 5,
        "end" if left else "start", words,
    )  # fmt: skip


def _north() -> Markup:
    """Draw an arrow to the north."""
    return Markup(
        '<path d="M284 30 V10 M279 16 L284 8 L289 16" fill="none" stroke="#1c1a17" '
        'stroke-width="1.6"/><text x="284" y="43" font-size="11" '
        'text-anchor="middle">N</text>'
    )


def _bar(unit: float) -> Markup:
    """Draw a bar of a round number of km, about a fifth of the width."""
    wish = WIDE / 5 / unit
    km = max(
        k for k in (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100) if k <= max(wish, 0.1)
    )
    return Markup(
        '<path d="M8 {y} H{end:.1f}" stroke="#1c1a17" stroke-width="2"/>'
        '<text x="8" y="{above}" font-size="11">{km:g} km</text>'
    ).format(y=int(HIGH - 8), end=8 + km * unit, above=int(HIGH - 13), km=km)
