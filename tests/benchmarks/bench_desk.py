"""
How quickly the desk answers while a plan of brackwater is made, and what it holds.

    python tests/benchmarks/bench_desk.py

Prints a table for RESULTS.md: from the command to the first page, 500 questions of all
kinds while the plan is solved, memory of the server beside the worker.
"""

import itertools
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


def held(pid: int) -> float:
    """Memory that a process holds. [MB]"""
    status = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    line = next(each for each in status.splitlines() if each.startswith("VmRSS"))
    return int(line.split()[1]) / 1e3


def main() -> None:
    """Ask, and print the table."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(shutil.copytree(DEMO, Path(place) / "brackwater"))
        begun = time.perf_counter()
        desk = RunningDesk(place)
        desk.get("/")
        first = time.perf_counter() - begun
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
        desk.end()
    say(f"from the command to the first page: {first:.2f} s")
    say("| question | median ms | 95th percentile |\n|---|--:|--:|")
    for page, each in [*took.items(), ("all", [*itertools.chain(*took.values())])]:
        cut = statistics.quantiles(each, n=20)
        say(f"| `{page}` | {statistics.median(each):.0f} | {cut[18]:.0f} |")
    say(f"server {memory:.0f} MB; the plan was {still} after the questions")
    say(f"and {end} at {whole:.0f} s")
    say(f"{os.cpu_count()} cores, {platform.system()} {platform.machine()}")


if __name__ == "__main__":
    main()
