"""What the desk makes of each kind of file dropped in, and how much it takes."""

import csv
import io
import zipfile

import geopandas
import openpyxl
import pyogrio
import pytest
from shapely.geometry import Point
from support.brought_in import CLEAN
from support.desk import Desk
from support.open_data import data_of

from logistics.scenario import read_scenario
from maps.desk import drops
from maps.desk.drop_job import STAGE, proposed

TITLES = ["Mill name", "Longitude", "Latitude", "Rice husk (t)"]
MILLS = b"Mill name,Longitude,Latitude,Rice husk (t)\nNorth mill,-31.1,-0.9,1200\n"
VRT = b'<OGRVRTDataSource><OGRVRTLayer name="a"><SrcDataSource>/etc/passwd</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>'  # fmt: skip
ENTITIES = b'<!DOCTYPE x [<!ENTITY a "b"><!ENTITY c "&a;&a;">]><x>&c;</x>'
KML = '<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder><name>Mills</name>{}</Folder></Document></kml>'
PLACE = "<Placemark><name>{}</name><ExtendedData><Data name='Rice husk (t)'><value>{}</value></Data></ExtendedData><Point><coordinates>{},{}</coordinates></Point></Placemark>"  # fmt: skip


def packed(**parts):
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as made:
        for name, part in parts.items():
            made.writestr(name.replace("__", "."), part)
    return data.getvalue()


def workbook(**parts):
    """The clean mills as a workbook, with other or further parts."""
    made = openpyxl.Workbook()
    made.active.title = "Mills"
    for row in (TITLES, *CLEAN):
        made.active.append(list(row))
    plain, data = io.BytesIO(), io.BytesIO()
    made.save(plain)
    with zipfile.ZipFile(plain) as old, zipfile.ZipFile(data, "w", 8) as new:
        for name in set(old.namelist()) - set(parts):
            new.writestr(name, old.read(name))
        for name, part in parts.items():
            new.writestr(name, part)
    return data.getvalue()


def shapefile(folder):
    places = [Point(x, y) for _, x, y, _ in CLEAN]
    columns = {"name": [c[0] for c in CLEAN], "husk_t": [c[3] for c in CLEAN]}
    made = geopandas.GeoDataFrame(columns, geometry=places, crs="EPSG:4326")
    made.to_crs("EPSG:32725").to_file(folder / "mills.shp")
    return packed(**{p.name: p.read_bytes() for p in folder.glob("mills.*")})


def looked_at(tmp_path, name, data, target=None):
    """Drop one file and answer what is asked; return what is told, and the rows."""
    drop = tmp_path / "drop"
    (drop / "files").mkdir(parents=True)
    (drop / "files" / name).write_bytes(data)
    answers, usual = [], {"season": "milling", "material": "rice_husk", "unit": "t"}
    for _ in range(3):
        told = proposed(drop, target, "lowland", answers)
        answers += [f"{q['place']}={usual[q['place'].rpartition('.')[2]]}"
                    for q in told["questions"]]  # fmt: skip
        if not told["questions"]:
            break
    return told, drop / STAGE


@pytest.mark.slow
@pytest.mark.parametrize("name", ["mills.zip", "mills.kmz"])
def test_points_of_a_map_come_in_where_they_are(tmp_path, name):
    marks = "".join(PLACE.format(n, t, x, y) for n, x, y, t in CLEAN)
    data = {"mills.kmz": packed(doc__kml=KML.format(marks))}
    told, stage = looked_at(tmp_path, name, data.get(name) or shapefile(tmp_path))
    assert told["faults"] == []
    assert told["ready"]
    with (stage / "sources.csv").open(encoding="utf-8-sig", newline="") as lines:
        rows = list(csv.DictReader(lines))
    found = [(r["name"], float(r["lon"]), float(r["lat"]), float(r["amount"]))
             for r in rows]  # fmt: skip
    assert [f[0] for f in found] == [c[0] for c in CLEAN]
    for one, clean in zip(found, CLEAN, strict=True):
        assert one[1:] == pytest.approx(clean[1:], abs=2e-7)


@pytest.mark.thorough
@pytest.mark.parametrize("away", [0.0, 5.0])
def test_open_road_data_come_in_with_the_sites_among_them(tmp_path, away):
    """The test extract of pyrosm; to a district elsewhere it brings no road."""
    extract = data_of("pyrosm", "data/test.osm.pbf")
    edges = pyogrio.read_dataframe(extract, layer="lines").total_bounds
    x, y = (edges[0] + edges[2]) / 2 - away, (edges[1] + edges[3]) / 2
    files = tmp_path / "drop" / "files"
    files.mkdir(parents=True)
    (files / "roads.osm.pbf").write_bytes(extract.read_bytes())
    (files / "mills.csv").write_bytes(MILLS.replace(b"-31.1,-0.9", b"%f,%f" % (x, y)))
    yards = f"Yard name,Longitude,Latitude,Area (m2),Water (m3 per day)\nField,{x},{y + 0.002},9000,40\n"
    (files / "yards.csv").write_text(yards, encoding="utf-8")
    farms = f"Market,Longitude,Latitude,Compost wanted (t)\nFarms,{x + 0.003},{y},400\n"
    (files / "markets.csv").write_text(farms, encoding="utf-8")
    answers = [f"{name}.csv:values.season=even" for name in ("mills", "markets")]
    told = proposed(tmp_path / "drop", None, "lowland", answers)
    assert told["questions"] == []
    assert told["ready"], told
    roads = read_scenario(tmp_path / "drop" / STAGE).roads
    assert any("holds no road in the district" in line for line in told["map"]) == bool(
        away
    )
    assert len(roads) == 0 if away else len(roads) > 50


HOSTILE = {
    "bomb": ("a.xlsx", workbook(**{"xl/worksheets/sheet1.xml": b"<row>" + b" " * 60_000_000}), "unpacks to"),
    "entities in a workbook": ("a.xlsx", workbook(**{"xl/sharedStrings.xml": ENTITIES}), "definitions of its own"),
    "entities in points": ("a.gpx", ENTITIES, "is not a file of the kind .gpx"),
    "link to a file of this computer": ("a.kml", VRT, "is not a file of the kind .kml"),
    "the same in a packed map": ("a.kmz", packed(doc__kml=VRT), "a.kmz"),
    "a program packed with a map": ("a.zip", packed(a__exe=b"x"), "a kind of file that no scenario has"),
    "a way out of the folder": ("a.zip", packed(**{"../a.shp": b"x"}), "a.zip"),
}  # fmt: skip


@pytest.mark.parametrize(("name", "data", "why"), HOSTILE.values(), ids=HOSTILE)
def test_what_is_hostile_brings_nothing_in_and_it_says_why(tmp_path, name, data, why):
    told, stage = looked_at(tmp_path, name, data)
    assert why in " ".join(told["faults"])
    assert not told["ready"]
    assert not stage.exists() or not list(stage.iterdir())


@pytest.mark.slow
def test_macros_links_and_formulas_do_nothing(tmp_path):
    """Nothing is run or followed, and it is said; a formula of text stays text."""
    macro = {"xl/vbaProject.bin": b"\xd0\xcf\x11\xe0", "xl/externalLinks/externalLink1.xml": "<externalLink/>"}  # fmt: skip
    told, _ = looked_at(tmp_path / "one", "a.xlsm", workbook(**macro))
    assert told["sheets"][0]["said"] == [
        "has macros, which were not run",
        "has links to other workbooks, which were not followed",
    ]
    formula = MILLS.replace(b"North mill", b"=HYPERLINK(1)")
    told, stage = looked_at(tmp_path / "two", "mills.csv", formula)
    assert told["ready"]
    assert "hyperlink_1,=HYPERLINK(1),," in (stage / "sources.csv").read_text(
        encoding="utf-8-sig"
    )


@pytest.fixture
def desk(tmp_path):
    (tmp_path / "shelf").mkdir()
    made = Desk(tmp_path / "shelf")
    yield made
    made.opened.drops.close()


def send(desk, name, code, data=MILLS):
    return desk.post(f"/bring?file={name}&with={code}", body=data)


def test_a_drop_takes_so_many_files_and_not_one_more(desk):
    code = send(desk, "f0.csv", "new").json()["drop"]
    for number in range(1, drops.MOST_FILES):
        assert send(desk, f"f{number}.csv", code).status == 201
    more = send(desk, "more.csv", code)
    assert more.status == 422
    assert "20 files are the most" in more.text
    assert desk.get(f"/bring/{code}").status == 404


@pytest.mark.parametrize("beyond", [0, 1])
def test_a_drop_takes_so_many_bytes_and_not_one_more(desk, beyond):
    """All but the last file is a hole in the disk as long as the limit leaves."""
    code = send(desk, "a.csv", "new").json()["drop"]
    folder = desk.opened.drops.at(code).folder
    room = drops.MOST_BYTES - len(MILLS) - len(MILLS)
    with (folder / "files" / "large.csv").open("wb") as hole:
        hole.truncate(room + beyond)
    answer = send(desk, "b.csv", code)
    assert answer.status == (422 if beyond else 201)
    assert ("200 MB are the most" in answer.text) == bool(beyond)
    assert folder.exists() == (not beyond)
    assert desk.opened.shelf.names() == []
