"""
Draw invented country: bent lines, rough coasts, round fields, and tables of them.

Places are laid out in kilometres east and north of a corner and become degrees at
the very end. Every feature has a random generator of its own, seeded with its code,
so that adding one feature never moves another. Only `random.Random.random` is
drawn from, whose sequence Python keeps the same from version to version.
"""

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from random import Random

Point = tuple[float, float]
Line = list[Point]

KM_PER_DEGREE = 111.195  # on a sphere of radius 6,371.0088 km


@dataclass(frozen=True)
class Frame:
    """
    The corner that kilometres are counted from.

    Attributes
    ----------
    west, south
        Corner of the district. [degrees]
    seed
        Start of every random sequence.
    """

    west: float
    south: float
    seed: int

    def degrees(self, point: Point) -> Point:
        """Longitude and latitude of a point given in km, to about one metre."""
        east_km, north_km = point
        shrink = math.cos(math.radians(self.south))
        lon = self.west + east_km / (KM_PER_DEGREE * shrink)
        return round(lon, 5), round(self.south + north_km / KM_PER_DEGREE, 5)

    def random(self, code: str) -> Random:
        """Random generator that belongs to one feature."""
        return Random(f"{self.seed}:{code}")

    def wkt(self, kind: str, line: Line) -> str:
        """Write a POINT, LINESTRING or POLYGON (closed here) in degrees."""
        ring = [*line, line[0]] if kind == "POLYGON" else line
        text = ", ".join("{:.5f} {:.5f}".format(*self.degrees(p)) for p in ring)
        return f"POLYGON (({text}))" if kind == "POLYGON" else f"{kind} ({text})"


def smooth(points: Sequence[Point], parts: int = 6) -> Line:
    """Run a curve through all points (Catmull-Rom), `parts` pieces between two."""
    padded = [points[0], *points, points[-1]]
    curve = []
    for before, start, end, after in zip(
        padded, padded[1:], padded[2:], padded[3:], strict=False
    ):
        for step in range(parts):
            t = step / parts
            curve.append(
                (
                    _spline(before[0], start[0], end[0], after[0], t),
                    _spline(before[1], start[1], end[1], after[1], t),
                )
            )
    return [*curve, points[-1]]


def _spline(a: float, b: float, c: float, d: float, t: float) -> float:
    return b + 0.5 * t * (
        c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a))
    )


def bend(points: Sequence[Point], random: Random, strength: float = 0.06) -> Line:
    """Bend each straight piece as a country road bends; its ends stay in place."""
    bent = [points[0]]
    for start, end in pairwise(points):
        length = math.dist(start, end)
        pieces = max(2, round(length / 0.9))
        waves = [(2 * random.random() - 1) / wave for wave in (1, 2, 3)]
        for step in range(1, pieces):
            t = step / pieces
            side = sum(
                size * math.sin(math.pi * (k + 1) * t) for k, size in enumerate(waves)
            )
            bent.append(beside(start, end, t, strength * length * side))
        bent.append(end)
    return bent


def beside(start: Point, end: Point, t: float, side: float) -> Point:
    """Point at share t of the way from start to end, `side` km to the left."""
    along = (end[0] - start[0], end[1] - start[1])
    length = math.hypot(*along)
    return (
        start[0] + t * along[0] - side * along[1] / length,
        start[1] + t * along[1] + side * along[0] / length,
    )


def roughen(points: Line, random: Random, strength: float, rounds: int) -> Line:
    """Break every piece in two and push the middle aside, `rounds` times."""
    for _ in range(rounds):
        rough = [points[0]]
        for start, end in pairwise(points):
            push = strength * math.dist(start, end) * (2 * random.random() - 1)
            rough += [beside(start, end, 0.5, push), end]
        points = rough
    return points


def blob(
    centre: Point, radii: Point, random: Random, corners: int = 24, dent: float = 0.16
) -> Line:
    """Round field with dents: the corners of a polygon about a centre, in km."""
    waves = [(random.random() * dent, random.random() * 2 * math.pi) for _ in range(4)]
    ring = []
    for corner in range(corners):
        angle = 2 * math.pi * corner / corners
        size = 1 + sum(
            high * math.sin((k + 2) * angle + turn)
            for k, (high, turn) in enumerate(waves)
        )
        ring.append(
            (
                centre[0] + radii[0] * size * math.cos(angle),
                centre[1] + radii[1] * size * math.sin(angle),
            )
        )
    return ring


def ribbon(line: Line, half_width: float, random: Random) -> Line:
    """Strip of uneven width along a line, such as the flood land of a river."""
    left, right = [], []
    for start, end in pairwise(line):
        left.append(beside(start, end, 0, half_width * (0.6 + 0.8 * random.random())))
        right.append(beside(start, end, 0, -half_width * (0.6 + 0.8 * random.random())))
    return [*left, *reversed(right)]


def inside(point: Point, ring: Line) -> bool:
    """Tell whether a point lies in a polygon (a ray to the east crosses it oddly)."""
    x, y = point
    odd = False
    for (x1, y1), (x2, y2) in zip(ring, [*ring[1:], ring[0]], strict=True):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            odd = not odd
    return odd


def distance_to_line(point: Point, line: Line) -> float:
    """Shortest distance from a point to a line. [km]"""
    return min(_distance_to_piece(point, start, end) for start, end in pairwise(line))


def _distance_to_piece(point: Point, start: Point, end: Point) -> float:
    along = (end[0] - start[0], end[1] - start[1])
    square = along[0] ** 2 + along[1] ** 2
    dot = (point[0] - start[0]) * along[0] + (point[1] - start[1]) * along[1]
    t = min(1.0, max(0.0, dot / square if square else 0.0))
    return math.dist(point, (start[0] + t * along[0], start[1] + t * along[1]))


def csv_text(rows: Iterable[Mapping[str, object]]) -> str:
    """Write rows as CSV text; the first row names the columns."""
    rows = list(rows)
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, fieldnames=list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows({name: cell(value) for name, value in row.items()} for row in rows)
    return buffer.getvalue()


def cell(value: object) -> str:
    """Write one value: no trailing zeros, blank for None, yes and no for truth."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6f}".rstrip("0").rstrip(".")
    return str(value)


def rows_of(columns: str, *values: Sequence[object]) -> list[dict[str, object]]:
    """Name the values of each row: `rows_of("truck payload_t", ("cart", 0.6))`."""
    names = columns.split()
    return [dict(zip(names, row, strict=True)) for row in values]


def rows_by_column(**columns: Sequence[object]) -> list[dict[str, object]]:
    """Turn columns into rows: `rows_by_column(truck=("cart", "van"), ...)`."""
    return [
        dict(zip(columns, row, strict=True))
        for row in zip(*columns.values(), strict=True)
    ]


def write_files(folder: Path, files: Mapping[str, str]) -> None:
    """Write each text to its file in the folder, line ends the same everywhere."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
