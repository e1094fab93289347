"""
Draw the pictures of the desk in the manual, from a blank sheet and from the demos.

Run `uv run --group test python scenarios/make_desk_pictures.py` when the desk has
changed. It needs an installed Chromium and takes some minutes. What is seen is
invented: the starter tables with other places in them, and the demo Highlake.
"""

import io
import math
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from urllib.parse import quote

from PIL import Image
from playwright.sync_api import Page, sync_playwright

HERE = Path(__file__).parent
PICTURES = HERE.parent / "maps" / "manual" / "pictures"
WINDOW = {"width": 1120, "height": 690}
STEP = 5
"""Red, green and blue are rounded to so much: pages are flat, and every hue stays."""
LONG = 900_000
"""Longest wait for a plan or for rounds. [ms]"""
SMALL = 4.0
"""Proven gap at which a plan under way is shown. [%]"""
OWN = "Marsh district"
FOLDER = "Documents/Loamhaul"
"""What the first page calls its folder in the picture, whatever folder it is here."""
SOURCES = """\
source	name	material	lon	lat	basis	amount	season
mill	Reed Hill mill	rice_husk	-30.61	0.42	processed	9,400	milling
pier	Sandspit landing	fish_waste_mixed	-30.53	0.37	processed	1200	even
herd	Oxbow farms	cattle_manure	-30.57	0.45	animals	420	even
"""
"""As a block is copied from a spreadsheet; one figure may mean two things."""
YARDS = """\
yard	name	lon	lat	area_m2
north	Reed Hill	-30.60	0.44	9000
south	Sandspit	-30.54	0.38	7000
"""
MARKETS = """\
market	name	lon	lat
farms	Oxbow farms	-30.56	0.41
"""
PASTE = """(sheet, text) => {
  sheet.focus();
  const clipboardData = new DataTransfer();
  clipboardData.setData("text/plain", text);
  sheet.dispatchEvent(new ClipboardEvent("paste",
    { clipboardData, bubbles: true, cancelable: true }));
}"""


def keep(page: Page, name: str) -> None:
    """Keep what the window shows as a small picture."""
    page.wait_for_timeout(1_000)  # maps in frames are drawn
    shown = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    path = PICTURES / f"desk_{name}.webp"
    flat = shown.point([round(value / STEP) * STEP for value in range(256)] * 3)
    flat.save(path, lossless=True, method=6)
    print(f"{path.name}: {path.stat().st_size / 1000:,.0f} kB")


def started(folder: Path) -> tuple[subprocess.Popen, str]:
    """Start the desk of a folder; return its program and its address."""
    command = [sys.executable, "-m", "maps", "desk", str(folder), "--no-browser"]
    program = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    said = ""
    while "Ctrl-C" not in said:
        line = program.stdout.readline()
        if not line:
            raise SystemExit(said)
        said += line
    return program, re.search(r"http://127\.0\.0\.1:\d+/open\S+", said)[0]


class Walk:
    """A planner's way through the desk; each step may leave a picture."""

    def __init__(self, page: Page, address: str):
        self.page = page
        page.goto(address)
        page.wait_for_url("**/")
        self.home = page.url.rstrip("/")

    def goes(self, scenario: str, part: str) -> None:
        self.page.goto(f"{self.home}/s/{quote(scenario)}/{part}")
        self.page.wait_for_load_state()

    def begins(self, way: str, **fields: str) -> None:
        """Begin a scenario in one of the ways of the first page."""
        page = self.page
        page.goto(f"{self.home}/")
        form = page.locator(f"form[action='/begin/{way}']")
        for name, value in fields.items():
            field = form.locator(f"[name={name}]")
            choice = field.evaluate("one => one.tagName") == "SELECT"
            field.select_option(value) if choice else field.fill(value)
        form.locator("button").click()
        page.wait_for_url("**/plan")

    def opens(self, table: str) -> None:
        """Open a table of the district that is shown."""
        self.page.click(f"#tab-{table}")
        self.page.wait_for_selector(f"#panel[aria-labelledby=tab-{table}]")

    def pastes(self, table: str, block: str, faults: str) -> None:
        """Paste a block into a table and wait until it is checked."""
        self.opens(table)
        self.page.locator("#sheet").evaluate(PASTE, block)
        self.page.wait_for_selector("#said:has-text('Pasted')")
        self.page.wait_for_timeout(1_500)
        self.page.wait_for_selector(f"#faults-title:has-text('{faults}')")

    def plans(self) -> None:
        """Press the button and wait for the page of the plan."""
        self.page.click("button.big")
        self.page.wait_for_url("**/plans/**")

    def done(self) -> None:
        self.page.wait_for_selector("text=Take away", timeout=LONG)

    def gives_time(self, summary: str) -> None:
        """Let a slow computer prove its plans as a quick one does."""
        self.page.click(f"summary:text-is('{summary}')")
        self.page.select_option("[name=minutes]", "30")

    def own_district(self) -> None:
        """From a blank sheet to a plan, with one fault to mend."""
        page = self.page
        self.begins("blank", name=OWN)
        self.goes(OWN, "district")
        page.wait_for_selector("#faults-title:text-is('No faults')")
        self.pastes("sources", SOURCES, "1 fault")
        page.click(".fault-item")
        keep(page, "fault")
        page.keyboard.type("9400")
        page.keyboard.press("Enter")
        page.wait_for_selector("#faults-title:text-is('No faults')")
        self.pastes("yards", YARDS, "No faults")
        self.pastes("markets", MARKETS, "No faults")
        page.click("#save")
        page.wait_for_selector("#kept:has-text('Saved')")
        self.goes(OWN, "plan")
        self.plans()
        self.done()
        page.set_viewport_size({**WINDOW, "height": 880})
        keep(page, "answer")
        page.set_viewport_size(WINDOW)

    def drags_a_yard(self) -> None:
        """Hold a yard over refused land, then put it back."""
        page = self.page
        self.goes("highlake", "district#yards")
        page.wait_for_selector("#faults-title:text-is('No faults')")
        page.wait_for_selector("#verdict:has-text('No rule refuses')")
        page.click("#zoom-row")
        page.wait_for_timeout(800)
        box = page.locator(".chosen-point .grip").bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 12, y - 84, steps=8)
        page.wait_for_timeout(1_500)
        keep(page, "district")
        page.mouse.up()

    def compares(self) -> None:
        """Close a yard in a what-if; both maps side by side."""
        page = self.page
        self.goes("highlake", "whatif")
        page.select_option("#which select", "close_yard")
        page.wait_for_selector("[name='a.yard']")
        page.select_option("[name='a.yard']", label="Sulquana yard")
        page.click("text=Add to your changes")
        self.gives_time("Time and gap of each plan")
        page.click("text=Plan the ticked ones, side by side")
        page.wait_for_url("**/studies/**")
        page.wait_for_selector("iframe.map", timeout=LONG)
        page.wait_for_timeout(3_000)  # the page loads itself anew when all is done
        page.locator("#picture").evaluate("one => one.scrollIntoView()")
        page.wait_for_timeout(1_500)
        keep(page, "compare")

    def a_month(self) -> None:
        page = self.page
        self.goes("highlake", "month")
        page.click("text=Make the rounds of the month")
        page.wait_for_selector("#day-form", timeout=LONG)
        page.wait_for_timeout(1_500)
        keep(page, "month")

    def first_page(self) -> None:
        page = self.page
        page.set_viewport_size({**WINDOW, "height": 780})
        page.goto(f"{self.home}/")
        page.wait_for_selector("[aria-busy]", state="detached")
        naming = "(one, name) => { one.textContent = name; }"
        page.locator(".where bdi").evaluate(naming, FOLDER)
        keep(page, "home")

    def under_way(self) -> None:
        """A demo while it is planned, its gap nearly closed; then its plan."""
        self.begins("demo", demo="highlake")
        self.gives_time("Goal, time, gap and haulage")
        self.plans()
        while not self.gap() < SMALL:
            self.page.wait_for_timeout(200)
        keep(self.page, "plan")
        self.done()

    def gap(self) -> float:
        """Proven gap that the page of a plan under way shows. [%]"""
        shown = self.page.inner_text("#gap")
        return float(shown) if shown[:1].isdigit() else math.inf


def main() -> None:
    """Open the desk of a fresh folder and draw."""
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None:
        message = "no Chromium is installed: the desk cannot be opened"
        raise SystemExit(message)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        shelf = Path(folder) / "Loamhaul"
        shelf.mkdir()
        program, address = started(shelf)
        opened = playwright.chromium.launch(
            executable_path=browser, args=["--headless", "--no-sandbox"]
        )
        try:
            window = opened.new_page(viewport=WINDOW, reduced_motion="reduce")
            window.set_default_timeout(LONG)
            walk = Walk(window, address)
            walk.own_district()
            walk.under_way()
            walk.drags_a_yard()
            walk.compares()
            walk.a_month()
            walk.first_page()
        finally:
            opened.close()
            program.send_signal(signal.SIGINT)
            program.wait(20)


if __name__ == "__main__":
    main()
