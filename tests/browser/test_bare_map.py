"""A map without land and roads: degrees where they belong, a north sign, names."""

import re

import pytest
from accessibility import faults
from support.fake_result import result
from support.map_extract import district, with_sites
from typer.testing import CliRunner

from logistics.results import run
from logistics.scenario import read_scenario
from maps.commands.command_line import app
from maps.geo.web_map import SHEET, map_html, map_scripts, write_map

pytestmark = pytest.mark.slow
READY = "window.loamhaul && window.loamhaul.ready > 0"
LINES = """() => {
  return [...document.querySelectorAll('g.sheet text')].map((t) => {
    const box = t.getBoundingClientRect();
    return [t.textContent, box.x + box.width / 2, box.y + box.height / 2];
  });
}"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return with_sites(tmp_path_factory.mktemp("crane") / "crane")


@pytest.fixture(scope="module")
def bare(folder):
    file = folder.parent / "bare.html"
    write_map(run(read_scenario(folder)), file)
    return file


@pytest.mark.parametrize(("width", "height"), [(1366, 768), (360, 740)])
def test_it_has_degrees_a_north_sign_and_names(show, bare, width, height):
    window = show(bare, width, height)
    page = window.page
    page.wait_for_function(READY)
    texts = page.evaluate(LINES)
    said = [text for text, _, _ in texts]
    assert "N" in said
    assert "No land or roads are given." in said
    assert "Dotted: outline of all sites." in said
    lons = [float(t[:-3]) for t in said if t.endswith("° W")]
    lats = [float(t[:-3]) for t in said if re.fullmatch(r"[\d.]+° N", t)]
    assert lons
    assert lats
    assert all(30.2 < lon < 30.8 for lon in lons)
    assert all(0.3 < lat < 0.8 for lat in lats)
    names = page.locator("g.layer-labels").text_content()
    for name in ("Long River mill", "Bend farms"):
        assert name in names
    assert page.locator("#names input:checked").count() == 3
    assert window.complaints == []
    assert faults(page, "#map") == []


def test_degrees_stand_where_the_map_has_them(show, bare):
    """By Leaflet's own scale bar and the metres of a degree: within 3 %."""
    page = show(bare, 1366, 768).page
    page.wait_for_function(READY)
    spots = sorted(
        (float(text[:-3]), x) for text, x, _ in page.evaluate(LINES) if "° W" in text
    )
    (west, x1), (east, x2) = spots[-1], spots[0]
    assert x1 < x2
    bar = page.locator(".leaflet-control-scale-line")
    metres = float(bar.inner_text().removesuffix(" km")) * 1000
    px = page.evaluate("(e) => e.clientWidth", bar.element_handle())
    expected = (west - east) * 111_320 / metres * px
    assert x2 - x1 == pytest.approx(expected, rel=0.03)


def test_only_a_bare_map_has_the_script(folder):
    assert SHEET in map_scripts(read_scenario(folder))
    assert "drawSheet(pane)" in map_html(result())
    assert "function drawSheet" not in map_html(result())


def test_woods_and_water_of_a_map_are_drawn_over_the_land(show, folder, tmp_path):
    """The map after a map was brought in: no degrees, no fault, names of villages."""
    extract = district().write(tmp_path / "m.osm")
    done = CliRunner().invoke(app, ["bring", str(extract), str(folder), "--yes"])
    assert done.exit_code == 0
    write_map(run(read_scenario(folder)), tmp_path / "map.html")
    window = show(tmp_path / "map.html", 1366, 768)
    window.page.wait_for_function(READY)
    fills = window.page.evaluate(
        "[...document.querySelectorAll('#map path')].map((p) => p.getAttribute('fill'))"
    )
    assert fills.index("#f2efe3") < fills.index("#dfe6cb")
    assert window.page.locator("g.sheet").count() == 0
    assert "Midtown" in window.page.locator("g.layer-labels").text_content()
    assert window.complaints == []
