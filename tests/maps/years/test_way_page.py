"""What people see of a way: page, workbook, tables, key figures."""

import json
import subprocess
from dataclasses import replace

import openpyxl
import pandas as pd
import pytest

from logistics.scenario import change_setting
from maps.shared.output_folder import whole_set
from maps.years.way_facts import way_facts
from maps.years.way_files import write_way
from maps.years.way_words import easing_lines, short_lines, standing_words


@pytest.fixture(scope="module")
def folder(way_planned, tmp_path_factory):
    """The set, written as the command does."""
    out = tmp_path_factory.mktemp("way")
    with whole_set(out, "years") as new:
        write_way(way_planned, new)
    return out


@pytest.fixture(scope="module")
def known(way_planned):
    return way_facts(way_planned)


def test_the_same_way_gives_the_same_bytes(folder, way_planned, tmp_path):
    write_way(replace(way_planned, seconds=99.0), tmp_path)
    files = [path for path in sorted(folder.rglob("*")) if path.is_file()]
    assert len(files) == 11
    for path in files:
        again = tmp_path / path.relative_to(folder)
        assert again.read_bytes() == path.read_bytes(), path.name


def test_the_page_has_a_map_for_each_year(folder):
    page = (folder / "way.html").read_text()
    for year in (2027, 2028, 2029):
        assert f'data-year="{year}"' in page
    assert 'type="range"' in page
    assert "innerHTML" not in page
    assert "http://" not in page.replace("http://www.w3.org", "")


def test_names_from_data_are_text(way_planned, tmp_path):
    """Nothing that a table says runs in the page."""
    bad = "<script>alert(1)</script>"
    settings = change_setting(way_planned.scenario.settings, "currency", bad)
    tables = dict(way_planned.scenario.tables)
    tables["yards"] = tables["yards"].assign(name=bad)
    tables["yard_sizes"] = tables["yard_sizes"].assign(name=bad)
    scenario = replace(way_planned.scenario, settings=settings, tables=tables)
    write_way(replace(way_planned, scenario=scenario), tmp_path)
    page = (tmp_path / "way.html").read_text()
    assert page.count("<script>") == 1
    assert "&lt;script&gt;alert(1)" in page


def test_standing_follows_the_steps_and_the_plans(known, way_planned):
    """What works is what each plan has; what stands beside it is idle."""
    for year, result in zip(way_planned.years, way_planned.results, strict=True):
        works = {
            (yard, years[year].size)
            for yard, years in known.stands.items()
            if year in years and years[year].works
        }
        assert works == set(result.plan.yard_sizes)
    assert "Shoal yard" not in standing_words(known, 2029)
    steps = way_planned.steps.replace({"step": {"closes": "idle"}})
    steps.loc[steps["step"] == "idle", "size"] = "small"
    idle = way_facts(replace(way_planned, steps=steps))
    assert "idle: <bdi>Shoal yard</bdi>" in standing_words(idle, 2029)


def test_what_is_short_and_what_would_ease_it(known, way_planned):
    """In words, with the figures of the tables."""
    lines = short_lines(known)
    short = known.short.iloc[0]
    assert (
        f"In 2029 the money for running the yards is short by {short['short']:,.0f}"
        in (lines[0])
    )
    best = way_planned.easing.sort_values("saves", ascending=False).iloc[0]
    said = f"in {best['year']} saves about {1000 * best['saves']:,.0f}"
    assert said in easing_lines(known)[0]
    assert easing_lines(known)[0].startswith("1,000 ")


def test_key_figures_are_those_of_the_way(folder, way_planned):
    record = json.loads((folder / "way.json").read_text())
    assert record["net_present_cost"] == way_planned.value
    assert record["gap"] == way_planned.gap
    assert len(record["steps"]) == len(way_planned.steps)
    assert "seconds" not in record


def test_tables_say_units(folder):
    """Every number column but the year has a unit."""
    for path in sorted((folder / "way").glob("*.csv")):
        table = pd.read_csv(path)
        for name in table.select_dtypes("number"):
            assert name == "year" or name.endswith("]"), f"{path.name}: {name}"


def cells(path, *, values):
    """Content of every cell of the two sheets of formulas."""
    found = openpyxl.load_workbook(path, data_only=values)
    return {
        (name, cell.coordinate): cell.value
        for name in ("money", "against doing nothing")
        for row in found[name].iter_rows()
        for cell in row
    }


def test_the_workbook_holds_formulas_and_the_figures_of_the_way(folder, way_planned):
    """Net present cost stands as the sum of a row of formulas."""
    formulas = cells(folder / "way.xlsx", values=False)
    values = cells(folder / "way.xlsx", values=True)
    row = next(
        place[1][1:]
        for place, value in values.items()
        if place[0] == "money" and value == "present value of net cost"
    )
    assert values["money", f"E{row}"] == pytest.approx(way_planned.value)
    assert formulas["money", f"E{row}"] == f"=SUM(B{row}:D{row})"
    assert formulas["money", f"B{row}"].startswith("=")


@pytest.mark.thorough
def test_a_spreadsheet_reckons_what_is_stored(folder, tmp_path):
    """LibreOffice, given formulas without values, comes to ours: NPV and IRR too."""
    bare = tmp_path / "way.xlsx"
    openpyxl.load_workbook(folder / "way.xlsx").save(bare)
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    out = tmp_path / "out"
    command = ["soffice", profile, "--headless", "--convert-to", "xlsx", "--outdir"]
    subprocess.run([*command, out, bare], check=True, capture_output=True, timeout=240)
    stored = cells(folder / "way.xlsx", values=True)
    again = cells(out / "way.xlsx", values=True)
    formulas = [
        place
        for place, text in cells(folder / "way.xlsx", values=False).items()
        if isinstance(text, str) and text.startswith("=")
    ]
    assert len(formulas) > 60
    assert cells(bare, values=True)[formulas[0]] is None
    for place in formulas:
        assert again[place] == pytest.approx(stored[place], rel=1e-6, abs=1e-4), place
