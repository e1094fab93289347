"""One working week at the desk: from a dropped workbook to the rounds of a bad day."""

import csv
import signal

import openpyxl
import pytest
from accessibility import looked_at
from support.district_page import DistrictGrid
from support.places import SMALL

from maps.desk.book import plans

LONG = 180_000
"""Longest wait for a plan, a study or rounds. [ms]"""
FAULTS = {("sources", 2, "amount"): "7500 t", ("sources", 4, "season"): "landin"}
FAULTS |= {("yards", 3, "lat"): "95"}
"""Table, row of its sheet and column of what is wrong in the workbook."""
MENDED = (("amount", "7500"), ("season", "landing"), ("lat", "0.55"))
"""Column of each fault, and what is typed there instead."""


def faulty_workbook(path):
    """Write the smallest district as a workbook, one sheet a table, with its faults."""
    book = openpyxl.Workbook()
    for file in sorted(SMALL.glob("*.csv")):
        sheet = book.create_sheet(file.stem)
        with file.open(encoding="utf-8", newline="") as lines:
            for cells in csv.reader(lines):
                sheet.append([_cell(text) for text in cells])
    del book["Sheet"]
    for (table, row, column), value in FAULTS.items():
        headings = [cell.value for cell in book[table][1]]
        book[table].cell(row, headings.index(column) + 1).value = value
    book.save(path)
    return path


def _cell(text):
    try:
        return float(text)
    except ValueError:
        return text or None


class Planner:
    """Somebody at the desk; each step ends on a page that is looked at."""

    def __init__(self, window):
        self.page = window.page
        self.grid = DistrictGrid(window.page)

    def goes_to(self, tab: str) -> None:
        """Press a tab of the scenario's pages."""
        self.page.click(f"nav >> text='{tab}'")
        here = f"nav [aria-current=page]:text-is('{tab}')"
        self.page.wait_for_selector(here)
        self.page.wait_for_load_state()

    def looks(self, selector: str) -> None:
        """Wait for something on the page, then hold that the page is accessible."""
        self.page.wait_for_selector(selector, timeout=LONG)
        looked_at(self.page)

    def drops(self, file) -> None:
        self.page.set_input_files("#file", file)

    def mends_the_faults(self) -> None:
        """Go from fault to fault by the keyboard and type over what is there."""
        page, grid = self.page, self.grid
        grid.checked("3 faults")
        assert page.locator(".fault-item").count() == len(FAULTS)
        looked_at(page)
        for left, (column, text) in enumerate(reversed(MENDED)):
            item = page.locator(".fault-item", has_text=column).first
            item.focus()
            grid.press("Enter")
            page.locator("#where", has_text=column).wait_for()
            page.keyboard.type(text)
            grid.press("Enter")
            grid.kept()
            grid.checked(("2 faults", "1 fault:", "No faults")[left])
        grid.press("Control+s")
        grid.kept("Saved: tables.xlsx")

    def plans(self) -> None:
        """Press the button; haulage as an estimate keeps the test short."""
        self.page.click("summary:text-is('Goal, time, gap and haulage')")
        self.page.select_option("[name=haulage]", "estimate")
        self.page.click("button.big")
        self.page.wait_for_url("**/plans/**")

    def moves_a_yard(self) -> None:
        """Drag the first yard on the map and save it."""
        page, grid = self.page, self.grid
        page.click("#tab-yards")
        page.locator("#panel[aria-labelledby=tab-yards]").wait_for()
        grid.go(0, "name")
        grip = page.locator(".chosen-point .grip")
        page.locator("#verdict", has_text="No rule refuses this place").wait_for()
        page.wait_for_timeout(300)
        before = grid.cell(0, "lon").inner_text()
        box = grip.bounding_box()
        page.mouse.move(box["x"] + 9, box["y"] + 9)
        page.mouse.down()
        page.mouse.move(box["x"] + 40, box["y"] - 10, steps=4)
        page.mouse.up()
        grid.kept()
        grid.checked("No faults")
        looked_at(page)
        assert float(grid.cell(0, "lon").inner_text()) > float(before)
        page.click("#save")
        grid.kept("Saved: tables.xlsx")

    def makes_a_change(self, code: str, fields: dict[str, str]) -> None:
        """Fill in the form of a change and add it to the tray."""
        page = self.page
        page.wait_for_load_state()  # a choice shows its form once scripts run
        page.select_option("#which select", code)
        for name, value in fields.items():
            field = page.locator(f"[name='a.{name}']")
            field.wait_for()
            if field.evaluate("one => one.tagName") == "SELECT":
                field.select_option(value)
            else:
                field.fill(value)
        looked_at(page)
        page.click("text=Add to your changes")
        page.wait_for_selector(".tray ol")

    def saves_the_change(self, name: str) -> None:
        """Keep what is in the tray as a change of the district, and clear the tray."""
        page = self.page
        page.click("summary:text-is('Save as a change of this district')")
        page.fill(".tray [name=name]", name)
        page.fill(".tray [name=title]", name)
        page.click(".tray details button:text-is('Save')")
        page.wait_for_selector(f".changes >> text={name}")
        page.click("button:text-is('Clear'):enabled")
        page.wait_for_selector(".tray >> text=None yet.")

    def takes(self, link: str, path):
        """Follow a link that gives a file, and keep it."""
        with self.page.expect_download() as taken:
            self.page.click(link)
        taken.value.save_as(path)
        return path


def number(text: str) -> float:
    """Read a figure as the pages write it."""
    return float(text.replace(",", "").replace("\u2212", "-"))


def net_cost(path) -> float:
    """Net annual cost in the last line of a budget's sheet of estimates. [money/yr]"""
    rows = openpyxl.load_workbook(path, data_only=True)["estimates"].iter_rows()
    for row in rows:
        texts = [cell.value for cell in row]
        if "Net annual cost" in texts:
            return next(v for v in texts if isinstance(v, float | int))
    raise AssertionError(path)


@pytest.mark.thorough
def test_a_planner_gets_from_a_workbook_to_the_rounds_of_a_bad_day(
    run, opened, tmp_path
):
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    desk = run(shelf)
    window = opened(desk)
    page, planner = window.page, Planner(window)
    looked_at(page)

    planner.drops(faulty_workbook(tmp_path / "Our tables.xlsx"))
    page.wait_for_url("**/s/Our%20tables/plan")
    assert "3 faults in the tables" in page.inner_text("main")
    assert page.locator("button.big").count() == 0
    looked_at(page)
    page.click("text=Mend them in the tables")
    planner.mends_the_faults()

    planner.goes_to("Plan")
    looked_at(page)
    planner.plans()
    looked_at(page)
    page.wait_for_selector("#so-far:not([hidden])", timeout=LONG)
    best = page.inner_text("#best")
    page.reload()
    page.wait_for_selector("#so-far:not([hidden])")
    page.wait_for_selector(f"#best:text-is('{best}')")
    desk.end(signal.SIGKILL)
    again = run(shelf, desk.port)
    assert again.port == desk.port
    page.goto(again.address)
    page.wait_for_url("**/")
    planner.looks(".card h2 a")
    page.click(".card >> text='Plan'")
    page.click(".book th a")
    planner.looks("text=Take away")

    planner.goes_to("District")
    planner.moves_a_yard()
    planner.goes_to("Plan")
    planner.looks(".book >> text=older than its data")
    planner.plans()
    page.wait_for_selector("text=Take away", timeout=LONG)
    page.click("button:text-is('Star')")
    page.wait_for_selector(".star")
    planner.goes_to("Plan")
    states = page.locator("table.book td .chip").all_inner_texts()
    assert states == ["up to date", "older than its data"]

    planner.goes_to("What if")
    looked_at(page)
    planner.makes_a_change("scale_source", {"source": "pier", "percent": "-50"})
    planner.saves_the_change("Less fish")
    planner.makes_a_change("scale_fuel", {"percent": "40"})
    page.check("[name='pick.Less fish']")
    looked_at(page)
    page.click("text=Plan the ticked ones, side by side")
    page.wait_for_url("**/studies/**")
    looked_at(page)
    planner.looks("table.sheet-table")
    heads = page.locator("table.sheet-table").first.locator("thead th")
    assert heads.all_inner_texts()[-2:] == ["Less fish", "Diesel price +40 %"]
    maps = page.frame_locator("iframe.map")
    maps.get_by_text("After: Less fish").wait_for()
    maps.get_by_text("Base plan", exact=True).wait_for()
    assert maps.locator("option:text-is('Diesel price +40 %')").count() == 1

    planner.goes_to("Money")
    planner.looks("#sums")
    shown = number(page.locator("#sums dd span").first.inner_text())
    budget = planner.takes("text=Take the budget away", tmp_path / "budget.xlsx")
    assert shown > 0
    assert net_cost(budget) == pytest.approx(shown, abs=0.5)

    planner.goes_to("Month")
    planner.looks("text=Make the rounds of the month")
    page.click("text=Make the rounds of the month")
    planner.looks("#errand-words")
    planner.looks("#day-form")
    page.click(".cuts >> text=Today")
    planner.looks("#down-0")
    page.select_option("#down-0", label="2 of 2 down")
    page.click("text=Plan these days anew")
    planner.looks("text=Use these rounds")
    assert page.locator("[aria-label='Changes by truck'] tbody tr").count() > 0
    page.click("text=Use these rounds")
    planner.looks("text=planned anew are in force")

    page.click(".brand")
    page.click(".card >> text='Plan'")
    page.click(".book th a")
    page.click("text=Take away")
    planner.looks("h1:text-is('Take away')")
    share = planner.takes("a:text-is('Share file')", tmp_path / "ours.share.zip")
    page.click(".brand")
    planner.drops(share)
    page.wait_for_url("**/s/ours/plan")
    assert "up to date" in page.inner_text("table.book")
    assert not any(entry.under_way for entry in plans(shelf / "Our tables"))
    lost = "net::ERR_"  # of the time when the desk was gone
    assert [said for said in window.complaints if lost not in said] == []
