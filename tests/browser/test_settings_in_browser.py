"""The page of the settings in a real browser: typed, checked, kept, saved, undone."""

import shutil
import tomllib

import pytest
from accessibility import looked_at
from support.chromium import Watched
from support.district_page import served
from support.places import SMALL

from maps.desk.settings.draft import read_draft

DIESEL = "finance.fuel_price_per_l"


@pytest.fixture
def settings(chromium, tmp_path):
    """The page of a small district, and its folder."""
    folder = tmp_path / "shelf" / "small"
    shutil.copytree(SMALL, folder)
    with (folder / "scenario.toml").open("a", encoding="utf-8") as file:
        file.write("\n# Ours\n[finance]\nfuel_price_per_l = 1.2 # in May\n")
    with served(folder.parent) as key:
        window = Watched(chromium, key.address, 1366, 768)
        window.page.goto(f"http://127.0.0.1:{key.port}/s/small/settings")
        yield window, folder
        window.context.close()


def entry(page, setting):
    return page.locator(f"[id='f-{setting}']")


def kept(page, words):
    page.locator("#kept", has_text=words).wait_for()


def test_a_diesel_price_is_typed_refused_mended_saved_and_undone(settings):
    """The words of `check` stand beside it; comments and other lines stay."""
    window, folder = settings
    page, file = window.page, folder / "scenario.toml"
    before = file.read_text(encoding="utf-8")
    wrong = page.locator(f"[id='e-{DIESEL}']")
    entry(page, DIESEL).fill("1,30 per litre")
    wrong.filter(has_text="unit").wait_for()
    assert read_draft(folder).count == 0
    page.keyboard.press("Enter")
    page.locator("#faults", has_text="1 fault in the settings").wait_for()
    looked_at(page)
    page.keyboard.press("Control+s")
    kept(page, "The settings have 1 fault")
    assert file.read_text(encoding="utf-8") == before
    entry(page, DIESEL).fill("1.35")
    page.keyboard.press("Enter")
    page.locator("#faults").wait_for(state="hidden")
    page.keyboard.press("Control+s")
    kept(page, "Saved: scenario.toml")
    after = file.read_text(encoding="utf-8")
    assert tomllib.loads(after)["finance"]["fuel_price_per_l"] == 1.35
    lines, old = after.splitlines(), before.splitlines()
    assert [line for line in lines if line not in old] == [
        "fuel_price_per_l = 1.35 # in May"
    ]
    assert all("409 (Conflict)" in one for one in window.complaints)


def test_undo_goes_on_after_a_reload_and_defaults_are_marked(settings):
    """A blank field shows its default; another program's edit is told, not lost."""
    window, folder = settings
    page, file = window.page, folder / "scenario.toml"
    row = page.locator("[data-setting='work.hours_per_day']")
    hours, was = entry(page, "work.hours_per_day"), file.read_text(encoding="utf-8")
    first = hours.input_value()
    hours.fill("10")
    page.keyboard.press("Enter")
    kept(page, "kept as a draft")
    page.reload()
    assert hours.input_value() == "10"
    page.keyboard.press("Control+z")
    kept(page, "Everything is saved")
    assert hours.input_value() == first
    page.keyboard.press("Control+y")
    kept(page, "kept as a draft")
    assert hours.input_value() == "10"
    hours.fill("")
    page.keyboard.press("Tab")
    row.locator(".mark", has_text="default, not local").wait_for()
    assert hours.get_attribute("placeholder") == "8"
    file.write_text(was + "\n[goal]\nminimise = 'co2e'\n", encoding="utf-8")
    page.evaluate("dispatchEvent(new Event('focus'))")
    page.get_by_role("button", name="Take theirs").click()
    kept(page, "Everything is saved")
    assert entry(page, "goal.minimise").input_value() == "co2e"
    assert hours.input_value() == first
    file.write_text("name = 'A'\n[oops\n", encoding="utf-8")
    page.evaluate("dispatchEvent(new Event('focus'))")
    page.locator("#broken", has_text="line 2").wait_for()
    page.locator("#text").fill("name = 'B'\n")
    page.evaluate("dispatchEvent(new Event('focus'))")
    page.get_by_role("button", name="Read it again").click()
    page.locator("#settings").wait_for()
    assert entry(page, "name").input_value() == "B"
    assert window.complaints == []
