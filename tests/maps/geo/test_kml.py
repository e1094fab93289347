"""KML of a plan: read back by another reader, and safe whatever the names hold."""

from xml.etree import ElementTree as Xml

import pyogrio
import pytest
import shapely
from support.fake_result import HOSTILE, result

from maps.geo.geopackage import layers
from maps.geo.kml import SPACE, kml_text, write_kml

K = f"{{{SPACE}}}"


@pytest.fixture(scope="module")
def file(brackwater_planned, tmp_path_factory):
    path = tmp_path_factory.mktemp("kml") / "plan.kml"
    write_kml(brackwater_planned, path)
    return path


@pytest.mark.parametrize("layer", ["yards", "sources", "markets"])
def test_another_reader_finds_the_places(brackwater_planned, file, layer):
    """GDAL reads the same names at the same points."""
    read = pyogrio.read_dataframe(file, layer=layer.capitalize())
    wanted = layers(brackwater_planned)[layer]
    assert read["Name"].tolist() == wanted["name"].tolist()
    apart = shapely.distance(
        shapely.force_2d(read.geometry.to_numpy()), wanted.geometry.to_numpy()
    )
    assert apart.max() < 1e-6


def test_another_reader_finds_every_lane(brackwater_planned, file):
    lanes = layers(brackwater_planned)["lanes"]
    for layer, kind in (("Lanes to yards", "in"), ("Lanes to markets", "out")):
        read = pyogrio.read_dataframe(file, layer=layer)
        assert len(read) == (lanes["kind"] == kind).sum() > 0
        assert set(read.geom_type) == {"LineString"}


def test_a_lane_has_the_colour_of_its_material(file):
    root = Xml.parse(file).getroot()
    styles = {style.get("id") for style in root.iter(f"{K}Style")}
    used = {url.text.removeprefix("#") for url in root.iter(f"{K}styleUrl")}
    assert used
    assert used <= styles


def test_names_are_text_and_nothing_is_fetched(file):
    hostile = result(name=HOSTILE + "\x00\x1b\ud800\uffff<Placemark>")
    text = kml_text(hostile)
    assert Xml.fromstring(text.encode()) is not None
    named = [name.text or "" for name in Xml.fromstring(text).iter(f"{K}name")]
    assert any("<Placemark>" in name for name in named)
    assert "href" not in text
    assert "http" not in file.read_text().replace(SPACE, "")


def test_the_same_plan_gives_the_same_text(brackwater_planned, file):
    assert kml_text(brackwater_planned) == file.read_text(encoding="utf-8")
