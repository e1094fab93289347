"""Pages of the desk: what is shown, brought in, taken away; names are text."""

import csv
import io
import json
import re
import zipfile

import geopandas
import pytest
from shapely import Point
from support.desk import SUMMARY, Desk, finish, make_scenario
from support.template_book import filled_book

from maps import shared
from maps.desk.book import order_plan, plans
from maps.desk.looks import HELP, STATIC, TABS

HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>{{ 7 * 7 }}"


@pytest.fixture
def desk(tmp_path):
    return Desk(tmp_path)


@pytest.fixture
def small(desk):
    return make_scenario(desk.opened.shelf.folder)


def planned(scenario, **end):
    entry = order_plan(scenario, {})
    finish(entry, **end)
    return entry


def test_the_first_page_shows_a_scenario_once_it_was_looked_at(desk, small):
    assert 'data-card="/s/small/card"' in desk.get("/").text
    card = desk.get("/s/small/card").text
    assert "Three Piers" in card
    assert "4 sources, 3 sites for yards, 2 markets" in card
    assert re.findall('<li><a href="/s/small/(.+?)"', card) == ["district", "plan"]
    assert len(re.findall("h0", card)) == 4
    assert "data-card" not in desk.get("/").text
    planned(small)
    home = desk.get("/").text
    assert "−2,500" in home
    assert "The tables have changed" not in home
    assert home.count("m-4.5-4.5h9v9h-9z") == 2


def test_faults_are_counted_in_the_words_of_the_check(desk, small):
    (small / "sources.csv").write_text(
        (small / "sources.csv").read_text().replace("7500", "x")
    )
    card = desk.get("/s/small/card").text
    assert "2 faults in the tables" in card
    assert "sources.csv, row 2, column" in card
    page = desk.get("/s/small/plan").text
    assert "2 faults" in page
    assert 'href="/s/small/district">Mend them' in page
    assert "plan/start" not in page


def test_a_plan_older_than_its_data_is_flagged(desk, small):
    planned(small)
    (small / "sources.csv").write_text(
        (small / "sources.csv").read_text().replace("7500", "7600")
    )
    card = desk.get("/s/small/card").text
    assert "The tables have changed" in card
    assert re.findall('<li><a href="/s/small/(.+?)"', card) == [c for c, _ in TABS]
    [entry] = plans(small)
    for address in ("/s/small/plan", f"/s/small/plans/{entry.code}"):
        assert "older than its data" in desk.get(address).text


def test_edits_that_are_not_saved_are_said_where_plans_are_made(desk, small):
    words = "Edits in the tables wait to be saved"
    assert words not in desk.get("/s/small/plan").text
    place = "/s/small/api/district/tables/sources"
    table = desk.get(place).json()
    at = [column["name"] for column in table["columns"]].index("name")
    edit = {"set": [0, at, [["Anew"]]]}
    batch = {"version": table["version"], "name": "1", "edits": [edit]}
    kind = {"content-type": "application/json"}
    sent = json.dumps(batch).encode()
    assert desk.post(f"{place}/edits", body=sent, headers=kind).status == 200
    assert words in desk.get("/s/small/plan").text
    desk.post("/s/small/api/district/save", body=b"{}", headers=kind)
    assert words not in desk.get("/s/small/plan").text


@pytest.mark.parametrize(
    ("way", "form"),
    [
        ("blank", {"name": "new", "kind": "xlsx"}),
        ("blank", {"name": "new", "kind": "csv"}),
        ("demo", {"name": "new", "demo": "highlake"}),
        ("copy", {"name": "new", "origin": "small"}),
    ],
)
def test_a_scenario_begins(desk, small, way, form):
    planned(small)
    answer = desk.post(f"/begin/{way}", form)
    assert answer.headers["location"] == "/s/new/plan"
    assert desk.opened.shelf.names() == ["new", "small"]
    place = desk.opened.shelf.scenario("new")
    assert plans(place) == []
    still_to_fill_in = ["sources", "yards"] if form.get("kind") == "xlsx" else []
    faults = desk.opened.looks.at(place).faults
    assert [re.search(r"'(\w+)': has no rows", one)[1] for one in faults] == (
        still_to_fill_in
    )
    if form.get("kind") == "csv":
        assert desk.opened.looks.at(place).title == "new"
    assert desk.post(f"/begin/{way}", form).status == 422  # taken by now


def brought(desk, name, content):
    return desk.post(f"/bring?file={name}", body=content)


@pytest.mark.slow
def test_a_dropped_workbook_becomes_a_scenario(desk, small, tmp_path):
    filled_book(tmp_path / "elsewhere")
    book = (tmp_path / "elsewhere" / "tables.xlsx").read_bytes()
    answer = brought(desk, "My%20tables.xlsx", book)
    assert answer.json() == {"address": "/s/My%20tables/plan"}
    again = brought(desk, "My%20tables.xlsx", book)
    assert again.json() == {"address": "/s/My%20tables%202/plan"}
    seen = desk.opened.looks.at(desk.opened.shelf.scenario("My tables"))
    assert seen.title == "My tables"
    assert seen.faults == ()


def geopackage(file, **layers):
    """Write points of two sources as layers of these names, in metres of a UTM zone."""
    points = [Point(500_000, 4_650_000), Point(510_000, 4_650_000)]
    cells = {"source": ["mill", "pier"], "amount": [9_000.0, 1_200.5]}
    for name in layers.values():
        frame = geopandas.GeoDataFrame(cells, geometry=points, crs="EPSG:32633")
        frame.to_file(file, layer=name, driver="GPKG")
    return file.read_bytes()


def test_the_layers_of_a_dropped_geopackage_become_tables_to_edit(
    desk, tmp_path_factory
):
    shelf = desk.opened.shelf.folder
    file = geopackage(
        tmp_path_factory.mktemp("g") / "a.gpkg", one="sources", two="rivers"
    )
    assert brought(desk, "Our%20places.gpkg", file).status == 201
    place = shelf / "Our places"
    heads, *rows = csv.reader((place / "sources.csv").read_text().splitlines())
    assert [row[heads.index("amount")] for row in rows] == ["9000", "1200.5"]
    # A zone's middle meridian is at 500 km east: 15 degrees in zone 33.
    assert float(rows[0][heads.index("lon")]) == pytest.approx(15, abs=1e-6)
    assert 'name = "Our places"' in (place / "scenario.toml").read_text()
    assert "west = 14.950" in (place / "scenario.toml").read_text()
    assert not list(place.glob("*.gpkg"))
    table = desk.get("/s/Our%20places/api/district/tables/sources").json()
    assert table["viewOnly"] == ""


@pytest.mark.slow
def test_a_geopackage_without_our_tables_is_looked_at_or_refused(
    desk, tmp_path_factory
):
    other = geopackage(tmp_path_factory.mktemp("g") / "a.gpkg", one="rivers")
    waits = brought(desk, "a.gpkg", other)
    assert waits.json()["address"] == f"/bring/{waits.json()['drop']}"
    desk.opened.drops.close()
    for content, words in (
        (b"SQLite format 3\x00" + bytes(200), "cannot be opened as a GeoPackage"),
        (b"no database", "cannot be opened as a GeoPackage"),
    ):
        answer = brought(desk, "a.gpkg", content)
        assert answer.status == 422
        assert words in answer.json()["fault"]
    assert list(desk.opened.shelf.folder.iterdir()) == []


def test_what_cannot_be_brought_in_leaves_nothing_behind(desk):
    for name, content, status in (
        ("a.xlsx", b"no workbook", 422),
        ("a.zip", b"no zip", 422),
        ("a.exe", b"MZ", 415),
        ("", b"x", 415),
    ):
        assert brought(desk, name, content).status == status
    assert list(desk.opened.shelf.folder.iterdir()) == []


def test_a_share_file_goes_to_another_office(desk, small, tmp_path_factory):
    entry = planned(small)
    packed = desk.get(f"/s/small/plans/{entry.code}/share.zip")
    other = Desk(tmp_path_factory.mktemp("other"))
    assert brought(other, "small.share.zip", packed.body).status == 201
    there = other.opened.shelf.scenario("small")
    [same] = plans(there)
    assert same.state == "done"
    assert same.summary == SUMMARY
    assert "up to date" in other.get("/s/small/plan").text


def test_a_plan_is_ordered_with_what_the_form_asks(desk, small):
    last = planned(small)
    form = {"minutes": "2", "gap": "0.5", "goal": "co2e", "haulage": "estimate"}
    answer = desk.post("/s/small/plan/start", form)
    [entry, _] = plans(small)
    assert answer.headers["location"] == f"/s/small/plans/{entry.code}"
    assert entry.order["asked"] == {
        "solve.seconds": 120.0,
        "solve.gap_pct": 0.5,
        "goal.minimise": "co2e",
        "estimate": True,
        "start": {"reef": "small", "mole": "large"},
        "from": last.code,
    }
    page = desk.get(answer.headers["location"]).text
    assert "Waits for its turn" in page
    assert "waits" in desk.get("/s/small/plan").text


@pytest.mark.parametrize(
    "form", [{"minutes": "1e9"}, {"gap": "nan"}, {"goal": "x"}, {"minutes": "-1"}]
)
def test_an_order_that_makes_no_sense_is_refused(desk, small, form):
    assert desk.post("/s/small/plan/start", form).status == 422
    assert plans(small) == []


def test_a_plan_is_named_starred_stopped_and_deleted_by_its_page(desk, small):
    entry = planned(small)
    place = f"/s/small/plans/{entry.code}"
    desk.post(f"{place}/label", {"name": HOSTILE})
    desk.post(f"{place}/star", {"star": "yes"})
    [seen] = plans(small)
    assert (seen.name, seen.star) == (HOSTILE, True)
    assert desk.post(f"{place}/delete", {}).status == 422
    assert "cannot be undone" in desk.get(f"{place}/delete").text
    assert desk.post(f"{place}/nothing", {}).status == 404
    assert desk.post(f"{place}/delete", {"sure": "yes"}).status == 303
    assert plans(small) == []
    waiting = order_plan(small, {})
    place = f"/s/small/plans/{waiting.code}"
    desk.post(f"{place}/stop", {})
    assert (waiting.folder / "stop").exists()
    desk.post(f"{place}/drop", {})
    assert plans(small) == []


def test_a_plan_that_failed_is_asked_for_again(desk, small):
    entry = planned(small, how="failed", why="Nothing was kept.", lines=[HOSTILE])
    page = desk.get(f"/s/small/plans/{entry.code}").text
    assert "Nothing was kept." in page
    assert "<script>alert" not in page
    desk.post(f"/s/small/plans/{entry.code}/again", {})
    assert [one.state for one in plans(small)] == ["waiting", "failed"]


def test_the_events_of_a_plan_are_sent_from_where_a_page_has_come_to(desk, small):
    entry = planned(small)
    address = f"/s/small/api/plans/{entry.code}/events"
    whole = desk.get(address)
    assert whole.headers["content-type"].startswith("text/event-stream")
    assert '"kind": "end"' in whole.text
    assert '"state": "done"' in whole.text
    last = re.findall(r"^id: (\d+)$", whole.text, re.MULTILINE)[-1]
    rest = desk.get(address, headers={"last-event-id": last}).text
    assert '"kind": "end"' not in rest
    assert '"state": "done"' in rest
    for wrong in ("-1", "x", "9" * 30, "٣"):
        given = {"last-event-id": wrong.encode().decode("latin-1")}
        assert '"kind": "end"' in desk.get(address, headers=given).text


def test_two_plans_are_compared(desk, small):
    one, other = planned(small), order_plan(small, {})
    changed = SUMMARY | {"yards": {"reef": "large"}, "total_cost": 500.0}
    finish(other, changed)
    page = desk.get(f"/s/small/compare?plan={other.code}&plan={one.code}").text
    assert "+3,000" in page
    assert "Reef yard</bdi>: <bdi>from small to large" in page
    assert "Mole yard</bdi>: <bdi>closed" in page
    assert page.count("<iframe") == 2
    for wrong in ("", f"?plan={one.code}", f"?plan={one.code}&plan={one.code}"):
        assert desk.get(f"/s/small/compare{wrong}").status == 422


def test_pages_of_a_plan_run_as_strangers_and_files_are_kept(desk, small):
    """A map from another office may hold any script: it gets no cookie, no address."""
    place = f"/s/small/plans/{planned(small).code}"
    shown = desk.get(f"{place}/files/outputs/map.html")
    rules = shown.headers["content-security-policy"]
    assert rules.startswith("sandbox allow-scripts")
    assert "allow-same-origin" not in rules
    assert "connect-src 'none'" in rules
    assert "content-disposition" not in shown.headers
    for path in ("outputs/summary.json", "outputs/plan.csv/yards.csv"):
        kept = desk.get(f"{place}/files/{path}")
        assert kept.headers["content-disposition"].startswith("attachment")
        assert kept.headers["content-type"] == "application/octet-stream"
    page = desk.get(f"{place}/take").text
    assert f'href="{place}/files/outputs/map.html?keep"' in page
    names = zipfile.ZipFile(io.BytesIO(desk.get(f"{place}/all.zip").body)).namelist()
    assert names == ["map.html", "plan.csv/yards.csv", "summary.json"]


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("inputs/sources.csv", 404),
        ("outputs/../order.json", 400),
        ("outputs//etc/passwd", 404),
        ("outputs/link.html", 404),
        ("outputs/deep/key.html", 404),
        ("outputs/plan.csv", 404),
        ("outputs/nul.html", 404),
    ],
)
def test_only_files_of_the_outputs_are_sent(desk, small, path, status):
    entry = planned(small)
    secret = desk.opened.shelf.folder.parent / "secret_of_a_plan"
    secret.mkdir(exist_ok=True)
    (secret / "key.html").write_text("secret")
    outputs = entry.folder / "outputs"
    (outputs / "link.html").symlink_to(secret / "key.html")
    (outputs / "deep").symlink_to(secret)
    answer = desk.get(f"/s/small/plans/{entry.code}/files/{path}")
    assert answer.status == status
    assert b"secret" not in desk.get(f"/s/small/plans/{entry.code}/all.zip").body


@pytest.mark.parametrize(
    "path",
    [
        *("/s/nothing/plan", "/s/nothing/card", "/s/.hidden/plan", "/s/small/x"),
        *("/s/small/plans/x", "/s/small/plans/x/take", "/s/small/api/plans/x/events"),
    ],
)
def test_what_is_not_there_is_said_so(desk, small, path):
    answer = desk.get(path)
    assert answer.status == 404
    assert "Traceback" not in answer.text


def test_names_from_data_are_text_on_every_page(desk, small):
    settings = small / "scenario.toml"
    quoted = HOSTILE.replace('"', '\\"')
    text = settings.read_text()
    text = re.sub("^name = .*$", f'name = "{quoted}"', text, flags=re.MULTILINE)
    settings.write_text(text.replace('"coin"', '"<b>c</b>"'))
    hostile = SUMMARY | {
        "currency": HOSTILE,
        "status": HOSTILE,
        "total_cost": HOSTILE,
        "yards": {HOSTILE: HOSTILE},
        "collected_t": [HOSTILE],
        "gap": 1e400,
    }
    one, other = order_plan(small, {}), order_plan(small, {})
    for entry in (one, other):
        finish(entry, hostile, note=HOSTILE, nothing=[HOSTILE])
        desk.post(f"/s/small/plans/{entry.code}/label", {"name": HOSTILE})
    for path in (
        *("/s/small/card", "/", "/s/small/plan", f"/s/small/plans/{one.code}"),
        *(f"/s/small/plans/{one.code}/take", f"/s/small/plans/{one.code}/delete"),
        f"/s/small/compare?plan={one.code}&plan={other.code}",
    ):
        text = desk.get(path).text
        assert "&lt;script&gt;" in text, path
        assert "<script>alert" not in text
        assert "<img" not in text
        assert "{{ 7 * 7 }}" in text  # not reckoned


def test_status_and_figures_are_named_as_in_the_report():
    from maps.desk import figures
    from maps.desk.figures import STATUS

    for name in ("NET", "TO_PROGRAMME", "BY_SOURCES", "A_TONNE"):
        assert getattr(figures, name) == getattr(shared, name)
    for code, words in shared.STATUS_WORDS.items():
        assert words.casefold().startswith(STATUS[code].casefold())


def test_opening_needs_no_tables_read(desk):
    """The first page comes before pandas does."""
    import subprocess
    import sys

    code = "import sys, maps.desk.server; print('pandas' in sys.modules)"
    made = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert made.stdout.strip() == "False"


def pages_of_the_desk() -> set[str]:
    """Templates that are whole pages."""
    return {
        file.name
        for file in STATIC.iterdir()
        if file.name.endswith(".html.j2")
        and file.read_text(encoding="utf-8").startswith('{% extends "desk.html.j2" %}')
    }


def test_every_page_has_its_help_in_the_manual(desk):
    manual = desk.get("/help")
    places = set(re.findall(r'\bid="([^"]+)"', manual.text))
    assert set(HELP) == pages_of_the_desk()
    assert {f"desk-{place}" for place in HELP.values()} <= places
    assert "cautions" in places
    policy = manual.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe-" not in policy
    assert policy.endswith("frame-ancestors 'self'")


@pytest.mark.parametrize("tab", [code for code, _ in TABS])
def test_each_tab_leads_to_its_own_help(desk, small, tab):
    page = desk.get(f"/s/small/{tab}").text
    assert f'href="/help#desk-{HELP[f"desk_{tab}.html.j2"]}"' in page
    assert desk.get("/").text.count('href="/help#desk-your-scenarios"') == 1


def test_what_a_plan_does_not_settle_is_said_where_plans_are_made_and_used(desk, small):
    entry = planned(small)
    for address in (
        "plan",
        "whatif",
        f"plans/{entry.code}",
        f"plans/{entry.code}/take",
    ):
        page = desk.get(f"/s/small/{address}").text
        words = page.partition('class="caution">')[2].partition("</p>")[0]
        for caution in (
            "Fish waste",
            "windrows",
            "run-off",
            "machinery",
            "driving hours",
        ):
            assert caution in words, address
        assert "siting" in words
        assert "local codes come first" in words
        assert 'href="/help#cautions"' in words
