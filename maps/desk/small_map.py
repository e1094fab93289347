"""The small picture of a district: its sources, yards and markets, to scale."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

from markupsafe import Markup

WIDTH, HEIGHT, EDGE = 240, 140, 12
"""Of the picture. [px]"""
MOST = 600
"""Places of one kind that are drawn."""
DRAWN = ("source", "market", "yard")
"""Kinds of places from the bottom to the top."""

Place = tuple[str, float, float]


def small_map(places: Sequence[Place], opened: Iterable[Place] = ()) -> Markup:
    """
    Draw places to scale, north up.

    Parameters
    ----------
    places
        Kind, longitude and latitude. [degree]
    opened
        Yards that a plan opens, in the same form; drawn filled.

    Returns
    -------
    Markup
        An SVG picture for the eye alone: the words beside it say the same.
    """
    if not places:
        return Markup("")
    put = projection(places)
    shapes = [
        shape(kind, *put(east, north))
        for wanted in DRAWN
        for kind, east, north in thinned([p for p in places if p[0] == wanted])
    ]
    shapes += [shape("open", *put(east, north)) for _, east, north in opened]
    return Markup(
        f'<svg class="small-map" viewBox="0 0 {WIDTH} {HEIGHT}" aria-hidden="true">'
        f"{''.join(shapes)}</svg>"
    )


def projection(
    places: Sequence[Place],
) -> Callable[[float, float], tuple[float, float]]:
    """Return the function from degrees to the picture; east and north keep scale."""
    east = [place[1] for place in places]
    north = [place[2] for place in places]
    middle = (min(north) + max(north)) / 2
    narrow = max(math.cos(math.radians(middle)), 0.01)
    wide = max((max(east) - min(east)) * narrow, 1e-6)
    high = max(max(north) - min(north), 1e-6)
    scale = min((WIDTH - 2 * EDGE) / wide, (HEIGHT - 2 * EDGE) / high)
    left = (WIDTH - wide * scale) / 2
    top = (HEIGHT - high * scale) / 2

    def put(lon: float, lat: float) -> tuple[float, float]:
        x = left + (lon - min(east)) * narrow * scale
        return round(x, 1), round(top + (max(north) - lat) * scale, 1)

    return put


def thinned(places: Sequence[Place]) -> Sequence[Place]:
    """Leave out places evenly where there are too many to be told apart."""
    return places[:: math.ceil(len(places) / MOST)] if places else places


def shape(kind: str, x: float, y: float) -> str:
    """Draw one place: a dot, a diamond, a square, a filled square."""
    if kind == "source":
        return f'<circle class="source" cx="{x}" cy="{y}" r="2.4"/>'
    if kind == "market":
        line = f"M{x} {y - 4.2:.1f}l4.2 4.2-4.2 4.2-4.2-4.2z"
        return f'<path class="market" d="{line}"/>'
    side = 9 if kind == "open" else 7
    corner = f'x="{x - side / 2:.1f}" y="{y - side / 2:.1f}"'
    return f'<rect class="{kind}" {corner} width="{side}" height="{side}"/>'
