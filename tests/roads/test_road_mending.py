"""What meets on the ground meets in the network."""

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from support.ground_tables import ROAD_DEFAULTS, rows

from logistics.roads.geometry import geodesic_km
from logistics.roads.graph import road_graph
from logistics.roads.importing.cut_off_parts import (
    drop_islands,
    islands,
    length_km,
    road_warnings,
)
from logistics.roads.importing.gaps import find_gaps, join_gaps
from logistics.roads.importing.repair import drop_twins, join_crossings, parts_of

M = 1 / 111_195  # a metre in degrees, at the equator


def drawn(*records):
    """Roads with a line through points given in metres east and north of 0, 0."""
    table = rows(
        [
            {
                "road": f"r{i}",
                **{k: v for k, v in r.items() if k != "at"},
                "line": shapely.linestrings(np.array(r["at"], dtype=float) * M),
            }
            for i, r in enumerate(records)
        ],
        {**ROAD_DEFAULTS, "level": 0},
    )
    return table.assign(wkt=shapely.to_wkt(table["line"].to_numpy(), -1))


def graph(roads):
    return road_graph(
        roads.assign(wkt=shapely.to_wkt(roads["line"].to_numpy(dtype=object), 9))
    )


EAST = {"at": [(0, 0), (1000, 0)], "name": "East Road"}
NORTH = {"at": [(500, -400), (500, 600)], "name": "North Road"}


def test_crossings_of_one_level_are_joined_and_bridges_are_not():
    flat, notes = join_crossings(drawn(EAST, NORTH))
    assert len(graph(flat).km) == 4
    assert [n.words for n in notes] == ["crosses North Road (r1); joined there"]
    assert (notes[0].lon, notes[0].lat) == pytest.approx((500 * M, 0), abs=1e-9)
    over, notes = join_crossings(drawn(EAST, {**NORTH, "level": 1}))
    assert len(graph(over).km) == 2
    assert notes == []


def test_a_ferry_is_boarded_at_its_ends_alone():
    ferry = {**NORTH, "class": "ferry"}
    assert join_crossings(drawn(EAST, ferry))[1] == []
    short = {"at": [(500, 4), (500, 300)]}
    assert len(find_gaps(drawn({**EAST, "class": "ferry"}, short), 10)) == 0
    landing = {"at": [(1004, 0), (1500, 0)]}
    assert len(find_gaps(drawn({**EAST, "class": "ferry"}, landing), 10)) == 2


def test_a_crossing_keeps_shape_and_length():
    before = drawn(EAST, NORTH)
    after = join_crossings(before)[0]
    assert length_km(after) == pytest.approx(length_km(before), rel=1e-12)
    for a, b in zip(before["line"], after["line"], strict=True):
        assert shapely.hausdorff_distance(a, b) < 1e-9


def test_an_end_on_a_road_without_a_vertex_joins():
    touch = drawn(EAST, {"at": [(500, 0), (500, 600)]})
    assert len(graph(touch).km) == 2
    mended = join_crossings(touch)[0]
    assert len(graph(mended).km) == 3
    assert parts_of(mended["line"].to_numpy()).max() == 0


@pytest.mark.parametrize(("gap", "joined"), [(9.0, True), (11.0, False)])
def test_gaps_up_to_the_tolerance_are_joined(gap, joined):
    roads = drawn(EAST, {"at": [(500, gap), (500, 600)], "name": "Side Road"})
    mended, notes = join_gaps(roads, 10)
    assert len(graph(mended).km) == (3 if joined else 2)
    if joined:
        assert notes[0].name == "Side Road"
        assert notes[0].metres == pytest.approx(gap, rel=0.01)
        assert notes[0].words == "stops short of East Road (r0); joined"
        more = length_km(mended) - length_km(roads)
        assert 1000 * more == pytest.approx(gap, rel=0.01)


def test_end_to_end_gaps_are_bridged_once():
    roads = drawn(EAST, {"at": [(1006, 0), (2000, 0)]})
    mended, notes = join_gaps(roads, 10)
    assert len(notes) == 1
    assert len(graph(mended).lon) == 3
    assert join_gaps(mended, 10)[1] == []


def test_a_short_side_road_is_not_tied_back_to_its_own_road():
    drive = drawn(EAST, {"at": [(500, 0), (500, 8)]}, {"at": [(500, 0), (0, 0)]})
    drive = join_crossings(drive)[0]
    assert len(find_gaps(drive, 10)) == 0


def test_an_end_at_another_level_joins_an_end_only():
    bridge = {"at": [(500, 4), (500, 600)], "level": 1}
    assert len(find_gaps(drawn(EAST, bridge), 10)) == 0
    bridge = {"at": [(1004, 0), (1500, 0)], "level": 1}
    assert len(find_gaps(drawn(EAST, bridge), 10)) == 2


def test_roads_drawn_twice_are_dropped_and_two_carriageways_stay():
    again = {"at": [(1000, 0), (0, 0)], "name": "East again"}
    kept, notes = drop_twins(drawn(EAST, again), 0)
    assert kept["name"].tolist() == ["East Road"]
    assert notes[0].words == "is drawn twice, also as East Road (r0); dropped"
    sides = drawn({**EAST, "oneway": True}, {**again, "oneway": True})
    assert len(drop_twins(sides, 0)[0]) == 2
    bow = drawn(EAST, {"at": [(0, 0), (500, 6), (1000, 0)]})
    assert len(drop_twins(bow, 10)[0]) == 1
    assert len(drop_twins(bow, 5)[0]) == 2


ISLE = {"at": [(5000, 0), (5000, 900)], "name": "Isle Road"}


def test_islands_that_serve_nobody_go_and_the_others_are_told():
    lon, lat = np.array([100.0, 700.0, 5010.0]) * M, np.array([10.0, 10.0, 300.0]) * M
    roads = drawn(EAST, NORTH, ISLE, {"at": [(9000, 0), (9000, 50)], "name": "Stub"})
    roads = join_crossings(roads)[0]
    kept, notes = drop_islands(roads, ["mill a", "yard b", "yard isle"], lon, lat)
    assert kept["name"].tolist() == ["East Road", "North Road", "Isle Road"]
    assert [(n.what, n.name) for n in notes] == [
        ("cut off", "Isle Road"),
        ("island", "Stub"),
    ]
    assert notes[0].words.endswith("to the others: yard isle")
    assert notes[0].metres == pytest.approx(900, rel=0.01)
    assert [len(s) for s in islands(roads, lon, lat)["sites"]] == [2, 1, 0]


def test_hand_given_roads_are_warned_of():
    lon, lat = np.array([100.0]) * M, np.array([10.0]) * M
    roads = drawn(EAST, {"at": [(1004, 3), (2000, 0)], "name": "On"}, ISLE)
    told = road_warnings(roads, ["mill a"], lon, lat)
    assert [(p.row, p.why.split()[0]) for p in told] == [
        (3, "belongs"),
        (4, "belongs"),
        (2, "stops"),
        (3, "stops"),
    ]
    assert "5.0 m short of On (r1)" in str(told[2])
    assert (
        "part of 1 roads, 0.9 km, that is not joined to the rest; no site is near it"
        in str(told[1])
    )
    whole = join_crossings(drawn(EAST, NORTH))[0]
    whole = whole.assign(wkt=shapely.to_wkt(whole["line"].to_numpy(), -1))
    assert road_warnings(whole, ["mill a"], lon, lat) == []


def test_warnings_of_one_kind_are_counted_after_twenty():
    lon, lat = np.array([100.0]) * M, np.array([10.0]) * M
    long = {"at": [(0, 0), (9000, 0)], "name": "Long Road"}
    across = [{"at": [(k * 300, -200), (k * 300, 200)]} for k in range(1, 26)]
    bridge = {"at": [(8800, -200), (8800, 200)], "bridge": True, "name": "Span"}
    told = [p.why for p in road_warnings(drawn(long, *across), ["m"], lon, lat)]
    loose = [why for why in told if "does not join it" in why]
    assert len(loose) == 20
    assert told[-1] == "has 5 more such crossings"
    both = road_warnings(drawn(long, across[0], bridge), ["m"], lon, lat)
    assert sum("does not join it" in p.why for p in both) == 1


def streets(rng, size):
    """Whole streets of a grid, crossing without vertices, with some noise."""
    at = np.arange(size) * 200.0 + rng.uniform(-40, 40, size)
    far = (size - 1) * 200.0 + 60
    lines = [{"at": [(-60, y), (far, y)]} for y in at]
    return lines + [{"at": [(x, -60), (x, far)]} for x in at]


def junctions(roads):
    """Places where more or fewer than two edges meet, and how many do."""
    made = graph(roads)
    degree = np.bincount(np.concatenate([made.start, made.end]))
    return sorted(
        (round(x, 6), round(y, 6), int(d))
        for x, y, d in zip(made.lon, made.lat, degree, strict=True)
        if d != 2
    )


@given(st.integers(0, 10_000))
@settings(max_examples=20, deadline=None)
def test_broken_streets_are_mended_to_the_same_network(seed):
    """Cut every street between its crossings, tear gaps of up to 6 m, mend."""
    rng = np.random.default_rng(seed)
    whole = join_crossings(drawn(*streets(rng, 4)))[0]
    assert len(graph(whole).km) == 2 * 4 * 5
    broken = []
    for line in whole["line"]:
        xy = shapely.get_coordinates(line) / M
        cut = int(rng.integers(1, len(xy) - 2))
        middle = (xy[cut] + xy[cut + 1]) / 2
        way = (xy[cut + 1] - xy[cut]) / np.hypot(*(xy[cut + 1] - xy[cut]))
        tear = rng.uniform(0.5, 6)
        ends = xy[[0, -1]]
        broken.append({"at": [ends[0], middle - way * tear / 2]})
        broken.append({"at": [middle + way * tear / 2, ends[1]]})
    torn = drawn(*broken)
    assert parts_of(torn["line"].to_numpy()).max() > 0
    mended = join_gaps(join_crossings(torn)[0], 10)[0]
    assert junctions(mended) == junctions(whole)
    assert parts_of(mended["line"].to_numpy()).max() == 0
    assert length_km(mended) == pytest.approx(length_km(whole), rel=1e-6)


def test_mending_leaves_its_input_alone():
    roads = drawn(EAST, NORTH, {"at": [(1006, 0), (2000, 0)]})
    before = roads["wkt"].tolist()
    join_gaps(join_crossings(roads)[0], 10)
    drop_twins(roads, 10)
    assert shapely.to_wkt(roads["line"].to_numpy(), -1).tolist() == before


def test_no_roads_are_no_trouble():
    nothing = pd.DataFrame(
        columns=["road", "name", "class", "level", "oneway", "line", "wkt"]
    )
    assert len(find_gaps(nothing, 10)) == 0
    assert road_warnings(nothing, [], np.zeros(0), np.zeros(0)) == []


def test_the_equator_metre_of_these_tests():
    assert geodesic_km(0, 0, 1000 * M, 0) == pytest.approx(1.0, rel=2e-3)


@pytest.mark.parametrize("first", [0, 1, 2])
def test_a_bridge_stays_on_the_road_it_lands_on(first):
    """A third road that stops short there is lengthened, not the bridge over it."""
    roads = [
        {"at": [(0, 0), (500, 0), (1000, 0)], "name": "High Road"},
        {"at": [(500, 0), (500, -900)], "name": "Link", "level": 1, "bridge": True},
        {"at": [(100, 800), (500, 2)], "name": "Coast Road"},
    ]
    roads = [{"bridge": False, **road} for road in roads[first:] + roads[:first]]
    mended, notes = join_gaps(drawn(*roads), 10)
    assert [note.name for note in notes] == ["Coast Road"]
    ends = graph(mended)
    assert len(ends.km) == 4  # both halves of High Road, Link and Coast Road
