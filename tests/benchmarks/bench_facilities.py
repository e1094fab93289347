"""
The large capacitated facility location file, at its four capacities, to proof.

    python tests/benchmarks/bench_facilities.py [capacity ...]

100 yards that may open, 1000 sources, one period: `capb` of the OR-Library (Beasley,
European Journal of Operational Research 33, 1988). Optima are those of the set's own
list. Every capacity has a process of its own.
"""

import subprocess
import sys
import time
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from support.facility_location import instance, read_file  # noqa: E402
from support.places import BENCH  # noqa: E402

from logistics.model.solving.consistent_plan import solve  # noqa: E402
from logistics.model.solving.highs import Effort  # noqa: E402
from logistics.results.plan_audit import audit  # noqa: E402

GAP = 1e-6
CAPACITIES = ("5000", "6000", "7000", "8000")


say = partial(print, flush=True)  # a benchmark speaks


def published() -> dict[str, float]:
    """Read the printed optima of `capb`, by capacity: its name is on the first line."""
    found, name = {}, ""
    for line in (BENCH / "cflp" / "capopt.txt").read_text().splitlines():
        name = line.split()[0] if line[:3] == "cap" else name
        if name == "capb" and "(capacity" in line:
            value, _, capacity = line.removeprefix("capb").split()
            found[capacity.rstrip(")")] = float(value)
    return found


def one(capacity: str) -> str:
    """Solve one and write its line of the table."""
    inst = instance(*read_file(BENCH / "cflp" / "capb.txt.gz", float(capacity)))
    begin = time.perf_counter()
    plan = solve(inst, Effort(gap=GAP, seconds=600))
    took = time.perf_counter() - begin
    passed = "passes" if audit(inst, plan)["passed"].all() else "FAILS"
    return (
        f"| {capacity} | {published()[capacity]:,.3f} | {plan.objective:,.3f} "
        f"| {plan.gap:.1e} | {passed} | {took:.0f} s |"
    )


def main(capacities: list[str]) -> None:
    """Print a table in Markdown."""
    if capacities[:1] == ["--one"]:
        say(one(capacities[1]))
        return
    heads = "capacity|published optimum|found|proven gap|audit|seconds"
    say(f"|{heads}|\n|{'---|' * 6}")
    for capacity in capacities or CAPACITIES:
        subprocess.run([sys.executable, __file__, "--one", capacity], check=True)


if __name__ == "__main__":
    main(sys.argv[1:])
