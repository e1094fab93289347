"""A small district with a finished plan in its book, as the worker leaves it."""

import json
from dataclasses import replace

from support.desk import make_scenario

from logistics.results.pipeline import Result, run
from logistics.scenario.scenario import read_scenario
from maps.desk.book import claim, order_plan
from maps.desk.events import tell
from maps.desk.recall import remember


def planned_small(folder) -> Result:
    """Plan the smallest district."""
    return run(read_scenario(make_scenario(folder, "to_plan")))


def with_plan(shelf, result: Result, name: str = "small"):
    """Put the small district onto a shelf with its plan; return scenario and plan."""
    scenario = make_scenario(shelf, name)
    return scenario, plan_in(scenario, result)


def plan_in(scenario, result: Result):
    """Put a finished plan into a book."""
    entry = order_plan(scenario, {})
    claim(entry)
    outputs = entry.folder / "outputs"
    outputs.mkdir()
    summary = json.dumps(result.summary, default=str)
    (outputs / "summary.json").write_text(summary)
    (outputs / "budget.xlsx").write_bytes(b"PK")
    remember(result, entry.folder)
    tell(entry.folder, "end", how="done", status="optimal", fingerprint="x")
    return entry


def renamed(result: Result, name: str) -> Result:
    """Give every place and feedstock of a plan one name, and its money a unit."""
    scenario = result.scenario
    tables = {
        code: table.assign(name=name) if "name" in table else table
        for code, table in scenario.tables.items()
    }
    settings = scenario.settings.model_copy(update={"name": name, "currency": "<b>"})
    return replace(result, scenario=replace(scenario, tables=tables, settings=settings))
