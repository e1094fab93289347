"""
Time a plan after a change: cold, with the old yards, and re-planned.

    python tests/benchmarks/bench_changes.py [scenario folder]

Cold is `run` without an earlier plan, as `loamhaul plan DIR --change C` does it. All
three read the same changed scenario and include travel, audit and ledger.
"""

import statistics
import sys
import time
from functools import partial
from pathlib import Path

from logistics.change_files import apply_changes, read_changes
from logistics.pipeline import run
from logistics.scenario import read_scenario

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


def main(folder):
    """Print a table in Markdown."""
    scenario = read_scenario(folder)
    base, took = timed(partial(run, scenario))
    asked = scenario.settings.solve.gap
    say(f"base: {took:.1f} s, gap {base.plan.gap:.2%}, asked {asked:.1%}\n")
    heads = "change|cold [s]|operate [s]|re-plan [s]|operate/cold|re-plan/cold"
    say(f"|{heads}|gap cold|gap re-plan|\n|{'---|' * 8}")
    rows = []
    known = {"memory": base.plan.memory}
    for name, wanted in read_changes(folder).items():
        changed = apply_changes(scenario, wanted)
        cold, a = timed(partial(run, changed))
        _, b = timed(partial(run, changed, yards=base.plan.pairs, **known))
        again, c = timed(partial(run, changed, start=base.plan.pairs, **known))
        rows.append((a, b, c, b / a, c / a))
        say(
            f"| {name} | {a:.2f} | {b:.2f} | {c:.2f} | {b / a:.1%} | {c / a:.1%} "
            f"| {cold.plan.gap:.2%} | {again.plan.gap:.2%} |"
        )
    a, b, c, x, y = (statistics.median(column) for column in zip(*rows, strict=True))
    say(f"| median | {a:.2f} | {b:.2f} | {c:.2f} | {x:.1%} | {y:.1%} | | |")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else DEMO)
