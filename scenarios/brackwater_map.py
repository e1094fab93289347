"""
The invented ground of Brackwater: coast, rivers, villages, wells, lakes and flood land.

Points are kilometres east and north of the south-west corner of the district.
"""

from random import Random

from brackwater_roads import FRAME, NODES
from drawing import (
    Line,
    Point,
    bend,
    blob,
    distance_to_line,
    inside,
    ribbon,
    roughen,
    rows_of,
    smooth,
)

WIDTH_KM, HEIGHT_KM = 70.0, 55.0
EDGE_KM = 4.0  # the drawn land runs on this far past the district

NORTH_COAST = [
    (17.5, 59),
    (17, 55),
    (15.2, 50),
    (14.4, 46),
    (15.2, 42.4),
    (12.4, 40.2),
    (11.6, 37.6),
    (14.2, 35.9),
    (18, 34.9),
    (23, 33.4),
    (28, 32.0),
    (33, 30.7),
    (37, 29.8),
]
HEAD = [(38.5, 29.0), (37.4, 28.1)]
SOUTH_BANK = [(33.4, 27.8), (31.2, 26.6), (29.2, 25.6), (27.0, 24.3)]
SOUTH_COAST = [
    (23.6, 21.6),
    (20.0, 20.2),
    (17.6, 16.4),
    (17.8, 12),
    (15.8, 8),
    (16.6, 4),
    (15.2, 0),
    (15.0, -4),
]
RIVERS: dict[str, list[Point]] = {
    "Ombrel": [
        (38.5, 29.0),
        (41, 29.2),
        (43.3, 30.5),
        (45.5, 31.8),
        (50, 31.0),
        (54.5, 33.5),
        (58, 32.9),
        (62, 34.7),
        (66, 33.2),
        (74, 34.6),
    ],
    "Ottermel": [
        (45.5, 31.8),
        (46.7, 36.5),
        (44.8, 41),
        (46.9, 46),
        (45.6, 50.5),
        (46.6, 55),
        (45.8, 59),
    ],
    "Little Ombrel": [
        (43.3, 30.5),
        (44.0, 27.6),
        (41.5, 25.25),
        (37.5, 24.7),
        (34, 25.3),
        (31.2, 26.6),
    ],
    "Tamble": [
        (27.0, 24.3),
        (28.6, 20.45),
        (32.2, 16),
        (31.4, 10.6),
        (34.6, 5),
        (33.6, 0),
        (34.4, -4),
    ],
}
DELTA_FLOOD = [
    (33.6, 27.0),
    (38, 27.5),
    (42.4, 28.5),
    (43.3, 27.2),
    (41.9, 24.4),
    (36.5, 23.6),
    (31, 22.9),
    (28.6, 22.3),
    (28.2, 24.0),
    (30.6, 25.6),
]
FLATS = [(20.9, 19.8), (18.0, 20.7), (15.4, 22.4), (12.2, 24.9)]  # under Low Road
BORDER = [(45.5, 31.8), (45.9, 26.2), (45.1, 19.5), (45.4, 14), (47.1, 8), (48, -4)]


def river_line(name: str) -> Line:
    """River as drawn, through all its points."""
    return roughen(smooth(RIVERS[name], 5), FRAME.random(name), 0.09, 1)


def _coast(points: list[Point], code: str) -> Line:
    return roughen(smooth(points, 4), FRAME.random(code), 0.13, 2)


def mainland_parts() -> tuple[Line, Line]:
    """Coast north of the river mouth and coast south of it, both from the north."""
    north = _coast([*NORTH_COAST, HEAD[0]], "north")
    south = _coast([*HEAD, *SOUTH_BANK, *SOUTH_COAST], "south")
    return north, south


def mainland() -> Line:
    """Ring of the mainland, past the district in the north, east and south."""
    north, south = mainland_parts()
    east = WIDTH_KM + EDGE_KM
    return [*north, *south[1:], (east, -EDGE_KM), (east, HEIGHT_KM + EDGE_KM)]


def islands() -> dict[str, Line]:
    """Rings of the islands by name."""
    sizes = {
        "Tarnifex": ((10.4, 26.0), (4.6, 3.1)),
        "Curlew Bank": ((20.6, 27.6), (2.3, 1.2)),
        "Old Nail": ((5.2, 30.6), (0.8, 0.5)),
    }
    return {
        name: roughen(blob(*size, FRAME.random(name)), FRAME.random(name), 0.12, 2)
        for name, size in sizes.items()
    }


def districts() -> dict[str, tuple[str, Line]]:
    """Rings of the four administrative districts by code, with names."""
    north, south = mainland_parts()
    otter, border = river_line("Ottermel"), bend(BORDER, FRAME.random("border"), 0.03)
    ombrel = river_line("Ombrel")
    lower = ombrel[: ombrel.index(RIVERS["Ombrel"][3]) + 1]
    east = WIDTH_KM + EDGE_KM
    corner_s, corner_n = (east, -EDGE_KM), (east, HEIGHT_KM + EDGE_KM)
    return {
        "north": ("North Bank", [*north, *lower[1:], *otter[1:]]),
        "east": ("Upper Ombrel", [*otter[::-1], *border[1:], corner_s, corner_n]),
        "delta": ("Delta", [*south[::-1], *lower, *border[1:]]),
        "isles": ("Isles", blob((12.4, 27.2), (10.4, 5.7), _r("isles"), 40, 0.04)),
    }


def land() -> list[dict[str, object]]:
    """One row a land feature: coast, water, rivers, villages and constraints."""
    rows: list[tuple[str, str, str, str, Line]] = [
        ("mainland", "Mainland", "land", "POLYGON", mainland())
    ]
    for name, ring in islands().items():
        rows.append((_code(name), name, "land", "POLYGON", ring))
    for code, (name, ring) in districts().items():
        rows.append((code, name, "district", "POLYGON", ring))
    for name in RIVERS:
        rows.append((_code(name), name, "river", "LINESTRING", river_line(name)))
    rows += [(*row[:3], "POLYGON", row[3]) for row in _fields()]
    for node, (x, y, name) in NODES.items():
        if name and "Quay" not in name and "Pier" not in name:
            rows.append((f"village_{node}", name, "village", "POINT", [(x, y)]))
            size = 1.25 if node == "brackwater" else 0.65
            ring = blob((x, y), (size, size * 0.8), FRAME.random(f"homes {node}"), 18)
            rows.append((f"homes_{node}", name, "dwellings", "POLYGON", ring))
    rows += [(*row[:3], "POINT", [row[3]]) for row in _neighbours()]
    named = [(code, name, kind, FRAME.wkt(*shape)) for code, name, kind, *shape in rows]
    return rows_of("land name kind wkt", *named)


def _neighbours() -> list[tuple[str, str, str, Point]]:
    """Wells, schools and clinics, which a yard has to keep away from."""
    rows = [
        ("well_heron", "Heron farm well", "well", (58.18, 36.12)),
        ("well_moor", "Moor farm well", "well", (52.9, 39.7)),
        ("school_fields", "Thrandmere field school", "school", (22.4, 9.25)),
    ]
    for node, (_, _, name) in NODES.items():
        if name and "Quay" not in name and "Pier" not in name:
            rows.append((f"well_{node}", f"{name} well", "well", _within(node, "well")))
            point = _within(node, "school")
            rows.append((f"school_{node}", f"{name} school", "school", point))
    for node in ("brackwater", "wexilow", "hobbentide", "kessivar", "sarnuggle"):
        name, point = NODES[node][2], _within(node, "clinic")
        rows.append((f"clinic_{node}", f"{name} clinic", "clinic", point))
    return rows


def _within(node: str, kind: str) -> Point:
    """Place a point among the homes of a village."""
    random, (x, y, _) = FRAME.random(f"{kind} {node}"), NODES[node]
    return x + 0.6 * random.random() - 0.3, y + 0.6 * random.random() - 0.3


def _fields() -> list[tuple[str, str, str, Line]]:
    """Lakes, flood land and protected land."""
    tamble = ribbon(smooth(RIVERS["Tamble"], 2), 0.6, _r("ft"))
    ombrel = ribbon(smooth(RIVERS["Ombrel"], 2), 0.8, _r("fo"))
    flats = ribbon(smooth(FLATS, 3), 0.9, _r("fl"))
    delta = roughen(DELTA_FLOOD, _r("fd"), 0.12, 1)
    round_fields = [
        ("tarrow_mere", "Tarrow Mere", "water", (31.9, 42.3), (1.5, 1.0)),
        ("heron_lake", "Heronwick Mere", "water", (61.4, 44.4), (1.2, 1.6)),
        ("sedge_pool", "Sedge Pool", "water", (43.6, 8.2), (1.1, 0.7)),
        ("curlew_marsh", "Curlew Bank reserve", "protected", (20.6, 27.6), (1.6, 0.8)),
        ("cape_marsh", "Cape mangrove", "protected", (15.6, 36.9), (1.5, 0.6)),
        ("thrand_marsh", "Thrand marsh", "protected", (18.8, 12.4), (0.7, 1.6)),
        ("high_wood", "High Wood", "protected", (66.6, 50.4), (2.2, 2.8)),
    ]
    return [
        ("flood_delta", "Delta flood land", "flood", smooth(delta, 4)),
        ("flood_tamble", "Tamble flood land", "flood", smooth(tamble, 4)),
        ("flood_flats", "Tarnifex flats", "flood", smooth(flats, 4)),
        ("flood_ombrel", "Ombrel flood land", "flood", smooth(ombrel, 4)),
        *(
            (code, name, kind, blob(centre, radii, _r(code)))
            for code, name, kind, centre, radii in round_fields
        ),
    ]


def _r(code: str) -> Random:
    return FRAME.random(code)


def _code(name: str) -> str:
    return name.lower().replace(" ", "_")


def on_dry_land(point: Point, clear_km: float = 0.25) -> bool:
    """Tell whether a point is on land, off the rivers and inside the district."""
    x, y = point
    if not (1 < x < WIDTH_KM - 1 and 1 < y < HEIGHT_KM - 1):
        return False
    if not any(inside(point, ring) for ring in [mainland(), *islands().values()]):
        return False
    water = [ring for _, _, kind, ring in _fields() if kind == "water"]
    if any(inside(point, ring) for ring in water):
        return False
    return all(distance_to_line(point, river_line(r)) > clear_km for r in RIVERS)
