"""The small picture of a district: what lies beneath its places, and its size."""

import re
import time

import numpy as np

from logistics.scenario.raw import raw_table
from maps.desk.ground import MOST_POINTS, ground_of
from maps.desk.small_map import HEIGHT, WIDTH, frame_of, projection, small_map

PLACES = [("source", 10.0, 0.0), ("yard", 11.0, 0.5), ("market", 10.4, 0.2)]
SEA_AND_LAND = [
    ("a", "land", "POLYGON ((10.2 -1, 12 -1, 12 2, 10.2 2, 10.2 -1))"),
    ("b", "land", "POLYGON ((10.1 -1, 10.5 -1, 10.5 2, 10.1 2, 10.1 -1))"),
    ("c", "river", "LINESTRING (10.3 0.1, 10.6 0.4)"),
    ("d", "well", "POINT (10.3 0.1)"),
    ("e", "land", "POLYGON ((oops"),
    ("f", "land", "POLYGON ((10.6 0, 10.8 0.4, 10.8 0, 10.6 0.4, 10.6 0))"),
]


def table(name, columns, rows):
    grid = [(1, columns), *((n, list(row)) for n, row in enumerate(rows, start=2))]
    raw, _ = raw_table(name, f"{name}.csv", grid)
    return raw


def land(rows):
    return {"land": table("land", ["land", "kind", "wkt"], rows)}


def roads(lines, kind="gravel"):
    rows = [(f"r{n}", kind, line) for n, line in enumerate(lines)]
    return {"roads": table("roads", ["road", "class", "wkt"], rows)}


def test_coast_and_river_lie_beneath_the_places():
    """Land that overlaps is one area; what cannot be read or is a point is left out."""
    ground = ground_of(land(SEA_AND_LAND), PLACES)
    assert {kind for kind, _ in ground} == {"land", "river"}
    assert sum(kind == "land" for kind, _ in ground) == 1
    svg = small_map(PLACES, [], ground)
    order = [
        svg.index(f'class="{kind}"') for kind in ("sea", "land", "river", "source")
    ]
    assert order == sorted(order)
    put = projection(PLACES)
    assert f"M{put(10.3, 0.1)[0]:g} {put(10.3, 0.1)[1]:g}" in svg


def test_nothing_leaves_the_picture():
    ground = ground_of(land(SEA_AND_LAND), PLACES)
    put = projection(PLACES)
    dots = [put(*corner) for _, corners in ground for corner in corners]
    assert min(x for x, _ in dots) >= -0.1
    assert max(x for x, _ in dots) <= WIDTH + 0.1
    assert min(y for _, y in dots) >= -0.1
    assert max(y for _, y in dots) <= HEIGHT + 0.1
    west, south, east, north = frame_of(PLACES)
    assert put(west, north) == (0, 0)
    assert put(east, south) == (WIDTH, HEIGHT)


def test_without_land_there_is_no_sea_and_a_ferry_is_no_road():
    line = ["LINESTRING (10 0, 11 0.5)"]
    assert "sea" not in small_map(PLACES, [], ground_of(roads(line), PLACES))
    assert len(ground_of(roads(line), PLACES)) == 1
    assert ground_of(roads(line, "ferry"), PLACES) == ()
    assert ground_of({}, PLACES) == ()
    assert ground_of(roads(line), []) == ()


def test_a_large_district_is_a_small_picture_at_once():
    """3,000 places, 2,000 roads and a fine coast: below 30 kB, main roads first."""
    random = np.random.default_rng(3)
    kinds = [("source", "market", "yard")[n % 3] for n in range(3_000)]
    spots = random.uniform((10, 0), (11, 1), (3_000, 2))
    places = [(kind, *spot) for kind, spot in zip(kinds, spots, strict=True)]
    starts = random.uniform((10, 0), (11, 1), (2_000, 1, 2))
    steps = random.normal(0, 0.01, (2_000, 20, 2)).cumsum(axis=1)
    lines = [
        f"LINESTRING ({', '.join(f'{x:.5f} {y:.5f}' for x, y in line)})"
        for line in starts + steps
    ]
    turn = np.linspace(0, 2 * np.pi, 5_000)
    reach = 0.4 + random.normal(0, 0.01, len(turn))
    reach[-1] = reach[0]
    coast = np.column_stack([np.cos(turn), np.sin(turn)]) * reach[:, None] + [10.5, 0.5]
    ring = ", ".join(f"{x:.7f} {y:.7f}" for x, y in coast)
    tables = roads(lines) | land([("m", "land", f"POLYGON (({ring}))")])
    tables["roads"].cells["class"][0] = "paved_main"
    tables["roads"].cells["wkt"][0] = "LINESTRING (10 0, 11 1)"
    begun = time.process_time()
    ground = ground_of(tables, places)
    assert time.process_time() - begun < 2
    assert [kind for kind, _ in ground].count("road") == 1
    assert 50 < sum(len(corners) for kind, corners in ground) <= MOST_POINTS
    opened = [("open", *place[1:]) for place in places if place[0] == "yard"]
    svg = small_map(places, opened, ground)
    assert 10_000 < len(svg.encode()) < 30_000
    assert not re.search("nan|inf|e-", svg.lower())
