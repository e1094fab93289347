"""A scenario reads the same from any file a planner's programs may write."""

import csv
import shutil
import subprocess
import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import openpyxl
import pandas as pd
import pytest
import xlsxwriter
from support.places import ROOT, SCENARIOS, SMALL

from logistics.scenario.faults import ScenarioError
from logistics.scenario.scenario import Scenario, read_scenario, write_scenario
from logistics.scenario.schema import columns_of, tables

BASE = read_scenario(SMALL)
NAMES = [name for name in tables() if (SMALL / f"{name}.csv").exists()]


def same(a: Scenario, b: Scenario) -> None:
    assert a.settings == b.settings
    for table in tables():
        pd.testing.assert_frame_equal(a.table(table), b.table(table), obj=table)
    pd.testing.assert_frame_equal(a.defaults_used, b.defaults_used)


def lines(table: str) -> list[list[str]]:
    with (SMALL / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


@pytest.fixture
def copy(tmp_path) -> Path:
    return Path(shutil.copytree(SMALL, tmp_path / "copy"))


def test_typed_tables():
    """Percentages are shares under a shorter name; blanks and defaults are typed."""
    fish = BASE.materials.set_index("material").loc["fish"]
    assert fish["moisture"] == 0.76
    assert fish["keep_hours"] == 12
    assert not fish["structure"]
    assert fish["available_carbon"] == 1
    assert fish["status"] == "default, not local"
    assert np.isnan(BASE.materials["keep_hours"][0])
    assert BASE.trucks["carries"].tolist() == [("all",), ("all",)]
    assert BASE.trucks["hire_limit"].isna().all()
    assert BASE.trucks["speed_factor"].tolist() == [1.0, 1.0]
    assert BASE.sources["must_collect"].dtype == bool
    assert BASE.yards["existing_size"].tolist() == ["", "", "small"]


def test_every_table_and_column_is_there():
    for table in tables():
        frame = BASE.table(table)
        assert list(frame.columns) == [c.inside for c in columns_of(table)]
        assert isinstance(frame.index, pd.RangeIndex)
        assert getattr(BASE, table) is frame
    assert len(BASE.roads) == len(BASE.land) == len(BASE.policy) == 0


def test_shares_of_a_season_add_up_to_one():
    sums = BASE.calendar.groupby("season")["share"].sum()
    assert sums.to_numpy() == pytest.approx(1, abs=1e-12)


def test_tables_cannot_be_swapped_out():
    with pytest.raises(TypeError):
        BASE.tables["sources"] = BASE.yards


def test_defaults_are_listed():
    used = BASE.defaults_used
    rows = set(used[["table", "key", "column"]].itertuples(index=False, name=None))
    assert ("materials", "husk", "status") in rows
    assert ("trucks", "light", "speed_factor") in rows
    assert ("settings", "", "mix.cn_low") in rows
    assert ("settings", "", "solve.seconds") not in rows
    assert ("sources", "mill_north", "disposal") not in rows
    assert (used[used["table"] == "factors"]["value"] == "default, not local").all()


def test_months_fill_in_for_periods(copy):
    (copy / "periods.csv").unlink()
    periods = read_scenario(copy).periods
    assert periods["period"].tolist()[:2] == ["m01", "m02"]
    assert periods["days"].sum() == 365
    assert periods["working_days"].tolist()[:2] == [27, 24]


def test_own_factor_beats_the_library(copy):
    (copy / "factors.csv").write_text("factor,value\ngwp_ch4,27\n")
    scenario = read_scenario(copy)
    values = scenario.factors.set_index("factor")["value"]
    assert values["gwp_ch4"] == 27
    assert values["gwp_n2o"] == 265
    used = scenario.defaults_used.query("table == 'factors' and column == ''")
    assert "gwp_ch4" not in set(used["key"])


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le"]
)
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_any_encoding_and_delimiter(copy, encoding, delimiter, end):
    for table in NAMES:
        text = end.join(delimiter.join(row) for row in lines(table))
        text = text.replace("Fish pier", "Señal")
        (copy / f"{table}.csv").write_bytes(text.encode(encoding))
    scenario = read_scenario(copy)
    assert scenario.sources["name"][2] == "Señal"
    for table in set(NAMES) - {"sources"}:
        pd.testing.assert_frame_equal(BASE.table(table), scenario.table(table))


def test_untidy_spreadsheets_read_the_same(copy):
    """Spaces, capitals, blank rows and columns, and a note column do no harm."""
    for table in NAMES:
        first, *rest = lines(table)
        heading = [f" {name.replace('_', ' ').title()} " for name in first]
        body = [[f"  {cell}\xa0" if cell else cell for cell in row] for row in rest]
        rows = [[], heading, *body, [], [""] * 30]
        rows = [[*row, "", ""] for row in rows]
        rows[1] += ["Notes"]
        rows[2] += ["remember the sack"]
        path = copy / f"{table}.csv"
        path.unlink()
        with (copy / f"{table.upper()}.CSV").open(
            "w", encoding="utf-8", newline=""
        ) as f:
            csv.writer(f).writerows(rows)
    same(read_scenario(copy), BASE)


def test_first_line_may_name_the_delimiter(copy):
    text = (SMALL / "trucks.csv").read_text().replace(",", ";")
    (copy / "trucks.csv").write_text(f"sep=;\n{text}")
    same(read_scenario(copy), BASE)


def test_rows_are_counted_as_spreadsheets_do(copy):
    """A cell with line breaks is one row; blank rows count."""
    text = (SMALL / "yards.csv").read_text()
    text = text.replace("Reef yard", '"Reef\nyard\nold"').replace(
        "\nshoal", "\n\nshoal"
    )
    (copy / "yards.csv").write_text(text.replace("6000,1,", "x,1,"))
    with pytest.raises(ScenarioError, match=r"yards\.csv, row 5, column 'area_m2'"):
        read_scenario(copy)


def write_book(path: Path, names: list[str], formulas: bool = False) -> None:
    with xlsxwriter.Workbook(path) as book:
        percent = book.add_format({"num_format": "0.0%"})
        for table in names:
            sheet = book.add_worksheet(table.replace("_", " ").title())
            for r, row in enumerate(lines(table)):
                for c, cell in enumerate(row):
                    column = lines(table)[0][c]
                    try:
                        number = float(cell)
                    except ValueError:
                        if cell:
                            sheet.write_string(r, c, cell)
                        continue
                    if column == "moisture_pct":
                        sheet.write_number(r, c, number / 100, percent)
                    elif formulas and column == "amount":
                        sheet.write_formula(r, c, f"={cell}+0", None, number)
                    else:
                        sheet.write_number(r, c, number)
        book.add_worksheet("Remarks").write(0, 0, "not a table")


@pytest.mark.parametrize("formulas", [False, True])
def test_one_workbook(copy, formulas):
    """Sheets for tables, formulas with a stored result, percent formats: all fine."""
    for table in NAMES:
        (copy / f"{table}.csv").unlink()
    write_book(copy / "district.xlsx", NAMES, formulas)
    same(read_scenario(copy), BASE)


def test_workbook_beside_csv(copy):
    for table in ("yards", "yard_sizes"):
        (copy / f"{table}.csv").unlink()
    write_book(copy / "district.xlsx", ["yards", "yard_sizes"])
    same(read_scenario(copy), BASE)


def test_far_cells_of_a_workbook_do_no_harm(copy):
    (copy / "yards.csv").unlink()
    write_book(copy / "district.xlsx", ["yards"])
    book = openpyxl.load_workbook(copy / "district.xlsx")
    cell = book["Yards"].cell(1_048_576, 16_384)
    cell.font = openpyxl.styles.Font(bold=True)
    book.save(copy / "district.xlsx")
    same(read_scenario(copy), BASE)


def points(table: str, crs: int) -> gpd.GeoDataFrame:
    frame = pd.read_csv(SMALL / f"{table}.csv")
    places = gpd.points_from_xy(frame.pop("lon"), frame.pop("lat"), crs=4326)
    return gpd.GeoDataFrame(frame, geometry=places).to_crs(crs)


@pytest.mark.parametrize("crs", [4326, 3857, 32625])
def test_geopackage_in_any_coordinate_system(copy, crs):
    for table in ("sources", "yards", "markets"):
        (copy / f"{table}.csv").unlink()
        points(table, crs).to_file(copy / "places.gpkg", layer=table)
    scenario = read_scenario(copy)
    for table in ("sources", "yards", "markets"):
        pd.testing.assert_frame_equal(
            scenario.table(table), BASE.table(table), rtol=1e-8, obj=table
        )


def test_geopackage_lines_and_shapes(copy):
    line = "LINESTRING (-30.5 0.5, -30.4 0.6)"
    roads = gpd.GeoDataFrame(
        {"road": ["r1", "r2"], "bridge": [True, False], "max_gross_t": [12.0, None]},
        geometry=gpd.GeoSeries.from_wkt(
            [line, f"MULTI{line[:11]}({line[11:]})"], crs=4326
        ),
    )
    roads.to_crs(3857).to_file(copy / "map.gpkg", layer="roads")
    scenario = read_scenario(copy)
    assert scenario.roads["bridge"].tolist() == [True, False]
    assert scenario.roads["class"].tolist() == ["gravel", "gravel"]
    shapes = gpd.GeoSeries.from_wkt(scenario.roads["wkt"])
    assert (shapes.geom_type == "LineString").all()
    assert shapes.total_bounds == pytest.approx([-30.5, 0.5, -30.4, 0.6])


def test_wrong_geometry_in_a_geopackage_is_a_fault(copy):
    frame = points("yards", 4326)
    (copy / "yards.csv").unlink()
    fields = frame.set_geometry(frame.to_crs(3857).buffer(1000).to_crs(4326))
    fields.to_file(copy / "y.gpkg", layer="yards")
    with pytest.raises(ScenarioError, match=r"y\.gpkg layer 'yards', row 1, .*'lon'"):
        read_scenario(copy)


def test_written_scenario_reads_back(tmp_path):
    write_scenario(BASE, tmp_path)
    same(read_scenario(tmp_path), BASE)
    assert not (tmp_path / "factors.csv").exists()
    assert not (tmp_path / "roads.csv").exists()


def test_written_months_stay_a_default(copy, tmp_path):
    (copy / "periods.csv").unlink()
    scenario = read_scenario(copy)
    write_scenario(scenario, tmp_path / "out")
    assert not (tmp_path / "out" / "periods.csv").exists()
    same(read_scenario(tmp_path / "out"), scenario)


@pytest.mark.parametrize("name", ["brackwater", "highlake"])
def test_demo_reads_and_round_trips(name, tmp_path):
    scenario = read_scenario(SCENARIOS / name)
    write_scenario(scenario, tmp_path)
    same(read_scenario(tmp_path), scenario)


def test_one_source_one_yard_no_market(copy):
    """The smallest district there is."""
    for table in ("sources", "yards"):
        rows = (SMALL / f"{table}.csv").read_text().split("\n")
        (copy / f"{table}.csv").write_text("\n".join(rows[:2]))
    (copy / "markets.csv").unlink()
    scenario = read_scenario(copy)
    assert len(scenario.sources) == len(scenario.yards) == 1
    assert len(scenario.markets) == 0
    assert scenario.markets["lon"].dtype == float


def test_headings_alone_are_no_markets(copy):
    heading = (SMALL / "markets.csv").read_text().split("\n")[0]
    (copy / "markets.csv").write_text(heading)
    assert len(read_scenario(copy).markets) == 0


def test_path_to_the_settings_file_will_do():
    same(read_scenario(SMALL / "scenario.toml"), BASE)


def test_import_is_light():
    """The check of a command line must not wait for maps and workbooks."""
    code = (
        "import sys, logistics.scenario.scenario;"
        "print([m for m in ('geopandas', 'openpyxl', 'shapely', 'pyogrio', 'pyproj')"
        " if m in sys.modules])"
    )
    out = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True,
        cwd=ROOT,
    )  # fmt: skip
    assert out.stdout.strip() == "[]"
