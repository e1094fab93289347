"""
Draw the picture of the map in the README: the demo's map as it opens.

Run `uv run --group test python scenarios/make_picture.py` when the map has changed. It
needs an installed Chromium.
"""

import io
import json
import shutil
import tempfile
from pathlib import Path

from PIL import Image
from PIL.PngImagePlugin import PngInfo
from playwright.sync_api import sync_playwright

from logistics.results import run
from logistics.rounds import plan_as_driven
from logistics.scenario import read_scenario
from maps.geo.web_map import HEAD_FIGURES, write_map
from maps.shared import key_figures

HERE = Path(__file__).parent
PICTURE = HERE.parent / "maps" / "manual" / "pictures" / "brackwater.png"
WINDOW = {"width": 1280, "height": 820}
COLOURS = 128
"""Colours of the palette: the map is flat, so that a few do."""


FIGURES = "figures"
"""Note in the picture of the figures it shows; a test holds them against the plan."""


def head_figures(result) -> dict[str, float]:
    """Key figures at the head of the map, rounded more finely than they are shown."""
    return {
        each.label: round(each.value, 2)
        for each in key_figures(result)
        if each.label in HEAD_FIGURES
    }


def main() -> None:
    """Plan the demo, open its map, keep what the window shows."""
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None:
        message = "no Chromium is installed: the map cannot be opened"
        raise SystemExit(message)
    PICTURE.parent.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        page_file = Path(folder) / "map.html"
        result = plan_as_driven(run(read_scenario(HERE / "brackwater")))
        write_map(result, page_file)
        started = playwright.chromium.launch(
            executable_path=browser, args=["--headless", "--no-sandbox"]
        )
        page = started.new_page(viewport=WINDOW, reduced_motion="reduce")
        page.goto(page_file.as_uri())
        page.wait_for_function("window.loamhaul && loamhaul.ready > 0")
        shown = page.screenshot()
        started.close()
    figures = json.dumps(head_figures(result))
    notes = PngInfo()
    notes.add_text(FIGURES, figures)
    picture = Image.open(io.BytesIO(shown)).convert("RGB").quantize(COLOURS, dither=0)
    picture.save(PICTURE, optimize=True, pnginfo=notes)
    print(f"{PICTURE.name}: {PICTURE.stat().st_size / 1000:,.0f} kB")


if __name__ == "__main__":
    main()
