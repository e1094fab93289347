"""A map brought with `bring`: shown first, written after a yes, again the next year."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from support.map_extract import LAT, LON, STEP, district, with_sites
from typer.testing import CliRunner

from logistics.scenario import ScenarioError, TableText, new_scenario, read_scenario
from maps.bringing.ground_run import _refuse_long_cells
from maps.commands.command_line import app


def bring(*words):
    done = CliRunner().invoke(app, ["bring", *map(str, words)])
    assert done.exception is None or isinstance(done.exception, SystemExit)
    return done


def files_of(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.fixture
def crane(tmp_path):
    return with_sites(tmp_path / "crane")


@pytest.fixture
def extract(tmp_path):
    return district().write(tmp_path / "crane.osm")


@pytest.mark.slow
def test_a_map_is_shown_then_written_then_renewed(crane, extract):
    before = files_of(crane)
    shown = bring(extract, crane)
    assert shown.exit_code == 0
    for words in (
        "rivers and streams: 2 (25.5 km); 2 rows",
        "no distance to them moves by more than 10 m",
        "Left out: 1 of waterway=ditch",
        "Not asked: property lines: no open map holds them",
        "4 roads, 33.9 km.",
        "Local codes and a visit decide",
        "Add --yes to write the tables",
    ):
        assert words in shown.output
    assert {n for n, data in files_of(crane).items() if before.get(n) != data} == {
        "ground.toml"
    }
    assert bring(extract, crane, "--yes").exit_code == 0
    scenario = read_scenario(crane)
    assert len(scenario.roads) == 4
    assert set(scenario.places["name"]) == {"Midtown", "Low Ferry", "Upper Bend"}
    assert len(scenario.land) == 16
    facts = pd.read_csv(crane / "ground_sites.csv").set_index("code")
    assert facts.loc["herd", "district_outline"] == "East district"
    assert facts.loc["herd", "place"] == "Midtown"
    assert facts.loc["herd", "road_m"] == pytest.approx(663, abs=2)
    # rows drawn by hand stay, rows of the old map give way
    written = files_of(crane)
    land = (crane / "land.csv").read_text(encoding="utf-8")
    own = 'mine,My well,well,"POINT (-30.45 0.56)",,\n'
    (crane / "land.csv").write_text(land + own, encoding="utf-8")
    (crane / "ground.toml").write_text('[tags]\n"waterway=ditch" = "river"\n')
    again = bring(extract, crane, "--yes")
    assert again.exit_code == 0
    scenario = read_scenario(crane)
    assert "mine" in set(scenario.land["land"])
    assert (scenario.land["kind"] == "river").sum() == 3
    assert len(scenario.land) == 18
    assert files_of(crane)["roads.csv"] == written["roads.csv"]


@pytest.mark.slow
def test_roads_drawn_by_hand_stay_unless_told(crane, extract):
    row = 'own,My road,gravel,,,,,,,,,"LINESTRING (-30.48 0.5, -30.42 0.55)"\n'
    with (crane / "roads.csv").open("a", encoding="utf-8") as file:
        file.write(row)
    kept = bring(extract, crane, "--yes")
    assert "Roads stay: the table has 1 that no map gave" in kept.output
    assert read_scenario(crane).roads["road"].tolist() == ["own"]
    assert bring(extract, crane, "--yes", "--replace").exit_code == 0
    assert len(read_scenario(crane).roads) == 4


def test_a_map_needs_sites_of_ones_own(tmp_path, extract):
    """The starter's places are nowhere; without a folder there is nothing to map."""
    nowhere = bring(extract, tmp_path / "none")
    assert nowhere.exit_code == 2
    assert "Bring its sites first" in nowhere.output
    new_scenario(tmp_path / "new")
    before = files_of(tmp_path / "new")
    starter = bring(extract, tmp_path / "new", "--yes")
    assert starter.exit_code == 1
    assert "has the starter's invented places" in starter.output
    assert files_of(tmp_path / "new") == before


@pytest.mark.slow
def test_tables_and_a_map_are_brought_in_one_call(crane, extract, tmp_path):
    text = "Mill name,Longitude,Latitude,Rice husk (t)\nNew mill,-30.4,0.5,120\n"
    (tmp_path / "a.csv").write_text(text, encoding="utf-8")
    kind = ("--answer", "a.csv:values.season=even")
    first = bring(tmp_path / "a.csv", extract, crane, *kind)
    assert "The map comes next" in first.output
    assert not len(read_scenario(crane).roads)
    both = bring(tmp_path / "a.csv", extract, crane, *kind, "--yes")
    assert both.exit_code == 0, both.output
    made = read_scenario(crane)
    assert "New mill" in set(made.sources["name"])
    assert len(made.roads) == 4


def test_a_raster_has_to_be_named(crane, tmp_path):
    (tmp_path / "h.tif").write_bytes(b"II*\x00")
    asked = bring(tmp_path / "h.tif", crane)
    assert asked.exit_code == 2
    assert "add --as heights or --as heads" in asked.output


@pytest.mark.slow
def test_slopes_and_heads_come_from_rasters(crane, tmp_path):
    """A plane of 3 %: the blank slopes are filled, the one that was given stays."""
    rasterio = pytest.importorskip("rasterio", reason="needs the part [terrain]")
    cell = 0.0005
    for name, values in (
        ("heights.tif", 0.03 * 55.66 * np.ones((600, 1)) * np.arange(600)),
        ("heads.tif", np.full((600, 600), 0.5)),
    ):
        with rasterio.open(
            tmp_path / name, "w", driver="GTiff", width=600, height=600, count=1,
            dtype="float32", crs="EPSG:4326",
            transform=rasterio.transform.from_origin(
                LON - 10 * STEP, LAT + 20 * STEP, cell, cell),
        ) as file:  # fmt: skip
            file.write(values.astype("float32"), 1)
    yards = pd.read_csv(crane / "yards.csv", dtype=str)
    yards.loc[0, "slope_pct"] = "1.5"
    yards.to_csv(crane / "yards.csv", index=False)
    done = bring(tmp_path / "heights.tif", crane, "--as", "heights", "--yes")
    assert done.exit_code == 0
    assert "East field: slope 3.0 %" in done.output
    assert "taken for a surface model" in done.output
    slopes = read_scenario(crane).yards["slope"].tolist()
    assert slopes == pytest.approx([0.015, 0.03])
    counted = bring(tmp_path / "heads.tif", crane, "--as", "heads", "--yes")
    assert counted.exit_code == 0
    people = read_scenario(crane).people
    assert f"{people['heads'].sum():,.0f} heads" in counted.output
    # again: the rows of the first time give way
    bring(tmp_path / "heads.tif", crane, "--as", "heads", "--yes")
    assert len(read_scenario(crane).people) == len(people)


@pytest.mark.parametrize(
    ("name", "letters", "fits"),
    [("t.xlsx", 32_767, True), ("t.xlsx", 32_768, False), ("land.csv", 32_768, True)],
)
def test_a_workbook_takes_no_shape_that_it_would_cut_short(name, letters, fits):
    text, rows = TableText("land", Path(name)), [{"land": "a", "wkt": "x" * letters}]
    if fits:
        _refuse_long_cells(text, rows)
        return
    with pytest.raises(ScenarioError, match=r"32,768 letters; a workbook's cell holds"):
        _refuse_long_cells(text, rows)
