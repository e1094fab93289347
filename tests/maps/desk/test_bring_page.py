"""Files dropped onto the desk: shown, asked about, written; hostile ones refused."""

import html
import io
import re
import tomllib
import zipfile

import pytest
from support.desk import Desk
from support.map_extract import district, with_sites
from support.messy import ANSWERS, write_set
from typer.testing import CliRunner

from logistics.scenario import read_scenario
from maps.commands import app
from maps.desk.drops import MOST_DROPS, Drops
from maps.desk.shelf import NotThere

MILLS = b"Mill name,Longitude,Latitude,Rice husk (t)\nNorth mill,-31.1,-0.9,1200\n"


@pytest.fixture
def desk(tmp_path):
    (tmp_path / "shelf").mkdir()
    made = Desk(tmp_path / "shelf")
    yield made
    made.opened.drops.close()


def dropped(desk, files, into=""):
    """Send files as the page's script does; return the address it goes to."""
    code = "new"
    for name, data in files.items():
        more = f"&with={code}" if len(files) > 1 else ""
        answer = desk.post(f"/bring?file={name}&into={into}{more}", body=data)
        assert answer.status == 201, answer.text
        code = answer.json().get("drop", "")
    return answer.json()["address"]


def held(desk, address):
    return desk.opened.drops.at(address.rpartition("/")[2]).folder


@pytest.mark.slow
def test_dropped_files_become_what_the_command_makes_of_them(desk, tmp_path):
    files = write_set(tmp_path / "office")
    address = dropped(desk, {f.name.replace(" ", "%20"): f.read_bytes() for f in files})
    private = held(desk, address)
    assert private.stat().st_mode & 0o077 == 0
    shown = html.unescape(desk.get(address).text)
    assert "8 questions" in shown
    assert "Row 33: a total ('TOTAL')" in shown
    assert "Yes, write these tables" not in shown
    asked = re.findall(r'name="(a:[^"]+)"', shown)
    replies = dict(one.rpartition("=")[::2] for one in ANSWERS)
    replies = {
        f"a:{k.replace('yards.gpx', 'waypoints')}": v for k, v in replies.items()
    }
    assert set(replies) <= set(asked)
    assert desk.opened.shelf.names() == []
    form = {"into": "", "name": "lowland", **replies}
    assert desk.post(address, {**form, "do": "look"}).status == 303
    assert "Yes, write these tables" in desk.get(address).text
    done = desk.post(address, {"into": "", "name": "lowland", "do": "write"})
    assert done.headers["location"] == "/s/lowland/district"
    assert not private.exists()
    answers = [part for text in ANSWERS for part in ("--answer", text)]
    other = tmp_path / "command" / "lowland"
    words = ["bring", *map(str, sorted(files)), str(other), *answers, "--yes"]
    assert CliRunner().invoke(app, words).exit_code == 0
    here = desk.opened.shelf.scenario("lowland")
    assert {p.name for p in here.iterdir()} == {p.name for p in other.iterdir()}
    recipes = [tomllib.loads((at / "bring.toml").read_text()) for at in (here, other)]
    assert recipes[0] == recipes[1]
    for path in set(other.iterdir()) - {other / "bring.toml"}:
        assert (here / path.name).read_bytes() == path.read_bytes(), path.name


@pytest.mark.thorough
def test_tables_and_a_map_go_into_a_scenario_in_one_drop(tmp_path):
    (tmp_path / "shelf").mkdir()
    with_sites(tmp_path / "shelf" / "crane")
    extract = district().write(tmp_path / "crane.osm")
    desk = Desk(tmp_path / "shelf")
    book = b"Name,Longitude,Latitude,Rice husk (t)\nNew mill,-30.4,0.5,120\n"
    address = dropped(desk, {"a.csv": book, "crane.osm": extract.read_bytes()}, "crane")
    assert "No file gives season" in desk.get(address).text
    season = {"into": "crane", "a:a.csv:values.season": "even"}
    desk.post(address, {**season, "do": "look"})
    shown = desk.get(address).text
    assert "4 roads, 33.9 km." in shown
    desk.post(address, {"into": "crane", "do": "write"})
    made = read_scenario(tmp_path / "shelf" / "crane")
    assert len(made.roads) == 4
    assert "New mill" in set(made.sources["name"])
    desk.opened.drops.close()


@pytest.mark.thorough
def test_what_was_changed_meanwhile_is_shown_again(desk, tmp_path):
    with_sites(tmp_path / "shelf" / "crane")
    address = dropped(desk, {"mills.csv": MILLS}, "crane")
    form = {"into": "crane", "a:mills.csv:values.season": "even"}
    desk.post(address, {**form, "do": "look"})
    sources = tmp_path / "shelf" / "crane" / "sources.csv"
    sources.write_text(sources.read_text().replace("herd", "herds"), encoding="utf-8")
    other = desk.post(address, {"into": "crane", "do": "write"})
    assert other.status == 422
    assert "not what was shown before" in other.text
    draft = tmp_path / "shelf" / "crane" / ".draft"
    draft.mkdir()
    (draft / "sources.jsonl").write_text("{}\n")
    waits = desk.post(address, {"into": "crane", "do": "write"})
    assert waits.status == 422
    assert "edits that are not saved" in waits.text


def zipped(**files):
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in files.items():
            made.writestr(name.replace("__", "."), content)
    return data.getvalue()


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("a.gpx", b'<!DOCTYPE a [<!ENTITY b "c">]><gpx/>', "is not a file of the kind"),
        ("a.zip", zipped(a__exe=b"x"), "a kind of file that no scenario has"),
        ("a.zip", zipped(a__shp=b"0" * 40_000_000), "times its size"),
        ("a.csv", b"PK\x03\x04", "is a workbook, not text"),
    ],
)
@pytest.mark.thorough
def test_a_hostile_file_brings_nothing_in_and_says_why(desk, name, data, words):
    address = dropped(desk, {name: data})
    shown = html.unescape(desk.get(address).text)
    assert words in shown
    assert "Yes, write these tables" not in shown
    private = held(desk, address)
    assert desk.post(address, {"do": "away"}).headers["location"] == "/"
    assert not private.exists()
    assert desk.get(address).status == 404


def test_strange_names_are_refused(desk):
    assert desk.post("/bring?file=a.exe", body=b"x").status == 415
    assert desk.post("/bring?file=.csv", body=b"x").status == 415
    assert desk.post("/bring?file=con.csv", body=b"x").status == 422


@pytest.mark.slow
def test_names_from_files_are_text(desk):
    sneaky = MILLS.replace(b"Mill name", b"<script>x</script> mill name")
    address = dropped(desk, {"mills.csv": sneaky})
    shown = desk.get(address).text
    assert "<script>x" not in shown
    assert "&lt;script&gt;x" in shown


def test_a_file_that_comes_twice_ends_the_drop(desk):
    first = desk.post("/bring?file=a.csv&with=new", body=MILLS).json()["drop"]
    twice = desk.post(f"/bring?file=A.csv&with={first}", body=MILLS)
    assert twice.status == 422
    assert "was dropped twice" in twice.text
    assert desk.get(f"/bring/{first}").status == 404


def test_only_so_many_drops_wait_and_all_go_with_the_desk():
    drops = Drops()
    made = [drops.new() for _ in range(MOST_DROPS)]
    assert drops.at(made[0].code) == made[0]
    last = drops.new()
    assert not made[0].folder.exists()
    with pytest.raises(NotThere):
        drops.at(made[0].code)
    drops.close()
    assert not last.folder.exists()


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("what", "inside"),
    [("survey", "survey.xlsx"), ("csv", "sources.csv"), ("gpkg", "scenario.toml")],
)
def test_forms_and_copies_are_sent(desk, tmp_path, what, inside):
    with_sites(tmp_path / "shelf" / "crane")
    shown = desk.get("/s/crane/copies")
    assert f"/s/crane/copies/{what}.zip" in shown.text
    sent = desk.get(f"/s/crane/copies/{what}.zip")
    assert sent.status == 200, sent.text
    with zipfile.ZipFile(io.BytesIO(sent.body)) as packed:
        assert inside in packed.namelist()
    assert desk.get("/s/crane/copies/exe.zip").status == 404
