"""Labels on a small map: placed where there is room, so that none covers another."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from markupsafe import Markup

from maps.report.axes import CHAR
from maps.report.charts import INK

Box = tuple[float, float, float, float]
Place = tuple[float, float, str]
NEAR, FAR = 8, (14.0, 28.0, 44.0)
LINE, BOLD, EDGE = 1.15, 1.08, 2


@dataclass
class Sheet:
    """Where things lie on the drawing, and which boxes of it are taken."""

    west: float
    north: float
    px_per_lon: float
    px_per_lat: float
    width: int
    height: int
    taken: list[Box] = field(default_factory=list)

    def at(self, lon: float, lat: float) -> tuple[float, float]:
        """Place of a point. [px]"""
        return (
            (lon - self.west) * self.px_per_lon,
            (self.north - lat) * self.px_per_lat,
        )

    def crowded(self, box: Box) -> int:
        """Count what a box would cover; an edge of the sheet counts a hundredfold."""
        left, top, right, bottom = box
        outside = (left < EDGE) + (top < EDGE)
        outside += (right > self.width - EDGE) + (bottom > self.height - EDGE)
        covered = sum(
            left <= c and right >= a and top <= d and bottom >= b
            for a, b, c, d in self.taken
        )
        return covered + 100 * outside


def label(
    here: Sheet,
    spot: tuple[float, float],
    gap: float,
    lines: list[str],
    size: float,
    kind: str,
) -> Iterator[str]:
    """
    Write a label where there is room; a village may go without, a yard never does.

    Parameters
    ----------
    here
        The sheet; the label's box is added to what is taken.
    spot, gap
        Middle of the sign and its half width. [px]
    lines, size
        Texts, and size of their type. [px]
    kind
        Style of the first line: ``yard`` or ``village``.
    """
    if not lines:
        return
    must = kind == "yard"
    wide = max(len(line) for line in lines) * CHAR * size * (BOLD if must else 1)
    high = len(lines) * size * LINE
    places = list(_places(spot, gap, wide, high))
    for far in FAR if must else ():
        places += _places(spot, gap + far, wide, high)
    boxes = [(x, y, x + wide, y + high) for x, y, _ in places]
    covers = [here.crowded(box) for box in boxes]
    best = covers.index(min(covers))
    if covers[best] and not must:
        return
    here.taken.append(boxes[best])
    if best >= NEAR:
        yield _leader(spot, gap, boxes[best])
    yield from _texts(lines, boxes[best], places[best][2], size, kind)


def _places(
    spot: tuple[float, float], gap: float, wide: float, high: float
) -> Iterator[Place]:
    """Left and upper edge of a label, and its anchor: right, left, below, above, …"""
    x, y = spot
    yield x + gap + 3, y - high / 2, "start"
    yield x - gap - 3 - wide, y - high / 2, "end"
    yield x - wide / 2, y + gap + 2, "middle"
    yield x - wide / 2, y - gap - 2 - high, "middle"
    yield x + gap * 0.7 + 2, y + gap * 0.7, "start"
    yield x + gap * 0.7 + 2, y - gap * 0.7 - high, "start"
    yield x - gap * 0.7 - 2 - wide, y + gap * 0.7, "end"
    yield x - gap * 0.7 - 2 - wide, y - gap * 0.7 - high, "end"


def _leader(spot: tuple[float, float], gap: float, box: Box) -> str:
    """Draw a thin line from a disc to a label that stands away from it."""
    x, y = spot
    near = (min(max(x, box[0]), box[2]), min(max(y, box[1]), box[3]))
    away = math.dist(spot, near)
    if away <= gap:
        return ""
    start = (x + (near[0] - x) * gap / away, y + (near[1] - y) * gap / away)
    return (
        f'<path d="M{start[0]:.1f},{start[1]:.1f} L{near[0]:.1f},{near[1]:.1f}" '
        f'stroke="{INK}" stroke-width="1"/>'
    )


def _texts(
    lines: list[str], box: Box, anchor: str, size: float, kind: str
) -> Iterator[str]:
    """Write the lines of a label into its box."""
    left, upper, right, _ = box
    start = {"start": left, "end": right, "middle": (left + right) / 2}[anchor]
    text = Markup(
        '<text class="over {}" x="{}" y="{}" font-size="{}" text-anchor="{}">{}</text>'
    )
    for number, line in enumerate(lines):
        foot = upper + size * (0.9 + LINE * number)
        style = kind if number == 0 else "tonnes"
        yield str(text.format(style, f"{start:.1f}", f"{foot:.1f}", size, anchor, line))
