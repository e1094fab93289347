"""The same three mills as every kind of file, and forms with repeated groups."""

import io
import zipfile

import geopandas
import pytest
from shapely.geometry import Point
from support.brought_in import CLEAN, brought, right

PLACE = "<Placemark><name>{}</name><ExtendedData><Data name='Rice husk (t)'><value>{}</value></Data></ExtendedData><Point><coordinates>{},{}</coordinates></Point></Placemark>"
KML = '<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder><name>Mills</name>{}</Folder></Document></kml>'


def kml(path):
    text = KML.format("".join(PLACE.format(n, t, x, y) for n, x, y, t in CLEAN))
    path.write_text(text, encoding="utf-8")


def kmz(path):
    inner = path.with_suffix(".kml")
    kml(inner)
    with zipfile.ZipFile(path, "w") as packed:
        packed.write(inner, "doc.kml")


def frame():
    return geopandas.GeoDataFrame(
        {"name": [n for n, *_ in CLEAN], "husk_t": [t for *_, t in CLEAN]},
        geometry=[Point(x, y) for _, x, y, _ in CLEAN],
        crs="EPSG:4326",
    )


def in_metres(path):
    frame().to_crs("EPSG:32725").to_file(path)


KINDS = {
    "mills.kml": kml,
    "mills.kmz": kmz,
    "mills.geojson": lambda path: frame().to_file(path),
    "mills.gpkg": in_metres,
    "mills.shp": in_metres,
}


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("name", KINDS)
def test_every_kind_has_the_same_rows(name, tmp_path):
    KINDS[name](tmp_path / name)
    extra = (
        []
        if "km" in name
        else ["columns.amount.heading=husk_t", "columns.amount.unit=t"]
    )
    answers = [f"{name}:{one}" for one in (*extra, "values.material=rice_husk")]
    found = brought([tmp_path / name], *answers)
    assert (found.told, found.questions) == ("", [])
    assert right(found.rows)


def test_rows_of_a_repeated_group_stand_with_their_form(tmp_path):
    """Two feedstocks of one mill: two sources at one place, with codes of their own."""
    forms = "name of mill,gps-Latitude,gps-Longitude,gps-Accuracy,KEY\n"
    forms += "North mill,-0.9,-31.1,4,uuid:1\nSouth mill,-0.95,-31.15,5,uuid:2\n"
    groups = "feedstock,tonnes per year,PARENT_KEY\n"
    groups += "rice husk,1200,uuid:1\nrice bran,90,uuid:1\nrice husk,96,uuid:2\n"
    (tmp_path / "mills.csv").write_text(forms)
    (tmp_path / "mills-waste.csv").write_text(groups)
    files = [tmp_path / "mills.csv", tmp_path / "mills-waste.csv"]
    found = brought(files)
    assert (found.told, found.questions) == ("", [])
    rows = [
        (r["source"], r["material"], r["amount"], r["lat"])
        for r in found.rows["sources"]
    ]
    assert rows == [
        ("north_mill_rice_husk", "rice_husk", "1200", "-0.9"),
        ("north_mill_rice_bran", "rice_bran", "90", "-0.9"),
        ("south_mill", "rice_husk", "96", "-0.95"),
    ]
    left = found.proposal.bodies[0].recipe
    assert (left.table, left.why) == (
        "",
        "its rows stand with those of mills-waste.csv",
    )


def test_amounts_of_a_workbook_meet_points_of_a_phone(tmp_path):
    """Rows of one name in two files are one place."""
    lines = "Mill name,Rice husk (t)\n" + "".join(f"{n},{t}\n" for n, _, _, t in CLEAN)
    (tmp_path / "mills.csv").write_text(lines, encoding="utf-8")
    points = "".join(
        f'<wpt lat="{y}" lon="{x}"><name>{n}</name></wpt>' for n, x, y, _ in CLEAN
    )
    text = (
        f'<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">{points}</gpx>'
    )
    (tmp_path / "points of mills.gpx").write_text(text, encoding="utf-8")
    found = brought([tmp_path / "mills.csv", tmp_path / "points of mills.gpx"])
    assert (found.told, found.questions) == ("", [])
    assert right(found.rows)
    assert found.rows["sources"][0]["note_origin"] == (
        "mills.csv, row 2; points of mills.gpx, waypoints, feature 0"
    )


def test_two_files_that_differ_are_a_fault(tmp_path):
    for name, tonnes in (("mills a.csv", 1200), ("mills b.csv", 1300)):
        (tmp_path / name).write_text(
            f"Mill name,Lon,Lat,Rice husk (t)\nNorth mill,-31.1,-0.9,{tonnes}\n"
        )
    found = brought([tmp_path / "mills a.csv", tmp_path / "mills b.csv"])
    assert (
        "mills b.csv, row 2, column 'amount': '1300' is 1200 in mills a.csv, row 2"
        in found.told
    )


@pytest.mark.parametrize(("metres", "warned"), [(30, False), (30.5, True)])
def test_points_worse_than_30_m_are_warned_of_and_kept(metres, warned, tmp_path):
    (tmp_path / "mills.csv").write_text(
        "Mill name,gps-Longitude,gps-Latitude,gps-Accuracy,Rice husk (t)\n"
        f"North mill,-31.1,-0.9,{metres},1200\n"
    )
    found = brought([tmp_path / "mills.csv"])
    assert [w.column for w in found.proposal.warnings] == ["accuracy"] * warned
    assert found.rows["sources"][0]["note_accuracy_m"] == f"{metres}"


def test_ods_tells_percentages_from_shares(tmp_path):
    """The stored value counts; 12 % is not 0.12."""
    cells = "".join(f"<table:table-cell office:value-type='string'><text:p>{c}</text:p></table:table-cell>"
                    for c in ("Mill name", "Longitude", "Latitude", "Rice husk (t)", "Moisture"))  # fmt: skip
    row = "<table:table-cell office:value-type='string'><text:p>North mill</text:p></table:table-cell>"
    row += "".join(f"<table:table-cell office:value-type='float' office:value='{v}'><text:p>~</text:p></table:table-cell>"
                   for v in (-31.1, -0.9, 1200.4))  # fmt: skip
    row += "<table:table-cell office:value-type='percentage' office:value='0.124'><text:p>12%</text:p></table:table-cell>"
    text = f"""<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
      xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0">
      <office:body><office:spreadsheet><table:table table:name="Mills"><table:table-row>{cells}</table:table-row>
      <table:table-row table:number-rows-repeated="2"><table:table-cell/></table:table-row>
      <table:table-row>{row}</table:table-row></table:table></office:spreadsheet></office:body></office:document-content>"""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as packed:
        packed.writestr("content.xml", text)
    (tmp_path / "m.ods").write_bytes(data.getvalue())
    found = brought([tmp_path / "m.ods"])
    one = found.rows["sources"][0]
    assert (one["amount"], one["lab_moisture_pct"]) == ("1200.4", "12.4")
    assert one["note_origin"] == "m.ods, Mills, row 4"


@pytest.mark.parametrize(("turned", "faults"), [(False, 0), (True, 1)])
def test_a_file_that_is_swapped_as_a_whole_is_seen_from_the_others(
    turned, faults, tmp_path
):
    """Both orders are places on earth, so only the other file shows it."""
    lines = "Mill name,Longitude,Latitude,Rice husk (t)\n"
    (tmp_path / "mills.csv").write_text(
        lines + "".join(f"{n},{x},{y},{t}\n" for n, x, y, t in CLEAN), encoding="utf-8"
    )
    x, y = ("-0.9", "-31.12") if turned else ("-31.12", "-0.9")
    (tmp_path / "buyers.csv").write_text(
        f"Buyer,Longitude,Latitude,Demand (t)\nGrowers,{x},{y},5\n"
    )
    found = brought([tmp_path / "mills.csv", tmp_path / "buyers.csv"])
    assert found.told.count("has places that look swapped") == faults
    assert bool(found.rows) is not turned


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        ("values.season=millings", "'millings' is not in calendar"),
        ("values.amount=12 t", "'12 t' has a unit in the cell"),
        ("values.colour=red", "'red' is not a column of ours"),
    ],
)
def test_values_of_the_recipe_are_checked_as_cells_are(answer, said, tmp_path):
    (tmp_path / "mills.csv").write_text(
        "Mill name,Lon,Lat,Rice husk (t)\nA mill,-31,-1,5\n"
    )
    answers = [f"mills.csv:{answer}", "mills.csv:values.season=even"]
    found = brought([tmp_path / "mills.csv"], *answers[: 1 + ("season" not in answer)])
    assert said in found.told


def test_an_answer_that_is_no_number_is_asked_again(tmp_path):
    """A bag of fifty is not a bag of one."""
    (tmp_path / "mills.csv").write_text(
        "Mill name,Lon,Lat,Rice husk\nA mill,-31,-1,5 bags\n"
    )
    found = brought([tmp_path / "mills.csv"], "mills.csv:told.bag_kg=fifty")
    assert [q.key for q in found.questions] == ["told.bag_kg"]
