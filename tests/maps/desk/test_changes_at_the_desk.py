"""Tray, forms, change files and answers: what a planner asks of a plan at the desk."""

import io
import json
import os
import subprocess
import sys
import time

import pytest
from support.desk import SUMMARY, Desk, finish, make_scenario
from support.places import TESTS

from logistics.changes.files import (
    CHANGES,
    Step,
    apply_changes,
    read_change_file,
)
from logistics.model import WarmStart
from logistics.results.pipeline import run
from logistics.scenario.scenario import read_scenario
from maps.desk.board import BASE, BoardTable, keep_sheets, read_sheets
from maps.desk.book import claim, order_plan, plans
from maps.desk.changes.answering import Loaded, answer, load, same_ways
from maps.desk.changes.effect import homes_of, homes_words, yards_after
from maps.desk.changes.forms import fields, groups, wish_of
from maps.desk.changes.saved import saved_changes
from maps.desk.changes.tray import (
    MOST,
    Tray,
    change_set,
    key_of,
    read_tray,
    sentences,
)
from maps.desk.changes.warm import Program
from maps.desk.pages.answers import places_of_plan
from maps.desk.pages.study import go_on, plans_to_take
from maps.desk.shelf import NameFault
from maps.desk.warmth import WARM, write_warm
from maps.desk.worker import work

pytestmark = pytest.mark.slow

HOSTILE = "<script>alert(1)</script>\"'{{ 7 * 7 }}"
HALVED = {"do": "scale_source", "a.source": "fish_pier", "a.percent": "-50"}


@pytest.fixture
def desk(tmp_path):
    return Desk(tmp_path)


@pytest.fixture
def small(desk):
    return make_scenario(desk.opened.shelf.folder)


@pytest.fixture(scope="module")
def tables(tmp_path_factory):
    return read_scenario(make_scenario(tmp_path_factory.mktemp("tables")))


def added(desk, **form):
    return desk.post("/s/small/api/tray/add", {**HALVED, **form})


def test_a_change_goes_into_the_tray_and_out_again(desk, small):
    source = read_scenario(small).sources["source"].iloc[0]
    form = {"a.source": source}
    told = added(desk, **form).json()
    assert len(told["lines"]) == 1
    assert "\u221250 %" in told["lines"][0]
    assert 'do = "scale_source"' in told["text"]
    assert read_tray(small).wishes == (
        {"do": "scale_source", "source": source, "percent": "-50"},
    )
    added(desk, **form | {"a.percent": "100"})
    one = desk.post("/s/small/api/tray/remove", {"place": "0"}).json()
    assert len(one["lines"]) == 1
    assert "+100 %" in one["lines"][0]
    assert len(desk.post("/s/small/api/tray/undo").json()["lines"]) == 2
    assert desk.post("/s/small/api/tray/clear").json()["lines"] == []
    assert len(desk.post("/s/small/api/tray/undo").json()["lines"]) == 2
    for _ in range(3):
        last = desk.post("/s/small/api/tray/undo").json()
    assert last["lines"] == []
    assert last["undo"] is False


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"do": "nothing"}, "no nothing"),
        ({"a.source": "elsewhere"}, "is unknown"),
        ({"a.percent": "many"}, "is not a number"),
        ({"a.percent": "-101"}, "percent"),
        ({"a.percent": ""}, "is missing"),
        ({"a.source": "x" * 201}, "too long"),
        ({"do": "close_road", "a.road": "x"}, "is unknown"),
    ],
)
def test_a_change_that_cannot_be_is_refused_and_the_tray_stays(
    desk, small, form, words
):
    source = read_scenario(small).sources["source"].iloc[0]
    answer = added(desk, **{"a.source": source} | form)
    assert answer.status in (404, 422)
    assert words in answer.json()["fault"]
    assert read_tray(small) == Tray()


def test_the_last_decision_on_a_yard_holds(desk, small):
    for do, more in (
        ("close_yard", {}),
        ("force_yard", {}),
        ("build_yard", {"a.size": "large"}),
    ):
        desk.post("/s/small/api/tray/add", {"do": do, "a.yard": "reef", **more})
    [wish] = read_tray(small).wishes
    assert wish == {"do": "build_yard", "yard": "reef", "size": "large"}


def test_the_tray_holds_only_so_many():
    full = tuple({"do": "scale_fuel", "percent": n} for n in range(MOST))
    assert Tray().holding(full).wishes == full
    with pytest.raises(NameFault, match=f"{MOST} changes at most"):
        Tray().holding((*full, {"do": "scale_fuel", "percent": 1}))


@pytest.mark.parametrize(
    "content",
    ["", "[]", '{"wishes": 3}', '{"wishes": [{"do": 4}, 5, [], {"x": 1}], "past": {}}'],
)
def test_a_tray_that_is_none_is_empty(small, content):
    (small / "studies").mkdir()
    (small / "studies" / "tray.json").write_text(content)
    assert read_tray(small).wishes == ()


def test_a_tray_that_is_a_link_is_not_followed(small, tmp_path):
    (tmp_path / "other.json").write_text('{"wishes": [{"do": "scale_fuel"}]}')
    (small / "studies").mkdir()
    (small / "studies" / "tray.json").symlink_to(tmp_path / "other.json")
    assert read_tray(small).wishes == ()


def test_changes_are_saved_as_a_file_that_is_never_overwritten(desk, small):
    source = read_scenario(small).sources["source"].iloc[0]
    added(desk, **{"a.source": source})
    form = {"name": "half", "title": HOSTILE, "story": "A poor year."}
    assert desk.post("/s/small/tray/save", form).status == 303
    saved = read_change_file(small / "changes" / "half.toml")
    assert (saved.title, saved.story) == (HOSTILE, "A poor year.")
    [step] = saved.steps
    assert dict(step.arguments) == {"source": source, "percent": "-50"}
    for name in ("half", "HALF", "half.toml", "../x", "con", "a/b", "", ".x", "x" * 90):
        assert desk.post("/s/small/tray/save", form | {"name": name}).status == 422
    assert [p.name for p in (small / "changes").iterdir()] == ["half.toml"]
    page = desk.get("/s/small/whatif").text
    assert "A poor year." in page
    assert "<script>alert" not in page
    desk.post("/s/small/tray/clear")
    assert desk.post("/s/small/tray/save", form | {"name": "y"}).status == 422


def test_a_saved_change_is_tried_once_until_it_or_the_tables_change(
    small, tables, monkeypatch
):
    import logistics.changes as library

    tries = []

    def watched(scenario, found):
        tries.append(found.code)
        return apply_changes(scenario, found)

    monkeypatch.setattr(library, "apply_changes", watched)
    (small / "changes").mkdir()
    path = small / "changes" / "shut.toml"
    text = '[[change]]\ndo = "close_yard"\nyard = "reef"\n'
    for yard, faults in (("reef", 0), ("gone", 1)):
        path.write_text(text.replace("reef", yard))
        for _ in range(2):
            [one] = saved_changes(small, tables)
            assert len(one.faults) == faults
    assert len(tries) == 2
    saved_changes(small, read_scenario(small))
    assert len(tries) == 3


def test_a_shared_text_and_a_saved_file_go_into_the_tray(desk, small):
    text = 'title = "x"\n[[change]]\ndo = "scale_fuel"\npercent = 40\n'
    told = desk.post("/s/small/api/tray/take", {"text": text}).json()
    assert told["lines"] == ["Diesel price +40 %"]
    (small / "changes").mkdir()
    (small / "changes" / "wages.toml").write_text(text.replace("fuel", "wages"))
    told = desk.post("/s/small/api/tray/take", {"code": "wages"}).json()
    assert told["lines"][1] == "Pay of crews +40 %"
    for wrong in ({"text": "x ="}, {"text": "a" * 50_001}, {"text": ""}):
        assert desk.post("/s/small/api/tray/take", wrong).status == 422
    (small / "changes" / "link.toml").symlink_to(small / "changes" / "wages.toml")
    for code in ("link", "../scenario", "none"):
        assert desk.post("/s/small/api/tray/take", {"code": code}).status == 404


def test_writing_is_for_posts_of_our_own_pages(desk, small):
    for path in ("tray/add", "api/tray/clear", "studies/start"):
        assert desk.get(f"/s/small/{path}").status in (404, 405)
        other = {"sec-fetch-site": "cross-site"}
        assert desk.post(f"/s/small/{path}", HALVED, headers=other).status == 403
    assert not (small / "studies").exists()


@pytest.mark.parametrize("name", CHANGES)
def test_every_change_has_a_form_with_a_field_for_each_argument(name, tables):
    shown = fields(name, tables)
    assert shown
    assert any(name == code for found in groups().values() for code, _ in found)
    for field in shown:
        assert field.label
        if field.number and field.name not in ("percent", "periods"):
            assert field.unit or field.note, field


def test_fields_have_units_limits_and_choices(tables):
    known = {(n, f.name): f for n in CHANGES for f in fields(n, tables)}
    fuel = known["set_fuel", "price_per_l"]
    assert fuel.unit == "coin/L"
    assert known["close_yard", "yard"].choices[0][0] in set(tables.yards["yard"])
    assert known["add_yard", "yard"].choices == ()
    assert known["scale_source", "percent"].low == "\u2212100"
    assert known["close_source", "from"].choices[0][0] == "m01"
    assert known["set_yard", "existing_size"].blank == "as it is"


def test_a_form_left_blank_leaves_the_argument_out(tables):
    form = {"a.percent": " \u22125 ", "a.source": "", "a.else": "x"}
    wish = wish_of("scale_source", form, tables)
    assert wish == {"do": "scale_source", "percent": "-5"}
    assert sentences((wish,), tables) == ["Supply \u22125 %"]


def planned(scenario, yards=None):
    entry = order_plan(scenario, {"estimate": True})
    finish(entry, SUMMARY | {"yards": yards or {"shoal": "small"}})
    return plans(scenario)[0]


@pytest.fixture(scope="module")
def held(tmp_path_factory):
    """The smallest district with the yard that is built there."""
    return load(planned(make_scenario(tmp_path_factory.mktemp("held"))).folder)


def test_operate_answers_what_a_change_does(held):
    """The same as the library's own run of the same yards under the same change."""
    wishes = [{"do": "scale_fuel", "percent": 40}]
    told, after = answer(held, wishes)
    changed = apply_changes(held.scenario, change_set(wishes))
    alone = run(changed, yards=held.yards)
    assert after.plan.objective == pytest.approx(alone.plan.objective)
    total = told["money"][-1]
    before, now = held.base.summary["total_cost"], alone.summary["total_cost"]
    assert total[:3] == ["Net cost", f"{before:,.0f}", f"{now:,.0f}"]
    said = [
        float(row[3].replace(",", "").replace("\u2212", "-")) for row in told["money"]
    ]
    assert sum(said[:-1]) == pytest.approx(said[-1], abs=len(said))
    json.dumps(told, allow_nan=False)


def test_a_closed_yard_is_left_out_and_a_built_one_is_there(held):
    told, after = answer(held, [{"do": "close_yard", "yard": "shoal"}])
    assert len(after.plan.yards) == 0
    assert told["yards"][0][2] == "0"
    built = [{"do": "build_yard", "yard": "reef", "size": "small"}]
    _, after = answer(held, built)
    assert ("reef", "small") in after.plan.yard_sizes
    told, after = answer(held, [{"do": "force_yard", "yard": "reef"}])
    assert after is None
    assert "must be open" in told["obstacles"][0]
    told, after = answer(held, [{"do": "close_yard", "yard": "gone"}])
    assert after is None
    assert "is unknown" in told["faults"][0]


@pytest.fixture(scope="module")
def two(tmp_path_factory):
    """The smallest district with two yards, and own trucks at home at both."""
    scenario = make_scenario(tmp_path_factory.mktemp("two"))
    entry = planned(scenario, {"shoal": "small", "reef": "small"})
    trucks = ("light", "shoal", 1), ("light", "reef", 1), ("heavy", "reef", 2)
    write_warm(WarmStart(bases=trucks), entry.folder / WARM)
    return load(entry.folder)


CHANGED = (
    {"do": "scale_source", "source": "mill_north", "percent": -50},
    {"do": "move_yard", "yard": "reef", "lon": -30.5, "lat": 0.5},
    {"do": "close_yard", "yard": "reef"},
)


def alone_again(held, wishes):
    """What the library gives for the same yards and homes, from nothing."""
    changed = apply_changes(held.scenario, change_set(wishes))
    _, after = answer(held, wishes)
    homes = after.plan.bases.itertuples(index=False, name=None)
    yards = yards_after(held.yards, wishes)
    return after, run(changed, yards=yards, warm_start=WarmStart(bases=tuple(homes)))


@pytest.mark.parametrize("wish", CHANGED, ids=[wish["do"] for wish in CHANGED])
def test_a_quick_answer_is_that_of_the_library(two, wish):
    """The basis that it starts from saves time alone; and trucks stay at home."""
    after, alone = alone_again(two, [wish])
    assert after.plan.objective == pytest.approx(alone.plan.objective, rel=1e-6)
    were, are = (homes_of(one.plan.bases) for one in (two.base, after))
    assert len(were) == 3
    gone = wish["do"] == "close_yard"
    assert all(are[at] >= n for at, n in were.items() if not gone or at[1] != "reef")
    told = homes_words(two.base, after)
    assert told.startswith("Own trucks stay at home where they are")
    assert ("placed anew: " in told) == gone
    first, _ = answer(two, [wish])
    answer(two, [CHANGED[0], CHANGED[2]])
    assert answer(two, [wish])[0] == first  # whatever was asked between


@pytest.mark.thorough
@pytest.mark.parametrize(
    "wish",
    [
        {"do": "close_yard", "yard": "yard_kessivar"},
        {"do": "scale_source", "source": "fish_eddershoal", "percent": -50},
        {"do": "move_yard", "yard": "yard_dremmock", "lon": -31.0, "lat": -0.9},
        {"do": "scale_fuel", "percent": 40},
    ],
    ids=lambda wish: wish["do"],
)
def test_a_quick_answer_of_a_demo_is_that_of_the_library(brackwater_planned, wish):
    """To a millionth; a yard closed, within 2 % of a search of all trucks' homes."""
    scenario, plan = brackwater_planned.scenario, brackwater_planned.plan
    yards, known = tuple(plan.yard_sizes), WarmStart(bases=bases_of(plan))
    held = Loaded(scenario, yards, run(scenario, yards=yards, warm_start=known))
    after, alone = alone_again(held, [wish])
    assert after.plan.objective == pytest.approx(alone.plan.objective, rel=1e-6)
    if wish["do"] == "close_yard":
        changed = apply_changes(scenario, change_set([wish]))
        best = run(changed, yards=yards_after(yards, [wish])).plan
        assert best.floor <= after.plan.objective <= 1.02 * best.objective


def bases_of(plan):
    return tuple(plan.bases.itertuples(index=False, name=None))


def test_a_map_of_another_question_is_asked_for_again(monkeypatch, tmp_path):
    """An answer is remembered; its map is that of the last question alone."""
    lines = []

    class Silent:
        stdin, stdout = io.StringIO(), io.StringIO()

        def __init__(self, *_, **__):
            self.stdin.write = lines.append

        def poll(self):
            return None

    monkeypatch.setattr(subprocess, "Popen", Silent)
    program = Program(tmp_path)
    program._ear.join()
    program._fault = {}
    one, other = ({"do": "a"},), ({"do": "b"},)
    program._take({"kind": "ready"})
    for wishes in (one, other):
        assert program.ask(wishes).state == "reckoning"
        effect = {"figures": [], "of": wishes[0]["do"]}
        for kind in ("answer", "map"):
            program._take({"kind": kind, "key": key_of(wishes), "effect": effect})
        assert program.ask(wishes).mapped
    assert len(lines) == 3  # the plan's folder, and each question once
    told = program.ask(one)
    assert (told.state, told.mapped, told.effect["of"]) == ("answered", False, "a")
    program.ask(one)
    assert [json.loads(line)["key"] for line in lines[3:]] == [key_of(one)]
    program._take({"kind": "map", "key": key_of(one)})
    assert program.ask(one).mapped


def test_travel_is_taken_again_where_nothing_moves(held):
    def same(**wish):
        changed = apply_changes(held.scenario, change_set([wish]))
        return same_ways(held.scenario, changed)

    assert same(do="close_yard", yard="reef")
    assert same(do="scale_price", percent=-20)
    assert not same(do="move_yard", yard="reef", lon=-30.5, lat=0.5)
    assert not same(do="scale_wages", percent=5)
    assert not same(do="scale_fuel", percent=5)


def test_places_of_a_plan_say_which_yards_are_used(tables):
    told = places_of_plan(tables, {"shoal": "small"})
    groups_shown = dict(told["groups"])
    assert [one["id"] for one in groups_shown["Yards in use"]] == ["yard:shoal"]
    assert len(groups_shown["Sources"]) == len(tables.sources)
    assert sorted(set(told) - {"groups"}) == ["periods", "sizes"]


@pytest.mark.slow
def test_the_page_of_answers_asks_the_program_and_stops_it(desk, small):
    assert "no finished plan" in desk.get("/s/small/answers").text
    entry = planned(small)
    address = f"/s/small/api/answers/{entry.code}/effect"
    try:
        page = desk.get("/s/small/answers").text
        assert "Yards in use" in page
        desk.post("/s/small/api/tray/add", {"do": "close_yard", "a.yard": "shoal"})
        end = time.monotonic() + 60
        told = {"state": "loading"}
        while told["state"] in ("loading", "reckoning") and time.monotonic() < end:
            told = desk.post(address).json()
        assert told["state"] == "answered"
        assert told["effect"]["figures"][0][:4] == ["Yards in use", "", "1", "0"]
    finally:
        desk.opened.answering.close()
    assert desk.get(address).status in (404, 405)
    assert desk.post("/s/small/api/answers/none/effect").status == 404
    (entry.folder / "tried.html").write_text("<title>x</title>")
    map_page = desk.get(f"/s/small/answers/{entry.code}/tried.html")
    assert "sandbox" in map_page.headers["content-security-policy"]


def test_a_study_is_ordered_with_its_changes_as_they_are(desk, small):
    planned(small)
    (small / "changes").mkdir()
    text = 'title = "Dear"\n[[change]]\ndo = "scale_fuel"\npercent = 40\n'
    (small / "changes" / "dear.toml").write_text(text)
    desk.post("/s/small/api/tray/take", {"code": "dear"})
    form = {"study": "compare", "pick.dear": "yes", "tray": "yes", "gap": "1.0"}
    place = desk.post("/s/small/studies/start", form).headers["location"]
    [study] = plans(small, "studies")
    assert place == f"/s/small/studies/{study.code}"
    asked = study.order["asked"]
    assert asked["study"] == "compare"
    assert asked["solve.gap_pct"] == 1.0
    assert asked["start"] == {"shoal": "small"}
    assert [one["title"] for one in asked["changes"]] == ["Dear", "Diesel price +40 %"]
    assert "Waits for its turn" in desk.get(place).text
    assert "Changes side by side: Dear" in desk.get("/s/small/whatif").text
    assert "Study of" in desk.get("/s/small/plan").text
    assert len(plans(small)) == 1
    desk.post(f"{place}/drop", {})
    assert plans(small, "studies") == []


@pytest.mark.parametrize(
    "form",
    [
        {"study": "nothing"},
        {"study": "compare"},
        {"study": "compare", "pick.none": "yes"},
        {"study": "stress", "draws": "-1"},
        {"study": "stress", "draws": "10001"},
        {"study": "frontier", "against": "x"},
        {"study": "frontier", "points": "31"},
        {"study": "robust", "tray": "yes"},
        {"study": "why"},
        {"study": "why", "site": "yard:nowhere"},
        {"study": "why", "site": "truck:pickup"},
        {"study": "why", "site": "source:fish", "period": "m99"},
        {"study": "alternatives", "within": "4"},
    ],
)
def test_a_study_that_makes_no_sense_is_refused(desk, small, form):
    assert desk.post("/s/small/studies/start", form).status in (404, 422)
    assert plans(small, "studies") == []


def test_a_place_is_asked_about_from_its_card(desk, small):
    """The card names the place; the order keeps what was asked, in words and codes."""
    planned(small)
    page = desk.get("/s/small/answers").text
    assert 'name="site" id="why-site"' in page
    source = read_scenario(small).sources["source"].iloc[0]
    period = read_scenario(small).periods["period"].iloc[0]
    form = {"study": "why", "site": f"source:{source}", "period": period}
    desk.post("/s/small/studies/start", form)
    [study] = plans(small, "studies")
    asked = study.order["asked"]
    assert (asked["site"], asked["period"]) == (f"source:{source}", period)
    assert asked["start"] == {"shoal": "small"}
    assert f"Why here, why not there: {asked['named']}" in desk.get(
        "/s/small/whatif"
    ).text.replace("&amp;", "&")


def test_a_plan_nearly_as_good_can_be_taken(desk, small):
    """Its yards go to the tray by the button beside its name, which is text."""
    planned(small)
    entry = order_plan(small, {"study": "alternatives"}, "studies")
    finish(entry)
    folder = entry.folder / "outputs" / "alternatives_plans"
    folder.mkdir()
    text = (
        f'title = {json.dumps(HOSTILE)}\n[[change]]\ndo = "force_yard"\nyard = "reef"\n'
    )
    (folder / "other.toml").write_text(text)
    (folder / "bad.toml").write_text("not [a change")
    assert [title for title, _ in plans_to_take(entry)] == [HOSTILE]
    page = desk.get(f"/s/small/studies/{entry.code}").text
    assert "<script>alert" not in page
    assert "Add to your changes" in page
    [(_, taken)] = plans_to_take(entry)
    desk.post("/s/small/tray/take", {"text": taken})
    assert [wish["do"] for wish in read_tray(small).wishes] == ["force_yard"]


def test_a_finished_study_shows_its_tables_as_text(desk, small):
    entry = order_plan(small, {"study": "compare"}, "studies")
    finish(entry)
    (entry.folder / "outputs" / "compare.html").write_text("<title>x</title>")
    sheet = BoardTable(
        HOSTILE, (HOSTILE,), ("", BASE), ((HOSTILE, "1"),), (False, True)
    )
    keep_sheets([sheet], entry.folder)
    assert read_sheets(entry.folder) == [sheet]
    place = f"/s/small/studies/{entry.code}"
    page = desk.get(place).text
    assert "<script>alert" not in page
    assert "Without changes" in page
    picture = desk.get(f"{place}/files/compare.html")
    assert "sandbox" in picture.headers["content-security-policy"]
    for name in ("..%2f..%2forder.json", "none.html", "%2e%2e/order.json"):
        assert desk.get(f"{place}/files/{name}").status in (400, 404)
    assert desk.post(f"{place}/delete", {}).status == 422
    desk.post(f"{place}/delete", {"sure": "yes"})
    assert plans(small, "studies") == []


@pytest.mark.parametrize(
    "content",
    ['{"sheets": 3}', '{"sheets": [4, {"head": ["a"]}]}', "x",
     '{"sheets": [{"notes": [], "head": ["a"], "rows": [["", ""]], "numbers": []}]}'],
)  # fmt: skip
def test_tables_that_are_none_are_left_out(tmp_path, content):
    (tmp_path / "sheets.json").write_text(content)
    assert read_sheets(tmp_path) == []


def test_the_same_changes_have_the_same_key():
    one = ({"do": "a", "x": 1.0},)
    assert key_of(one) == key_of(({"x": 1.0, "do": "a"},))
    assert key_of(one) != key_of(({"do": "a", "x": 2.0},))
    assert change_set(one).steps == (Step("a", {"x": 1.0}, "This change"),)


def test_pages_of_changes_load_no_solver(tmp_path):
    """What only plans need stays in the programs that plan."""
    code = f"""
import sys
sys.path.insert(0, {str(TESTS)!r})
from pathlib import Path
from support.desk import Desk, make_scenario
desk = Desk(Path({str(tmp_path)!r}))
make_scenario(desk.opened.shelf.folder)
form = {{"do": "scale_fuel", "a.percent": "5"}}
assert desk.post("/s/small/api/tray/add", form).status == 200
assert desk.get("/s/small/whatif?do=scale_source").status == 200
assert desk.get("/s/small/answers").status == 200
print([n for n in ("highspy", "scipy", "logistics.model") if n in sys.modules])
"""
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False
    )
    assert done.stdout.strip() == "[]", done.stderr


STUDIES_ASKED = {
    "compare": ({}, "compare.html"),
    "frontier": ({"against": "yards", "points": 3}, "frontier.html"),
    "robust": ({"minutes": 1}, "robust.xlsx"),
    "stress": ({"draws": 1}, "stress.html"),
    "shares": ({}, "shares.html"),
}


@pytest.mark.thorough
@pytest.mark.parametrize("kind", STUDIES_ASKED)
def test_the_worker_makes_every_study(small, kind):
    more, file = STUDIES_ASKED[kind]
    text = 'title = "Dear"\n[[change]]\ndo = "scale_fuel"\npercent = 40\n'
    changes = [{"code": "dear", "title": "Dear", "text": text}]
    asked = {"study": kind, "changes": changes, "solve.seconds": 30.0, **more}
    study = order_plan(small, asked, "studies")
    work(study.folder)
    [made] = plans(small, "studies")
    assert made.state == "done", made.end
    assert (made.folder / "outputs" / file).is_file()
    tables = read_sheets(made.folder)
    assert bool(tables) == (kind in ("compare", "robust", "shares"))
    if kind == "compare":
        money = next(one for one in tables if one.title.startswith("Money"))
        assert money.head == ("", BASE, "Dear")
        told = {row[0]: row[1:] for row in tables[0].rows}
        assert told["Net cost [coin/yr]"] == money.rows[-1][1:]


def test_a_study_with_a_change_that_cannot_be_fails_in_words(small):
    text = '[[change]]\ndo = "close_yard"\nyard = "gone"\n'
    asked = {"study": "compare", "changes": [{"code": "x", "text": text}]}
    study = order_plan(small, asked, "studies")
    work(study.folder)
    [failed] = plans(small, "studies")
    assert failed.state == "failed"
    assert "'gone' is unknown" in failed.end["lines"][0]
    go_on(failed, {})
    assert plans(small, "studies")[0].state == "waiting"


def test_a_study_that_was_interrupted_goes_on_with_what_it_has(desk, small):
    study = order_plan(small, {"study": "stress"}, "studies")
    claim(study)
    os.utime(study.folder / "claimed", (0, 0))
    (study.folder / "stress.jsonl").write_text("kept")
    place = f"/s/small/studies/{study.code}"
    assert "was interrupted" in desk.get(place).text
    desk.post(f"{place}/again", {})
    assert "Waits for its turn" in desk.get(place).text
    assert (study.folder / "stress.jsonl").read_text() == "kept"
