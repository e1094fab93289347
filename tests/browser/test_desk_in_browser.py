"""The desk in a real browser: accessible, quiet, offline, by the keyboard."""

import pytest
from accessibility import looked_at
from support.desk import SUMMARY, finish, make_scenario

from maps.desk.book import label, order_plan, plans


def two_plans(scenario):
    """Put two finished plans and a waiting one into a book."""
    for number in (1, 2):
        entry = order_plan(scenario, {})
        finish(entry, SUMMARY | {"total_cost": 1_000.0 * number})
        label(entry, name=f"Plan number {number}", star=number == 1)
    return [entry.code for entry in plans(scenario)]


def test_pages_are_accessible_quiet_and_never_too_wide(run, opened, tmp_path):
    scenario = make_scenario(tmp_path)
    last, first = two_plans(scenario)
    (make_scenario(tmp_path, "faulty") / "trucks.csv").unlink()
    window = opened(run(tmp_path))
    page = window.page
    page.wait_for_selector("[aria-busy]", state="detached")
    assert page.locator(".card").count() == 2
    assert "1 fault in the tables" in page.inner_text("main")
    home = page.url.rstrip("/")
    place = f"{home}/s/small"
    for address in (
        f"{home}/",
        f"{place}/plan",
        f"{home}/s/faulty/plan",
        f"{place}/plans/{last}",
        f"{place}/plans/{last}/take",
        f"{place}/plans/{last}/delete",
        f"{place}/compare?plan={first}&plan={last}",
    ):
        page.goto(address)
        looked_at(page)
    assert window.complaints == []


def test_everything_is_reached_by_the_keyboard(run, opened, tmp_path):
    two_plans(make_scenario(tmp_path))
    page = opened(run(tmp_path)).page
    page.wait_for_selector("[aria-busy]", state="detached")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/s/small/plan")
    page.focus("button.big")
    page.keyboard.press("Enter")
    page.wait_for_url("**/plans/**")
    assert page.is_visible("#phase")


def test_help_opens_beside_the_page_by_keyboard_and_leads_back(run, opened, tmp_path):
    make_scenario(tmp_path)
    window = opened(run(tmp_path))
    page = window.page
    page.goto(f"{page.url}s/small/plan")
    page.focus("button.big")
    page.keyboard.press("F1")
    manual = page.frame_locator("#help-panel iframe")
    manual.locator("#desk-plan:focus").wait_for()
    page.keyboard.press("Escape")
    assert page.evaluate("document.activeElement.className") == "big"
    page.click("#help")
    assert manual.locator("#desk-plan h3").evaluate(
        "one => one.getBoundingClientRect().top < innerHeight"
    )
    looked_at(page)
    page.click("#help-panel button")
    page.focus(".caution a")
    page.keyboard.press("Enter")
    manual.locator("#cautions").wait_for()
    page.locator("#help-panel button").press("Escape")
    assert page.evaluate("document.activeElement.textContent") == "Cautions"
    assert window.complaints == []


@pytest.mark.thorough
def test_two_desks_do_not_mix(run, opened, tmp_path):
    for folder, name in (("a", "one"), ("b", "other")):
        (tmp_path / folder).mkdir()
        make_scenario(tmp_path / folder, name)
    first = run(tmp_path / "a")
    second = run(tmp_path / "b", first.port)
    assert second.port > first.port
    page = opened(first).page
    other = page.context.new_page()
    other.goto(second.address)
    other.wait_for_url("**/")
    for shown, name in ((page, "one"), (other, "other")):
        shown.reload()
        shown.wait_for_selector("[aria-busy]", state="detached")
        assert shown.locator(".folder bdi").all_inner_texts() == [name]
    other.close()
