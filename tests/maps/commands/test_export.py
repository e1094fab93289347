"""A scenario exported comes back equal: every table, every setting, every change."""

import shutil
import tempfile
from pathlib import Path

import geopandas
import pytest
import shapely
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from pandas.testing import assert_frame_equal
from support.places import ROOT
from typer.testing import CliRunner

from logistics.scenario import (
    ScenarioError,
    new_scenario,
    read_scenario,
    tables,
    with_table,
    write_scenario,
)
from logistics.scenario.workbook import MOST_LETTERS, write_book
from maps.commands import app
from maps.shared.output_folder import OF_A_SCENARIO

PLACED = ("sources", "yards", "markets", "people", "land", "roads")
FORMS = ("gpkg", "xlsx", "csv")
AWKWARD = [
    'Mill "A", O\'Brien & <b>',
    "=1+1",
    "@x",
    "مطحنة 7",
    "7",
    "  été  ",
    "a;b\tc",
]


def export(folder, form, out):
    return CliRunner().invoke(
        app, ["export", str(folder), "--to", form, "--out", str(out)]
    )


def shape_free(frame):
    """Shapes as shapes: their texts may be spelt with other zeros."""
    if "wkt" not in frame or not len(frame):
        return frame
    return frame.assign(wkt=shapely.to_wkb(shapely.from_wkt(frame["wkt"].tolist())))


def same(ours, theirs):
    """Whether two scenarios are equal, down to which cells are defaults."""
    for table in tables():
        one, other = ours.table(table), theirs.table(table)
        exact = table != "calendar"  # shares are divided by their sum again
        assert_frame_equal(
            shape_free(one), shape_free(other), check_exact=exact, rtol=1e-12, obj=table
        )
    assert ours.settings == theirs.settings
    assert ours.defaults_used.equals(theirs.defaults_used)
    return True


@pytest.mark.slow
@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("demo", ["highlake", "brackwater"])
def test_a_demo_comes_back_equal(demo, form, tmp_path):
    folder = ROOT / "scenarios" / demo
    done = export(folder, form, tmp_path / "out")
    assert done.exit_code == 0, done.output
    assert same(read_scenario(folder), read_scenario(tmp_path / "out"))
    ours = {f.name: f.read_bytes() for f in folder.glob("changes/*")}
    assert ours == {f.name: f.read_bytes() for f in tmp_path.glob("out/changes/*")}


@pytest.fixture(scope="module")
def starter(tmp_path_factory):
    folder = tmp_path_factory.mktemp("starter") / "d"
    new_scenario(folder)
    return folder


@pytest.mark.parametrize("form", FORMS)
def test_the_starter_comes_back_equal_with_its_notes(form, starter, tmp_path):
    folder = Path(shutil.copytree(starter, tmp_path / "d"))
    text = (folder / "yards.csv").read_text(encoding="utf-8").splitlines()
    text = [text[0] + ",note_photo", text[1] + ",=gate 1.jpg", text[2] + ","]
    (folder / "yards.csv").write_text("\n".join(text) + "\n", encoding="utf-8")
    assert export(folder, form, tmp_path / "out").exit_code == 0
    assert same(read_scenario(folder), read_scenario(tmp_path / "out"))
    again = export(tmp_path / "out", "csv", tmp_path / "again")
    assert again.exit_code == 0, again.output
    if form != "gpkg":  # whose notes stay in its layers
        kept = (tmp_path / "again" / "yards.csv").read_text(encoding="utf-8")
        assert kept.splitlines()[1].endswith(",=gate 1.jpg")


def round_trip(form, names, numbers):
    """A starter with other names and numbers, exported and read."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        new_scenario(folder / "a")
        base = read_scenario(folder / "a")
        sources = base.sources.assign(
            name=names[:3],
            phone=names[3:6],
            amount=numbers[:3],
            conversion_source=names[1],
        )
        write_scenario(with_table(base, "sources", sources), folder / "b")
        done = export(folder / "b", form, folder / "c")
        assert done.exit_code == 0, done.output
        return same(read_scenario(folder / "b"), read_scenario(folder / "c"))


TEXTS = st.text(
    st.characters(exclude_categories=("C", "Zl", "Zp")), min_size=1, max_size=12
).map(str.strip)
NUMBERS = st.floats(0.001, 1e7, allow_nan=False).map(lambda x: float(repr(x)))


@pytest.mark.slow
@pytest.mark.parametrize("form", FORMS)
def test_awkward_names_and_long_numbers_come_back(form):
    assert round_trip(form, AWKWARD, [0.1 + 0.2, 1234.125, 1e7 / 3])


@pytest.mark.thorough
@pytest.mark.parametrize("form", FORMS)
@settings(max_examples=4, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    names=st.lists(TEXTS, min_size=6, max_size=6),
    numbers=st.lists(NUMBERS, min_size=3, max_size=3),
)
@example(names=AWKWARD[:6], numbers=[1.0, 2.0, 3.0])
def test_any_name_and_number_comes_back(form, names, numbers):
    """Four examples a form; 25 were tried once by hand, without a difference."""
    assert round_trip(form, names, numbers)


@pytest.fixture(scope="module")
def kml(tmp_path_factory):
    out = tmp_path_factory.mktemp("kml") / "out"
    return export(ROOT / "scenarios" / "highlake", "kml", out), out / "places.kml"


def test_kml_says_in_one_line_what_it_does_not_hold(kml):
    last = kml[0].stdout.splitlines()[-1]
    assert last == (
        "KML holds places only. It does not hold the settings, the changes or the "
        "tables materials, calendar, periods, yard_sizes, trucks, policy: use gpkg, "
        "xlsx or csv for all of it."
    )


def test_kml_is_read_by_gdal(kml):
    """The outside check: every row a feature, at its place, with its name."""
    scenario = read_scenario(ROOT / "scenarios" / "highlake")
    for table in ("sources", "yards", "markets", "people"):
        layer = geopandas.read_file(kml[1], layer=table)
        frame = scenario.table(table)
        assert list(layer["Name"]) == list(frame["name"])
        assert layer.geometry.x.to_numpy() == pytest.approx(frame["lon"].to_numpy())
        assert layer.geometry.y.to_numpy() == pytest.approx(frame["lat"].to_numpy())
    assert len(geopandas.read_file(kml[1], layer="land")) == len(scenario.land)


@pytest.mark.slow
def test_kml_comes_back_through_bring(kml, tmp_path):
    """Into the scenario without its places: all cells again, and nothing is asked."""
    source = ROOT / "scenarios" / "highlake"
    folder = Path(shutil.copytree(source, tmp_path / "d"))
    for table in PLACED:
        file = folder / f"{table}.csv"
        if file.is_file():
            head = file.read_text(encoding="utf-8").splitlines()[0]
            file.write_text(head + "\n", encoding="utf-8")
    done = CliRunner().invoke(app, ["bring", str(kml[1]), str(folder), "--yes"])
    assert done.exit_code == 0, done.output
    ours, theirs = read_scenario(source), read_scenario(folder)
    for table in PLACED:
        assert_frame_equal(
            shape_free(ours.table(table)), shape_free(theirs.table(table)), obj=table
        )


def test_nothing_is_written_into_a_scenario(starter, tmp_path):
    folder = Path(shutil.copytree(starter, tmp_path / "d"))
    before = {f.name: f.read_bytes() for f in folder.iterdir()}
    for _ in range(2):  # nor into an export, which is a scenario
        done = export(folder, "gpkg", folder)
        assert done.exit_code == 2
        assert "holds the tables of a district" in done.stderr
    assert {f.name: f.read_bytes() for f in folder.iterdir()} == before
    assert export(folder, "csv", tmp_path / "out").exit_code == 0
    assert export(folder, "csv", tmp_path / "out").exit_code == 2


def test_an_export_is_whole_or_not_there(starter, tmp_path, monkeypatch):
    def fail(*_):
        raise PermissionError(13, "Permission denied", "scenario.toml")

    monkeypatch.setattr("logistics.scenario.copy_settings", fail)
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.csv").write_text("mine")
    assert export(starter, "csv", tmp_path / "out").exit_code == 2
    assert [f.name for f in (tmp_path / "out").iterdir()] == ["mine.csv"]


@pytest.mark.parametrize(("letters", "fits"), [(0, True), (1, False)])
def test_a_shape_too_long_for_a_cell_is_a_fault_of_xlsx(letters, fits, tmp_path):
    text = "x" * (MOST_LETTERS + letters)
    sheets = {"districts": [["district", "name"], ["a", text]]}
    if fits:
        write_book(tmp_path / "t.xlsx", sheets, [["table"]])
        return
    with pytest.raises(ScenarioError, match="districts, row 2, column 'name'"):
        write_book(tmp_path / "t.xlsx", sheets, [["table"]])
    assert list(tmp_path.iterdir()) == []


def test_an_export_names_its_files_one_by_one():
    """A star would take a user's own tables away."""
    assert set(OF_A_SCENARIO) == set(tables())
