"""Proposed sites: by the rules, near the feedstock, apart, and never over yards.csv."""

import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import shapely
from support.places import SCENARIOS
from support.siting_ground import BASE, district, land, rules
from typer.testing import CliRunner

from logistics.land.proposals import FILE, propose, write_proposals
from logistics.land.screening import refused, screen
from logistics.roads.geometry import geodesic_km
from logistics.scenario.edits import with_table
from logistics.scenario.scenario import read_scenario
from logistics.scenario.schema import columns_of
from maps.commands.command_line import app

RUNNER = CliRunner()


@pytest.fixture(scope="module")
def brackwater():
    return read_scenario(SCENARIOS / "brackwater")


@pytest.fixture(scope="module")
def proposed(brackwater):
    return propose(brackwater, count=5, spacing_km=2)


def as_yards(scenario, proposals):
    """Scenario whose yards are the proposals."""
    rows = scenario.yards.head(0).reindex(range(len(proposals)))
    rows = rows.assign(existing_size="", decision="free")
    for name in ("yard", "lon", "lat", "area_m2"):
        rows[name] = proposals[name].to_numpy()
    return with_table(scenario, "yards", rows)


def test_no_rule_refuses_a_proposal(brackwater, proposed):
    assert len(proposed) == 5
    assert not refused(screen(as_yards(brackwater, proposed)))


def test_proposals_lie_on_land_apart_and_in_their_district(brackwater, proposed):
    shapes = brackwater.land.assign(shape=shapely.from_wkt(brackwater.land["wkt"]))
    dry = shapely.union_all(shapes.loc[shapes["kind"] == "land", "shape"].to_numpy())
    places = shapely.points(proposed["lon"], proposed["lat"])
    assert shapely.contains(dry, places).all()
    rings = shapes[shapes["kind"] == "district"].set_index("land")["shape"]
    for place, code in zip(places, proposed["district"], strict=True):
        assert rings[code].contains(place)
    kept = brackwater.yards[
        ~brackwater.yards["yard"].isin(list(refused(screen(brackwater))))
    ]
    lon, lat = (pd.concat([proposed[c], kept[c]]).to_numpy() for c in ("lon", "lat"))
    km = geodesic_km(lon[:, None], lat[:, None], lon, lat)
    assert km[:5][~np.eye(5, len(lon), dtype=bool)].min() >= 1.9


@pytest.mark.slow
def test_best_first_and_the_same_again(brackwater, proposed):
    assert proposed["gain_t_km"].is_monotonic_decreasing
    assert (proposed["within_reach_t"] > 0).all()
    pd.testing.assert_frame_equal(propose(brackwater, 5, 2), proposed)
    fewer = propose(brackwater, 2, 2)
    assert fewer["lon"].tolist() == proposed["lon"].tolist()[:2]


def test_the_only_heap_draws_the_proposal_to_it():
    """One mill, no yards in use: the proposal is the grid point nearest to it."""
    world = district(land(), BASE.yards.assign(decision="closed"), rules(area=np.nan))
    world = with_table(world, "sources", BASE.sources.head(1))
    found = propose(world, count=3, spacing_km=2)
    mill = BASE.sources.iloc[0]
    km = geodesic_km(found["lon"], found["lat"], mill["lon"], mill["lat"])
    assert km[0] <= 2**0.5 + 0.01
    assert found.loc[0, "within_reach_t"] == pytest.approx(1500)
    assert (found["mean_km"] > 0).all()


def test_a_yard_in_use_takes_the_supply_about_it():
    """With a yard at the mill already nothing comes nearer."""
    one = BASE.sources.head(1)
    here = BASE.yards.head(1).assign(lon=one["lon"], lat=one["lat"])
    world = district(land(), here, rules(area=np.nan))
    assert propose(with_table(world, "sources", one), 3, 2).empty


@pytest.mark.slow
def test_a_rule_for_one_feedstock_takes_its_tonnes_away():
    """Homes all over: the fish does not count, the husk does."""
    homes = land(("dwellings", "All", "POLYGON ((-31 0, -30 0, -30 1, -31 1, -31 0))"))
    world = district(homes, BASE.yards.assign(decision="closed"), rules(homes_spoils=9))
    fish = with_table(world, "sources", BASE.sources[BASE.sources["source"] == "pier"])
    assert propose(fish, 3, 5).empty
    husk = with_table(world, "sources", BASE.sources.head(1))
    assert len(propose(husk, 3, 5))


def test_too_fine_a_grid_is_refused(brackwater):
    with pytest.raises(ValueError, match="use a spacing of at least"):
        propose(brackwater, 3, 0.05)


def test_written_rows_are_of_the_yards_table(proposed, tmp_path):
    path = write_proposals(proposed, tmp_path)
    assert path == tmp_path / FILE
    rows = pd.read_csv(path, dtype=str, keep_default_na=False)
    assert list(rows.columns) == [c.name for c in columns_of("yards")]
    assert set(rows["status"]) == {"proposal"}
    assert (rows["water_m3_per_day"] == "").all()
    assert rows["name"].tolist()[0] == "proposal 1"


@pytest.fixture
def folder(tmp_path):
    return Path(shutil.copytree(SCENARIOS / "highlake", tmp_path / "highlake"))


@pytest.mark.slow
def test_command_writes_beside_yards_and_leaves_them(folder):
    before = (folder / "yards.csv").read_bytes()
    arguments = ["sites", str(folder), "--count", "3", "--spacing", "2"]
    done = RUNNER.invoke(app, arguments)
    assert done.exit_code == 0, done.output
    assert "proposal 3" in done.output
    assert "not law" in done.output
    assert (folder / "yards.csv").read_bytes() == before
    assert len(pd.read_csv(folder / FILE)) == 3
    assert RUNNER.invoke(app, ["check", str(folder)]).exit_code == 0


def test_copied_rows_read_back_once_water_is_known(folder):
    RUNNER.invoke(app, ["sites", str(folder), "--count", "2", "--spacing", "2"])
    new = pd.read_csv(folder / FILE, dtype=str, keep_default_na=False)
    old = pd.read_csv(folder / "yards.csv", dtype=str, keep_default_na=False)
    both = pd.concat([old, new.assign(water_m3_per_day="20")]).fillna("")
    both.to_csv(folder / "yards.csv", index=False)
    scenario = read_scenario(folder)
    assert scenario.yards["yard"].tolist()[-2:] == ["proposal_1", "proposal_2"]
    assert not {"proposal_1", "proposal_2"} & refused(screen(scenario))


def test_command_says_when_the_grid_is_too_fine(folder):
    done = RUNNER.invoke(app, ["sites", str(folder), "--spacing", "0.05"])
    assert done.exit_code == 2
    assert "use a spacing of at least" in done.output


@pytest.mark.slow
def test_check_lists_what_is_refused():
    done = RUNNER.invoke(app, ["check", str(SCENARIOS / "brackwater")])
    assert done.exit_code == 0
    assert "yard_e10: refused" in done.output
    assert "a well 26 m, needs 100 m (Heron farm well" in done.output
    assert "yard_thrandmere: refused for some feedstock" in done.output
    assert "not checked, none is drawn in land: Property line" in done.output
