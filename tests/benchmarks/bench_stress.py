"""
A stress test with one worker process, with two, and on a Dask cluster of two.

    python tests/benchmarks/bench_stress.py [--rounds 5] [--draws 100] [--dask]

All single losses of brackwater and so many draws, dealt out to rounds: every round
takes its futures through all sides in turn, so that a load that comes and goes falls
on all of them. Each side starts with an empty store and the base's yards known;
starting the workers is in its time. Prints a table for RESULTS.md.
"""

import argparse
import os
import platform
import statistics
import sys
import tempfile
import time
from contextlib import nullcontext
from functools import partial
from importlib.metadata import version
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from support.dask_loopback import cluster  # noqa: E402

from logistics.changes.ranges import read_ranges  # noqa: E402
from logistics.scenario.scenario import read_scenario  # noqa: E402
from logistics.studies.runs import open_store  # noqa: E402
from logistics.studies.stress_runs import base_yards, one_thread, stress  # noqa: E402
from logistics.studies.stress_scenarios import draws, losses  # noqa: E402

say = partial(print, flush=True)  # a benchmark speaks
DEMO = ROOT / "scenarios" / "brackwater"


def timed(scenario, yards, futures, ranges, **how):
    """Seconds of a stress test from an empty store, and its costs."""
    with (
        tempfile.TemporaryDirectory() as folder,
        open_store(Path(folder) / "s.jsonl") as store,
    ):
        begin = time.perf_counter()
        found = stress(scenario, yards, futures, ranges, store, **how)
        spent = time.perf_counter() - begin
    return spent, {where: r["cost"] for where, r in found.records.items()}


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=1)
    parser.add_argument("--draws", type=int, default=100)
    parser.add_argument("--dask", action="store_true")
    wanted = parser.parse_args()
    scenario = one_thread(read_scenario(DEMO))
    ranges = read_ranges(scenario)
    with (
        tempfile.TemporaryDirectory() as folder,
        open_store(Path(folder) / "base.jsonl") as store,
    ):
        yards = base_yards(scenario, store)
    lost = losses(scenario, [yard for yard, _ in yards])
    futures = [*lost, *draws(ranges, wanted.draws, 1)]
    say(
        f"{len(lost)} losses and {wanted.draws} draws in {wanted.rounds} rounds; "
        f"{os.cpu_count()} cores, {platform.machine()}, "
        f"Python {platform.python_version()}, highspy {version('highspy')}, "
        f"distributed {version('distributed')}"
    )
    sides = {"1 worker": {"workers": 1}, "2 workers": {"workers": 2}}
    say("| round | runs | side | time | a run | ratio | apart | load before |")
    say("|---|---|---|---|---|---|---|---|")
    ratios = {}
    with cluster(2, idle="1 hour") if wanted.dask else nullcontext() as address:
        if address is not None:
            sides["Dask, 2 workers"] = {"cluster": address}
        for part in range(wanted.rounds):
            mine, first = futures[part :: wanted.rounds], None
            for name, how in sides.items():
                load = os.getloadavg()[0]
                spent, costs = timed(scenario, yards, mine, ranges, **how)
                first = first or (spent, costs)
                ratios.setdefault(name, []).append(first[0] / spent)
                apart = max(
                    abs(cost - costs[where]) / max(1.0, abs(cost))
                    for where, cost in first[1].items()
                )
                say(
                    f"| {part + 1} | {len(costs)} | {name} | {spent:.1f} s | "
                    f"{spent / len(costs):.2f} s | {first[0] / spent:.2f} | "
                    f"{apart:.1e} | {load:.1f} |"
                )
    for name, found in ratios.items():
        say(f"{name}: median ratio {statistics.median(found):.2f}")


if __name__ == "__main__":
    main()
