"""A finished plan in the hands of the next program: kept by the one that made it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from maps.desk.book import INPUTS, ORDER, OUTPUTS
from maps.desk.kept import keep, kept
from maps.desk.warmth import WARM, read_warm
from maps.disk import read_json, write_json

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.scenario import Scenario

PLAN = "plan.kept"
MONEY = "money.json"
"""Files of a plan's folder: the plan as it is, and its money for the page."""
CHANGES = "changes"
"""Part of an order: changes of the tables (code, title, text of a file of changes)."""


def remember(result: Result, folder: Path) -> None:
    """Keep a plan that was just made, and write its money for the page."""
    from maps.desk.money_record import money_record

    write_json(folder / MONEY, money_record(result))
    keep(result, folder / PLAN, f"plan {folder.name}")


def recall(folder: Path) -> tuple[Result, bool]:
    """
    Return the plan of a folder, and whether it had to be made again.

    A plan from elsewhere, or of another version, is planned again from its inputs with
    its own yards, from its warm start if it is there: its amounts may differ a little
    where several are equally cheap.
    """
    from logistics.results import Result, run
    from logistics.scenario import read_scenario

    found = kept(folder / PLAN, f"plan {folder.name}")
    if isinstance(found, Result):
        return found, False
    scenario = changed(read_scenario(folder / INPUTS), read_json(folder / ORDER))
    told = read_json(folder / OUTPUTS / "summary.json").get("yards")
    sizes = told if isinstance(told, dict) else {}
    yards = [(str(yard), str(size)) for yard, size in sizes.items()]
    result = run(scenario, yards=yards, warm_start=read_warm(folder / WARM))
    remember(result, folder)
    return result, True


def changed(scenario: Scenario, order: Mapping[str, Any]) -> Scenario:
    """
    Apply the changes that an order asks for.

    Raises
    ------
    ScenarioError
        If one of them does not fit the tables.
    """
    from logistics.changes import apply_changes, read_change_text

    asked = order.get("asked")
    listed = asked.get(CHANGES) if isinstance(asked, dict) else None
    for one in listed if isinstance(listed, list) else []:
        code = str(one["code"])
        wanted = read_change_text(str(one["text"]), f"change {code}", code)
        scenario = apply_changes(scenario, wanted)
    return scenario
