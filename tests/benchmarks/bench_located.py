"""
Yards and rounds together against the best known of the location-routing set.

    python tests/benchmarks/bench_located.py [SECONDS [ITERATIONS]]

Prins, C., Prodhon, C. and Wolfler Calvo, R., 2006: cost = 100 times the distance,
rounded up, openings, 1000 a route. Every answer comes from `located_rounds.locate` and
is checked by `located_check.located_faults`; two processes search with two seeds, the
better answer counts.
"""

import sys
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from support.lrp import BEST_KNOWN, FOLDER, read_lrp

from logistics.rounds.located.check import located_cost, located_faults
from logistics.rounds.located.search import locate
from logistics.rounds.records import SearchLimits


def search(
    name: str, seed: int, seconds: float, iterations: int
) -> tuple[float, int, int, list[str]]:
    """Total, yards, tours and faults of the answer of one seed."""
    siting = read_lrp(FOLDER / f"{name}.dat")
    answer = locate(siting, SearchLimits(iterations, seconds, seed))
    yards = len({siting.task.trucks[t.truck].base for t in answer.tours})
    wrong = located_faults(siting, answer)
    total = located_cost(siting, answer) if not wrong else float("inf")
    return total, yards, len(answer.tours), wrong


def say(line: str) -> None:
    """Write a line at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> None:
    """Print the table."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 108.0
    iterations = int(sys.argv[2]) if len(sys.argv) > 2 else 200
    say("| instance | best known | found | gap % | yards | tours | faults | seconds |")
    say("|---|--:|--:|--:|--:|--:|--:|--:|")
    gaps = []
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        for name, best in BEST_KNOWN.items():
            started = perf_counter()
            jobs = [
                pool.submit(search, name, seed, seconds, iterations) for seed in (1, 2)
            ]
            total, yards, tours, wrong = min(job.result() for job in jobs)
            spent = perf_counter() - started
            gaps.append(100 * (total / best - 1))
            say(
                f"| {name} | {best} | {total:.0f} | {gaps[-1]:.2f} | {yards} | {tours} "
                f"| {len(wrong)} | {spent:.1f} |"
            )
    say(f"\nMean gap: {sum(gaps) / len(gaps):.3f} %")


if __name__ == "__main__":
    main()
