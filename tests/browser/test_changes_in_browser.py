"""Map and answers, and what if, in a real browser: by keyboard, accessible, as text."""

import time

import pytest
from accessibility import looked_at
from support.desk import finish, make_scenario

from maps.desk.board import BASE, BoardTable, keep_sheets
from maps.desk.book import order_plan
from maps.desk.changes.saved import save_change
from maps.desk.changes.tray import change_set, read_tray
from maps.desk.worker import work
from maps.outputs import OUTPUTS

HOSTILE = "<img src=x onerror=alert(1)>\"'{{ 7 * 7 }}"


def until(page, words: str, selector: str = "#told") -> str:
    """Wait for words on a page; its policy allows no evaluated conditions."""
    end = time.monotonic() + 90
    while time.monotonic() < end:
        if words in (told := page.inner_text(selector)):
            return told
        time.sleep(0.05)
    message = f"{selector} never said {words!r}, but {page.inner_text(selector)!r}"
    raise AssertionError(message)


@pytest.fixture
def small(tmp_path, monkeypatch):
    """A district with a plan made by the worker, its map, and a saved change."""
    both = {name: OUTPUTS[name] for name in ("summary.json", "map.html")}
    monkeypatch.setattr("maps.outputs.OUTPUTS", both)
    monkeypatch.setattr("logistics.studies.with_ranges", lambda result, _: result)
    scenario = make_scenario(tmp_path)
    wish = {"do": "scale_fuel", "percent": 40}
    save_change(scenario, "dear", change_set([wish], HOSTILE, HOSTILE))
    work(order_plan(scenario, {"estimate": True}).folder)
    return scenario


@pytest.mark.slow
def test_a_yard_is_closed_from_its_card_and_undone(run, opened, tmp_path, small):
    window = opened(run(tmp_path))
    page = window.page
    home = page.url.rstrip("/")
    page.goto(f"{home}/s/small/answers")
    until(page, "is ready")
    shown = page.frame_locator("#map")
    shown.locator("g.place[data-id='yard:reef']").click()
    page.wait_for_selector("#card-name:has-text('Reef')")
    page.focus("#place")
    page.select_option("#place", "yard:shoal")
    shown.locator("#card h2:has-text('Shoal yard')").wait_for()
    assert page.inner_text("#card-name") == "Shoal yard"
    page.focus("#card button[data-do=close_yard] >> visible=true")
    page.keyboard.press("Enter")
    told = until(page, "Net cost")
    assert "+" in told
    assert page.inner_text("#t-figures tbody tr:first-child").split() == [
        *("Yards", "in", "use", "1", "0", "\u22121")
    ]
    page.wait_for_selector("#as-tried:enabled")
    page.click("#as-tried")
    assert "tried.html" in page.get_attribute("#map", "src")
    shown.locator("#card h2:has-text('Shoal yard')").wait_for()
    page.reload()
    assert until(page, "Net cost") == told
    looked_at(page)
    page.click("#undo")
    until(page, "is ready")
    assert read_tray(small).wishes == ()
    assert window.complaints == []


@pytest.mark.slow
def test_a_change_is_made_with_a_form_and_ordered(run, opened, tmp_path, small):
    window = opened(run(tmp_path))
    page = window.page
    home = page.url.rstrip("/")
    page.goto(f"{home}/s/small/whatif?do=scale_source")
    assert HOSTILE in page.inner_text(".changes")
    page.fill("[name='a.percent']", "-30")
    page.click("text=Add to your changes")
    page.wait_for_url("**/whatif")
    assert "Supply \u221230 %" in page.inner_text(".tray ol")
    done = order_plan(small, {"study": "compare"}, "studies")
    finish(done)
    rows = ((HOSTILE, "1"),)
    table = BoardTable(HOSTILE, (HOSTILE,), ("", BASE), rows, (False, True))
    keep_sheets([table], done.folder)
    for address in ("whatif", "whatif?do=set_yard", f"studies/{done.code}"):
        page.goto(f"{home}/s/small/{address}")
        looked_at(page)
    assert HOSTILE in page.inner_text("main")
    page.goto(f"{home}/s/small/whatif")
    page.click("text=Plan the ticked ones")
    page.wait_for_url("**/studies/**")
    page.click("#drop")
    assert window.complaints == []
