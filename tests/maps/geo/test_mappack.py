"""The map's data written small comes back; roads, travel time and worth are in it."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.fake_result import PERIODS, result
from support.ground_tables import points, roads, scenario

from logistics.land import parts
from logistics.results.haulage import no_savings
from logistics.roads.travel_matrices import travel
from logistics.scenario.map_tiles import tile_server
from maps.geo.map_contents import map_data
from maps.geo.map_pack import HALF, SIGNS, both_ways, by_period, line, packed, signs
from maps.geo.map_reach import STEP_MINUTES, reach, worth
from maps.geo.map_roads import roads as road_rows
from maps.geo.web_map import map_html
from maps.shared.html import policy


def read(text):
    """Read signs back, written apart from the script in unpack.js."""
    found, rest = [], 0
    place = 1
    for sign in text:
        digit = SIGNS.index(sign)
        rest += digit % HALF * place
        place *= HALF
        if digit < HALF:
            found.append(rest)
            rest, place = 0, 1
    return found


@given(st.lists(st.integers(0, 10**12)))
def test_numbers_come_back(numbers):
    assert read(signs(numbers)) == numbers


@given(st.integers(-(10**9), 10**9))
def test_folded_numbers_are_apart(value):
    folded = both_ways(value)
    assert folded >= 0
    assert (folded // 2 if folded % 2 == 0 else -(folded + 1) // 2) == value


@given(st.lists(st.one_of(st.none(), st.floats(0, 1e5)), min_size=1, max_size=12))
def test_lists_come_back_to_the_part_kept(values):
    found = read(by_period(values, 100))
    if not found:
        assert values == [pytest.approx(0, abs=0.005)] * len(values)
        return
    for value, kept in zip(values, found, strict=True):
        back = None if kept == 0 else (kept - 1) / 100
        assert (
            back is None if value is None else back == pytest.approx(value, abs=0.006)
        )


def test_signs_need_no_care_in_json_or_html():
    assert len(SIGNS) == 2 * HALF == len(set(SIGNS))
    assert not set(SIGNS) & set('"\\<>&')
    assert SIGNS.isascii()
    assert SIGNS.isprintable()


def test_lines_keep_their_points():
    steps = [(n // 2 if n % 2 == 0 else -(n + 1) // 2) for n in read(line([(1, 2)]))]
    assert steps == [100_000, 200_000]
    moves = read(line([(-31.1, -0.9), (-31.10001, -0.9)]))
    assert moves[2:] == [both_ways(-1), 0]


def test_lanes_are_columns_of_the_same_plan():
    data = map_data(result())
    lanes = packed(data)["lanes"]
    assert lanes["count"] == len(data["lanes"])
    assert [t / 100 for t in read(lanes["t"])] == [
        t for lane in data["lanes"] for t in lane["t"]
    ]
    sources = [row["code"] for row in data["sources"]]
    inward = [lane for lane in data["lanes"] if lane["kind"] == "in"]
    assert [sources[i] for i in read(lanes["from"])[: len(inward)]] == [
        lane["from"] for lane in inward
    ]


def test_packing_leaves_the_data_alone():
    data = map_data(result())
    packed(data)
    assert data == map_data(result())


def test_areas_keep_their_holes():
    hole = "POLYGON ((0 0, 9 0, 9 9, 0 9, 0 0), (2 2, 4 2, 4 4, 2 4, 2 2))"
    shape, lines = parts(hole)
    assert shape == "area"
    assert [len(ring) for ring in lines] == [5, 5]


@pytest.fixture
def planned():
    """One source, yard and market on a road of two stretches; 40 t in, 8 t out."""
    low = {"road": "low", "wkt": "LINESTRING (0 0, 0.1 0)"}
    on = {"road": "on", "wkt": "LINESTRING (0.1 0, 0.3 0)"}
    made = scenario(
        sources=points("source", {"a": (0.0, 0.0)}),
        yards=points("yard", {"b": (0.2, 0.0)}),
        markets=points("market", {"c": (0.1, 0.0)}),
        roads=roads(low, on).assign(name=""),
    )
    lanes = pd.DataFrame(
        {
            "kind": ["in", "out"],
            "origin": ["a", "b"],
            "destination": ["b", "c"],
            "material": ["husk", "compost"],
            "truck": ["t4", "t4"],
            "period": ["dry", "wet"],
            "tonnes": [40.0, 8.0],
            "trips": [10.0, 2.0],
        }
    )
    names = {"trucks": made.trucks.assign(name="")}
    tables = {"roads": made.roads, "periods": made.periods, "sources": made.sources}
    return SimpleNamespace(
        scenario=SimpleNamespace(tables=tables | names),
        travel=travel(made),
        lanes=lanes,
        paired_trips=no_savings(),
        plan=SimpleNamespace(yards=pd.DataFrame({"yard": ["b"]})),
    )


def test_roads_carry_what_is_hauled(planned):
    """By hand: husk passes both stretches in the dry, compost one in the wet."""
    dry = planned.scenario.tables["periods"]["period"].tolist().index("dry")
    found = {row["code"]: row for row in road_rows(planned)}
    assert found["low"]["load"]["husk"][dry] == 40
    assert found["on"]["load"]["husk"][dry] == 40
    assert set(found["low"]["load"]) == {"husk"}
    assert sum(found["on"]["load"]["compost"]) == 8
    assert sum(found["low"]["trips"]) == 10
    assert sum(found["on"]["trips"]) == 12
    assert sum(found["on"]["empty"]) == 12


def test_travel_time_is_rounded_up_and_never_down(planned):
    found = reach(planned)
    state = planned.travel.pick("t4", "dry")
    hours = state.hours[
        planned.travel.index("source", ["a"])[0], planned.travel.index("yard", ["b"])[0]
    ]
    dry = planned.scenario.tables["periods"]["period"].tolist().index("dry")
    (steps,) = read(found["states"][found["of"][dry]][0])
    assert (steps - 1) * STEP_MINUTES < hours * 60 <= steps * STEP_MINUTES
    assert np.isfinite(hours)


def test_worth_stands_at_its_site_and_period():
    found = worth(result(), "supply", ["mill", "port"])
    assert found["port"] == [9.0 if p == "wet" else 0.0 for p in PERIODS]
    assert found["mill"] == [0.0] * 3


@pytest.mark.parametrize(
    "address",
    [
        "https://tiles.example.org/map.png",
        "file:///etc/{z}/{x}/{y}",
        "https://a.example.org; script-src */{z}/{x}/{y}",
        "https://a.example.org/{z}/{x}/{y}'; script-src *",
        "javascript:alert(1)//{z}{x}{y}",
    ],
)
def test_address_that_is_none_is_not_let_through(address):
    assert tile_server(address) == ""


def test_online_map_is_off_unless_its_address_is_set():
    assert map_data(result())["tiles"] is None
    assert "img-src data:;" in policy([], [], "")
    told = result()
    new = {"tiles": "https://t.example.org/{z}/{x}/{y}.png", "tiles_credit": "Us"}
    changed = told.scenario.settings.map.model_copy(update=new)
    told.scenario.settings = told.scenario.settings.model_copy(update={"map": changed})
    assert map_data(told)["tiles"]["credit"] == "Us"
    page = map_html(told)
    assert "img-src data: https://t.example.org;" in page
    assert "connect-src" in page
