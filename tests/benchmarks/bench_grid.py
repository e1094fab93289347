"""
The district page with many sources: pasting, checking, scrolling, saving.

    python tests/benchmarks/bench_grid.py

5,000 sources of 20 columns, made of brackwater's from a seed, are pasted into the grid
of a desk on this computer. Prints a table for RESULTS.md. Needs Chromium.
"""

import csv
import platform
import random
import shutil
import statistics
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from support.chromium import browser  # noqa: E402
from support.district_page import DistrictPage, served  # noqa: E402
from support.places import DEMO  # noqa: E402

say = partial(print, flush=True)  # a benchmark speaks
SCROLL = """async (step) => {
  const sheet = document.getElementById("sheet"), frames = [];
  let last = performance.now();
  for (let i = 1; i <= 120; i += 1) {
    sheet.scrollTop = i * step;
    await new Promise((done) => requestAnimationFrame(done));
    frames.push(performance.now() - last);
    last = performance.now();
  }
  return frames;
}"""


def invented(count: int) -> list[list[str]]:
    """Sources as a spreadsheet program would copy them."""
    with (DEMO / "sources.csv").open(encoding="utf-8", newline="") as file:
        headings, *rows = csv.reader(file)
    chance = random.Random(1)
    made = []
    for number in range(count):
        row = list(chance.choice(rows))
        row[headings.index("source")] = f"s{number}"
        row[headings.index("lon")] = f"{chance.uniform(-31, -30.8):.5f}"
        row[headings.index("lat")] = f"{chance.uniform(-1.1, -0.9):.5f}"
        made.append(row)
    return made


def main() -> None:
    rows = invented(5_000)
    text = "\r\n".join("\t".join(row) for row in rows)
    with tempfile.TemporaryDirectory() as place:
        shutil.copytree(DEMO, Path(place) / "big")
        with served(Path(place)) as key, browser() as started:
            district = DistrictPage(started, key, "big")
            district.go(0, "source")
            begin = time.perf_counter()
            district.paste(text)
            shown = time.perf_counter() - begin
            district.kept()
            kept = time.perf_counter() - begin
            district.page.locator("#tab-sources", has_text="5000").wait_for()
            district.checked("No faults")
            checked = time.perf_counter() - begin
            fine = statistics.quantiles(district.page.evaluate(SCROLL, 84), n=20)
            far = statistics.quantiles(district.page.evaluate(SCROLL, 1_100), n=20)
            begin = time.perf_counter()
            district.press("Control+s")
            district.kept("Saved")
            saved = time.perf_counter() - begin
    say(f"{platform.processor() or platform.machine()}, {platform.system()}")
    say(f"| {len(rows):,} x {len(rows[0])} cells | s |\n|---|--:|")
    for what, seconds in (
        ("pasted and shown", shown),
        ("kept on the disk", kept),
        ("checked", checked),
        ("saved to the table", saved),
    ):
        say(f"| {what} | {seconds:.2f} |")
    for what, frames in (("3 rows", fine), ("40 rows", far)):
        say(
            f"| a frame, scrolling {what} (median; 95th percentile) "
            f"| {frames[9] / 1e3:.3f}; {frames[18] / 1e3:.3f} |"
        )


if __name__ == "__main__":
    main()
