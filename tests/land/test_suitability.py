"""Land screening: distances by hand and by geodesic, rules, laws, and who is spared."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.places import SCENARIOS, SMALL
from support.siting_ground import (
    BASE,
    GEOD,
    LAT,
    LON,
    at,
    district,
    land,
    line,
    point,
    rules,
    square,
    yards,
)

from logistics.land import screening as suitability
from logistics.land.screening import (
    COLUMNS,
    NOT_LAW,
    barred,
    barred_lanes,
    no_screening,
    not_screened,
    refused,
    screen,
)
from logistics.scenario.edits import with_table
from logistics.scenario.faults import ScenarioError
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting

RADIUS = 50.0
AREA = np.pi * RADIUS**2


def one(*features, rule_table=None, screening="refuse", **columns):
    """Screening of one yard of 50 m radius in the middle."""
    table = yards(("a", LON, LAT, AREA), **columns)
    return screen(district(land(*features), table, rule_table, screening))


def test_distance_is_from_the_edge_of_the_disc():
    """A well 120 m off the middle of a yard with 50 m radius is 70 m away."""
    found = one(("well", "Old well", point(120, 0)), rule_table=rules(well=100))
    assert list(found.columns) == list(COLUMNS)
    row = found.loc[0]
    assert row["found"] == pytest.approx(70, abs=0.05)
    assert (row["yard"], row["rule"], row["unit"]) == ("a", "well", "m")
    assert (row["feedstock"], row["feature"], row["action"]) == (
        *("", "Old well"),
        "refuse",
    )
    reason = "a well 69 m, needs 100 m (Old well; site treated as a circle)"
    assert row["reason"] in {reason, reason.replace("69", "70")}
    assert refused(found) == {"a"}


def test_far_enough_is_silent():
    assert one(("well", "", point(151, 0)), rule_table=rules(well=100)).empty


def test_polygon_line_and_overlap():
    """Homes to the east, a river to the north, and a school upon the site."""
    found = one(
        ("dwellings", "Ulm", square(312, 0, 50)),
        ("river", "Brook", line((-500, 90), (500, 90))),
        ("school", "", square(0, 0, 20)),
        rule_table=rules(homes=300, river=60, school=300),
    ).set_index("rule")
    assert found.loc["homes", "found"] == pytest.approx(212, abs=0.1)
    assert found.loc["river", "found"] == pytest.approx(40, abs=0.1)
    assert found.loc["school", "found"] == 0
    assert found.loc["homes", "reason"].startswith("dwellings 21")
    assert found.loc["homes", "reason"].endswith(
        "needs 300 m (Ulm; site treated as a circle)"
    )


def test_inside_the_property_line_is_measured_to_the_line():
    """A yard in the middle of a plot 150 m square is 25 m from its line."""
    plot = ("boundary", "Plot 7", square(0, 0, 75))
    found = one(plot, rule_table=rules(boundary=30))
    assert found.loc[0, "found"] == pytest.approx(25, abs=0.1)
    assert one(plot, rule_table=rules(boundary=20)).empty


def test_half_the_site_on_flood_land():
    """Flood land beginning at the middle takes half of the disc."""
    flood = ("flood", "Low field", square(1000, 0, 1000))
    found = one(flood, rule_table=rules(flood=0))
    assert found.loc[0, "found"] == pytest.approx(50, abs=0.1)
    assert found.loc[0, "unit"] == "%"
    assert " % of the site is flood land, none allowed (Low field" in found["reason"][0]
    assert one(flood, rule_table=rules(flood=51)).empty


def test_overlapping_flood_lands_count_once():
    twice = [("flood", "", square(1000, 0, 1000)), ("flood", "", square(500, 0, 500))]
    found = one(*twice, rule_table=rules(flood=0))
    assert found.loc[0, "found"] == pytest.approx(50, abs=0.1)


def test_coast_is_where_the_drawn_land_ends():
    island = ("land", "Isle", square(900, 0, 1000))
    found = one(island, rule_table=rules(coast=60))
    assert found.loc[0, "found"] == pytest.approx(50, abs=0.1)
    at_sea = one(("land", "Isle", square(2000, 0, 100)), rule_table=rules(coast=60))
    assert at_sea.loc[0, "found"] == 0


def test_figures_of_the_yard():
    found = one(slope=0.072, water_table_m=0.7, rule_table=rules()).set_index("rule")
    assert set(found.index) == {"slope", "slope_high", "water_table"}
    assert found.loc["slope", "reason"] == "slope 7.2 %, needs at most 5 %"
    assert found.loc["water_table", "reason"] == "water table 0.7 m, needs 1.5 m"
    assert found.loc["slope_high", "action"] == "warn"


@pytest.mark.parametrize("percent", [5, 7, 29])
def test_exactly_the_limit_is_kept(percent):
    assert one(slope=percent / 100, rule_table=rules(slope=percent)).empty


def test_least_area_is_the_smallest_size():
    table = yards(("a", LON, LAT, 3999), ("b", LON, LAT, 4000))
    found = screen(district(land(), table, rules(area=np.nan)))
    assert found["yard"].tolist() == ["a"]
    assert found.loc[0, "reason"] == "area 3,999 m2, needs 4,000 m2"


def test_way_to_a_road_leaves_ferries_out():
    roads = pd.DataFrame(
        {
            "road": ["near", "far"],
            "name": ["Ferry", "Lane"],
            "class": ["ferry", "earth"],
            "wkt": [line((0, 60), (100, 60)), line((0, 1250), (100, 1250))],
        }
    )
    world = district(land(), yards(("a", LON, LAT, AREA)), rules(road=1000))
    found = screen(with_table(world, "roads", roads))
    assert found.loc[0, "found"] == pytest.approx(1200, abs=0.5)
    assert (found.loc[0, "feature"], found.loc[0, "action"]) == ("Lane", "warn")
    assert not refused(found)


@pytest.mark.parametrize("lat", [-55.0, -1.0, 0.5, 30.0, 64.0])
def test_distances_agree_with_geodesics(lat):
    """To 1 in 10,000 over a district 100 km across, in all latitudes."""
    random = np.random.default_rng(7)
    wide = 0.45 / np.cos(np.radians(lat))
    lon = LON + random.uniform(-wide, wide, 40)
    lats = lat + random.uniform(-0.45, 0.45, 40)
    wells = [
        ("well", str(k), f"POINT ({x:.9f} {y:.9f})")
        for k, (x, y) in enumerate(zip(lon[20:], lats[20:], strict=True))
    ]
    sites = yards(*((f"y{k}", lon[k], lats[k], AREA) for k in range(20)))
    found = screen(district(land(*wells), sites, rules(well=1e6)))
    assert len(found) == 20
    for k, row in enumerate(found.itertuples()):
        x, y = np.full(20, lon[k]), np.full(20, lats[k])
        metres = GEOD.inv(x, y, lon[20:].copy(), lats[20:].copy())[2]
        assert row.feature == str(np.argmin(metres))
        assert row.found + RADIUS == pytest.approx(metres.min(), rel=1e-4)


def test_long_edges_are_straight_in_degrees():
    """An edge of 1 degree in 60 degrees north keeps to its parallel."""
    coast = f"LINESTRING ({LON - 0.5} 60.01, {LON + 0.5} 60.01)"
    sites = yards(("a", LON, 60.0, AREA), ("b", LON + 0.4, 60.0, AREA))
    found = screen(district(land(("river", "", coast)), sites, rules(river=1e5)))
    north = GEOD.inv(LON, 60.0, LON, 60.01)[2]
    assert found["found"].to_numpy() + RADIUS == pytest.approx([north] * 2, rel=2e-3)


def test_feedstock_that_spoils_is_kept_from_the_yard_alone():
    """400 m from homes: husk may come, fish may not."""
    homes = ("dwellings", "Ulm", square(500, 0, 50))
    world = district(land(homes), yards(("a", LON, LAT, AREA)), rules())
    found = screen(world)
    assert found["rule"].tolist() == ["homes_spoils"]
    assert found.loc[0, "reason"].startswith("Fish waste: dwellings ")
    assert not refused(found)
    pairs = barred_lanes(found)
    assert pairs.to_dict("list") == {"yard": ["a"], "feedstock": ["fish"]}
    closed = barred(world, found)
    assert closed[:, 0].tolist() == [False, False, True, False]


def test_spoils_means_three_days_or_less():
    homes = ("dwellings", "", square(500, 0, 50))
    world = district(land(homes), yards(("a", LON, LAT, AREA)), rules())
    for hours, barred_ in ((72.0, {"fish"}), (73.0, set())):
        keep = BASE.materials["keep_hours"].where(
            BASE.materials["material"] != "fish", hours
        )
        table = BASE.materials.assign(keep_hours=keep)
        pairs = barred_lanes(screen(with_table(world, "materials", table)))
        assert set(pairs["feedstock"]) == barred_


def test_rule_for_a_named_feedstock():
    homes = ("dwellings", "", square(500, 0, 50))
    table = rules(homes=5000).assign(feedstock="manure")
    found = one(homes, rule_table=table)
    assert barred_lanes(found)["feedstock"].tolist() == ["manure"]


def test_a_refused_yard_bars_every_lane():
    well = ("well", "", point(60, 0))
    sites = yards(("a", LON, LAT, AREA), ("b", *at(5000, 0), AREA))
    world = district(land(well), sites, rules())
    assert barred(world, screen(world)).all(axis=0).tolist() == [True, False]


def test_built_and_decided_yards_are_only_warned():
    well = ("well", "", point(60, 0))
    for columns, words in (
        ({"existing_size": "small"}, "already built, so only a warning"),
        ({"decision": "open"}, "the table opens this yard, so only a warning"),
    ):
        found = one(well, rule_table=rules(), **columns)
        assert (found["action"] == "warn").all()
        assert words in found.loc[0, "reason"]
        assert not refused(found)


def test_settings_warn_and_off():
    well = ("well", "", point(60, 0))
    assert one(well, screening="warn")["action"].tolist() == ["warn"]
    assert one(well, screening="off").equals(no_screening())


def test_rule_off_does_not_ask():
    well = ("well", "", point(60, 0))
    assert one(well, rule_table=rules(well=100).assign(action="off")).empty


def test_no_yards_and_no_land():
    empty = with_table(BASE, "yards", BASE.yards.head(0))
    assert screen(empty).equals(no_screening())
    assert refused(screen(BASE)) == set()


def test_what_could_not_be_asked_is_said():
    told = not_screened(BASE).set_index("rule")["why"]
    assert told["well"] == "none is drawn in land"
    assert told["road"] == "no roads are given"
    assert told["slope"] == "slope is not given for 3 of 3 yards"
    assert "area" not in told.index


def test_broken_polygons_are_mended():
    """A bow tie would stop an intersection; it is made valid first."""
    ends = [at(*p) for p in ((-90, -90), (90, 90), (90, -90), (-90, 90), (-90, -90))]
    bow = "POLYGON ((" + ", ".join(f"{x:.9f} {y:.9f}" for x, y in ends) + "))"
    found = one(("flood", "", bow), rule_table=rules(flood=0))
    assert found.loc[0, "found"] == pytest.approx(50, abs=1)


def folder_with(tmp_path, rows):
    """Copy of the small district with a table of siting rules."""
    for file in SMALL.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    heads = "rule,subject,comparison,value,feedstock,action\n"
    (tmp_path / "siting_rules.csv").write_text(heads + rows)
    return tmp_path


def test_own_rules_beat_the_library(tmp_path):
    folder = folder_with(tmp_path, "homes,dwellings,at_least,450,,refuse\n")
    table = read_scenario(folder).siting_rules.set_index("rule")
    assert table.loc["homes", "value"] == 450
    assert table.loc["well", "value"] == 100
    used = read_scenario(folder).defaults_used
    kept = set(used.loc[used["table"] == "siting_rules", "key"])
    assert "well" in kept


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("x,dwellings,at_least,,,refuse", "is blank. Write the distance"),
        ("x,slope,outside,3,,refuse", "does not go with slope. Write at_least"),
        ("x,flood,outside,300,,refuse", "is more than the whole site"),
        ("x,homes,at_least,3,,refuse", "is not one of the choices"),
        ("x,well,at_least,3,gold,refuse", "is not a code in the table materials"),
    ],
)
def test_faulty_rules(tmp_path, row, words):
    with pytest.raises(ScenarioError, match="siting_rules") as caught:
        read_scenario(folder_with(tmp_path, row + "\n"))
    assert len(caught.value.problems) == 1
    assert words in str(caught.value)


@pytest.fixture(scope="module")
def brackwater():
    return read_scenario(SCENARIOS / "brackwater")


def scaled(scenario, factor):
    """Scenario with every distance of the rules times a factor."""
    table = scenario.siting_rules
    longer = table["comparison"] == "at_least"
    value = table["value"].where(~longer, table["value"] * factor)
    return with_table(scenario, "siting_rules", table.assign(value=value))


@settings(max_examples=15, deadline=None)
@given(low=st.floats(0.1, 6), more=st.floats(1, 3))
def test_a_stricter_rule_never_lets_a_yard_back_in(brackwater, low, more):
    mild = screen(scaled(brackwater, low))
    strict = screen(scaled(brackwater, low * more))
    assert refused(mild) <= refused(strict)
    pairs = [set(map(tuple, barred_lanes(x).to_numpy())) for x in (mild, strict)]
    assert pairs[0] <= pairs[1]


@pytest.mark.parametrize("east", [-100.0, 3.0, 150.0])
@pytest.mark.parametrize("north", [-0.5, 0.0, 1.5])
def test_moving_everything_changes_nothing(east, north):
    """The same metres elsewhere on earth give the same distances to 1 %."""

    def found(lon, lat):
        middle = {"lon": lon, "lat": lat}
        features = land(
            ("dwellings", "Ulm", square(3000, 200, 500, **middle)),
            ("well", "W", point(-1000, 700, **middle)),
        )
        sites = yards(("a", lon, lat, AREA), ("b", *at(900, -400, **middle), 2 * AREA))
        return screen(district(features, sites, rules(homes=9000, well=9000)))

    here, there = found(LON, LAT), found(LON + east, LAT + north)
    assert there["found"].to_numpy() == pytest.approx(here["found"], rel=0.01)
    assert here[["yard", "rule", "feature"]].equals(there[["yard", "rule", "feature"]])


def test_order_of_the_land_changes_nothing(brackwater):
    turned = with_table(brackwater, "land", brackwater.land.iloc[::-1])
    pd.testing.assert_frame_equal(screen(turned), screen(brackwater))


def test_each_subject_is_measured_once_for_all_yards(brackwater, monkeypatch):
    """Work grows with subjects, not with rules times yards times features."""
    asked = []
    measure = suitability.distance_m

    def counted(kind, features, sites):
        asked.append((kind, len(sites.points)))
        return measure(kind, features, sites)

    monkeypatch.setattr(suitability, "distance_m", counted)
    screen(brackwater)
    kinds = [kind for kind, _ in asked]
    assert len(kinds) == len(set(kinds)) >= 8
    assert {count for _, count in asked} == {len(brackwater.yards)}


def test_thousands_of_features_are_screened():
    """18 yards against 6,000 houses; one of them is near the yard in the middle."""
    houses = [
        ("dwellings", f"{a} {b}", square(400 + 60 * a, 400 + 60 * b, 10))
        for a in range(100)
        for b in range(60)
    ]
    sites = [(f"y{k}", *at(-300 * k, 0), AREA) for k in range(18)]
    found = screen(district(land(*houses), yards(*sites), rules(homes=505)))
    assert found["yard"].tolist() == ["y0"]
    assert found.loc[0, "feature"] == "0 0"
    corner = np.hypot(390, 390)
    assert found.loc[0, "found"] == pytest.approx(corner - RADIUS, abs=0.5)


def test_brackwater_as_its_readme_tells(brackwater):
    found = screen(brackwater)
    assert refused(found) == {"yard_d1", "yard_ulpenny", "yard_tavirush", "yard_e10"}
    assert len(set(brackwater.yards["yard"]) - refused(found)) - 2 >= 12
    assert barred_lanes(found)["yard"].tolist() == ["yard_ulpenny", "yard_thrandmere"]
    text = (SCENARIOS / "brackwater" / "README.md").read_text(encoding="utf-8")
    assert "| Candidates refused by the land screening | 4 |" in text
    reasons = " ".join(found["reason"])
    for figure in ("286 m", "7.2 %", "26 m", "396 m", "0.7 m"):
        assert figure in reasons
        assert figure in text


def test_strict_setbacks_refuse_at_least_six(brackwater):
    strict = scaled(brackwater, 3)
    found = screen(strict)
    out = refused(found)
    candidates = set(
        brackwater.yards.loc[brackwater.yards["existing_size"] == "", "yard"]
    )
    assert 6 <= len(out) < len(candidates)
    assert out <= candidates
    for yard in out:
        mine = found[(found["yard"] == yard) & (found["action"] == "refuse")]
        assert mine["reason"].str.contains("needs|none allowed").all()


def test_every_rule_says_it_is_no_law():
    table = BASE.siting_rules
    assert table["status"].str.contains(NOT_LAW, regex=False).all()
    assert (table["source"] != "").all()
    assert table["rule"].is_unique


def test_screen_leaves_its_tables_alone(brackwater):
    before = {name: table.copy() for name, table in brackwater.tables.items()}
    screen(brackwater)
    for name, table in brackwater.tables.items():
        pd.testing.assert_frame_equal(table, before[name])


def test_warn_keeps_reasons(brackwater):
    mild = replace(
        brackwater,
        settings=change_setting(brackwater.settings, "siting.screen", "warn"),
    )
    assert screen(mild)["reason"].tolist() == screen(brackwater)["reason"].tolist()
    assert not refused(screen(mild))
