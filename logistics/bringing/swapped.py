"""Sheets whose places are all swapped, seen from where those of other sheets lie."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from logistics.bringing.drafting import BroughtRow
from logistics.bringing.places import FAR
from logistics.scenario import Problem


def swapped_sheets(rows: Sequence[BroughtRow]) -> list[Problem]:
    """
    Return a fault for each sheet that lies far from the others and near if turned.

    Parameters
    ----------
    rows
        Of all sheets.
    """
    places: dict[str, list[tuple[float, float]]] = {}
    for row in rows:
        if "lon" in row.cells and "lat" in row.cells:
            point = float(row.cells["lon"]), float(row.cells["lat"])
            places.setdefault(row.sheet, []).append(point)
    middles = {label: _middle(points) for label, points in places.items()}
    faults = []
    for label, (x, y) in middles.items():
        others = [point for other, point in middles.items() if other != label]
        rows_here, rows_there = len(places[label]), sum(map(len, places.values()))
        if not others or _near(others, x, y) or not _near(others, y, x):
            continue
        if rows_here * 2 > rows_there:
            continue
        why = "has places that look swapped: those of the other files lie elsewhere"
        remedy = f'Correct them, or say so with --answer "{label}:told.swapped=yes"'
        faults.append(Problem(label, None, "", None, why, remedy))
    return faults


def _middle(points: Sequence[tuple[float, float]]) -> tuple[float, float]:
    xs, ys = zip(*points, strict=True)
    return median(xs), median(ys)


def _near(points: Sequence[tuple[float, float]], x: float, y: float) -> bool:
    return any(abs(a - x) < FAR and abs(b - y) < FAR for a, b in points)
