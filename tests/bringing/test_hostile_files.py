"""Hostile files bring nothing in and say why; values only are read of the others."""

import io
import zipfile
from pathlib import Path

import openpyxl
import pytest
from support.brought_in import CLEAN, brought, right

TITLES = ["Mill name", "Longitude", "Latitude", "Rice husk (t)"]
GPX = '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="1" lon="2"><name>{}</name></wpt></gpx>'
VRT = '<OGRVRTDataSource><OGRVRTLayer name="a"><SrcDataSource>/etc/passwd</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>'
BILLION = '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "ha"><!ENTITY b "&a;&a;">]>'


def book(path):
    made = openpyxl.Workbook()
    made.active.title = "Mills"
    for row in (TITLES, *CLEAN):
        made.active.append(list(row))
    made.save(path)
    return path


def repacked(path, **parts):
    """The workbook with other or further parts."""
    data = io.BytesIO(path.read_bytes())
    with (
        zipfile.ZipFile(data) as old,
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in old.namelist():
            if name not in parts:
                new.writestr(name, old.read(name))
        for name, part in parts.items():
            new.writestr(name, part)
    return path


def bomb(path):
    return repacked(
        book(path), **{"xl/worksheets/sheet1.xml": b"<row>" + b" " * 60_000_000}
    )


def entities(path):
    text = '<!DOCTYPE x [<!ENTITY a "b">]><sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"/>'
    return repacked(book(path), **{"xl/sharedStrings.xml": text})


def hidden_entities(path):
    text = '<?xml version="1.0" encoding="UTF-16"?><!DOCTYPE x [<!ENTITY a "b">]><x/>'
    return repacked(book(path), **{"xl/sharedStrings.xml": text.encode("utf-16")})


def merged_to_the_end(path):
    """The sheet of a workbook as an office saves it, merged to its last cell."""
    with zipfile.ZipFile(book(path)) as packed:
        sheet = packed.read("xl/worksheets/sheet1.xml").decode()
    area = '<mergeCells count="1"><mergeCell ref="F1:XFD1048576"/></mergeCells>'
    sheet = sheet.replace("</sheetData>", f"</sheetData>{area}")
    return repacked(path, **{"xl/worksheets/sheet1.xml": sheet})


def written(text):
    def make(path):
        path.write_text(text, encoding="utf-8")
        return path

    return make


def too_many_rows(path):
    line = "Mill,1,2,3\n"
    path.write_text("name,lon,lat,t\n" + line * 250_001)
    return path


HOSTILE = {
    "zip bomb": ("m.xlsx", bomb, "unpacks to"),
    "entities": ("m.xlsx", entities, "definitions of its own"),
    "entities in UTF-16": ("m.xlsx", hidden_entities, "definitions of its own"),
    "entities in GPX": ("yards.gpx", written(BILLION + GPX.format("&b;")), "kind .gpx"),
    "entities behind the root": ("yards.gpx", written(GPX.format("x") + '<!ENTITY a "b">'), "definitions of its own"),
    "virtual source as KML": ("yards.kml", written(VRT), "is not a file of the kind .kml"),
    "virtual source as JSON": ("yards.geojson", written(VRT), "is not a file of the kind .geojson"),
    "a service as JSON": ("yards.geojson", written('{"type": "Topology", "objects": {}}'), "yards.geojson"),
    "text as database": ("yards.gpkg", written("no"), "is not a file of the kind .gpkg"),
    "program as text": ("mills.csv", lambda p: p.write_bytes(b"\x7fELF" + bytes(range(32)) * 50) and p, "is not a text file"),
    "workbook as text": ("mills.csv", book, "is a workbook, not text"),
    "text as workbook": ("mills.xlsx", written("name,lon"), "is not a workbook of its kind"),
    "old workbook": ("mills.xls", written("x"), "is a kind of workbook that is not read"),
    "unknown kind": ("mills.vrt", written(VRT), "is of no kind that is read"),
    "too many rows": ("mills.csv", too_many_rows, "250,000 are the most"),
    "merged to the end": ("m.xlsx", merged_to_the_end, "100,000 are the most"),
    "cut off": ("m.xlsx", lambda p: p.write_bytes(book(p).read_bytes()[:900]) and p, "is damaged"),
}  # fmt: skip


@pytest.mark.parametrize(("name", "make", "why"), HOSTILE.values(), ids=HOSTILE)
def test_nothing_comes_in_and_it_says_why(name, make, why, tmp_path):
    file = make(tmp_path / name)
    found = brought([Path(file)])
    assert why in found.told
    assert name in found.told
    assert found.rows == {}


def test_a_file_that_is_refused_takes_the_others_with_it(tmp_path):
    found = brought([book(tmp_path / "good.xlsx"), bomb(tmp_path / "bad.xlsx")])
    assert found.rows == {}
    assert "bad.xlsx" in found.told


def test_macros_and_links_are_left_alone_and_said(tmp_path):
    """Nothing is run or followed; the values that stand there come in."""
    parts = {
        "xl/vbaProject.bin": b"\xd0\xcf\x11\xe0macro",
        "xl/externalLinks/externalLink1.xml": "<externalLink/>",
    }
    file = repacked(book(tmp_path / "m.xlsm"), **parts)
    found = brought([file])
    assert right(found.rows)
    said = found.proposal.bodies[0].sheet.said
    assert said == (
        "has macros, which were not run",
        "has links to other workbooks, which were not followed",
    )


def test_formulas_of_text_stay_text(tmp_path):
    """What looks like a formula in a CSV file is a name, and no name of a formula."""
    lines = "Mill name,Longitude,Latitude,Rice husk (t)\n=1+1,-31.1,-0.9,5\n@cmd,-31.2,-0.9,6\n"
    (tmp_path / "m.csv").write_text(lines)
    found = brought([tmp_path / "m.csv"], "m.csv:table=sources")
    assert [r["name"] for r in found.rows["sources"]] == ["=1+1", "@cmd"]
    assert [r["source"] for r in found.rows["sources"]] == ["1_1", "cmd"]
