"""The desk in a real browser: accessible, quiet, offline; a story with a kill in it."""

import signal
import time

import openpyxl
import pytest
from accessibility import faults
from support.chromium import Watched
from support.desk import SUMMARY, finish, make_scenario
from support.running_desk import RunningDesk

from logistics.scenario import new_scenario
from maps.desk.book import label, order_plan, plans

SIZES = ((1366, 768), (1280, 720), (820, 1180))


@pytest.fixture
def run():
    """Start desks, and end them with the test."""
    started = []

    def one(folder, port: int = 8_765) -> RunningDesk:
        started.append(RunningDesk(folder, port))
        return started[-1]

    yield one
    for running in started:
        running.end()


@pytest.fixture
def opened(chromium):
    """Open the desk in a window; at the end nothing was asked of anybody else."""
    windows = []

    def one(running: RunningDesk, width: int = 1366, height: int = 768) -> Watched:
        window = Watched(chromium, running.address, width, height)
        window.port = running.port
        windows.append(window)
        window.page.wait_for_url("**/")
        return window

    yield one
    for window in windows:
        ours = (f"http://127.0.0.1:{window.port}/", "data:", "blob:")
        assert [url for url in window.asked if not url.startswith(ours)] == []
        window.context.close()


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
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            wide = page.evaluate("document.scrollingElement.scrollWidth")
            assert wide <= width, address
        assert faults(page) == [], address
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


def faulty_workbook(folder):
    """Write a workbook with starter tables and three faults."""
    new_scenario(folder / "made", "xlsx")
    book = openpyxl.load_workbook(folder / "made" / "tables.xlsx")
    sheet = book["sources"]
    columns = {cell.value: cell.column for cell in sheet[1]}
    for row, column, value in (
        (2, "amount", "7500 t"),
        (3, "lat", 95),
        (4, "season", "evenn"),
    ):
        sheet.cell(row, columns[column]).value = value
    book.save(folder / "Our tables.xlsx")
    return folder / "Our tables.xlsx", folder / "made" / "tables.xlsx"


@pytest.mark.thorough
def test_from_a_dropped_workbook_to_a_plan_that_goes_away(run, opened, tmp_path):
    """Faults, a plan, reload and kill in its midst, star, take away, another office."""
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    faulty, good = faulty_workbook(tmp_path)
    desk = run(shelf)
    window = opened(desk)
    page = window.page
    page.set_input_files("#file", faulty)
    page.wait_for_url("**/s/Our%20tables/plan")
    assert "3 faults in the tables" in page.inner_text("main")
    (shelf / "Our tables" / "tables.xlsx").write_bytes(good.read_bytes())
    page.reload()
    page.click("summary")
    page.select_option("[name=haulage]", "estimate")
    page.click("button.big")
    page.wait_for_url("**/plans/**")
    page.wait_for_selector("#so-far:not([hidden])", timeout=120_000)
    best = page.inner_text("#best")
    page.reload()
    page.wait_for_selector("#so-far:not([hidden])")
    page.wait_for_selector(f"#best:text-is('{best}')")
    desk.end(signal.SIGKILL)
    again = run(shelf, desk.port)
    assert again.port == desk.port
    page.goto(again.address)
    page.wait_for_url("**/")
    page.click(".card h2 a")
    page.click(".book th a")
    page.wait_for_selector("text=Take away", timeout=120_000)
    assert page.frame_locator("iframe.map").locator("#map").count() == 1
    page.click("button:text-is('Star')")
    assert page.is_visible(".star")
    page.click("text=Take away")
    with page.expect_download() as taken:
        page.click("a:text-is('Share file')")
    share = tmp_path / "ours.share.zip"
    taken.value.save_as(share)
    with page.expect_download() as taken:
        page.click("a:text-is('Budget')")
    taken.value.save_as(tmp_path / "budget.xlsx")
    assert len(openpyxl.load_workbook(tmp_path / "budget.xlsx").sheetnames) > 3
    page.click(".brand")
    page.set_input_files("#file", share)
    page.wait_for_url("**/s/ours/plan")
    assert "up to date" in page.inner_text("table.book")
    lost = "net::ERR_"  # of the time when the desk was gone
    assert [said for said in window.complaints if lost not in said] == []
    end = time.monotonic() + 5
    while any(e.under_way for e in plans(shelf / "Our tables")):
        assert time.monotonic() < end
