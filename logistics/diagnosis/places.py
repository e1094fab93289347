"""Where a finding really stands: the file, sheet or layer its table was read from."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from logistics.scenario import keys_of, read_tables

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from logistics.scenario import Problem, RawTable, Scenario


def placed(problems: Iterable[Problem], scenario: Scenario) -> list[Problem]:
    """
    Name the file and row that findings on tables in memory were read from.

    Parameters
    ----------
    problems
        Their file is the table's name with .csv; what names another file stays.
    scenario
        Without a folder of its own all findings stay as they are.

    Returns
    -------
    list of Problem
        In the same order; a row made by a change, which no file holds, stays.
    """
    known = list(problems)
    if not known or scenario.path is None or not scenario.path.is_dir():
        return known
    raw = read_tables(scenario.path).raw
    return [_placed(problem, raw) for problem in known]


def _placed(problem: Problem, raw: Mapping[str, RawTable]) -> Problem:
    name = problem.file.removesuffix(".csv")
    table = raw.get(name) if problem.file.endswith(".csv") else None
    if table is None or (table.file == problem.file and problem.row is None):
        return problem
    if problem.row is None:
        return replace(problem, file=table.file)
    keys = keys_of(name)
    codes = table.cells.get(keys[0], []) if len(keys) == 1 else []
    if str(problem.value) in codes:
        row = table.rows[codes.index(str(problem.value))]
        return replace(problem, file=table.file, row=row)
    return problem
