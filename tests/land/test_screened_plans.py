"""Plans keep to the land screening: refused yards stay shut, barred lanes empty."""

from dataclasses import replace

import numpy as np
import pytest
from support.places import SCENARIOS
from support.siting_ground import BASE, district, land, point, rules, square

from logistics.land.screening import refused, screen
from logistics.model.assembly.assembler import assemble
from logistics.results.pipeline import run
from logistics.roads.travel_matrices import travel
from logistics.scenario.edits import with_table
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting
from maps.geo.geopackage import layers
from maps.geo.map_contents import map_data
from maps.tables.all_tables import tables
from maps.tables.siting import screening_line


def near(yard, metres, kind="well"):
    """Land with one feature so many metres north of a yard."""
    row = BASE.yards.set_index("yard").loc[yard]
    middle = {"lon": row["lon"], "lat": row["lat"]}
    shape = square(0, metres, 5, **middle) if kind == "dwellings" else None
    return land((kind, "Near", shape or point(0, metres, **middle)))


def test_a_refused_yard_has_no_size():
    world = district(near("reef", 90), BASE.yards, rules(well=100))
    screening = screen(world)
    instance = assemble(world, travel(world), screening).instance
    codes = np.array(instance.yards.codes)[instance.options.yard]
    assert refused(screening) == {"reef"}
    assert set(codes) == {"mole", "shoal"}
    every = assemble(world, travel(world)).instance
    assert set(np.array(every.yards.codes)[every.options.yard]) == set(
        every.yards.codes
    )


def test_a_barred_lane_is_not_offered():
    world = district(near("reef", 400, "dwellings"), BASE.yards, rules())
    instance = assemble(world, travel(world), screen(world)).instance
    pier = instance.supply.codes.index("pier")
    reef = instance.yards.codes.index("reef")
    lanes = instance.inbound
    assert not ((lanes.site == pier) & (lanes.yard == reef)).any()
    assert ((lanes.site != pier) & (lanes.yard == reef)).any()


@pytest.mark.slow
def test_plan_without_the_refused_yard():
    """The yard the plan would build is refused: it builds another and costs more."""
    bare = BASE.yards.assign(existing_size="")
    free = run(with_table(BASE, "yards", bare))
    used = free.plan.yards["yard"].item()
    shut = run(district(near(used, 60), bare, rules(well=100)))
    assert len(shut.plan.yards) == 1
    assert used not in set(shut.plan.yards["yard"])
    assert used not in set(shut.plan.hauls["yard"])
    assert shut.summary["yards_refused"] == [used]
    assert shut.plan.objective > free.plan.objective


@pytest.mark.slow
def test_all_candidates_refused_still_gives_an_answer():
    everywhere = land(("flood", "All", "POLYGON ((-31 0, -30 0, -30 1, -31 1, -31 0))"))
    world = district(everywhere, BASE.yards, rules(flood=0))
    shown = run(world)
    assert set(shown.plan.yards["yard"]) <= {"shoal"}
    bare = BASE.yards.assign(existing_size="")
    none = run(with_table(world, "yards", bare))
    assert none.plan.yards.empty
    assert none.plan.uncollected["tonnes"].sum() > 0


@pytest.mark.slow
def test_screen_off_plans_as_before():
    world = district(near("reef", 60), BASE.yards, rules(well=100), screen="off")
    result = run(world)
    assert result.screening.empty
    assert result.plan.objective == pytest.approx(run(BASE).plan.objective, rel=1e-3)


@pytest.mark.slow
def test_strict_setbacks_are_shown_with_their_reasons():
    """Three times the distances: six or more candidates refused, and told why."""
    scenario = read_scenario(SCENARIOS / "brackwater")
    table = scenario.siting_rules
    longer = table["comparison"] == "at_least"
    value = table["value"].where(~longer, table["value"] * 3)
    scenario = with_table(scenario, "siting_rules", table.assign(value=value))
    settings = change_setting(scenario.settings, "solve.gap_pct", 5)
    result = run(replace(scenario, settings=settings))
    out = set(result.summary["yards_refused"])
    assert len(out) >= 6
    assert not out & set(result.plan.yards["yard"])
    sheet = tables(result)["screening"]
    assert out <= set(sheet["yard"])
    layer = layers(result)["yards"].set_index("yard")
    shown = {yard["code"]: yard for yard in map_data(result)["yards"]}
    for yard in out:
        assert layer.loc[yard, "status"] == shown[yard]["status"] == "refused"
        assert (
            "needs" in layer.loc[yard, "reasons"]
            or "may be" in layer.loc[yard, "reasons"]
        )
        assert shown[yard]["screening"][0][0] == "refused"
    assert f"{len(out)} candidates refused" in screening_line(result)


@pytest.mark.thorough
def test_the_causeway_would_be_built_on_without_the_screen(brackwater_planned):
    """As the README of the demo tells: cheaper, and on flood land."""
    kept = brackwater_planned
    settings = change_setting(kept.scenario.settings, "siting.screen", "off")
    yards = [yard for yard in kept.plan.yard_sizes if yard[0] != "yard_d3"]
    assert len(yards) < len(kept.plan.yard_sizes)
    yards.append(("yard_d1", "medium"))
    free = run(replace(kept.scenario, settings=settings), yards=yards)
    assert "yard_d1" in set(free.plan.yards["yard"])
    assert "yard_d1" not in set(kept.plan.yards["yard"])
    assert free.plan.objective < kept.plan.bound
