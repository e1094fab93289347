"""Faults and warnings of a scenario, as a table."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd

from logistics.diagnosis import checked_travel, nothing_possible, warnings
from logistics.model import prepare
from logistics.scenario import Problem, Scenario, ScenarioError, read_scenario, records

COLUMNS = {
    "kind": "str",
    "file": "str",
    "row": "Int64",
    "column": "str",
    "value": "object",
    "why": "str",
    "remedy": "str",
}


def check(scenario: Scenario | str | Path) -> pd.DataFrame:
    """
    Find every fault of a scenario, and what else a planner should look at.

    Goes as far as planning does before it solves. A scenario that is at fault is told
    of in the table; nothing is raised.

    Parameters
    ----------
    scenario
        A scenario, or the folder of one.

    Returns
    -------
    DataFrame
        One row a finding; none if all is well. kind: fault (no plan can be made),
        impossible (no yard can compost anything), refused (the land rules refuse a
        yard, or a feedstock there) or warning. file, row, column and value say where:
        row as a spreadsheet counts (the heading is row 1), the line of a settings file,
        or NA; value None where there is nothing to show. why says what is wrong, remedy
        what to do.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from loamhaul import example_scenario, new_scenario
    >>> len(check(example_scenario()))
    0
    >>> with TemporaryDirectory() as folder:
    ...     settings, *_ = new_scenario(folder)
    ...     text = settings.read_text().replace("# gap_pct = 0.5", "gap_pct = 60")
    ...     count = settings.write_text(text)
    ...     found = check(folder)
    >>> found[["kind", "column", "value", "why"]].loc[0].tolist()
    ['fault', 'solve.gap_pct', 60, 'is above 50']
    """
    return pd.DataFrame(list(_findings(scenario)), columns=list(COLUMNS)).astype(
        COLUMNS
    )


def _findings(scenario: Scenario | str | Path) -> Iterator[dict[str, Any]]:
    """Yield the rows of the table; faults, or else all the others."""
    try:
        if not isinstance(scenario, Scenario):
            scenario = read_scenario(Path(scenario))
        made = prepare(scenario, checked_travel(scenario))
    except ScenarioError as error:
        yield from (_row("fault", problem) for problem in error.problems)
        return
    for sentence in nothing_possible(scenario, made.instance):
        yield _row("impossible", Problem("", None, "", None, sentence, ""))
    for problem in warnings(scenario, made.travel, made.instance):
        yield _row("warning", problem)
    for row in records(made.screening):
        kind = "refused" if row["action"] == "refuse" else "warning"
        problem = Problem("yards.csv", None, "yard", row["yard"], row["reason"], "")
        yield _row(kind, problem)


def _row(kind: str, problem: Problem) -> dict[str, Any]:
    """Return a finding as a row of the table."""
    return {
        "kind": kind,
        "file": problem.file,
        "row": problem.row,
        "column": problem.column,
        "value": problem.value,
        "why": problem.why,
        "remedy": problem.remedy,
    }
