"""One thing has one word and one figure in every output: yards' status, water."""

import csv
import re
from dataclasses import replace
from io import StringIO

import geopandas
import openpyxl
import pytest
from rich.console import Console
from support.places import ROOT

from logistics.results.pipeline import run
from logistics.scenario.scenario import read_scenario
from maps.geo.map_contents import map_data
from maps.outputs import write_outputs
from maps.tables.terminal import show

pytestmark = pytest.mark.slow

WORDS = {"reef": "new", "shoal": "enlarged"}


@pytest.fixture(scope="module")
def planned():
    """Two yards: a new one, and a small one that stands and must become large."""
    scenario = read_scenario(ROOT / "tests" / "data" / "good_small")
    yards = scenario.tables["yards"].copy()
    yards["decision"] = ["open", "closed", "open"]
    yards["area_m2"] = [5000.0, 5000.0, 20000.0]
    sources = scenario.tables["sources"].copy()
    sources["must_collect"] = sources["material"].eq("fish")
    sizes = scenario.tables["yard_sizes"].copy()
    sizes.loc[sizes["size"] == "small", "pad_m2"] = 100.0
    changed = {"yards": yards, "yard_sizes": sizes, "sources": sources}
    return run(replace(scenario, tables={**scenario.tables, **changed}))


@pytest.fixture(scope="module")
def folder(planned, tmp_path_factory):
    out = tmp_path_factory.mktemp("out")
    write_outputs(planned, out)
    return out


def rows_of(folder, name):
    text = (folder / "plan.csv" / f"{name}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(StringIO(text)))


def plain(html):
    return " ".join(re.sub(r"<[^>]+>", " ", html).replace("\xa0", " ").split())


def test_an_enlarged_yard_is_enlarged_everywhere(planned, folder):
    sizes = dict(planned.plan.yard_sizes)
    assert sizes["shoal"] == "large"  # else the case is another one
    names = {"reef": "Reef yard", "shoal": "Shoal yard"}
    said = {row["yard"]: row["status"] for row in rows_of(folder, "yards")}
    assert said == {**WORDS, "mole": "closed"}
    sheet = openpyxl.load_workbook(folder / "plan.xlsx")["yards"]
    cells = [[str(cell.value) for cell in row] for row in sheet.iter_rows()]
    layer = geopandas.read_file(folder / "plan.gpkg", layer="yards").set_index("yard")
    kml = (folder / "plan.kml").read_text(encoding="utf-8")
    on_map = {yard["code"]: yard["status"] for yard in map_data(planned)["yards"]}
    console = Console(file=StringIO(), width=120)
    show(planned, console)
    lines = console.file.getvalue().splitlines()
    report = plain((folder / "report.html").read_text(encoding="utf-8"))
    for code, word in WORDS.items():
        assert any(code in row and word in row for row in cells)
        assert layer.loc[code, "status"] == on_map[code] == word
        assert re.search(rf"{names[code]}</name>[^/]*?{word} (Large|Small)", kml)
        line = next(line for line in lines if line.startswith(names[code]))
        assert f" {word} " in line
        assert f"{names[code]} {word} " in report


def test_what_to_do_next_has_the_enlarged_yard(folder):
    """Its new site and permit are to be got too; only the difference is paid."""
    report = plain((folder / "report.html").read_text(encoding="utf-8"))
    assert re.search("Build 1 new yard and enlarge 1 existing yard ?:", report)
    assert re.search(r"Shoal yard \( ?enlarged to 10,000 m² ?\)", report)
    assert "pays only the difference in price" in report


def test_water_added_is_one_figure(planned, folder):
    """Yards, mixes, map and ledger: at mixing and while turning add up to one sum."""
    ledger = planned.ledger
    parts = {
        "of it at mixing": ledger[ledger["line"] == "mixing water"]["quantity"].sum(),
        "of it while turning": ledger[ledger["line"] == "turning water"][
            "quantity"
        ].sum(),
    }
    assert min(parts.values()) > 1
    total = sum(parts.values())
    for name, unit in (("yards", "m3/yr"), ("mixes", "m3")):
        rows = rows_of(folder, name)
        sums = {
            word: sum(float(row[f"{word} [{unit}]"]) for row in rows)
            for word in ("water added", *parts)
        }
        assert sums == pytest.approx({"water added": total, **parts}, rel=1e-6)
    shown = [yard for yard in map_data(planned)["yards"] if "water" in yard]
    on_map = [sum(yard[kind]) for yard in shown for kind in ("water", "turning")]
    assert sum(on_map) == pytest.approx(total, rel=1e-4)
    report = plain((folder / "report.html").read_text(encoding="utf-8"))
    table = report[report.index("Water added [m³/yr]") :]
    assert f" {total:,.0f} " in table[: table.index("Water added counts")]
