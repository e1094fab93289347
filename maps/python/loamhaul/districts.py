"""Scenarios: made, read and written."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Literal

from logistics.scenario import Scenario
from logistics.scenario import new_scenario as make
from logistics.scenario import read_scenario as read
from logistics.scenario import write_scenario as write


def new_scenario(
    folder: str | Path, format: Literal["csv", "xlsx"] = "csv"
) -> list[Path]:
    """
    Make a folder of starter tables with notes, ready to be filled in.

    Parameters
    ----------
    folder
        Made if it is not there. Nothing in it is overwritten.
    format
        csv writes one file a table, xlsx one workbook with a sheet a table.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    ScenarioError
        If one of the files is there already, or the folder is a file.
    ValueError
        If the format is neither csv nor xlsx.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     made = new_scenario(folder, "xlsx")
    >>> [file.name for file in made]
    ['scenario.toml', 'tables.xlsx']
    """
    return make(Path(folder), format)


def read_scenario(folder: str | Path) -> Scenario:
    """
    Read and check a scenario folder.

    Parameters
    ----------
    folder
        Folder with `scenario.toml` and the tables as CSV files, as sheets of one
        workbook or as layers of one GeoPackage.

    Returns
    -------
    Scenario
        Its `tables` map a name to a DataFrame with every column filled in. Columns in
        per cent are shares from 0 to 1 and have lost `_pct` from their name.

    Raises
    ------
    ScenarioError
        With all faults, each with its place and its remedy; see `check`.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     made = new_scenario(folder)
    ...     district = read_scenario(folder)
    >>> district.tables["sources"]["source"].tolist()
    ['mill', 'pier', 'herd']
    """
    return read(Path(folder))


def write_scenario(scenario: Scenario, folder: str | Path) -> None:
    """
    Write a scenario as a folder of CSV files that reads back the same.

    Cells that hold an untouched default stay blank; each file is replaced whole.

    Parameters
    ----------
    scenario
        Scenario to write.
    folder
        Made if it is not there.

    Raises
    ------
    OSError
        If the folder cannot be written to.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     write_scenario(example_scenario(), folder)
    ...     copy = read_scenario(folder)
    >>> copy.tables["sources"].equals(example_scenario().tables["sources"])
    True
    """
    write(scenario, Path(folder))


def example_scenario() -> Scenario:
    """
    Give the starter tables as a scenario: an invented place in open ocean.

    Three sources, two candidate yards, one market; it is planned in a second and serves
    to try things out.

    Returns
    -------
    Scenario
        Without a folder of its own.

    Examples
    --------
    >>> example_scenario().settings.name
    'Example district (invented, in open ocean)'
    """
    with TemporaryDirectory() as folder:
        make(Path(folder))
        return replace(read(Path(folder)), path=None)
