"""The invented people of Brackwater: who lives where, in villages and on farms."""

import math
from collections.abc import Callable

from brackwater_map import on_dry_land
from brackwater_roads import FRAME, NODES
from drawing import Point

TOWN, TOWN_HEADS = "brackwater", 19_000
BRIDGE_ENDS = ("b1", "b2", "b3", "b4", "b5", "b6", "b7")
PARTS = (("", 0.6), ("east end", 0.2), ("west end", 0.2))
"""Parts of a village, with the share of its people."""


def people() -> list[dict[str, object]]:
    """One row a place: parts of villages, farms about them, hamlets at crossings."""
    rows: list[dict[str, object]] = []
    for node, (x, y, name) in NODES.items():
        random = FRAME.random(f"people {node}")
        if not name:
            if not node.startswith(BRIDGE_ENDS):
                heads = 40 + 120 * random.random()
                rows.append(_row(node, f"Hamlet {node.upper()}", (x, y), heads))
            continue
        if "Quay" in name or "Pier" in name:
            continue
        heads = TOWN_HEADS if node == TOWN else 600 + 2_800 * random.random()
        out = (0.75 if node == TOWN else 0.4, 0.1 * random.random())
        for n, (part, share) in enumerate(PARTS):
            side = (0, 1, -1)[n]
            point = (x + side * out[0], y + side * out[1])
            title = f"{name} {part}".strip()
            rows.append(_row(f"{node}_{n}", title, point, heads * share))
        farms = _farms((x, y), random.random)
        if farms is not None:
            heads = 60 + 240 * random.random()
            rows.append(_row(f"{node}_farms", f"{name} farms", farms, heads))
    return rows


def _farms(village: Point, draw: Callable[[], float]) -> Point | None:
    """Place the farms of a village 0.9 to 2.2 km from it, on dry land."""
    for _ in range(40):
        angle, away = 2 * math.pi * draw(), 0.9 + 1.3 * draw()
        x = village[0] + away * math.cos(angle)
        y = village[1] + away * math.sin(angle)
        if on_dry_land((x, y)):
            return x, y
    return None


def _row(code: str, name: str, point: Point, heads: float) -> dict[str, object]:
    lon, lat = FRAME.degrees(point)
    return {
        "place": f"people_{code}",
        "name": name,
        "lon": lon,
        "lat": lat,
        "heads": round(heads / 10) * 10,
    }
