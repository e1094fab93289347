"""What the district page is told and what it may do, asked without a browser."""

import json
import shutil

import pytest
from support.desk import Desk
from support.places import SMALL

from logistics.scenario import read_scenario

API = "/s/small/api/district"


@pytest.fixture
def desk(tmp_path):
    """A desk with the small district."""
    shutil.copytree(SMALL, tmp_path / "shelf" / "small")
    return Desk(tmp_path / "shelf")


def sent(desk, path, body, kind="application/json"):
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    return desk.post(path, headers={"content-type": kind}, body=data)


def test_every_column_is_told_with_unit_note_choices_and_default(desk):
    told = desk.get(f"{API}/tables/sources").json()
    columns = {column["name"]: column for column in told["columns"]}
    assert columns["amount"]["unit"] == "t/yr or ha or head"
    assert columns["amount"]["note"] == "Yearly amount in the unit of the basis"
    assert columns["basis"]["choices"][:2] == ["tonnes", "processed"]
    assert columns["recoverable_pct"]["default"] == "100"
    assert columns["material"]["picks"] == "materials"
    codes = [code for code, _ in told["picks"]["materials"]]
    at = list(columns).index("material")
    assert {row[at] for row in told["cells"]} <= set(codes)
    assert all(len(row) == len(told["columns"]) for row in told["cells"])
    names = [one["table"] for one in desk.get(f"{API}/tables").json()["tables"]]
    assert names[:2] == ["sources", "yards"]
    assert len(set(names)) == len(names)


def test_the_library_rows_can_become_a_chart_of_ones_own(desk):
    """All of them make the same scenario; those the table has are not offered again."""
    folder = desk.opened.shelf.scenario("small")
    before = read_scenario(folder)
    told = desk.get(f"{API}/tables/accounts").json()
    rows = told["library"]
    assert ["compost_sale", "110", "Sales of compost"] in [row[:3] for row in rows]
    edits = [{"rows": [0, 0, rows]}]
    body = {"version": told["version"], "name": "a", "edits": edits}
    assert sent(desk, f"{API}/tables/accounts/edits", body).status == 200
    assert desk.get(f"{API}/tables/accounts").json()["library"] == []
    assert sent(desk, f"{API}/save", {}).json() == {"files": ["accounts.csv"]}
    after = read_scenario(folder)
    assert after.accounts.equals(before.accounts)
    assert len(before.defaults_used) - len(after.defaults_used) >= len(rows)
    assert desk.get(f"{API}/tables/sources").json()["library"] == []


def test_library_money_is_offered_in_the_currency_of_the_scenario(desk):
    folder = desk.opened.shelf.scenario("small")
    with (folder / "scenario.toml").open("a", encoding="utf-8") as file:
        file.write("\n[finance]\nmoney_scale = 1000\n")
    before = read_scenario(folder).fertilisers
    desk.get(f"{API}/check")
    told = desk.get(f"{API}/tables/fertilisers").json()
    body = {"version": told["version"], "name": "a"}
    body["edits"] = [{"rows": [0, 0, told["library"]]}]
    sent(desk, f"{API}/tables/fertilisers/edits", body)
    sent(desk, f"{API}/save", {})
    assert read_scenario(folder).fertilisers.equals(before)


def test_a_fault_is_told_with_its_cell(desk):
    told = desk.get(f"{API}/tables/sources").json()
    at = [column["name"] for column in told["columns"]].index("amount")
    edits = [{"set": [1, at, [["12 t"]]]}]
    body = {"version": told["version"], "name": "a", "edits": edits}
    version = sent(desk, f"{API}/tables/sources/edits", body).json()["version"]
    checked = desk.get(f"{API}/check").json()
    assert checked["versions"]["sources"] == version
    fault = checked["faults"][0]
    assert (fault["table"], fault["row"], fault["column"]) == ("sources", 1, at)
    assert fault["place"] == "sources.csv, row 3, column 'amount'"
    assert fault["said"].startswith("'12 t' has a unit")
    saved = sent(desk, f"{API}/save", {})
    assert saved.status == 409
    assert "1 fault" in saved.json()["fault"]


def test_a_slip_is_told_with_its_cell_and_may_be_accepted(desk):
    """Its words are those of `check`; an accepted one is told with its reason."""
    told = desk.get(f"{API}/tables/sources").json()
    at = [column["name"] for column in told["columns"]].index("kg_per_head_day")
    edits = [{"set": [3, at, [["0.001"]]]}]
    body = {"version": told["version"], "name": "a", "edits": edits}
    assert sent(desk, f"{API}/tables/sources/edits", body).status == 200
    checked = desk.get(f"{API}/check").json()
    assert checked["faults"] == []
    (doubt,) = checked["doubts"]
    assert (doubt["table"], doubt["row"], doubt["column"]) == ("sources", 3, at)
    assert doubt["said"].startswith("0.001 is out of the usual")
    assert doubt["remedy"].endswith("accept conversion")
    file = desk.opened.shelf.scenario("small") / "scenario.toml"
    with file.open("a", encoding="utf-8") as settings:
        settings.write('\n[[accepted]]\ncheck = "conversion"\nreason = "kids"\n')
    checked = desk.get(f"{API}/check").json()
    assert checked["doubts"] == []
    assert checked["accepted"] == ["conversion for herd is accepted: kids"]


def test_land_and_roads_are_told_though_tables_have_faults(desk):
    folder = desk.opened.shelf.scenario("small")
    land = 'land,name,kind,wkt\nw,"<b>",well,POINT (-30.5 0.5)\nx,,well,POINT (oops\n'
    (folder / "land.csv").write_text(land, encoding="utf-8")
    told = desk.get(f"{API}/ground").json()
    assert told["land"] == [
        {"kind": "well", "name": "<b>", "shape": "point", "parts": [[[0.5, -30.5]]]}
    ]
    assert len(told["points"]["yards"]) > 0
    place = sent(desk, f"{API}/place", {"cells": {"lon": "-30.5", "lat": "0.5"}})
    assert place.status == 200  # an answer, so that no console calls it an error
    assert "no faults" in place.json()["fault"]


REFUSED = [
    ("/s/small/api/district/tables/passwd", None, 404),
    ("/s/small/api/district/tables/settings", None, 404),
    ("/s/other/api/district/tables", None, 404),
    ("/s/small/api/district/no-go?area_m2=x", None, 422),
    ("/s/small/api/district/no-go?area_m2=-1", None, 422),
    ("/s/small/api/district/no-go?area_m2=nan", None, 422),
    ("/lib/../desk.css", None, 400),
    ("/lib/setup.py", None, 404),
    (f"{API}/tables/passwd/edits", {"version": "", "name": "", "edits": []}, 404),
    (f"{API}/tables/sources/edits", {"version": 0, "name": "a", "edits": []}, 422),
    (f"{API}/tables/sources/edits", {"edits": "rm"}, 422),
    (f"{API}/tables/sources/edits", [1], 415),
    (f"{API}/tables/sources/edits", b"{", 415),
    (f"{API}/tables/sources/edits", b"[" * 100_000, 415),
    (f"{API}/tables/sources/choice", {"keep": "../x"}, 422),
    (f"{API}/place", {"cells": {"lon": 1}}, 422),
    (f"{API}/place", {"cells": {"lon": "1" * 1000, "lat": "1"}}, 422),
]


@pytest.mark.parametrize(("path", "body", "status"), REFUSED, ids=lambda v: str(v)[:50])
def test_what_the_page_never_sends_is_refused(desk, path, body, status):
    answer = desk.get(path) if body is None else sent(desk, path, body)
    assert answer.status == status
    folder = desk.opened.shelf.scenario("small")
    assert not (folder / ".draft").exists()


@pytest.mark.parametrize("what", ["save", "place", "tables/sources/edits"])
def test_nothing_is_done_by_an_address_alone(desk, what):
    """A picture on another page asks for an address and can send nothing."""
    assert desk.get(f"{API}/{what}?sent=1&what=save").status == 404


def test_a_form_of_another_page_cannot_edit(desk):
    """Only JSON is taken, which no form of a page elsewhere can send unasked."""
    body = json.dumps({"version": "", "name": "a", "edits": []}).encode()
    answer = sent(desk, f"{API}/tables/sources/edits", body, kind="text/plain")
    assert answer.status == 415
