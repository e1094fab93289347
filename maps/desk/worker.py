"""
The program that makes one plan of the book, beside the desk and without it.

It is started ahead, reads the folder of a plan from its input, makes the plan as the
command `plan` does and tells in `events.jsonl` how it stands. It ends with its plan,
also when the desk has gone meanwhile. A file `stop` in the folder asks it to keep the
best, a file `drop` to end at once.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, Any

from maps.desk.asked import StudyStopError, settled, standing
from maps.desk.at_work import at_work
from maps.desk.book import BEST, DROP, FIRST, INPUTS, ORDER, OUTPUTS, STOP
from maps.desk.recall import changed, remember
from maps.desk.shelf import NameFault, safe_name
from maps.desk.telling import Counter, Report, Tell
from maps.desk.warmth import WARM, read_warm, write_warm
from maps.disk import read_json

if TYPE_CHECKING:
    from logistics.model import WarmStart
    from logistics.results import Result
    from logistics.roads import Travel
    from logistics.scenario import Scenario

LOOKS = 0.1
"""Time between two looks for the file that asks to stop. [s]"""


def main(lines: Iterator[str]) -> None:
    """Load what planning needs, wait for the folder of a plan, and make it."""
    import maps.outputs  # noqa: F401

    folder = next(lines, "").rstrip("\n")
    if folder:
        work(Path(folder))


def work(folder: Path) -> None:
    """Make the plan of a folder, unless another program has it in hand."""
    at_work(folder, made, words_of, stopping)


def made(folder: Path, told: Tell) -> dict[str, object]:
    """Make the plan or study, write its outputs, and return the last word."""
    from logistics.scenario import fingerprint, read_scenario
    from maps.desk.study_job import StudyJob
    from maps.desk.studying import studied
    from maps.outputs import write_outputs

    whole = read_json(folder / ORDER)
    order = whole.get("asked", {})
    told("phase", words="reading the tables")
    plain = read_scenario(folder / INPUTS)
    scenario = settled(plain, order)
    if "study" in order:
        note = studied(StudyJob(scenario, order, folder, told))
        return {"how": "done", "fingerprint": fingerprint(plain), "note": note}
    result, note = planned(changed(scenario, whole), order, folder, told)
    told("phase", words="writing map, report and tables")
    write_outputs(result, folder / OUTPUTS)
    remember(result, folder)
    return {
        "how": "done",
        "status": result.plan.status,
        "fingerprint": fingerprint(plain),
        "note": note,
        "nothing": list(result.summary.get("nothing_possible") or []),
    }


def planned(
    scenario: Scenario, order: Mapping[str, Any], folder: Path, told: Tell
) -> tuple[Result, str]:
    """
    Plan as the command `plan` does: first with the old yards, if there are any.

    Returns
    -------
    Result, str
        The plan, and which sites nobody can reach.
    """
    from logistics.changes import read_ranges
    from logistics.diagnosis import checked_travel
    from logistics.results import run
    from logistics.studies import with_ranges
    from maps.tables import reach_line

    read_ranges(scenario)  # their faults come before the solving
    told("phase", words="reading roads and travel")
    ways = checked_travel(scenario)
    old = standing(scenario, order.get("start"))
    known = warm_start(folder, order.get("from"))
    first = first_answer(scenario, old, known, ways, folder, told) if old else None
    told("phase", words="planning")
    told("goal", unit=unit_of(scenario))
    report = Report(told, "full", scenario)
    known = known or (first.plan.warm_start if first else None)
    start = old or None
    result = run(scenario, report, start=start, warm_start=known, ways=ways)
    if result.plan.warm_start is not None:
        write_warm(result.plan.warm_start, folder / WARM)
    show(result, folder / BEST)
    told("best", cost=float(result.plan.objective), yards=len(result.plan.yards))
    notes = [reach_line(scenario, ways)]
    if order.get("estimate") is not True:
        result, why = with_rounds(result, folder, told)
        notes.append(why)
    counted = Counter(told, "reckoning how sure the money is", "ranges")
    return with_ranges(result, counted), " ".join(filter(None, notes))


def with_rounds(result: Result, folder: Path, told: Tell) -> tuple[Result, str]:
    """Drive the year of a plan; the plan as it was, and why, where it is not driven."""
    from logistics.rounds import NotDrivenError, plan_as_driven

    counted = Counter(told, "driving the rounds of the year", "periods")

    def watch(done: int, whole: int) -> None:
        if (folder / STOP).exists():
            message = "its rounds were stopped"
            raise NotDrivenError(message)
        counted(done, whole)

    try:
        return plan_as_driven(result, watch), ""
    except NotDrivenError as error:
        return result, f"Haulage is an estimate: {error}."


def unit_of(scenario: Scenario) -> str:
    """Return the unit of what the plan makes least."""
    units = {"co2e": "kg CO2e/yr", "uncollected": "t/yr"}
    settings = scenario.settings
    return units.get(settings.goal.minimise, f"{settings.currency}/yr")


def warm_start(folder: Path, code: object) -> WarmStart | None:
    """Read what an earlier plan of the same book left; None if it left nothing."""
    try:
        return read_warm(folder.parent / safe_name(str(code)) / WARM)
    except NameFault:
        return None


def first_answer(
    scenario: Scenario,
    yards: list[tuple[str, str]],
    known: WarmStart | None,
    ways: Travel,
    folder: Path,
    told: Tell,
) -> Result | None:
    """Plan with the old yards, in seconds, and show it; None if they cannot stay."""
    from logistics.model import NoPlanError
    from logistics.results import AuditError, run

    told("phase", words="a first answer with the yards of the last plan")
    try:
        report = Report(told, "first", scenario)
        result = run(scenario, report, yards=yards, warm_start=known, ways=ways)
    except (NoPlanError, AuditError):
        return None
    show(result, folder / FIRST)
    cost = float(result.plan.objective)
    told("first", cost=cost, status=result.plan.status, yards=len(result.plan.yards))
    return None if result.plan.status == "shortage" else result


def show(result: Result, folder: Path) -> None:
    """Write the map of a plan while the rest is being made."""
    from maps.geo import write_map

    folder.mkdir(exist_ok=True)
    write_map(result, folder / "map.html")


def words_of(error: Exception) -> dict[str, object]:
    """
    Put an error into words: its lines, and whether it is ours.

    >>> words_of(KeyError("x"))["ours"]
    True
    """
    from logistics.model import NoPlanError
    from logistics.results import AuditError
    from logistics.scenario import ScenarioError

    match error:
        case StudyStopError():
            return {"why": str(error), "lines": [], "ours": False}
        case ScenarioError():
            lines = [str(problem) for problem in error.problems]
            return {"why": "The tables have faults.", "lines": lines, "ours": False}
        case NoPlanError():
            return {"why": f"Nothing was kept: {error}.", "lines": [], "ours": False}
        case AuditError():
            why = f"The plan did not pass its check, so it is not shown: {error}."
        case OSError():
            why = f"The plan could not be written: {error}."
            return {"why": why, "lines": [], "ours": False}
        case _:
            why = f"Planning broke off: {type(error).__name__}."
    whose = "This is a bug in Loamhaul, not a fault in your tables."
    return {"why": f"{why} {whose}", "lines": [], "ours": True}


@contextmanager
def stopping(folder: Path, told: Tell) -> Iterator[None]:
    """
    Let a file ask every solver that runs to end and keep its best, or all to end.

    A solver turns the signal of Ctrl-C into a request to stop, which a second signal
    would insist on; so each gets one. Outside of solvers nothing is broken off.
    """
    gone = threading.Event()
    before = signal.signal(signal.SIGINT, _let_be)

    def watch() -> None:
        wish = folder / STOP
        asked: set[int] = set()
        while not gone.wait(LOOKS):
            if (folder / DROP).exists():
                told("end", how="failed", why="Given up; nothing was kept.", lines=[])
                os._exit(1)
            solver = signal.getsignal(signal.SIGINT)
            if solver is _let_be or id(solver) in asked or not wish.exists():
                continue
            asked.add(id(solver))
            kept.append(solver)
            signal.raise_signal(signal.SIGINT)

    kept: list[object] = []  # so that no other solver's handler gets the same id
    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    try:
        yield
    finally:
        gone.set()
        watcher.join()
        signal.signal(signal.SIGINT, before)


def _let_be(_signal: int, _frame: FrameType | None) -> None:
    """Ctrl-C in the desk's window is not meant for its plans."""


if __name__ == "__main__":
    main(iter(sys.stdin.readline, ""))
