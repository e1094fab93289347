"""
Rounds against the best known solutions of the CVRP library.

    python tests/benchmarks/bench_rounds.py [SECONDS]

Uchoa, E. et al., New benchmark instances for the capacitated vehicle routing problem,
European Journal of Operational Research 257, 2017, pp. 845-858; and older sets. Every
answer comes from `rounds_solve.solve_task` and is checked by `rounds_check.faults`; two
processes search with two seeds, the better answer counts.
"""

import sys
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from support.cvrp import FOLDER, best_known, length, read_vrp, task_of

from logistics.rounds.check import faults
from logistics.rounds.records import SearchLimits
from logistics.rounds.search import solve_task


def search(name: str, seed: int, seconds: float) -> tuple[float, int, list[str]]:
    """Length, tours and faults of the answer of one seed."""
    task = task_of(*read_vrp(FOLDER / f"{name}.vrp"))
    answer = solve_task(task, SearchLimits(None, seconds, seed))
    return length(task, answer), len(answer.tours), faults(task, answer)


def say(line: str) -> None:
    """Write a line at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> None:
    """Print the table."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 30.0
    names = sorted(path.stem for path in FOLDER.glob("*-*.vrp"))
    names = [n for n in names if n[0] in "XMABP"]
    say("| instance | best known | found | gap % | tours | faults | seconds |")
    say("|---|--:|--:|--:|--:|--:|--:|")
    gaps = []
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        for name in names:
            best = best_known(FOLDER / f"{name}.sol")
            started = perf_counter()
            jobs = [pool.submit(search, name, seed, seconds - 1) for seed in (1, 2)]
            found, tours, wrong = min(job.result() for job in jobs)
            spent = perf_counter() - started
            gap = 100 * (found / best - 1)
            if name.startswith("X"):
                gaps.append(gap)
            say(
                f"| {name} | {best:.0f} | {found:.0f} | {gap:.2f} | {tours} "
                f"| {len(wrong)} | {spent:.1f} |"
            )
    say(f"\nMean gap of the X instances: {sum(gaps) / len(gaps):.3f} %")


if __name__ == "__main__":
    main()
