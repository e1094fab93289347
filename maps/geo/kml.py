"""
Result -> plan.kml: the plan for map programs and phones that read KML.

KML 2.2 (OGC 07-147r2, 2008): points and lines in degrees, names and descriptions as
plain text, no pictures and no links, so that nothing is fetched.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree as Xml

from logistics.scenario import Row, lon_about, records
from maps.geo.geopackage import layers
from maps.shared import amount, clean, colours, names

if TYPE_CHECKING:
    from logistics.results import Result

SPACE = "http://www.opengis.net/kml/2.2"
NOT_IN_XML = re.compile("[\ud800-\udfff\ufffe\uffff]")
NOT_THE_ROAD = "Straight lines: they show who supplies whom, not the road driven."


def kml_colour(colour: str, opacity: int = 255) -> str:
    """
    Write a colour as KML does: opacity, blue, green, red.

    >>> kml_colour("#1F78B4")
    'ffb4781f'
    """
    red, green, blue = (colour[n : n + 2].lower() for n in (1, 3, 5))
    return f"{opacity:02x}{blue}{green}{red}"


def kml_text(result: Result) -> str:
    """
    Write a plan as KML.

    Returns
    -------
    str
        Folders of yards, sources, markets, and lanes in and out; the same result
        gives the same text.
    """
    found = layers(result)
    root = Xml.Element("kml", xmlns=SPACE)
    document = _add(root, "Document")
    _say(document, "name", result.scenario.settings.name)
    _say(document, "description", NOT_THE_ROAD)
    for code, colour in colours(result).items():
        style = _add(document, "Style", id=f"lane_{code}")
        line = _add(style, "LineStyle")
        _say(line, "color", kml_colour(colour, 170))
        _say(line, "width", "2")
    for title, layer, told in (
        ("Yards", "yards", _yard),
        ("Sources", "sources", _source),
        ("Markets", "markets", _market),
    ):
        folder = _folder(document, title)
        for row in records(found[layer]):
            place = _placemark(folder, row["name"], told(row))
            point = _add(place, "Point")
            _say(point, "coordinates", _at(row["geometry"].x, row["geometry"].y))
    kinds = ("source", "yard", "market", "truck", "material")
    known = {kind: names(result, kind) for kind in kinds}
    for title, kind, start, end in (
        ("Lanes to yards", "in", "source", "yard"),
        ("Lanes to markets", "out", "yard", "market"),
    ):
        folder = _folder(document, title)
        for row in records(found["lanes"]):
            if row["kind"] == kind:
                ends = (known[start], row["origin"]), (known[end], row["destination"])
                way = " to ".join(name[str(code)] for name, code in ends)
                _lane(folder, row, way, known)
    Xml.indent(root)
    text = Xml.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'


def _yard(row: Row) -> Iterator[str]:
    yield f"{row['status']} {row['size_name'] or ''}".strip()
    if row["intake_t"]:
        yield f"intake {amount(row['intake_t'])} t/yr"
        yield f"compost {amount(row['compost_t'])} t/yr"
    if row["reasons"]:
        yield str(row["reasons"])


def _source(row: Row) -> Iterator[str]:
    yield f"{row['material_name']}, {amount(row['tonnes'])} t/yr"
    yield f"collected {amount(row['collected'])} t/yr"


def _market(row: Row) -> Iterator[str]:
    yield f"asks for {amount(row['demand'])} t/yr"
    yield f"gets {amount(row['delivered'])} t/yr"


def _lane(
    folder: Xml.Element, row: Row, way: str, known: dict[str, dict[str, str]]
) -> None:
    """Add a lane: from where to where, with what."""
    material, truck = row["material"], row["truck"]
    what = [
        f"{known['material'].get(material, material)} by {known['truck'][truck]}",
        f"{amount(row['total'])} t/yr in {amount(row['trips'])} trips",
        f"{amount(row['km'], 1)} km one way",
    ]
    place = _placemark(folder, way, iter(what))
    _say(place, "styleUrl", f"#lane_{material}")
    line = _add(place, "LineString")
    ends = (_at(x, y) for x, y in row["geometry"].coords)
    _say(line, "coordinates", " ".join(ends))


def _at(lon: float, lat: float) -> str:
    return f"{lon_about(lon, 0.0):.6f},{lat:.6f}"


def _folder(parent: Xml.Element, title: str) -> Xml.Element:
    folder = _add(parent, "Folder")
    _say(folder, "name", title)
    return folder


def _placemark(parent: Xml.Element, name: object, lines: Iterator[str]) -> Xml.Element:
    place = _add(parent, "Placemark")
    _say(place, "name", name)
    _say(place, "description", "\n".join(lines))
    return place


def _add(parent: Xml.Element, tag: str, **attributes: str) -> Xml.Element:
    return Xml.SubElement(parent, tag, attributes)


def _say(parent: Xml.Element, tag: str, text: object) -> None:
    """Add an element of text, without the signs that XML cannot hold."""
    lines = (NOT_IN_XML.sub("", clean(line)) for line in str(text).split("\n"))
    _add(parent, tag).text = "\n".join(lines)


def write_kml(result: Result, path: Path) -> None:
    """Write plan.kml at `path`."""
    path.write_text(kml_text(result), encoding="utf-8", newline="\n")
