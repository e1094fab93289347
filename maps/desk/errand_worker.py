"""
The program that does one errand of a plan: rounds, a day planned anew, trucks to own.

It reads the folder of the errand from its input and tells in `events.jsonl` how it
stands; what it made lies in the folder before it says that it is done.
"""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from maps.desk.at_work import at_work
from maps.desk.book import DROP, ORDER
from maps.desk.errands import FLEET, FLEET_FACTS, MONTHS, STOPPED, TODAY
from maps.desk.kept import keep, kept
from maps.desk.recall import recall
from maps.desk.telling import Counter, Tell
from maps.desk.worker import LOOKS, words_of
from maps.disk import read_json, write_json

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.rounds import AtHand, Driven, Trouble

ROUNDS = "rounds.kept"
FACTS, ANEW = "month.json", "anew.json"
SHEETS = "sheets"
"""Files of an errand's folder: rounds, what the page shows, sheets and map."""


class CannotBeDoneError(ValueError):
    """An errand that does not fit its plan, in words for the person who asked."""


def main(lines: Iterator[str]) -> None:
    """Do the errand whose folder is told."""
    folder = next(lines, "").rstrip("\n")
    if folder:
        work(Path(folder))


def work(folder: Path) -> None:
    """Do the errand of a folder, unless another program has it in hand."""
    at_work(folder, made, words_for, dropping)


def made(folder: Path, told: Tell) -> dict[str, object]:
    """Do the errand, and return the last word."""
    told("phase", words="reading the plan")
    return {"how": "done", "note": DOERS[folder.parent.name](folder, told)}


def words_for(error: Exception) -> dict[str, object]:
    """
    Put an error into words.

    >>> words_for(CannotBeDoneError("There is no such month"))["why"]
    'There is no such month.'
    """
    if isinstance(error, CannotBeDoneError):
        return {"why": f"{error}.", "lines": [], "ours": False}
    return words_of(error)


@contextmanager
def dropping(folder: Path, told: Tell) -> Iterator[None]:
    """Let a file end this program at once; its searches end with it."""
    gone = threading.Event()

    def watch() -> None:
        while not gone.wait(LOOKS):
            if (folder / DROP).exists():
                told("end", how="stopped", why=STOPPED, lines=[])
                os._exit(1)

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    try:
        yield
    finally:
        gone.set()
        watcher.join()


def month(folder: Path, told: Tell) -> str:
    """Drive a month of a plan; return a note on the plan."""
    from logistics.rounds import drive

    result, again = recall(folder.parents[1])
    period = folder.name
    if period not in set(result.scenario.periods["period"]):
        message = f"The plan has no period {period!r}"
        raise CannotBeDoneError(message)
    counted = Counter(told, "searching the rounds", "yards")
    driven = drive(result, period, progress=counted)
    written(folder, result, driven, told)
    return AGAIN if again else ""


AGAIN = (
    "This plan was made on another computer or by another version, so its amounts were "
    "planned again with its yards before the rounds were made."
)


def written(folder: Path, result: Result, driven: Driven, told: Tell) -> None:
    """Keep rounds, and write their page, sheets, map and workbook."""
    from maps.desk.month_facts import month_facts
    from maps.field import write_rounds

    if driven.faults:
        message = "The rounds broke rules and are not shown: " + "; ".join(
            driven.faults[:5]
        )
        raise RuntimeError(message)
    plan = folder.parents[1].name
    keep(driven, folder / ROUNDS, f"rounds {plan} {folder.name}")
    write_json(folder / FACTS, month_facts(result, driven))
    told("phase", words="writing sheets and map")
    sheets = folder / SHEETS
    sheets.mkdir(exist_ok=True)
    write_rounds(result, driven, sheets)


def today(folder: Path, told: Tell) -> str:
    """Plan the rest of a month anew; return a note on the plan."""
    from logistics.rounds import Driven

    plan = folder.parents[1]
    asked = read_json(folder / ORDER).get("asked", {})
    base = base_folder(plan, asked)
    result, again = recall(plan)
    before = kept(base / ROUNDS, f"rounds {plan.name} {base.name}")
    if not isinstance(before, Driven):
        raise CannotBeDoneError(FIRST_MADE)
    anew = at_hand if asked.get("what") == "rest" else in_trouble
    try:
        result, after, facts = anew(result, before, asked, told)
    except ValueError as error:
        raise CannotBeDoneError(str(error)) from None
    write_json(folder / ANEW, facts)
    written(folder, result, after, told)
    return AGAIN if again else ""


FIRST_MADE = (
    "The rounds of this month were made on another computer or by another version. "
    "Make them anew on the page of the month, then ask again"
)


def in_trouble(
    result: Result, before: Driven, asked: Mapping[str, Any], told: Tell
) -> tuple[Result, Driven, dict[str, Any]]:
    """Plan days of trouble anew: the plan with its roads, the rounds, the changes."""
    from logistics.rounds import plan_anew
    from maps.desk.month_facts import anew_facts

    roads = with_roads_shut(result, [str(x) for x in asked.get("shut", [])], asked)
    anew = plan_anew(
        result,
        before,
        trouble_of(asked),
        today=roads,
        workers=1,
        progress=Counter(told, "planning the days anew", "yards"),
    )
    travel = (roads or result).travel
    return replace(result, travel=travel), anew.after, anew_facts(result, anew)


def at_hand(
    result: Result, before: Driven, asked: Mapping[str, Any], told: Tell
) -> tuple[Result, Driven, dict[str, Any]]:
    """Plan the rest of a month anew from stock at hand."""
    from logistics.rounds import plan_rest
    from maps.desk.month_facts import rest_facts

    counted = Counter(told, "planning the rest of the month anew", "yards")
    rest = plan_rest(result, before, at_hand_of(asked), workers=1, progress=counted)
    return result, rest.anew.after, rest_facts(result, rest)


def at_hand_of(asked: Mapping[str, Any]) -> AtHand:
    """Read what is at hand from an order."""
    from logistics.rounds import AtHand, Counted, Hauled

    return AtHand(
        first=int(asked["first"]),
        hauled=tuple(
            Hauled(int(d), str(k), str(p), str(m), str(y), float(t))
            for d, k, p, m, y, t in asked.get("hauled", [])
        ),
        counted=tuple(
            Counted(int(d), str(p), str(m), float(t))
            for d, p, m, t in asked.get("counted", [])
        ),
        fetch_all=asked.get("fetch_all") is True,
    )


def base_folder(plan: Path, asked: Mapping[str, Any]) -> Path:
    """Folder of the rounds that are planned anew: the month's, or an earlier day's."""
    if asked.get("base"):
        return plan / TODAY / str(asked["base"])
    return plan / MONTHS / str(asked["period"])


def trouble_of(asked: Mapping[str, Any]) -> Trouble:
    """Read what went wrong from an order."""
    from logistics.rounds import Trouble

    return Trouble(
        first=int(asked["first"]),
        last=int(asked["last"]),
        down={(str(t), str(y)): int(n) for t, y, n in asked.get("down", [])},
        no_hire=frozenset(str(code) for code in asked.get("no_hire", [])),
        arrives={str(k): float(v) for k, v in dict(asked.get("arrives", {})).items()},
        full=frozenset(str(code) for code in asked.get("full", [])),
    )


def with_roads_shut(
    result: Result, roads: list[str], asked: Mapping[str, Any]
) -> Result | None:
    """Return the plan with travel as it is while roads are shut; None if none are."""
    from logistics.changes import ChangeSet, Step, apply_changes
    from logistics.roads import travel

    if not roads:
        return None
    period = str(asked["period"])
    when = {"from": period, "until": period}
    steps = tuple(Step("close_road", {"road": r, **when}, "today") for r in roads)
    shut = apply_changes(result.scenario, ChangeSet("today", "today", "", steps))
    return replace(result, travel=travel(shut))


def fleet(folder: Path, told: Tell) -> str:
    """Reckon how many trucks to own; return a note on the plan."""
    from maps.desk.fleet import NoFleetAnswerError, fleet_facts

    result, _ = recall(folder.parents[1])
    try:
        write_json(folder / FLEET_FACTS, fleet_facts(result, told))
    except NoFleetAnswerError as error:
        raise CannotBeDoneError(str(error)) from None
    return ""


DOERS = {MONTHS: month, TODAY: today, FLEET: fleet}
"""What is done in the folders of a plan's folder."""


if __name__ == "__main__":
    main(iter(sys.stdin.readline, ""))
