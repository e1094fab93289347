"""Where a finding really stands: the file, sheet or layer its table was read from."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from logistics.scenario import keys_of, read_tables

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from logistics.scenario import Problem, RawTable, Scenario

FIRST_ROW = 2
"""Row of a file in which the first row of a table in memory would stand."""


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
    return [_placed(problem, raw, scenario) for problem in known]


def _placed(
    problem: Problem, raw: Mapping[str, RawTable], scenario: Scenario
) -> Problem:
    name = problem.file.removesuffix(".csv")
    table = raw.get(name) if problem.file.endswith(".csv") else None
    if table is None or (table.file == problem.file and problem.row is None):
        return problem
    if problem.row is None:
        return replace(problem, file=table.file)
    keys = keys_of(name)
    if len(keys) != 1:
        return problem
    codes = table.cells.get(keys[0], [])
    in_memory = getattr(scenario, name)[keys[0]].tolist()
    place = problem.row - FIRST_ROW
    of_row = in_memory[place] if 0 <= place < len(in_memory) else None
    for code in (problem.value, of_row):
        if str(code) in codes:
            row = table.rows[codes.index(str(code))]
            return replace(problem, file=table.file, row=row)
    return problem
