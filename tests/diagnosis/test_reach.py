"""Who cannot be reached is told, by name and with distances."""

import pytest
from support.ground_tables import points, roads, rows, scenario

from logistics.diagnosis.reach import out_of_reach, travel_warnings, unreachable_sites
from logistics.roads.travel_matrices import travel

TRUCKS = [
    {"truck": "t4", "carries": ("all",)},
    {"truck": "t10", "payload_t": 10.0, "carries": ("husk", "compost")},
]


def district(*drawn, **changes):
    """Mill A and landing L, yards B and F, market C, east of each other."""
    base = {"payload_t": 4.0, "tare_t": 3.0, "speed_factor": 1.0}
    sources = points("source", {"a": (0.0, 0.0), "l": (0.01, 0.0)})
    yards = points("yard", {"b": (0.1, 0.0), "f": (0.3, 0.0)})
    made = scenario(
        sources=sources.assign(material=["husk", "fish"], name=["Mill A", "Landing"]),
        yards=yards.assign(name=["Yard B", "Far Yard"]),
        markets=points("market", {"c": (0.1, 0.001)}),
        roads=roads(*drawn),
        trucks=rows(TRUCKS, base),
        **changes,
    )
    made.settings.travel.lane_limit_km = None
    return made


AB = {"wkt": "LINESTRING (0 0, 0.1 0)"}
BF = {"wkt": "LINESTRING (0.1 0, 0.3 0)"}
FAR = {"wkt": "LINESTRING (0.3 0, 0.31 0)"}


def told(made):
    result = travel(made)
    return (
        [str(p) for p in unreachable_sites(made, result)],
        [str(p) for p in travel_warnings(made, result)],
    )


def test_a_whole_network_is_silent():
    assert told(district(AB, BF)) == ([], [])


def test_a_site_nobody_reaches_is_warned_of_and_a_fault_where_it_is_forced():
    made = district(AB, FAR)
    assert told(made)[0] == []
    loose = told(made)[1]
    made.yards["decision"] = ["free", "open"]
    faults, warnings = told(made)
    assert sorted([*faults, *warnings]) == sorted(loose)
    assert faults == [
        "yards.csv, row 3, column 'yard': 'f' cannot be reached: no truck can "
        "drive between Far Yard and any source; the nearest is Landing, 32.3 km in a "
        "straight line. Draw the missing road or ferry in roads, or correct the site.",
        "yards.csv, row 3, column 'yard': 'f' cannot be reached: no truck can "
        "drive between Far Yard and any market; the nearest is c, 22.3 km in a "
        "straight line. Draw the missing road or ferry in roads, or correct the site.",
    ]
    assert len(warnings) == 3
    assert warnings[0].startswith(
        "sources.csv, row 2, column 'source': 'a' has no route to Far Yard 33.4 km"
    )


def test_seasons_and_trucks_are_warned_of():
    closed = {**AB, "closed_periods": ("wet",)}
    faults, warnings = told(district(closed, BF))
    assert faults == []
    assert any("'a' is cut off from every yard in wet." in w for w in warnings)
    weak = {**AB, "max_gross_t": 8.0}
    faults, warnings = told(district(weak, BF))
    assert faults == []
    reached = [w for w in warnings if "is closed to t10" in w]
    assert [w.split("'")[3] for w in reached] == [
        "a",
        "b",
        "f",
    ]  # fish never goes by t10


def test_a_way_out_without_a_way_back_is_none():
    made = district({**AB, "oneway": True}, BF)
    made.sources["must_collect"] = [True, False]
    faults, warnings = told(made)
    assert len(faults) == 1  # the mill; the landing and both yards are warned of
    assert "Mill A" in faults[0]
    lost = out_of_reach(made, travel(made))
    assert lost == ["Mill A", "Landing", "Yard B", "Far Yard"]
    assert sum("cannot be reached" in w for w in warnings) == 3


@pytest.mark.parametrize(("limit", "count"), [(None, 0), (40.0, 0), (15.0, 5)])
def test_lanes_beyond_the_limit_are_named_with_their_length(limit, count):
    made = district(AB, BF)
    made.settings.travel.lane_limit_km = limit
    warnings = told(made)[1]
    assert len(warnings) == count
    if count:
        assert (
            "'a' is further than travel.lane_limit_km = 15 from Far Yard 33.4 km"
            in (warnings[0])
        )


def test_straight_lines_leave_nobody_out():
    assert told(district()) == ([], [])
