"""
The program that answers what changes do while the yards of a plan stay.

It keeps the plan loaded. The first line of its input is the plan's folder, every
further one a question: a key and changes. Answers are lines of JSON; of questions that
wait, only the last is answered. It ends with its input, so it never outlives its desk.
"""

from __future__ import annotations

import json
import os
import queue
import sys
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from maps.desk.asked import settled
from maps.desk.book import INPUTS, plan_of, yards_of
from maps.desk.changes.effect import Effect, Yards, effect_of, yards_after
from maps.desk.changes.tray import change_set
from maps.desk.changes.warm import MAP
from maps.desk.warmth import WARM, read_warm
from maps.desk.worker import words_of

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.roads import Travel
    from logistics.scenario import Scenario

IDLE = 900.0
"""Time without a question after which the program ends. [s]"""
WAYS = ("roads", "trucks", "periods", "land")
"""Tables that travel depends on as a whole."""
SITES = ("sources", "yards", "markets")
Say = Callable[..., None]


@dataclass
class Loaded:
    """
    A plan that is ready to be asked.

    Attributes
    ----------
    scenario, yards, base
        What it is made of, its yards with their sizes, and its plan with them.
    """

    scenario: Scenario
    yards: Yards
    base: Result


def load(folder: Path) -> Loaded:
    """Read a plan of the book and run its yards; load all that an answer needs."""
    from logistics.results import run
    from logistics.scenario import read_scenario
    from logistics.studies import by_line  # noqa: F401, the first answer would wait
    from maps.shared import headed  # noqa: F401

    entry = plan_of(folder.parents[1], folder.name)
    order = entry.order.get("asked")
    asked = order if isinstance(order, Mapping) else {}
    scenario = settled(read_scenario(folder / INPUTS), asked)
    yards = tuple(yards_of(entry).items())
    known = read_warm(folder / WARM)
    base = run(scenario, yards=yards, warm_start=known)
    return Loaded(scenario, yards, base)


def same_ways(one: Scenario, other: Scenario) -> bool:
    """Tell whether two scenarios have the same roads, trucks, seasons and places."""
    if one.settings is not other.settings:
        return False
    for name in WAYS:
        if name in one.tables and not one.tables[name].equals(other.tables[name]):
            return False
    for name in SITES:
        columns = [f"{name[:-1]}", "lon", "lat"]
        if not one.tables[name][columns].equals(other.tables[name][columns]):
            return False
    return True


def answer(held: Loaded, wishes: list[dict[str, Any]]) -> tuple[Effect, Result | None]:
    """
    Run the yards of a plan under changes.

    Returns
    -------
    Effect, Result or None
        What is told, and the plan it is told of; None where the yards cannot stay.
    """
    from logistics.changes import apply_changes
    from logistics.model import NoPlanError, prepare
    from logistics.results import AuditError, cannot_stay, run_prepared
    from logistics.scenario import ScenarioError

    change = change_set(wishes)
    try:
        changed = apply_changes(held.scenario, change)
        ways: Travel | None = None
        if same_ways(held.scenario, changed):
            ways = held.base.travel
        yards = yards_after(held.yards, wishes)
        made = prepare(changed, ways)
        if obstacles := cannot_stay(changed, made.instance, yards):
            return {"obstacles": obstacles}, None
        after = run_prepared(made, yards=yards, warm_start=held.base.plan.warm_start)
    except ScenarioError as error:
        return {"faults": [str(problem) for problem in error.problems]}, None
    except (NoPlanError, AuditError) as error:
        return {"faults": [f"No answer: {error}"]}, None
    return effect_of(held.base, after, change), after


def show_map(result: Result, folder: Path) -> None:
    """Write the map of an answer whole."""
    from maps.geo import write_map

    draft = folder / f".{MAP}-{os.getpid()}.part"
    try:
        write_map(result, draft)
        draft.replace(folder / MAP)
    finally:
        draft.unlink(missing_ok=True)


def main() -> None:
    """Load the plan that is named, then answer until the input ends."""
    out = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # what solvers print is no answer

    def say(kind: str, **values: object) -> None:
        out.write(json.dumps({"kind": kind, **values}, default=str) + "\n")
        out.flush()

    asked: queue.Queue[str] = queue.Queue()
    folder = Path(sys.stdin.readline().rstrip("\n"))
    threading.Thread(target=listen, args=(asked,), daemon=True).start()
    answer_all(folder, asked, say)


def listen(asked: queue.Queue[str]) -> None:
    """Pass lines on; end the program with them."""
    for line in iter(sys.stdin.readline, ""):
        asked.put(line)
    os._exit(0)


def answer_all(folder: Path, asked: queue.Queue[str], say: Say) -> None:
    """Load a plan, then answer the last question that waits, again and again."""
    try:
        held = load(folder)
    except Exception as error:  # whatever happens has to be told
        say("failed", **words_of(error))
        return
    say("ready")
    while True:
        line = last_of(asked)
        if line is None:
            return
        question = json.loads(line)
        try:
            told, result = answer(held, question["wishes"])
        except Exception as error:  # the next question may have an answer
            told, result = {"faults": [str(words_of(error)["why"])]}, None
        say("answer", key=question["key"], effect=told)
        if result is not None and asked.empty():
            show_map(result, folder)
            say("map", key=question["key"])


def last_of(asked: queue.Queue[str]) -> str | None:
    """Wait for a question and return the last that waits; None if nobody asks."""
    try:
        line = asked.get(timeout=IDLE)
    except queue.Empty:
        return None
    while not asked.empty():
        line = asked.get_nowait()
    return line


if __name__ == "__main__":
    main()
