"""
Regions planned coarse, against the whole where the whole can be planned.

    python tests/benchmarks/bench_coarse.py XL --gap 0.02 --seconds 300
    python tests/benchmarks/bench_coarse.py M --gap 0.005

Prints one line for RESULTS.md: what the coarse problem says and proves, what its yards
truly cost, and how long it took from the tables to the audited plan.
"""

import argparse
import os
import resource
import sys
import time
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]

from region import SIZES, region  # noqa: E402

from logistics.model.solving.highs import Progress  # noqa: E402
from logistics.studies.country import plan_coarse  # noqa: E402

say = partial(print, flush=True)  # a benchmark speaks


def main() -> None:
    """Measure."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("size", choices=SIZES)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--gap", type=float, default=0.01, help="[1]")
    ask.add_argument("--seconds", type=float, default=300.0, help="each coarse solve")
    ask.add_argument("--edge", type=float)
    given = ask.parse_args()
    scenario = region(*SIZES[given.size], seed=given.seed)
    wanted = scenario.settings.solve.model_copy(
        update={"gap": given.gap, "seconds": given.seconds}
    )
    settings = scenario.settings.model_copy(update={"solve": wanted})
    object.__setattr__(scenario, "settings", settings)
    begin = time.perf_counter()

    def watch(state: Progress) -> None:
        spent = time.perf_counter() - begin
        sys.stderr.write(
            f"{spent:7.1f} {state.phase} {state.incumbent} {state.bound}\n"
        )

    result, how = plan_coarse(scenario, watch, given.edge)
    took = time.perf_counter() - begin
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
    say(how.words())
    say(f"yards {len(result.plan.yards)}, audit {bool(result.audit['passed'].all())}, "
        f"parts {[round(s, 1) for s in how.seconds]} s, in all {took:.1f} s, "
        f"{memory:.2f} GB, load {os.getloadavg()[0]:.1f}")  # fmt: skip


if __name__ == "__main__":
    main()
