"""
Time a plan after a change: cold, with the old yards, and re-planned.

    python tests/benchmarks/bench_changes.py [scenario folder]
    python tests/benchmarks/bench_changes.py M

The second takes an invented region of that size, gap asked 0.5 %, and closes its
largest mill. Cold is `run` without an earlier plan, as `loamhaul plan DIR --change C`
does it. Times are those of writing and solving the programme; "the whole command" adds
travel, audit and ledger, which are the same for all three.
"""

import statistics
import sys
import time
from dataclasses import replace
from functools import partial
from pathlib import Path

from region import SIZES, region

from logistics.changes.files import apply_changes, parse_change, read_changes
from logistics.results.pipeline import run
from logistics.scenario.scenario import read_scenario
from logistics.scenario.settings import change_setting

DEMO = Path(__file__).parents[2] / "scenarios" / "brackwater"


def timed(job):
    """Return what a job returns, and how long it took. [s]"""
    begin = time.perf_counter()
    found = job()
    return found, time.perf_counter() - begin


def say(text):
    """Print at once."""
    sys.stdout.write(text + "\n")
    sys.stdout.flush()


def cases(where):
    """Return a scenario, and the changes to plan, by name."""
    if where not in SIZES:
        return read_scenario(Path(where)), read_changes(Path(where))
    scenario = region(*SIZES[where], seed=1)
    settings = change_setting(scenario.settings, "solve.gap_pct", 0.5)
    settings = change_setting(settings, "solve.seconds", 600.0)
    scenario = replace(scenario, settings=settings)
    mills = scenario.sources[scenario.sources["material"] == "rice_husk"]
    largest = mills.loc[mills["amount"].astype(float).idxmax(), "source"]
    wanted = parse_change(f"close_source:source={largest}")
    return scenario, {"largest_mill_closes": wanted}


def main(where):
    """Print a table in Markdown."""
    scenario, changes = cases(where)
    base, took = timed(partial(run, scenario))
    asked = scenario.settings.solve.gap
    say(f"base: {took:.1f} s, gap {base.plan.gap:.2%}, asked {asked:.1%}\n")
    heads = "change|cold [s]|operate [s]|re-plan [s]|operate/cold|re-plan/cold"
    say(f"|{heads}|the whole command|gap cold|gap re-plan|\n|{'---|' * 9}")
    rows = []
    known = {"warm_start": base.plan.warm_start}
    for name, wanted in changes.items():
        changed = apply_changes(scenario, wanted)
        cold, a = timed(partial(run, changed))
        kept, b = timed(partial(run, changed, yards=base.plan.yard_sizes, **known))
        again, c = timed(partial(run, changed, start=base.plan.yard_sizes, **known))
        solving = [result.plan.seconds for result in (cold, kept, again)]
        rows.append((*row(*solving), b / a, c / a))
        say(told(name, rows[-1]) + f"{cold.plan.gap:.2%} | {again.plan.gap:.2%} |")
    medians = [statistics.median(column) for column in zip(*rows, strict=True)]
    say(told("median", medians) + " | |")


def row(cold, operate, replan):
    """Seconds, and what the two answers take of the cold one."""
    return cold, operate, replan, operate / cold, replan / cold


def told(name, figures):
    """Write a line of the table."""
    a, b, c, x, y, whole_x, whole_y = figures
    return (
        f"| {name} | {a:.2f} | {b:.2f} | {c:.2f} | {x:.1%} | {y:.1%} "
        f"| {whole_x:.0%}, {whole_y:.0%} | "
    )


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else str(DEMO))
