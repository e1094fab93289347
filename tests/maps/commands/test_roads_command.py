"""`loamhaul roads` brings a road file into a scenario, and `check` warns of roads."""

import shutil
from pathlib import Path

import geopandas as gpd
import openpyxl
import pandas as pd
import pytest
import shapely
from support.places import SMALL
from support.template_book import filled_book
from typer.testing import CliRunner

import logistics.scenario
from logistics.roads.travel_matrices import travel
from logistics.scenario.scenario import read_scenario
from logistics.scenario.schema import plain_name
from maps.commands.command_line import app


def line(*points):
    return shapely.LineString(points)


# a ring past all sites of the small district, torn and crossing without vertices
DRAWN = {
    "West Road": line((-30.53, 0.40), (-30.53, 0.62)),
    "North Road": line((-30.56, 0.575), (-30.38, 0.575)),
    "East Road": line((-30.41, 0.57505), (-30.41, 0.46)),  # 5.5 m past North Road
    "South Road": line((-30.56, 0.46), (-30.4099, 0.46)),
    "Far Lane": line((-30.10, 0.10), (-30.11, 0.10)),
    "South again": line((-30.4099, 0.46), (-30.56, 0.46)),
    "Torn Road": line((-30.45, 0.46), (-30.45, 0.57495)),  # 5.5 m short of it
}


@pytest.fixture
def folder(tmp_path):
    return Path(shutil.copytree(SMALL, tmp_path / "small"))


@pytest.fixture
def file(tmp_path):
    frame = gpd.GeoDataFrame(
        {"name": list(DRAWN), "class": "paved_local"},
        geometry=list(DRAWN.values()),
        crs=4326,
    )
    path = tmp_path / "drawn.gpkg"
    frame.to_crs(3857).to_file(path, layer="anything")
    return path


def call(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def test_roads_are_mended_written_and_told(folder, file):
    answer = call("roads", file, folder)
    assert answer.exit_code == 0, answer.output
    for words in (
        "7 lines read, 0 outside the district",
        "1 gap joined",
        "1 duplicate road dropped",
        "1 cut-off part that serves no site dropped",
        "gap: Torn Road (r7), 5.5 m, stops short of North Road (r2)",
        "twin: South again (r6)",
        "island: Far Lane (r5), 1,11",
        "roads.csv, roads_report.csv",
    ):
        assert words in answer.output
    made = read_scenario(folder)
    assert set(made.roads["name"]) == set(DRAWN) - {"Far Lane", "South again"}
    result = travel(made)
    assert (result.states[0].km < 100).all()  # everybody reaches everybody
    report = pd.read_csv(folder / "roads_report.csv")
    counted = report["what"].value_counts()
    assert counted["gap"] == counted["twin"] == counted["island"] == 1
    assert counted["crossing"] >= 5
    checked = call("check", folder)
    assert checked.exit_code == 0
    assert "warning" not in checked.output.partition("Land screening")[0]


def test_roads_that_are_there_are_kept_unless_told(folder, file):
    assert call("roads", file, folder).exit_code == 0
    before = (folder / "roads.csv").read_text()
    answer = call("roads", file, folder, "--tolerance", "0")
    assert answer.exit_code == 1
    assert "already has 5 roads. Add --replace" in answer.output
    assert (folder / "roads.csv").read_text() == before
    answer = call("roads", file, folder, "--tolerance", "0", "--replace")
    assert answer.exit_code == 0
    assert "gap" not in answer.output
    assert (folder / "roads.csv").read_text() != before


@pytest.mark.slow
def test_check_warns_of_loose_roads_and_lists_whom_they_cut_off(folder, file):
    frame = gpd.read_file(file).to_crs(4326)
    wkt = shapely.to_wkt(frame.geometry.to_numpy(), rounding_precision=7)
    kept = frame.assign(road=[f"r{i}" for i in range(len(frame))], wkt=wkt)
    kept[["road", "name", "class", "wkt"]].to_csv(folder / "roads.csv", index=False)
    answer = call("check", folder)
    assert answer.exit_code == 3  # nothing is joined to anything: no yard has a use
    assert "cannot be reached" in answer.output
    assert "No yard can compost anything: no mix of" in answer.output
    assert "stops 5.5 m short of North Road (r1)" in answer.output
    call("roads", file, folder, "--replace")
    table = pd.read_csv(folder / "roads.csv")
    table.loc[len(table)] = {
        "road": "loose",
        "name": "Loose End",
        "class": "gravel",
        "wkt": "LINESTRING (-30.43 0.46004, -30.43 0.48)",
    }
    table.to_csv(folder / "roads.csv", index=False)
    answer = call("check", folder)
    assert answer.exit_code == 0, answer.output
    assert "stops 4.4 m short of South Road (r4)" in answer.output
    assert "part of 1 roads" in answer.output


def test_a_file_that_is_no_road_data_is_told(folder, tmp_path):
    (tmp_path / "x.shp").write_text("no")
    answer = call("roads", tmp_path / "x.shp", folder)
    assert answer.exit_code == 1
    assert "cannot be opened as road data" in answer.output
    assert not (folder / "roads.csv").exists()
    answer = call("roads", tmp_path / "missing.gpkg", folder)
    assert answer.exit_code == 1


def test_roads_elsewhere_are_told(folder, tmp_path):
    path = tmp_path / "far.geojson"
    gpd.GeoDataFrame(geometry=[line((10, 50), (11, 50))], crs=4326).to_file(path)
    answer = call("roads", path, folder)
    assert answer.exit_code == 1
    assert "no road in the district; 1 lines were read" in answer.output


def book_of(folder, format="xlsx"):
    """Return a new scenario and a road file that passes its sites."""
    if format == "xlsx":
        filled_book(folder)
    else:
        assert call("new", folder, "--format", format).exit_code == 0
    road = line((-30.53, 0.58), (-30.45, 0.55), (-30.40, 0.50), (-30.47, 0.60))
    path = folder.parent / "drawn.geojson"
    gpd.GeoDataFrame({"class": ["gravel"]}, geometry=[road], crs=4326).to_file(path)
    return path


def files_of(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.mark.slow
def test_a_new_workbook_takes_roads_beside_its_empty_sheet(tmp_path):
    folder = tmp_path / "mine"
    path = book_of(folder)
    answer = call("roads", path, folder)
    assert answer.exit_code == 0, answer.output
    assert len(read_scenario(folder).roads) > 0
    assert call("roads", path, folder, "--replace").exit_code == 0


@pytest.mark.slow
def test_roads_in_a_sheet_are_not_replaced_and_nothing_is_written(tmp_path):
    folder = tmp_path / "mine"
    path = book_of(folder)
    book = openpyxl.load_workbook(folder / "tables.xlsx")
    sheet = book["roads"]
    headings = [plain_name(cell.value) for cell in sheet[1]]
    row = {"road": "r1", "class": "gravel", "wkt": "LINESTRING (-30.5 0.5, -30.4 0.5)"}
    sheet.append([row.get(heading) for heading in headings])
    book.save(folder / "tables.xlsx")
    before = files_of(folder)
    answer = call("roads", path, folder, "--replace")
    assert answer.exit_code == 1
    assert "tables.xlsx sheet 'roads': has 1 roads" in answer.output
    assert "Delete its rows below the headings" in answer.output
    assert files_of(folder) == before


@pytest.mark.parametrize("spoilt", ["roads.csv", "roads_report.csv"])
def test_roads_that_cannot_be_written_leave_the_folder_as_it_was(
    tmp_path, spoilt, monkeypatch
):
    folder = tmp_path / "mine"
    path = book_of(folder, "csv")
    before = files_of(folder)
    kept = logistics.scenario.replace_file

    def fails(target, text):
        if target.name == spoilt:
            raise PermissionError(13, "Permission denied", str(target))
        kept(target, text)

    monkeypatch.setattr("logistics.scenario.replace_file", fails)
    answer = call("roads", path, folder)
    assert answer.exit_code == 2
    assert "Nothing was written" in answer.output
    assert files_of(folder) == before
