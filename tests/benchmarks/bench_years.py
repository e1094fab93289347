"""
The years ahead of an invented region: first answer, gap over time, memory.

    python tests/benchmarks/bench_years.py M --years 5 --seconds 1800

Every year has a fifth of what the yards of the region as it is would cost, and supply
and demand grow by 3 points a year. That cost is taken from a plan within 5 %, before
the clock runs. Prints the lines of a table for RESULTS.md.
"""

import argparse
import resource
import sys
import time
from functools import partial
from pathlib import Path

import pandas as pd

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]

from region import SIZES, region  # noqa: E402

from logistics.results import run  # noqa: E402
from logistics.scenario import with_settings, with_table  # noqa: E402
from logistics.years import plan_years, years_ahead  # noqa: E402

say = partial(print, flush=True)  # a benchmark speaks
NAN = float("nan")


def with_years(scenario, count: int):
    """Add a table of years with a fifth of the capital each."""
    base = run(with_settings(scenario, {"solve.gap_pct": 5.0}))
    options = base.instance.options_of(base.plan.yard_sizes)
    capital = float(base.instance.options.capital[options].sum()) / 5
    rows = [
        {
            "year": str(2027 + n), "capital": capital, "carry_over": True,
            "recurrent": NAN, "supply": 1 + 0.03 * n, "demand": 1 + 0.03 * n,
            "wages": 1.0, "fuel": 1.0, "compost_price": 1.0,
            "tipping_fee_per_t": NAN, "subsidy_per_t": NAN, "changes": (),
        }
        for n in range(count)
    ]  # fmt: skip
    columns = list(scenario.table("years").columns)
    return with_table(scenario, "years", pd.DataFrame(rows)[columns]), capital


def main(size: str, seed: int, years: int, seconds: float, gap: float) -> None:
    """Plan the years once and say what came of it."""
    scenario, capital = with_years(region(*SIZES[size], seed), years)
    scenario = with_settings(scenario, {"solve.gap_pct": gap})
    say(f"region {size}, seed {seed}, {years} years, capital {capital:,.0f} a year")
    begin, first = time.perf_counter(), list[float]()

    def watch(title: str, state) -> None:
        spent = time.perf_counter() - begin
        if title != "all years":
            return
        if state.incumbent is not None and not first:
            first.append(spent)
        say(f"  {spent:6.0f} s  {state.incumbent}  {state.bound}")

    way = plan_years(scenario, years_ahead(scenario, {}), seconds=seconds, watch=watch)
    spent = time.perf_counter() - begin
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    cpu = time.process_time()
    if way is None:
        say(f"no choice in {spent:.0f} s, {memory:.1f} GB")
        return
    say(f"first answer {first[0]:.0f} s" if first else "no first answer")
    say(
        f"{spent:.0f} s, gap of the choice {100 * way.gap_of_yards:.2f} %, with whole "
        f"trucks {100 * way.gap:.2f} %, {memory:.1f} GB, {cpu:.0f} s CPU"
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("size")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--years", type=int, default=5)
    parser.add_argument("--seconds", type=float, default=1800)
    parser.add_argument("--gap", type=float, default=2.5)
    given = parser.parse_args()
    main(given.size, given.seed, given.years, given.seconds, given.gap)
