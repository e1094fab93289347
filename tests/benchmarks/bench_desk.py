"""
How quickly the desk answers while a plan of brackwater is made, and what it holds.

    python tests/benchmarks/bench_desk.py

Prints a table for RESULTS.md: from the command to the first page, the first time and
with Python's bytecode in place; 500 questions of all kinds while the plan is solved,
memory of the server beside the worker; then, on the page of answers, from a press to
what it does, the first time and again, and to its map; the first paint and a press once
more as seen in Chromium.
"""

import itertools
import json
import os
import platform
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
from support.places import DEMO  # noqa: E402
from support.running_desk import RunningDesk  # noqa: E402

from maps.desk.book import plans  # noqa: E402

say = partial(print, flush=True)  # a benchmark speaks
ASKED = 500
PAGES = (
    "/",
    "/s/brackwater/card",
    "/s/brackwater/plan",
    "/s/brackwater/plans/{code}",
    "/s/brackwater/district",
    "/s/brackwater/api/district/tables",
    "/s/brackwater/api/district/tables/sources",
    "/s/brackwater/whatif",
    "/static/desk.css",
)


PRESSES = {
    "close a yard": {"do": "close_yard", "a.yard": "yard_wexilow"},
    "halve a source": {
        "do": "scale_source",
        "a.source": "fish_eddershoal",
        "a.percent": "-50",
    },
    "move a yard": {
        "do": "move_yard",
        "a.yard": "yard_dremmock",
        "a.lon": "-31.0",
        "a.lat": "-0.9",
    },
    "diesel +40 %": {"do": "scale_fuel", "a.percent": "40"},
}


def busy(pid: int) -> float:
    """Time that a process has had of the processor. [s]"""
    spent = Path(f"/proc/{pid}/stat").read_text(encoding="ascii")
    ticks = sum(int(n) for n in spent.rpartition(")")[2].split()[11:13])
    return ticks / os.sysconf("SC_CLK_TCK")


def answering(server: int) -> int:
    """Process of the program that answers: the child of the server that was last."""
    tasks = Path(f"/proc/{server}/task").glob("*/children")
    found = " ".join(path.read_text(encoding="ascii") for path in tasks).split()
    lines = {int(n): Path(f"/proc/{n}/cmdline").read_bytes() for n in found}
    return max(n for n, line in lines.items() if b"changes.answering" in line)


def press(desk: RunningDesk, address: str, pid: int, action: str, form: dict) -> str:
    """Press a button; tell the seconds to its effect, of the processor, to its map."""
    at, before = time.perf_counter(), busy(pid)
    desk.post(f"/s/brackwater/api/tray/{action}", form)
    told = {"state": "reckoning"}
    while told["state"] in ("loading", "reckoning"):
        told = json.loads(desk.post(address, data={}))
    took, spent = time.perf_counter() - at, busy(pid) - before
    assert told["state"] in ("answered", "ready"), told
    while "figures" in told["effect"] and not told["mapped"]:
        time.sleep(0.1)
        told = json.loads(desk.post(address, data={}))
    return f"{took:.2f} | {spent:.2f} | {time.perf_counter() - at:.2f}"


def answers(desk: RunningDesk, code: str) -> None:
    """Press the buttons of the page of answers; print a table."""
    address = f"/s/brackwater/api/answers/{code}/effect"
    at = time.perf_counter()
    desk.get("/s/brackwater/answers")
    while json.loads(desk.post(address, data={}))["state"] == "loading":
        pass
    pid = answering(desk.program.pid)
    say(f"page of answers ready after {time.perf_counter() - at:.2f} s", end=", ")
    say(f"{busy(pid):.2f} of a processor")
    say("| press | effect s | of a processor s | map s |\n|---|--:|--:|--:|")
    for words, form in PRESSES.items():
        for again in ("", ", again"):
            say(f"| {words}{again} | {press(desk, address, pid, 'add', form)} |")
            press(desk, address, pid, "undo", {})
    say(f"the program that answers holds {held(pid):.0f} MB")


PAINT = """() => performance.getEntriesByName("first-contentful-paint")[0].startTime"""


def first_paint(place: str) -> None:
    """Start a desk and tell the time from the command to the first paint."""
    with browser() as chromium:
        page = chromium.new_page()
        begun = time.perf_counter()
        desk = RunningDesk(place)
        asked = time.perf_counter() - begun
        page.goto(desk.address)
        page.wait_for_url("**/")
        page.wait_for_selector("h1")
        painted = asked + page.evaluate(PAINT) / 1e3
        say(f"from the command to the first paint: {painted:.2f} s")
        desk.end()


def seen(desk: RunningDesk) -> None:
    """Close and undo in Chromium; tell the time from the press to the figures."""
    with browser() as chromium:
        page = chromium.new_page()
        page.goto(desk.address)
        page.wait_for_url("**/")
        page.goto(f"http://127.0.0.1:{desk.port}/s/brackwater/answers")
        wait(page, "is ready")
        for yard in ("yard_hobbentide", "yard_garrowisk"):
            page.select_option("#place", f"yard:{yard}")
            at = time.perf_counter()
            page.click("#card button[data-do=close_yard] >> visible=true")
            wait(page, "Net cost")
            say(f"closing {yard}, as seen: {time.perf_counter() - at:.2f} s")
            page.click("#undo")
            wait(page, "is ready")
            time.sleep(
                2
            )  # as somebody who reads the figures: the map is made meanwhile


def wait(page, words: str) -> None:
    """Wait until the page tells words; its policy allows no evaluated conditions."""
    while words not in page.inner_text("#told"):
        time.sleep(0.01)


def held(pid: int) -> float:
    """Memory that a process holds. [MB]"""
    status = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    line = next(each for each in status.splitlines() if each.startswith("VmRSS"))
    return int(line.split()[1]) / 1e3


def started(place: str) -> RunningDesk:
    """Start a desk and tell the time from the command to the first page."""
    begun = time.perf_counter()
    desk = RunningDesk(place)
    desk.get("/")
    took = time.perf_counter() - begun
    spent = busy(desk.program.pid)
    say(f"from the command to the first page: {took:.2f} s, {spent:.2f} of a processor")
    return desk


def main() -> None:
    """Ask, and print the table."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(shutil.copytree(DEMO, Path(place) / "brackwater"))
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        os.environ["PYTHONPYCACHEPREFIX"] = str(Path(place) / "bytecode")
        started(place).end()
        first_paint(place)
        desk = started(place)
        begun = time.perf_counter()
        for page in PAGES:
            if "{code}" not in page:
                desk.get(page)
        desk.post("/s/brackwater/plan/start")
        code = plans(folder)[0].code
        while plans(folder)[0].state != "running":
            time.sleep(0.1)
        took: dict[str, list[float]] = {page: [] for page in PAGES}
        for page in itertools.islice(itertools.cycle(PAGES), ASKED):
            at = time.perf_counter()
            desk.get(page.format(code=code))
            took[page].append(1e3 * (time.perf_counter() - at))
            time.sleep(0.02)
        still = plans(folder)[0].state
        memory = held(desk.program.pid)
        while plans(folder)[0].state == "running":
            time.sleep(0.5)
        whole = time.perf_counter() - begun
        end = plans(folder)[0].state
        if end == "done":
            answers(desk, code)
            seen(desk)
        desk.end()
    say("| question | median ms | 95th percentile |\n|---|--:|--:|")
    for page, each in [*took.items(), ("all", [*itertools.chain(*took.values())])]:
        cut = statistics.quantiles(each, n=20)
        say(f"| `{page}` | {statistics.median(each):.0f} | {cut[18]:.0f} |")
    say(f"server {memory:.0f} MB; the plan was {still} after the questions")
    say(f"and {end} at {whole:.0f} s")
    say(f"{os.cpu_count()} cores, {platform.system()} {platform.machine()}")


if __name__ == "__main__":
    main()
