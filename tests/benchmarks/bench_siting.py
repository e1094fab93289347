"""
Siting on invented regions: our scheme, and the whole programme given to a solver.

    python tests/benchmarks/bench_siting.py S --seeds 1 2 3
    python tests/benchmarks/bench_siting.py S --seeds 1 --whole linked unlinked scip

Every run has its own process, so that its memory can be told. Prints tables for
RESULTS.md and, with `--curve FILE`, writes the gap over time as a chart.
"""

import argparse
import json
import platform
import resource
import statistics
import subprocess
import sys
import time
from functools import partial
from importlib.metadata import version
from math import isfinite
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]

from region import SIZES, region  # noqa: E402

from logistics.model.assembly.assembler import assemble  # noqa: E402
from logistics.model.rules.blocks import build  # noqa: E402
from logistics.model.solving.consistent_plan import solve  # noqa: E402
from logistics.model.solving.highs import (  # noqa: E402
    Effort,
    Progress,
    Session,
    run_solver,
)
from logistics.model.solving.matrix import load, matrix_of  # noqa: E402
from logistics.results.plan_audit import audit  # noqa: E402
from logistics.roads.travel_matrices import travel  # noqa: E402

say = partial(print, flush=True)  # a benchmark speaks
GAPS = (0.02, 0.01, 0.005, 0.001)


def ours(scenario, gap: float, seconds: float) -> dict:
    """Plan as the command does; the gap over time, and what came out."""
    begin = time.perf_counter()
    instance = assemble(scenario, travel(scenario)).instance
    curve = []

    def watch(state: Progress) -> None:
        proven = state.bound if state.phase == "proof" else None
        if state.incumbent is not None and state.phase in {"first plan", "proof"}:
            curve.append((time.perf_counter() - begin, state.incumbent, proven))

    plan = solve(instance, Effort(gap=gap, seconds=seconds), watch)
    checks = audit(instance, plan)
    return {
        "seconds": time.perf_counter() - begin,
        "best": plan.objective,
        "bound": plan.bound,
        "curve": curve,
        "audit": bool(checks["passed"].all()),
        "yards": len(plan.yards),
    }


def whole(scenario, kind: str, gap: float, seconds: float) -> dict:
    """Give the whole programme, all lanes in, to HiGHS or to SCIP."""
    begin = time.perf_counter()
    instance = assemble(scenario, travel(scenario)).instance
    programme, _ = build(instance, linked=kind != "unlinked")
    curve = []

    def watch(state: Progress) -> None:
        if state.incumbent is not None:
            curve.append((time.perf_counter() - begin, state.incumbent, state.bound))

    if kind == "scip":
        best, bound = _scip(programme, gap, seconds)
    else:
        session = Session(Effort(gap=gap, seconds=seconds), watch)
        answer = run_solver(programme, session)
        best, bound = answer.incumbent, answer.bound
    took = time.perf_counter() - begin
    return {"seconds": took, "best": best, "bound": bound, "curve": curve}


def _scip(programme, gap: float, seconds: float) -> tuple[float | None, float]:
    """Hand the programme over as a file: by PuLP it takes longer than the solving."""
    import pyscipopt

    model = pyscipopt.Model()
    with TemporaryDirectory() as folder:
        file = str(Path(folder) / "whole.mps")
        load(matrix_of(programme), Session(), mip=True).writeModel(file)
        model.readProblem(file)
    model.setParam("limits/gap", gap)
    model.setParam("limits/time", seconds)
    model.optimize()
    best = model.getObjVal() if model.getNSols() else None
    return best, model.getDualbound()


def one(size: str, seed: int, how: str, gap: float, seconds: float) -> None:
    """Run one case and print it as JSON."""
    scenario = region(*SIZES[size], seed=seed)
    run = ours if how == "ours" else partial(whole, kind=how)
    found = run(scenario, gap=gap, seconds=seconds)
    kilobytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    say(json.dumps({**found, "gigabytes": kilobytes / 1024**2}))


def case(size: str, seed: int, how: str, gap: float, seconds: float) -> dict:
    """Run one case in a process of its own, so that its memory can be told."""
    words = ["--one", how, "--seeds", str(seed), "--gap", str(gap)]
    command = [sys.executable, __file__, size, *words, "--seconds", str(seconds)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return json.loads(done.stdout.splitlines()[-1])


def times(found: dict) -> dict[str, float]:
    """When a good answer was there, and when each gap was proven. [s]"""
    final, best, bound = found["best"], float("inf"), float("-inf")
    seen: dict[str, float] = {}
    last = (found["seconds"], final, found["bound"])
    for seconds, value, proven in [*found["curve"], last]:
        best = min(best, value if value is not None else best)
        bound = max(bound, proven if proven is not None else bound)
        if not isfinite(best):
            continue
        if final is not None and best - final <= 0.01 * abs(final):
            seen.setdefault("good", seconds)
        for gap in GAPS:
            if best - bound <= gap * abs(best):
                seen.setdefault(f"{gap:.1%}", seconds)
    return seen


def chart(curves: dict[str, list], path: Path) -> None:
    """Draw the gap over time, one line a run."""
    width, height, left, top = 640, 320, 56, 16
    points = {
        name: [(s, 100 * (b - p) / abs(b)) for s, b, p in line if p is not None]
        for name, line in curves.items()
    }
    far = max((s for line in points.values() for s, _ in line), default=1.0)
    most = min(20.0, max((g for line in points.values() for _, g in line), default=1.0))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        'font-family="sans-serif" font-size="12">'
    ]
    for step in range(5):
        y = top + (height - 60) * (1 - step / 4)
        parts.append(f'<path d="M{left} {y:.0f}H{width - 10}" stroke="#ccc"/>')
        parts.append(f'<text x="4" y="{y + 4:.0f}">{most * step / 4:.1f} %</text>')
    for number, (name, line) in enumerate(points.items()):
        at = [
            (
                left + (width - left - 10) * s / far,
                top + (height - 60) * (1 - min(g, most) / most),
            )
            for s, g in line
        ]
        path_ = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in at)
        colour = ("#1F78B4", "#C27C0A", "#159A72", "#5E2750")[number % 4]
        parts.append(f'<path d="{path_}" fill="none" stroke="{colour}" '
                     'stroke-width="2"/>')  # fmt: skip
        x = left + 150 * number
        parts.append(f'<text x="{x}" y="{height - 8}" fill="{colour}">{name}</text>')
    parts.append(f'<text x="{width - 110}" y="{height - 26}">to {far:,.0f} s</text>')
    path.write_text("".join([*parts, "</svg>"]), encoding="utf-8")


def main() -> None:
    """Measure."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("size", choices=SIZES)
    ask.add_argument("--seeds", type=int, nargs="+", default=[1, 2, 3])
    ask.add_argument("--gap", type=float, default=0.001, help="[1]")
    ask.add_argument("--seconds", type=float, default=600.0)
    ask.add_argument("--whole", nargs="*", default=[])
    ask.add_argument("--curve", type=Path)
    ask.add_argument("--one")
    given = ask.parse_args()
    if given.one:
        one(given.size, given.seeds[0], given.one, given.gap, given.seconds)
        return
    rows, curves, spent = [], {}, []
    for seed in given.seeds:
        for how in ["ours", *given.whole]:
            limit = given.seconds if how == "ours" else 20 * spent[-1]
            found = case(given.size, seed, how, given.gap, limit)
            if how == "ours":
                spent.append(found["seconds"])
            seen = times(found)
            rows.append((seed, how, found, seen))
            curves[f"{how}, seed {seed}"] = found["curve"]
            best, bound = found["best"], found["bound"]
            distance = None if best is None else best - bound
            say(
                f"| {given.size} | {seed} | {how} | "
                + " | ".join(
                    f"{seen[name]:.1f} s" if name in seen else "-"
                    for name in ("good", *(f"{gap:.1%}" for gap in GAPS))
                )
                + f" | {found['seconds']:.1f} s | "
                + ("- | -" if distance is None else
                   f"{distance / abs(best):.2%} | {distance:,.0f} of {best:,.0f}")
                + f" | {found['gigabytes']:.2f} GB |"
            )  # fmt: skip
    for name in ("good", *(f"{gap:.1%}" for gap in GAPS)):
        all_ = [
            seen.get(name, float("inf")) for _, how, _, seen in rows if how == "ours"
        ]
        say(f"median {name}: {statistics.median(all_):.1f} s")
    if given.curve:
        chart(curves, given.curve)
    names = ("highspy", "pulp", "numpy", "scipy", "pandas")
    say(platform.platform(), platform.python_version(),
          *(f"{name} {version(name)}" for name in names))  # fmt: skip


if __name__ == "__main__":
    main()
