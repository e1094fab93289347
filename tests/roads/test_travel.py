"""Travel between sites: by road and by straight line."""

from itertools import pairwise

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pandas.testing import assert_frame_equal
from support.ground_tables import points, roads, rows, scenario

from logistics.roads.geometry import circuitous_km, geodesic_km
from logistics.roads.travel_matrices import access_problems, travel
from logistics.scenario.faults import ScenarioError

A, B, C = (0.0, 0.0), (0.1, 0.0), (0.2, 0.0)
AB = {"wkt": "LINESTRING (0 0, 0.1 0)"}
BC = {"wkt": "LINESTRING (0.1 0, 0.2 0)"}
KM = float(geodesic_km(*A, *B))


def abc(*drawn, **changes):
    """Source at A, yard at B, market at C."""
    return scenario(
        sources=points("source", {"a": A}),
        yards=points("yard", {"b": B}),
        markets=points("market", {"c": C}),
        roads=roads(*drawn),
        **changes,
    )


def trucks(*records):
    base = {"payload_t": 4.0, "tare_t": 3.0, "speed_factor": 1.0}
    return rows(records, base)


def test_sites_are_named_and_found():
    made = travel(abc(AB, BC))
    assert made.sites == ("source:a", "yard:b", "market:c")
    assert made.index("market", ["c", "c"]).tolist() == [2, 2]
    assert made.basis == "roads"
    assert travel(abc()).basis == "straight line x circuity"


def test_hours_follow_class_season_and_truck():
    """Gravel at 35 km/h dry, half of that wet; paved does not mind the rain."""
    made = travel(abc(AB, {**BC, "class": "paved_local"}))
    dry, wet = made.pick("t4", "dry"), made.pick("t4", "wet")
    assert dry.km[0, 2] == wet.km[0, 2] == pytest.approx(2 * KM)
    assert dry.hours[0, 1] == pytest.approx(KM / 35)
    assert wet.hours[0, 1] == pytest.approx(KM / 17.5)
    assert wet.hours[1, 2] == dry.hours[1, 2] == pytest.approx(KM / 40)
    slow = travel(abc(AB, BC, trucks=trucks({"truck": "cart", "speed_factor": 0.5})))
    assert slow.pick("cart", "dry").hours[0, 1] == pytest.approx(KM / 17.5)


def test_equal_states_are_worked_out_once():
    two = trucks({"truck": "t4"}, {"truck": "t10", "payload_t": 10.0})
    paved = abc({**AB, "class": "town"}, {**BC, "class": "town"}, trucks=two)
    assert len(travel(paved).states) == 1
    weak = abc({**AB, "class": "town", "max_gross_t": 8.0}, BC, trucks=two)
    made = travel(weak)
    assert len(made.states) == 4
    assert made.state_of["t4", "dry"] != made.state_of["t10", "dry"]


def test_a_weak_bridge_stops_the_heavy_truck_only():
    two = trucks({"truck": "t4"}, {"truck": "t10", "payload_t": 10.0})
    made = travel(abc({**AB, "max_gross_t": 7.0}, BC, trucks=two))
    assert np.isfinite(made.pick("t4", "dry").km[0, 1])
    for name in ("km", "hours", "fare"):
        assert getattr(made.pick("t10", "dry"), name)[0, 1] == np.inf
    assert np.isfinite(made.pick("t10", "dry").km[1, 2])


def test_a_closed_road_forbids_the_lane_in_its_periods():
    made = travel(abc({**AB, "closed_periods": ("wet",)}, BC))
    assert np.isfinite(made.pick("t4", "dry").km[0, 1])
    assert made.pick("t4", "wet").km[0, 1] == np.inf
    assert made.pick("t4", "wet").km[0, 0] == 0


def test_oneway_is_driven_as_drawn():
    state = travel(abc({**AB, "oneway": True}, BC)).pick("t4", "dry")
    assert np.isfinite(state.hours[0, 1])
    assert state.hours[1, 0] == np.inf


def test_a_ferry_waits_costs_and_sails_at_its_own_speed():
    ferry = {**AB, "class": "ferry", "wait_minutes": 30.0, "fare_per_trip": 4.0}
    landing = {"wkt": "LINESTRING (0 0, -0.01 0)"}
    made = travel(
        abc(ferry, BC, landing, trucks=trucks({"truck": "t4", "speed_factor": 0.5}))
    )
    state = made.pick("t4", "wet")
    assert state.hours[0, 1] == pytest.approx(KM / 10 + 0.5)
    assert state.fare[0, 1] == state.fare[1, 0] == pytest.approx(4)
    assert state.fare[1, 2] == 0


def test_fare_and_wait_are_borne_once_although_sites_split_the_road():
    toll = {**AB, "fare_per_trip": 4.0, "wait_minutes": 60.0}
    made = scenario(
        sources=points("source", {"a": A, "mid": (0.05, 0.001)}),
        yards=points("yard", {"b": B}),
        roads=roads(toll),
    )
    state = travel(made).pick("t4", "dry")
    fare = state.fare
    assert fare[0, 2] == pytest.approx(4)
    assert state.hours[0, 2] == pytest.approx(KM / 35 + 1)
    assert fare[0, 1] + fare[1, 2] == pytest.approx(4)


def test_km_are_those_of_the_quickest_way():
    """The paved detour is longer and quicker than the earth track."""
    track = {**AB, "class": "earth"}
    detour = {
        "wkt": "LINESTRING (0 0, 0.05 0.03, 0.1 0)",
        "class": "paved_main",
        "fare_per_trip": 1.0,
    }
    state = travel(abc(track, detour, BC)).pick("t4", "dry")
    long = float(geodesic_km(0, 0, 0.05, 0.03)) * 2
    assert long > KM
    assert state.km[0, 1] == pytest.approx(long)
    assert state.hours[0, 1] == pytest.approx(long / 55)
    assert state.fare[0, 1] == pytest.approx(1)


def test_access_leg_is_driven_at_access_speed():
    drawn = {
        "sources": points("source", {"a": (0.05, 0.01)}),
        "yards": points("yard", {"b": B}),
        "roads": roads(AB),
    }
    state = travel(scenario(**drawn)).pick("t4", "dry")
    leg = float(geodesic_km(0.05, 0, 0.05, 0.01))
    assert state.km[0, 1] == pytest.approx(leg + KM / 2, rel=1e-6)
    assert state.hours[0, 1] == pytest.approx(leg / 15 + KM / 2 / 35, rel=1e-6)
    cart = trucks({"truck": "cart", "speed_factor": 0.5})
    slow = travel(scenario(**drawn, trucks=cart))
    twice = slow.pick("cart", "dry").hours[0, 1]
    assert twice == pytest.approx(2 * (leg / 15 + KM / 2 / 35), rel=1e-6)


TWO = (
    {"wkt": "LINESTRING (0 0, 0.1 0)"},
    {"wkt": "LINESTRING (0 0, 0 0.02, 0.1 0.02, 0.1 0)"},
)


def test_a_site_joins_the_nearest_road_it_may_drive_in_that_season():
    """South road shut in the rains: the mill goes out by the north road, 1.1 km off."""
    south, north = TWO
    made = scenario(
        sources=points("source", {"mill": (0.05, 0.009)}),
        yards=points("yard", {"b": B}),
        roads=roads({**south, "closed_periods": ("wet",)}, north),
    )
    result = travel(made)
    dry, wet = result.pick("t4", "dry"), result.pick("t4", "wet")
    leg = float(geodesic_km(0.05, 0, 0.05, 0.009))
    assert dry.km[0, 1] == pytest.approx(leg + KM / 2, rel=1e-6)
    over = float(geodesic_km(0.05, 0.009, 0.05, 0.02))
    down = float(geodesic_km(0.1, 0.02, 0.1, 0))
    assert wet.km[0, 1] == pytest.approx(over + KM / 2 + down, rel=1e-4)
    assert wet.km[1, 0] == pytest.approx(wet.km[0, 1])


def test_a_heavy_truck_joins_the_road_that_bears_it():
    south, north = TWO
    two = trucks({"truck": "t4"}, {"truck": "t10", "payload_t": 10.0})
    made = scenario(
        sources=points("source", {"mill": (0.05, 0.009)}),
        yards=points("yard", {"b": B}),
        roads=roads({**south, "max_gross_t": 8.0}, north),
        trucks=two,
    )
    result = travel(made)
    light, heavy = result.pick("t4", "dry"), result.pick("t10", "dry")
    assert np.isfinite(heavy.km[0, 1])
    assert heavy.km[0, 1] > light.km[0, 1]


def test_a_season_without_a_road_in_reach_cuts_off_but_is_no_fault():
    made = scenario(
        sources=points("source", {"mill": (0.05, 0.009)}),
        yards=points("yard", {"b": (0.2, 0.0)}),
        roads=roads({**AB, "closed_periods": ("wet",)}, BC),
    )
    assert access_problems(made) == []
    result = travel(made)
    assert np.isfinite(result.pick("t4", "dry").km[0, 1])
    assert result.pick("t4", "wet").km[0, 1] == np.inf


def test_a_site_by_a_road_nobody_may_drive_is_named():
    made = abc({**AB, "max_gross_t": 2.0}, {"wkt": "LINESTRING (0.9 0, 1 0)"})
    found = [str(p) for p in access_problems(made)]
    assert len(found) == 3
    assert "from the nearest road open to any truck at any time" in found[0]


@given(st.integers(0, 10_000))
@settings(max_examples=15, deadline=None)
def test_shut_roads_never_shorten_though_sites_join_elsewhere(seed):
    """Sites beside the roads; a third of the roads is shut in the wet season."""
    rng = np.random.default_rng(seed)
    drawn, x, y = lattice(rng, 4, closed=0.2)
    shut = rng.random(len(drawn)) < 0.3
    drawn = [
        {**r, "closed_periods": ("wet",) if s else ()}
        for r, s in zip(drawn, shut, strict=True)
    ]
    off = rng.uniform(-0.01, 0.01, (16, 2))
    places = {
        f"s{k}": (x.flat[k] + off[k, 0], y.flat[k] + off[k, 1]) for k in range(16)
    }
    made = scenario(sources=points("source", places), roads=roads(*drawn))
    made.settings.travel.access_limit_km = 50.0
    made.periods["season_speed"] = 1.0
    result = travel(made)
    dry, wet = result.pick("t4", "dry").hours, result.pick("t4", "wet").hours
    assert (dry <= wet + 1e-12).all()
    for hours in (dry, wet):
        assert np.allclose(hours, hours.T, rtol=1e-12, atol=1e-12)
        over = hours[:, :, None] + hours[None, :, :]
        assert (hours <= over.min(axis=1) + 1e-12).all()


@given(st.integers(0, 10_000))
@settings(max_examples=15, deadline=None)
def test_a_new_road_never_lengthens_between_sites_on_the_network(seed):
    rng = np.random.default_rng(seed)
    drawn, x, y = lattice(rng, 4, closed=0.2)
    i, j = rng.choice(16, 2, replace=False)
    ends = f"{x.flat[i]:.9f} {y.flat[i]:.9f}, {x.flat[j]:.9f} {y.flat[j]:.9f}"
    new = f"LINESTRING ({ends})"
    places = {f"s{k}": (x.flat[k], y.flat[k]) for k in range(16)}
    found = []
    for table in (drawn, [*drawn, {"wkt": new}]):
        made = scenario(sources=points("source", places), roads=roads(*table))
        made.settings.travel.access_limit_km = 50.0
        found.append(travel(made).pick("t4", "dry").hours)
    text = " ".join(road["wkt"] for road in drawn)
    pairs = zip(x.flat, y.flat, strict=True)
    on = np.array([f"{a:.9f} {b:.9f}" in text for a, b in pairs])
    # sites stand within a millimetre of their node
    assert (found[1] <= found[0] + 1e-7)[np.ix_(on, on)].all()


def test_sites_at_one_place_are_no_trip_apart():
    made = scenario(
        sources=points("source", {"a": (0.05, 0.01), "z": (0.0, 0.0)}),
        yards=points("yard", {"b": (0.05, 0.01)}),
        roads=roads(AB),
    )
    state = travel(made).pick("t4", "dry")
    assert state.km[0, 2] == state.hours[0, 2] == 0
    assert state.km[0, 1] == state.km[2, 1] > 0


def test_sites_far_from_any_road_are_named_together():
    made = abc(AB)
    made.yards = points("yard", {"b": B, "isle": (0.1, 1.0)})
    made.markets = points("market", {"c": (0.5, 0.0)})
    problems = access_problems(made)
    assert [str(p) for p in problems] == [
        "yards.csv, row 3, column 'lon': 0.1 puts yard isle 110.6 km from the nearest "
        "road; travel.access_limit_km is 5. Correct lon and lat, draw the missing "
        "road in roads, or raise travel.access_limit_km.",
        "markets.csv, row 2, column 'lon': 0.5 puts market c 44.5 km from the nearest "
        "road; travel.access_limit_km is 5. Correct lon and lat, draw the missing "
        "road in roads, or raise travel.access_limit_km.",
    ]
    with pytest.raises(ScenarioError, match="2 faults"):
        travel(made)
    assert access_problems(abc()) == []


def test_straight_line_by_hand():
    made = travel(
        abc(trucks=trucks({"truck": "t4"}, {"truck": "v", "speed_factor": 2}))
    )
    state = made.pick("t4", "wet")
    assert state.km[0, 2] == pytest.approx(1.3 * 2 * KM)
    assert state.km[0, 1] == pytest.approx(1.4 * KM)
    assert state.hours[0, 1] == pytest.approx(1.4 * KM / 30)
    assert made.pick("v", "dry").hours[0, 1] == pytest.approx(1.4 * KM / 60)
    assert (state.fare == 0).all()
    assert made.pick("t4", "dry") is state


def test_matrices_cannot_be_changed():
    state = travel(abc(AB, BC)).pick("t4", "dry")
    with pytest.raises(ValueError, match="read-only"):
        state.km[0, 0] = 1


def test_inputs_are_left_alone():
    made = abc({**AB, "closed_periods": ("wet",)}, BC)
    before = {n: getattr(made, n).copy() for n in ("roads", "sources", "trucks")}
    travel(made)
    for name, table in before.items():
        assert_frame_equal(getattr(made, name), table)


def lattice(rng, size, closed=0.15):
    """Streets of a town on a grid, some missing, drawn in pieces."""
    drawn = []
    classes = ["paved_main", "paved_local", "gravel", "earth", "town"]
    x = 0.02 * np.arange(size) + rng.uniform(-0.004, 0.004, (size, size))
    y = 0.02 * np.arange(size)[:, None] + rng.uniform(-0.004, 0.004, (size, size))
    for i in range(size):
        for j in range(size):
            for k, m in ((i + 1, j), (i, j + 1)):
                if k < size and m < size and rng.random() > closed:
                    a, b = (x[i, j], y[i, j]), (x[k, m], y[k, m])
                    mid = (a[0] + b[0]) / 2 + 0.001, (a[1] + b[1]) / 2
                    line = ", ".join(f"{p:.9f} {q:.9f}" for p, q in (a, mid, b))
                    drawn.append(
                        {
                            "wkt": f"LINESTRING ({line})",
                            "class": str(rng.choice(classes)),
                            "fare_per_trip": float(rng.choice([0, 0, 2])),
                        }
                    )
    return drawn, x, y


@pytest.mark.parametrize("seed", range(5))
def test_road_travel_equals_networkx(seed):
    """Independent: the same streets, put edge by edge into networkx by vertices."""
    rng = np.random.default_rng(seed)
    drawn, x, y = lattice(rng, 7)
    nodes = rng.choice(49, 12, replace=False)
    places = [(round(x.flat[k], 9), round(y.flat[k], 9)) for k in nodes]
    made = scenario(
        sources=points("source", {f"s{i}": p for i, p in enumerate(places)}),
        roads=roads(*drawn),
    )
    state = travel(made).pick("t4", "wet")
    speed = {
        "paved_main": 55,
        "paved_local": 40,
        "gravel": 17.5,
        "earth": 10,
        "town": 22,
    }
    other = nx.Graph()
    for road in drawn:
        text = road["wkt"].removeprefix("LINESTRING (").removesuffix(")")
        line = [tuple(map(float, p.split())) for p in text.split(", ")]
        for a, b in pairwise(line):
            km = float(geodesic_km(*a, *b))
            other.add_edge(a, b, km=km, hours=km / speed[road["class"]])
    for i, a in enumerate(places):
        hours = (
            nx.single_source_dijkstra_path_length(other, a, weight="hours")
            if a in other
            else {}
        )
        ways = nx.single_source_dijkstra_path(other, a, weight="hours") if hours else {}
        for j, b in enumerate(places):
            if a not in other or b not in other:
                continue
            assert state.hours[i, j] == pytest.approx(hours.get(b, np.inf), abs=1e-9)
            if b in ways:
                km = nx.path_weight(other, ways[b], "km")
                assert state.km[i, j] == pytest.approx(km, abs=1e-9)


@given(st.integers(0, 10_000))
@settings(max_examples=25, deadline=None)
def test_laws_of_travel_on_two_way_roads(seed):
    """Triangle inequality of hours; symmetry; nothing on the diagonal."""
    rng = np.random.default_rng(seed)
    drawn, x, y = lattice(rng, 5, closed=0.3)
    off = rng.uniform(-0.01, 0.01, (8, 2))
    spots = rng.choice(25, 8)
    places = {
        f"s{i}": (x.flat[k] + off[i, 0], y.flat[k] + off[i, 1])
        for i, k in enumerate(spots)
    }
    made = scenario(sources=points("source", places), roads=roads(*drawn))
    made.settings.travel.access_limit_km = 50.0
    for state in travel(made).states:
        hours = state.hours
        assert np.allclose(hours, hours.T, rtol=1e-12, atol=1e-12)
        assert (np.diag(hours) == 0).all()
        over = hours[:, :, None] + hours[None, :, :]
        assert (hours <= over.min(axis=1) + 1e-12).all()
        finite = np.isfinite(state.km)
        assert (finite == np.isfinite(hours)).all()


@given(st.integers(0, 10_000))
@settings(max_examples=15, deadline=None)
def test_opening_a_road_never_lengthens_and_closing_never_shortens(seed):
    rng = np.random.default_rng(seed)
    drawn, x, y = lattice(rng, 4, closed=0.2)
    places = {f"s{k}": (x.flat[k], y.flat[k]) for k in range(16)}
    k = int(rng.integers(len(drawn)))
    closed = [
        {**r, "closed_periods": ("wet",) if i == k else ()} for i, r in enumerate(drawn)
    ]
    made = scenario(sources=points("source", places), roads=roads(*closed))
    made.settings.travel.access_limit_km = 50.0
    made.periods["season_speed"] = 1.0
    result = travel(made)
    dry, wet = result.pick("t4", "dry").hours, result.pick("t4", "wet").hours
    assert (dry <= wet + 1e-12).all()


@given(
    st.lists(st.tuples(st.floats(-1, 1), st.floats(-1, 1)), min_size=3, max_size=6),
)
def test_laws_of_travel_by_straight_line(places):
    made = scenario(
        sources=points("source", {f"s{i}": p for i, p in enumerate(places)})
    )
    state = travel(made).pick("t4", "dry")
    assert np.array_equal(state.km, state.km.T)
    assert (np.diag(state.km) == 0).all()
    over = state.hours[:, :, None] + state.hours[None, :, :]
    assert (state.hours <= over.min(axis=1) + 1e-9).all()
    assert circuitous_km(0, 1.6, 1.4, 1.3) == 0
