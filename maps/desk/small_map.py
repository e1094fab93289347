"""The small picture of a district: its sources, yards and markets, to scale."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

from markupsafe import Markup

WIDTH, HEIGHT, EDGE = 240, 140, 12
"""Of the picture. [px]"""
MOST = {"source": 500, "market": 200, "yard": 200, "open": 200}
"""Places of each kind that are drawn, from the bottom to the top."""
MARKS = {
    "source": "M{x} {y}h0",
    "market": "M{x} {y}m0-4.2l4.2 4.2-4.2 4.2-4.2-4.2z",
    "yard": "M{x} {y}m-3.5-3.5h7v7h-7z",
    "open": "M{x} {y}m-4.5-4.5h9v9h-9z",
}
"""A dot, a diamond, a square, a larger square."""
LINES = ("river", "road")
"""Shapes of the ground that are drawn as lines; all others are areas."""
BENEATH = ("land", "water", "river", "road")
"""Shapes of the ground from the bottom to the top."""

Place = tuple[str, float, float]
Corner = tuple[float, float]
Ground = tuple[tuple[str, tuple[Corner, ...]], ...]
"""Kind and corners of shapes. [degree]"""


def small_map(
    places: Sequence[Place], opened: Iterable[Place] = (), ground: Ground = ()
) -> Markup:
    """
    Draw places to scale, north up.

    Parameters
    ----------
    places
        Kind, longitude and latitude. [degree]
    opened
        Yards that a plan opens, in the same form; drawn filled.
    ground
        Coast, water, rivers and roads, drawn faintly beneath; see `ground_of`.

    Returns
    -------
    Markup
        An SVG picture for the eye alone: the words beside it say the same.
    """
    if not places:
        return Markup("")
    put = projection(places)
    drawn = [_beneath(kind, ground, put) for kind in BENEATH]
    if any(kind == "land" for kind, _ in ground):
        drawn.insert(0, f'<rect class="sea" width="{WIDTH}" height="{HEIGHT}"/>')
    every = [*places, *opened]
    drawn += [_marks(kind, [p for p in every if p[0] == kind], put) for kind in MOST]
    return Markup(
        f'<svg class="small-map" viewBox="0 0 {WIDTH} {HEIGHT}" aria-hidden="true">'
        f"{''.join(drawn)}</svg>"
    )


def _beneath(kind: str, ground: Ground, put: Callable[[float, float], Corner]) -> str:
    """Draw the shapes of one kind as one path."""
    close = "" if kind in LINES else "z"
    path = ""
    for found, corners in ground:
        if found == kind:
            dots = [put(*corner) for corner in corners]
            path += "M" + " ".join(f"{x:g} {y:g}" for x, y in dots) + close
    return f'<path class="{kind}" d="{path}"/>' if path else ""


def _marks(
    kind: str, places: Sequence[Place], put: Callable[[float, float], Corner]
) -> str:
    """Draw the places of one kind as one path."""
    path = ""
    for _, east, north in thinned(places, MOST[kind]):
        x, y = put(east, north)
        path += MARKS[kind].format(x=f"{x:g}", y=f"{y:g}")
    return f'<path class="{kind}" d="{path}"/>' if path else ""


def _fitted(places: Sequence[Place]) -> tuple[float, float, float, float, float]:
    """Return west, north [degree], pixels a degree, and room left and above [px]."""
    east = [place[1] for place in places]
    north = [place[2] for place in places]
    narrow = _narrow(places)
    wide = max((max(east) - min(east)) * narrow, 1e-6)
    high = max(max(north) - min(north), 1e-6)
    scale = min((WIDTH - 2 * EDGE) / wide, (HEIGHT - 2 * EDGE) / high)
    left = (WIDTH - wide * scale) / 2
    top = (HEIGHT - high * scale) / 2
    return min(east), max(north), scale, left, top


def _narrow(places: Sequence[Place]) -> float:
    """Length of a degree of longitude beside one of latitude."""
    north = [place[2] for place in places]
    middle = (min(north) + max(north)) / 2
    return max(math.cos(math.radians(middle)), 0.01)


def projection(places: Sequence[Place]) -> Callable[[float, float], Corner]:
    """Return the function from degrees to the picture; east and north keep scale."""
    west, top_north, scale, left, top = _fitted(places)
    narrow = _narrow(places)

    def put(lon: float, lat: float) -> Corner:
        x = left + (lon - west) * narrow * scale
        return round(x, 1), round(top + (top_north - lat) * scale, 1)

    return put


def frame_of(places: Sequence[Place]) -> tuple[float, float, float, float]:
    """
    Edges of the picture: west, south, east, north. [degree]

    >>> places = [("yard", 0.0, 0.0), ("yard", 2.16, 1.16)]
    >>> [round(edge, 2) for edge in frame_of(places)]
    [-0.12, -0.12, 2.28, 1.28]
    """
    west, north, scale, left, top = _fitted(places)
    across = scale * _narrow(places)
    edge_west, edge_north = west - left / across, north + top / scale
    return (
        edge_west,
        edge_north - HEIGHT / scale,
        edge_west + WIDTH / across,
        edge_north,
    )


def pixel_of(places: Sequence[Place]) -> float:
    """Height of a pixel. [degree]"""
    return 1 / _fitted(places)[2]


def thinned(places: Sequence[Place], most: int) -> Sequence[Place]:
    """Leave out places evenly where there are too many to be told apart."""
    return places[:: math.ceil(len(places) / most)] if places else places
