"""What was found: as tables, and written to a folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from logistics.results import Result
from logistics.rounds import Driven
from logistics.studies import Outcome
from maps.field import round_tables, write_rounds
from maps.outputs import OUTPUTS
from maps.outputs import write_outputs as write_plan
from maps.shared import whole_set
from maps.studies import comparison_tables, write_comparison
from maps.tables import tables as plan_tables


@dataclass(frozen=True, eq=False)
class Comparison:
    """
    A district under changes, side by side.

    Attributes
    ----------
    base
        The plan without changes.
    outcomes
        One a change, in the order they were given: `change`, `operate` (the yards of
        the base plan stay, all else is planned afresh; None where the change does not
        let them), `obstacles` (why not, in sentences), `replan` (all is planned afresh)
        and `regret` (cost of the one less the other, None where one is missing or
        leaves demands unmet). [money/yr]
    """

    base: Result
    outcomes: tuple[Outcome, ...]


@dataclass(frozen=True, eq=False)
class Rounds:
    """
    A period of a plan, driven.

    Attributes
    ----------
    result
        The plan.
    driven
        `period` (its code), `left` (what is planned and not driven), `timed_out`
        (whether a time limit ended a search, so that it cannot be repeated).
    """

    result: Result
    driven: Driven


Found = Result | Comparison | Rounds


def tables(found: Found) -> dict[str, pd.DataFrame]:
    """
    Give what was found as tables.

    Parameters
    ----------
    found
        What `plan`, `compare` or `rounds` returned.

    Returns
    -------
    dict
        Name of the table -> DataFrame with units in its headings: those of plan.xlsx,
        compare.xlsx or rounds.xlsx.

    Examples
    --------
    >>> from loamhaul import example_scenario, plan
    >>> found = tables(plan(example_scenario()))
    >>> list(found)[:4]
    ['yards', 'hauls', 'mixes', 'deliveries']
    >>> found["supply"]["material"].tolist()
    ['Rice husk, whole', 'Fish-processing waste, mixed', 'Cattle manure']
    """
    match found:
        case Comparison():
            return comparison_tables(found.base, found.outcomes)
        case Rounds():
            return round_tables(found.result, found.driven)
    return plan_tables(found)


def write_outputs(found: Found, folder: str | Path) -> list[Path]:
    """
    Write what was found, all files or none: map, report, workbooks, run sheets.

    Parameters
    ----------
    found
        What `plan`, `compare` or `rounds` returned; the files are those of the command
        of that name.
    folder
        Made if it is not there. Other files in it are left alone.

    Returns
    -------
    list of Path
        Files and folders written.

    Raises
    ------
    OSError
        If the folder cannot be written to; what was in it is as it was.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from loamhaul import compare, example_scenario
    >>> with TemporaryDirectory() as folder:
    ...     found = compare(example_scenario(), "scale_fuel:percent=40")
    ...     written = write_outputs(found, folder)
    >>> [path.name for path in written]
    ['compare.html', 'compare_sheet.html', 'compare.xlsx', 'compare.csv']
    """
    out = Path(folder)
    match found:
        case Comparison():
            with whole_set(out, "compare") as made:
                names = write_comparison(found.base, found.outcomes, made, page=True)
            return [out / name for name in names]
        case Rounds():
            return [write_rounds(found.result, found.driven, out)]
    write_plan(found, out)
    return [out / name for name in OUTPUTS]
