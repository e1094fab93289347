"""
Tests of one mutant in a process of its own, forked from one that is warm.

A mutant is first tried the quick way: the tests are collected once on the code as it
is, and each fork changes the code of one function in memory. What survives that, and
all that stands outside functions, is run from the start in a scratch copy of the tree.
"""

from __future__ import annotations

import importlib
import os
import shutil
import signal
import struct
import sys
import time
import types
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from mutants import Mutant

ROOT = Path(__file__).resolve().parents[2]
TREE = ("logistics", "maps", "tests", "scenarios", "pyproject.toml", ".ci")
NOT_WARMED = ("pytest", "xdist", "hypothesis", "execnet", "mutants")
"""Left to each process: they hold what a run of tests leaves behind."""
TOO_SLOW, NOT_QUICK, ANOTHER_TREE = 96, 97, 98
NO_RUN = (4, 5, ANOTHER_TREE)
"""Codes of runs that say nothing about the code."""


@dataclass
class Place:
    """A scratch copy of the tree; how often a mutant was written into it."""

    tree: Path
    writes: int = 0

    def log(self) -> str:
        """What the last run printed, its end."""
        return (self.tree / "log").read_text()[-2000:]


@dataclass(frozen=True)
class Case:
    """A mutant, the module it is of, the tests to run, and for how long. [s]"""

    module: str
    mutant: Mutant
    tests: tuple[str, ...]
    limit: float


def copied(scratch: Path, number: int) -> Place:
    """Copy the tree."""
    tree = scratch / f"tree{number}"
    for name in TREE:
        if (ROOT / name).is_dir():
            skip = shutil.ignore_patterns("__pycache__", ".*", "browser")
            shutil.copytree(ROOT / name, tree / name, ignore=skip)
        else:
            shutil.copy(ROOT / name, tree / name)
    return Place(tree)


def started(
    place: Place, tests: tuple[str, ...], names: Path | None = None, *plugins: object
) -> int:
    """Run tests in a new process; its number. `names` gets the libraries it needs."""
    pid = os.fork()
    if pid:
        return pid
    os.setsid()
    os.chdir(place.tree)
    log = os.open(place.tree / "log", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(log, 1)
    os.dup2(log, 2)
    sys.path[:0] = [str(place.tree), str(place.tree / "tests")]
    code = 99
    try:
        import pytest

        options = ["-x", "-n", "0", "-p", "no:cacheprovider", "--tb=line"]
        where = [f"--rootdir={place.tree}", f"--basetemp={place.tree / 'temp'}"]
        code = int(pytest.main([*options, *where, *tests], plugins=list(plugins)))
        home = importlib.import_module("logistics").__file__ or ""
        if not home.startswith(str(place.tree)):
            code = ANOTHER_TREE
        if names is not None:
            names.write_text("\n".join(_libraries()))
    finally:
        os._exit(code)


def ended(pid: int, limit: float) -> int:
    """Exit code of a process; it is ended if it takes too long."""
    until = time.monotonic() + limit
    while time.monotonic() < until:
        found, status = os.waitpid(pid, os.WNOHANG)
        if found:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.005)
    os.killpg(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    return TOO_SLOW


def _libraries() -> Iterator[str]:
    """Names of imported modules that are libraries of others."""
    for name, module in sys.modules.items():
        file = getattr(module, "__file__", None) or ""
        if "site-packages" in file and not any(n in name for n in NOT_WARMED):
            yield name


def warm(names: str) -> None:
    """Import libraries before any process is forked."""
    for name in names.splitlines():
        try:
            importlib.import_module(name)
        except Exception:  # it only takes longer without
            continue


def from_start(place: Place, case: Case) -> int:
    """Write a mutant into the copy of the tree, run its tests, take it out again."""
    _write(place, case.module, case.mutant.source)
    code = ended(started(place, case.tests), case.limit)
    _write(place, case.module, (ROOT / case.module).read_text(encoding="utf-8"))
    if code in NO_RUN:
        message = f"code {code}: {place.log()}"
        raise SystemExit(message)
    return code


def _write(place: Place, module: str, source: str) -> None:
    """Write a module at a time of its own: no compiled file passes for another's."""
    place.writes += 1
    file = place.tree / module
    file.write_text(source, encoding="utf-8")
    os.utime(file, (place.writes, place.writes))


class Station:
    """
    A plugin: tests are collected once, and run in a fork for every case taken.

    Cases are taken by number from one pipe that all stations read; numbers and codes
    go to another.
    """

    def __init__(self, cases: list[Case], take: int, tell: int) -> None:
        self.cases, self.take, self.tell = cases, take, tell

    def pytest_runtestloop(self, session: object) -> None:
        """Come back in forks only, to run the tests there."""
        if session.testsfailed:  # type: ignore[attr-defined]
            return
        while token := os.read(self.take, 4):
            case = self.cases[struct.unpack("i", token)[0]]
            pid = os.fork()
            if not pid:
                os.setsid()
                if not _changed(case):
                    os._exit(NOT_QUICK)
                return
            os.write(self.tell, token + struct.pack("i", ended(pid, case.limit)))
        os._exit(0)


def _changed(case: Case) -> bool:
    """Give the function that holds the point the mutant's code; False if none does."""
    name = case.module.removesuffix(".py").replace("/", ".")
    fresh: object = types.ModuleType(name)
    old: object = sys.modules.get(name)
    try:
        exec(compile(case.mutant.source, case.module, "exec"), vars(fresh))
    except Exception:
        return False
    for part in case.mutant.where.split("."):
        if part not in vars(old) or part not in vars(fresh):
            return False
        old, fresh = _bare(vars(old)[part]), _bare(vars(fresh)[part])
        if isinstance(old, types.FunctionType):
            old.__code__ = fresh.__code__  # type: ignore[attr-defined]
            old.__defaults__ = fresh.__defaults__  # type: ignore[attr-defined]
            old.__kwdefaults__ = fresh.__kwdefaults__  # type: ignore[attr-defined]
            return True
    return False


def _bare(value: object) -> object:
    """Take off what a decorator put around a function."""
    for name in ("__wrapped__", "__func__", "fget"):
        value = getattr(value, name, value)
    return value


def quick(places: list[Place], cases: list[Case]) -> dict[int, int]:
    """Exit code of each case by its position, tried the quick way; one set of tests."""
    take, give = os.pipe()
    hear, tell = os.pipe()
    os.write(give, b"".join(struct.pack("i", n) for n in range(len(cases))))
    os.close(give)
    station = Station(cases, take, tell)
    pids = [started(place, cases[0].tests, None, station) for place in places]
    os.close(tell)
    os.close(take)
    codes = {}
    while answer := os.read(hear, 8):
        number, code = struct.unpack("ii", answer)
        codes[number] = code
    os.close(hear)
    for pid, place in zip(pids, places, strict=True):
        if os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]):
            message = f"a station broke down: {place.log()}"
            raise SystemExit(message)
    return codes
