"""The settings page, asked without a browser: drafts, faults, saving."""

import json
import shutil

import pytest
from support.desk import Desk
from support.places import SMALL

from logistics.scenario import read_scenario, settings_columns
from maps.desk.settings.draft import SettingsDrafts
from maps.desk.settings.form import form_groups
from maps.desk.settings.words import LABELS

API = "/s/small/api/settings"
DIESEL = "finance.fuel_price_per_l"


@pytest.fixture
def desk(tmp_path):
    """A desk with the small district, whose settings have a line of its own."""
    folder = shutil.copytree(SMALL, tmp_path / "shelf" / "small")
    with (folder / "scenario.toml").open("a", encoding="utf-8") as file:
        file.write("\n[paint] # ours\ncolour = 'red'\n")
    return Desk(tmp_path / "shelf")


def folder_of(desk):
    return desk.opened.shelf.scenario("small")


def sent(desk, what, body, kind="application/json"):
    data = body if isinstance(body, bytes) else json.dumps(body).encode()
    return desk.post(f"{API}/{what}", headers={"content-type": kind}, body=data)


def typed(desk, batch="a", **settings):
    """Type settings; a double underscore stands for the point in a name."""
    version = desk.get(f"{API}/state").json()["version"]
    told = {key.replace("__", "."): text for key, text in settings.items()}
    return sent(desk, "edits", {"version": version, "name": batch, "set": told})


def test_a_line_the_form_does_not_know_survives_saving(desk):
    """It is a fault of the file that was there before, so it does not bar saving."""
    state = typed(desk, finance__fuel_price_per_l="1.35").json()
    assert (state["edited"], state["changed"]) == (True, [DIESEL])
    assert state["unknown"] == ["paint.colour"]
    assert sent(desk, "save", {}).json()["saved"] is True
    text = (folder_of(desk) / "scenario.toml").read_text(encoding="utf-8")
    assert "[paint] # ours\ncolour = 'red'\n" in text
    assert "fuel_price_per_l = 1.35" in text
    version = desk.get(f"{API}/state").json()["version"]
    body = {"version": version, "name": "b", "set": {"paint.colour": ""}}
    assert sent(desk, "edits", body).json()["unknown"] == []
    assert desk.get(f"{API}/check").json()["faults"] == []
    assert sent(desk, "save", {}).status == 200
    assert read_scenario(folder_of(desk)).settings.finance.fuel_price_per_l == 1.35


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"mix__cn_low": "201"}, "is above 200"),
        ({"mix__cn_low": "30", "mix__cn_high": "29"}, "must be"),
        ({"goal__minimise": "gold"}, "is not one of the choices"),
        (
            {"policy__most_share_material": "gold", "policy__most_share_pct": "9"},
            "is not a code in the table materials",
        ),
        ({"name": ""}, "is missing"),
        ({"policy__most_share_pct": "20"}, "has no effect without"),
    ],
)
def test_a_wrong_value_is_kept_as_a_draft_and_not_saved(desk, values, words):
    before = (folder_of(desk) / "scenario.toml").read_bytes()
    assert typed(desk, **values).status == 200
    faults = desk.get(f"{API}/check").json()["faults"]
    (fault,) = [one for one in faults if one["setting"] != "paint.colour"]
    assert words in fault["said"]
    assert fault["setting"].replace(".", "__") in values
    answer = sent(desk, "save", {})
    assert (answer.status, "1 fault" in answer.json()["fault"]) == (409, True)
    assert (folder_of(desk) / "scenario.toml").read_bytes() == before
    grid = desk.get("/s/small/api/district/check").json()["faults"]
    assert fault["setting"] in [one["setting"] for one in grid]


def test_a_value_is_tried_while_it_is_typed_and_nothing_is_kept(desk):
    body = {"setting": "solve.gap_pct", "typed": "50.1"}
    (fault,) = sent(desk, "attempt", body).json()["faults"]
    assert fault["said"] == "50.1 is above 50"
    body["typed"] = "50"
    assert sent(desk, "attempt", body).json()["faults"] == []
    assert not (folder_of(desk) / ".draft").exists()


def test_undo_and_redo_are_in_the_journal(desk):
    """Another process, as after a restart, goes on from there."""
    typed(desk, "a", name="One")
    typed(desk, "b", name="Two")
    drafts = SettingsDrafts(folder_of(desk))

    def turned(turn, batch):
        draft = drafts.add(drafts.now().version, {"name": batch, "turn": turn})
        return 'name = "Two"' in draft.text, 'name = "One"' in draft.text

    assert turned("undo", "c") == (False, True)
    assert turned("undo", "d") == (False, False)
    assert not drafts.now().edited
    assert turned("redo", "e") == (False, True)
    typed(desk, "f", name="Three")
    state = desk.get(f"{API}/state").json()
    assert (state["undo"], state["redo"]) == (True, False)
    version = state["version"]
    again = {"version": version, "name": "f", "set": {"name": "Four"}}
    assert sent(desk, "edits", again).json()["version"] == version


def test_a_journal_torn_at_any_byte_has_all_edits_before(desk):
    typed(desk, "a", name="One")
    journal = folder_of(desk) / ".draft" / "settings.jsonl"
    whole = len(journal.read_bytes())
    typed(desk, "b", name="Two")
    data = journal.read_bytes()
    for length in range(whole, len(data)):
        journal.write_bytes(data[:length])
        assert 'name = "One"' in SettingsDrafts(folder_of(desk)).now().text
    journal.write_bytes(data[: whole - 1] + b"x\n" + data[whole:])
    assert not SettingsDrafts(folder_of(desk)).now().count
    assert len(list((folder_of(desk) / ".draft" / "aside").iterdir())) == 1


def test_what_another_program_wrote_is_never_overwritten_unseen(desk):
    file = folder_of(desk) / "scenario.toml"
    old = desk.get(f"{API}/state").json()["version"]
    typed(desk, name="Mine")
    stale = {"version": old, "name": "z", "set": {"name": "Late"}}
    assert sent(desk, "edits", stale).status == 409
    file.write_text('name = "Theirs"\n', encoding="utf-8")
    assert desk.get(f"{API}/state").json()["overtaken"] is True
    assert sent(desk, "save", {}).status == 409
    assert file.read_text(encoding="utf-8") == 'name = "Theirs"\n'
    rows = {row["setting"]: row for row in desk.get(f"{API}/both").json()["rows"]}
    assert (rows["name"]["mine"], rows["name"]["theirs"]) == ("Mine", "Theirs")
    assert sent(desk, "choice", {"keep": "mine"}).json()["overtaken"] is False
    assert sent(desk, "save", {}).status == 200
    assert 'name = "Mine"' in file.read_text(encoding="utf-8")


def test_a_broken_file_is_mended_as_a_text(desk):
    file = folder_of(desk) / "scenario.toml"
    file.write_text('name = "A"\ncurrency = \n', encoding="utf-8")
    state = desk.get(f"{API}/state").json()
    assert "line 2" in state["broken"]
    assert state["whole"] == 'name = "A"\ncurrency = \n'
    assert desk.get("/s/small/settings").status == 200
    body = {"version": state["version"], "name": "m", "text": 'name = "A"\n'}
    assert sent(desk, "edits", body).json()["texts"] == {"name": "A"}
    assert sent(desk, "save", {}).status == 200
    assert file.read_text(encoding="utf-8") == 'name = "A"\n'


def test_a_link_in_place_of_the_file_is_not_written_through(desk, tmp_path):
    file = folder_of(desk) / "scenario.toml"
    file.rename(tmp_path / "other.toml")
    file.symlink_to(tmp_path / "other.toml")
    assert "link" in desk.get(f"{API}/state").json()["viewOnly"]
    assert typed(desk, name="X").status == 422


@pytest.mark.parametrize(
    ("what", "body", "status"),
    [
        ("edits", {"version": "", "name": "a", "set": {}}, 422),
        ("edits", {"version": "", "name": "a", "set": {"name": 1}}, 422),
        ("edits", {"version": "", "name": "a", "turn": "back"}, 422),
        ("edits", {"set": {"name": "x"}}, 422),
        ("edits", b"{", 415),
        ("attempt", {"setting": "passwd", "typed": "x"}, 422),
        ("choice", {"keep": "../x"}, 422),
        ("rm", {}, 404),
    ],
)
def test_what_the_page_never_sends_is_refused(desk, what, body, status):
    assert sent(desk, what, body).status == status
    assert not (folder_of(desk) / ".draft").exists()


def test_nothing_is_done_by_an_address_or_a_form_of_another_page(desk):
    assert desk.get(f"{API}/save").status == 404
    body = {"version": "", "name": "a", "set": {"name": "x"}}
    assert sent(desk, "edits", body, kind="text/plain").status == 415


def test_names_in_the_file_are_text_on_the_page(desk):
    typed(desk, name="</template><script>alert(1)</script>", currency="<b>")
    page = desk.get("/s/small/settings").text
    assert "<script>alert" not in page
    assert "<b>" not in page


def test_every_setting_is_in_the_form_with_a_name_of_its_own():
    fields = [f.name for group in form_groups("coin", 1.0) for f in group.fields]
    assert sorted(fields) == sorted(settings_columns())
    assert set(LABELS) == set(settings_columns())
    assert len(set(LABELS.values())) == len(LABELS)
