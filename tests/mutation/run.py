"""
Break one point of the code at a time and see whether the tests notice.

    python tests/mutation/run.py --seed 1 --count 300

Which tests must notice what stands in `targets.toml`; what cannot be noticed, and
why, in `equivalent.toml`. The tree itself is left alone.
"""

from __future__ import annotations

import argparse
import difflib
import json
import os
import random
import sys
import tempfile
import time
import tomllib
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from mutants import Mutant, mutants
from processes import (
    NOT_QUICK,
    ROOT,
    TOO_SLOW,
    Case,
    Place,
    copied,
    from_start,
    quick,
    started,
    warm,
)

HERE = Path(__file__).resolve().parent


@dataclass(frozen=True)
class Target:
    """A module, the files of tests that must notice, and whether all mutants run."""

    name: str
    module: str
    tests: tuple[str, ...]
    every: bool


@dataclass
class Job:
    """A mutant of a module, what became of it, and why it need not be noticed."""

    target: Target
    mutant: Mutant
    state: str = "waits"
    why: str = ""

    @property
    def diff(self) -> str:
        """What was changed, as lines of a patch."""
        old = (ROOT / self.target.module).read_text(encoding="utf-8").splitlines()
        new = self.mutant.source.splitlines()
        return "\n".join([*difflib.unified_diff(old, new, lineterm="", n=0)][3:])

    @property
    def key(self) -> tuple[str, ...]:
        """Name of the mutant that holds while its function does."""
        stem, m = Path(self.target.module).stem, self.mutant
        return stem, m.where, m.old, m.new


def targets() -> list[Target]:
    """Read the table of targets; a name that no file has is an error."""
    found = []
    for row in tomllib.loads((HERE / "targets.toml").read_text())["target"]:
        tests = [p for glob in row["tests"] for p in sorted(ROOT.glob(glob))]
        names = [p.relative_to(ROOT).as_posix() for p in dict.fromkeys(tests)]
        modules: list[str] = []
        for glob in row["modules"]:
            files = [p for p in sorted(ROOT.glob(glob)) if p.name != "__init__.py"]
            if not files or not names:
                message = f"targets.toml: {row['name']}: nothing is called {glob}"
                raise SystemExit(message)
            modules += [p.relative_to(ROOT).as_posix() for p in files]
        both, every = (*names, *modules), bool(row.get("every"))  # their examples too
        found += [Target(row["name"], m, both, every) for m in modules]
    return found


def chosen(all_of: list[Target], seed: int, count: int, nth: int) -> list[Job]:
    """
    Draw mutants: each `nth` of some modules, `count` spread evenly over the others.

    A module's own draw hangs on the seed and its name alone.
    """
    jobs, decks = [], []
    for target in all_of:
        made = mutants((ROOT / target.module).read_text(encoding="utf-8"))
        if target.every:
            jobs += [Job(target, m) for m in made[::nth]]
            continue
        random.Random(f"{seed} {Path(target.module).stem}").shuffle(made)
        decks.append([Job(target, m) for m in made])
    drawn = 0
    for depth in range(max(map(len, decks), default=0)):
        for deck in decks:
            if depth < len(deck) and drawn < count:
                jobs.append(deck[depth])
                drawn += 1
    return sorted(jobs, key=lambda j: (j.target.module, j.mutant.line))


def excuse(jobs: list[Job]) -> None:
    """Mark mutants that change nothing a test could see."""
    rows = tomllib.loads((HERE / "equivalent.toml").read_text()).get("mutant", [])
    why = {(r["module"], r["where"], r["old"], r["new"]): r["why"] for r in rows}
    for job in jobs:
        job.why = why.get(job.key, "")


def baseline(place: Place, tests: tuple[str, ...]) -> float:
    """Seconds of the tests on the code as it is; they must pass."""
    names, began = place.tree / "names", time.monotonic()
    if os.waitstatus_to_exitcode(os.waitpid(started(place, tests, names), 0)[1]):
        message = f"the tests fail as it is:\n{place.log()}"
        raise SystemExit(message)
    warm(names.read_text())
    return time.monotonic() - began


def work(jobs: list[Job], places: list[Place], *, once: bool) -> None:
    """
    Run jobs that share their tests: the quick way, and survivors from the start.

    `once` spares survivors the second run, unless the first could not be made.
    """
    tests = jobs[0].target.tests
    limit = 10 + 4 * baseline(places[0], tests)
    cases = [Case(j.target.module, j.mutant, tests, limit) for j in jobs]
    codes = quick(places, cases)
    unsure = (NOT_QUICK,) if once else (0, NOT_QUICK)
    again = [n for n in range(len(jobs)) if codes.get(n, NOT_QUICK) in unsure]
    free = list(places)

    def rerun(number: int) -> int:
        place = free.pop()
        code = from_start(place, cases[number])
        free.append(place)
        return code

    with ThreadPoolExecutor(len(places)) as pool:
        codes |= dict(zip(again, pool.map(rerun, again), strict=True))
    for number, job in enumerate(jobs):
        states = {0: "survived", TOO_SLOW: "too slow"}
        job.state = states.get(codes[number], "killed")
        if job.state == "survived":
            job.state = "equivalent" if job.why else "survived"
        if job.state == "survived":
            say(f"{job.target.module}:{job.mutant.line}: {job.mutant.kind}, "
                  f"in {job.mutant.where}\n{job.diff}")  # fmt: skip


def say(words: str) -> None:
    """Print at once, also into a file."""
    sys.stdout.write(f"{words}\n")
    sys.stdout.flush()


def table(jobs: list[Job]) -> str:
    """Killed, survived and equivalent, module by module."""
    columns = ("killed", "too slow", "equivalent", "survived")
    lines = [f"| module | mutants | {' | '.join(columns)} | score |", "|---" * 7 + "|"]
    by_module: dict[str, list[Job]] = {}
    for job in jobs:
        by_module.setdefault(job.target.module, []).append(job)
    for name, some in [*by_module.items(), ("all", jobs)]:
        n = Counter(j.state for j in some)
        seen = n["killed"] + n["too slow"]
        score = f"{100 * seen / max(1, seen + n['survived']):.0f} %"
        cells = [name, len(some), *(n[c] for c in columns), score]
        lines.append(f"| {' | '.join(map(str, cells))} |")
    return "\n".join(lines)


def survivors(jobs: list[Job]) -> list[dict[str, object]]:
    """What no test noticed, as records."""
    return [
        {"module": j.target.module, "line": j.mutant.line, "where": j.mutant.where,
         "kind": j.mutant.kind, "old": j.mutant.old, "new": j.mutant.new,
         "diff": j.diff, "why": j.why, "key": j.key}
        for j in jobs if j.state in ("survived", "equivalent")
    ]  # fmt: skip


def main() -> None:
    """Draw, run, report."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[1])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=300, help="sample, besides all")
    parser.add_argument("--nth", type=int, default=1, help="of all, each nth only")
    parser.add_argument("--once", action="store_true", help="no second run")
    parser.add_argument("--only", default="", help="a target or a module, by its name")
    parser.add_argument("--again", type=Path, help="survivors of an earlier run only")
    parser.add_argument("--json", type=Path, help="file for the survivors")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    given = parser.parse_args()
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    sys.dont_write_bytecode = False
    count = 10**9 if given.again else given.count
    jobs = chosen(targets(), given.seed, count, given.nth)
    if given.only:
        jobs = [
            j for j in jobs if given.only in (j.target.name, Path(j.target.module).stem)
        ]
    if given.again:
        left = {tuple(r["key"]) for r in json.loads(given.again.read_text())}
        jobs = [j for j in jobs if j.key in left]
    excuse(jobs)
    began = time.monotonic()
    by_tests: dict[tuple[str, ...], list[Job]] = {}
    for job in jobs:
        by_tests.setdefault(job.target.tests, []).append(job)
    with tempfile.TemporaryDirectory() as scratch:
        places = [copied(Path(scratch), n) for n in range(given.workers)]
        for some in by_tests.values():
            work(some, places, once=given.once)
    say(table(jobs))
    say(f"{len(jobs)} mutants, {time.monotonic() - began:.0f} s")
    if given.json:
        given.json.write_text(json.dumps(survivors(jobs), indent=1))


if __name__ == "__main__":
    main()
