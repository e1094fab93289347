"""A district across the 180th meridian: written on beyond 180, or told to be."""

import json
import re
import shutil
from pathlib import Path

import pandas as pd
import pytest
from support.places import SMALL
from typer.testing import CliRunner

from logistics.land import propose
from logistics.results import run
from logistics.roads import import_roads, travel
from logistics.scenario import ScenarioError, lon_about, read_scenario
from maps.commands.command_line import app
from maps.geo import write_kml

EAST = 210.46
"""Moves the smallest district so that 180 degrees lies in its middle. [degrees]"""
POINTS = ("sources", "yards", "markets")


def moved(folder: Path, east: float, *, edges: tuple[float, float] | None) -> Path:
    """Copy the smallest district, moved; longitudes beyond 180 as `edges` has them."""
    shutil.copytree(SMALL, folder)
    for table in POINTS:
        rows = pd.read_csv(folder / f"{table}.csv", dtype=str, keep_default_na=False)
        beyond = edges is not None and edges[1] > 180
        lon = rows["lon"].astype(float) + east
        lon = lon.where((lon <= 180) | beyond, lon - 360)
        rows["lon"] = lon.round(4).astype(str)
        rows.to_csv(folder / f"{table}.csv", index=False)
    path = folder / "scenario.toml"
    text = path.read_text()
    west, right = edges or (-180, 180)
    text = re.sub(r"west = .*", f"west = {west}", text)
    path.write_text(re.sub(r"east = .*", f"east = {right}", text))
    return folder


@pytest.fixture(scope="module")
def across(tmp_path_factory):
    return moved(tmp_path_factory.mktemp("a") / "across", EAST, edges=(179.46, 180.46))


def told(folder: Path) -> list[str]:
    with pytest.raises(ScenarioError) as found:
        read_scenario(folder)
    return [str(one) for one in found.value.problems]


def test_its_plan_is_that_of_the_same_district_elsewhere(across):
    """Distances are those of any other meridian, and so is the money."""
    scenario, home = read_scenario(across), read_scenario(SMALL)
    assert scenario.yards["lon"].max() > 180
    here, there = travel(scenario), travel(home)
    assert here.sites == there.sites
    assert here.states[0].km == pytest.approx(there.states[0].km, rel=1e-9)
    assert run(scenario).summary["total_cost"] == pytest.approx(
        run(home).summary["total_cost"], rel=1e-4
    )


def test_sites_are_proposed_on_both_sides(across):
    scenario = read_scenario(across)
    found = propose(scenario, count=5, spacing_km=2)["lon"]
    assert len(found)
    assert found.between(179, 181).all()
    assert propose(read_scenario(SMALL), count=5, spacing_km=2)["lon"].to_numpy() + (
        EAST
    ) == pytest.approx(found.to_numpy(), abs=2e-5)


def test_other_programs_get_longitudes_up_to_180(across, tmp_path):
    write_kml(run(read_scenario(across)), tmp_path / "plan.kml")
    text = (tmp_path / "plan.kml").read_text()
    lons = [float(x) for x in re.findall(r"(-?\d+\.\d+),-?\d+\.\d+", text)]
    assert min(lons) < -179
    assert 179 < max(lons) <= 180


@pytest.mark.slow
def test_tracks_of_drivers_are_read_by_any_receiver(across, tmp_path):
    shutil.copytree(across, tmp_path / "d")
    asked = ["rounds", str(tmp_path / "d"), "--period", "m01", "--iterations", "10"]
    done = CliRunner().invoke(app, [*asked, "--workers", "1"])
    assert done.exit_code == 0, done.output
    tracks = list((tmp_path / "d" / "out").rglob("*.gpx"))
    found = [
        float(x)
        for path in tracks
        for x in re.findall(r'lon="(-?[\d.]+)"', path.read_text())
    ]
    assert min(found) < -179
    assert 179 < max(found) <= 180


def test_roads_of_a_map_are_written_on_beyond_180(across, tmp_path):
    lines = [[[179.94, 0.4], [180.0, 0.5]], [[-180.0, 0.5], [-179.94, 0.5]]]
    features = [
        {
            "type": "Feature",
            "properties": {"highway": "primary"},
            "geometry": {"type": "LineString", "coordinates": line},
        }
        for line in lines
    ]
    path = tmp_path / "roads.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    found = import_roads(read_scenario(across), path).roads["wkt"]
    assert list(found) == [
        "LINESTRING (179.94 0.4, 180 0.5)",
        "LINESTRING (180 0.5, 180.06 0.5)",
    ]


def test_points_on_both_sides_without_edges_are_one_fault(tmp_path):
    (fault,) = told(moved(tmp_path / "d", EAST, edges=None))
    assert fault == (
        "sources.csv, row 4, column 'lon': -179.94 lies across the 180th meridian "
        "from others. Write 180.06 for it, all others west of -170 in the same way, "
        "and the district's edges in scenario.toml, with east = 181."
    )


@pytest.mark.parametrize("east", [EAST - 0.1, EAST + 0.2, 30.48])
def test_a_district_on_one_side_is_read(tmp_path, east):
    """West or east of the meridian; and one across that of 0 degrees."""
    folder = moved(tmp_path / "d", east, edges=None)
    assert len(read_scenario(folder).sources) == 4


def test_edges_the_wrong_way_round_say_what_to_write(tmp_path):
    faults = told(moved(tmp_path / "d", EAST, edges=(179, -179)))
    assert any("Write east = 181 if the district lies across" in one for one in faults)
    other = tmp_path / "other"
    faults = told(moved(other, 0, edges=(-29, -30)))
    assert any(one.endswith("Correct one of the two.") for one in faults)


def test_each_point_from_the_other_side_is_told(tmp_path, across):
    folder = shutil.copytree(across, tmp_path / "d")
    path = folder / "sources.csv"
    path.write_text(path.read_text().replace("180.06", "-179.94"))
    assert told(folder) == [
        "sources.csv, row 4, column 'lon': -179.94 is written from the other side of "
        "180. Write lon 180.06."
    ]


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("-179.99 0.5, -179.9 0.5", "is written from the other side of 180"),
        ("179.99 0.5, -179.9 0.5", "reaches half round the earth"),
        ("181.5 0.5, 182 0.5", "lies outside the district"),
        ("361 0.5, 180.1 0.5", "has coordinates that are not degrees"),
        ("179.99 0.5, 180.1 0.5", ""),
    ],
)
def test_lines_are_held_against_the_same_side(tmp_path, across, line, why):
    folder = shutil.copytree(across, tmp_path / "d")
    (folder / "roads.csv").write_text(
        f'road,class,wkt\na,paved_main,"LINESTRING ({line})"\n'
    )
    try:
        read_scenario(folder)
    except ScenarioError as error:
        faults = [str(one) for one in error.problems]
    else:
        faults = []
    about = [one for one in faults if "column 'wkt'" in one]
    assert len(about) == bool(why)
    assert all(why in one for one in about)


def test_a_longitude_that_is_near_stays_to_the_last_digit():
    assert lon_about(-30.123456789012345, -31.5) == -30.123456789012345
    assert lon_about(-179.5, 0.4) == -179.5
    assert lon_about(-179.5, 0.6) == 180.5
