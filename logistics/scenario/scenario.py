"""A scenario: one district's settings and tables, read, checked and written back.

Percentages in the files become shares from 0 to 1 here and nowhere else.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from math import nan
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pandas as pd

from logistics.scenario.accepted import Accepted
from logistics.scenario.cells import Cells, read_cells, typed
from logistics.scenario.coordinates import district
from logistics.scenario.cross_checks import check_links
from logistics.scenario.currency import SETTING, crew_pay, disagreement, money_scale
from logistics.scenario.defaults import (
    COMPLETED,
    complete,
    list_defaults,
    misspelt_factors,
    months,
)
from logistics.scenario.faults import Problem, ScenarioError
from logistics.scenario.library_materials import complete_materials, with_filled
from logistics.scenario.lists import in_list
from logistics.scenario.readers import Found, read_tables
from logistics.scenario.schema import columns_of, tables
from logistics.scenario.settings import Settings, settings_from
from logistics.scenario.settings_file import (
    FILE,
    line_in,
    read_accepted,
    read_settings,
)
from logistics.scenario.table_set import Tables
from logistics.scenario.table_text import TableText
from logistics.scenario.work_calendar import (
    days_to_count,
    with_working_days,
    work_calendar,
)
from logistics.scenario.writing import write_files


@dataclass(frozen=True, eq=False)
class Scenario:
    """
    Everything that is known of a district.

    Attributes
    ----------
    path
        Folder it was read from; None if it was made in memory.
    settings
        Frozen settings.
    tables
        Every table of `columns.csv`, typed, maybe with 0 rows. Percent columns are
        shares from 0 to 1 and have lost `_pct` from their name.
    defaults_used
        One row for each default in use: table, key (codes of the row), column, value.
    accepted
        Warnings that the planner accepts, with a reason.
    """

    path: Path | None
    settings: Settings
    tables: Mapping[str, pd.DataFrame]
    defaults_used: pd.DataFrame
    accepted: tuple[Accepted, ...] = ()

    def __post_init__(self) -> None:
        """Make the mapping of tables read-only."""
        absent = [name for name in tables() if name not in self.tables]
        if absent:
            message = f"a scenario needs every table; missing: {in_list(absent)}"
            raise ValueError(message)
        object.__setattr__(self, "tables", MappingProxyType(dict(self.tables)))

    def __reduce__(self) -> tuple[Any, ...]:
        """Say how to make it again in another process."""
        tables_, used = dict(self.tables), self.defaults_used
        return Scenario, (self.path, self.settings, tables_, used, self.accepted)

    def table(self, name: str) -> pd.DataFrame:
        """Return a table by its name in `columns.csv`."""
        return self.tables[name]

    @property
    def materials(self) -> pd.DataFrame:
        """Feedstocks and their properties."""
        return self.tables["materials"]

    @property
    def sources(self) -> pd.DataFrame:
        """Places where feedstock arises."""
        return self.tables["sources"]

    @property
    def calendar(self) -> pd.DataFrame:
        """Season profiles; the shares of a season add up to 1."""
        return self.tables["calendar"]

    @property
    def periods(self) -> pd.DataFrame:
        """Periods of the year, in order."""
        return self.tables["periods"]

    @property
    def yards(self) -> pd.DataFrame:
        """Composting yards and candidates."""
        return self.tables["yards"]

    @property
    def yard_sizes(self) -> pd.DataFrame:
        """Sizes in which a yard can be built."""
        return self.tables["yard_sizes"]

    @property
    def markets(self) -> pd.DataFrame:
        """Places that take compost."""
        return self.tables["markets"]

    @property
    def trucks(self) -> pd.DataFrame:
        """Truck types."""
        return self.tables["trucks"]

    @property
    def districts(self) -> pd.DataFrame:
        """Names of districts; no rows if their codes are shown."""
        return self.tables["districts"]

    @property
    def policy(self) -> pd.DataFrame:
        """Rules a plan must keep."""
        return self.tables["policy"]

    @property
    def period_prices(self) -> pd.DataFrame:
        """Prices that hold in one period; see `seasonal_prices`."""
        return self.tables["period_prices"]

    @property
    def factors(self) -> pd.DataFrame:
        """Emission factors and rates."""
        return self.tables["factors"]

    @property
    def siting_rules(self) -> pd.DataFrame:
        """Rules of the land screening."""
        return self.tables["siting_rules"]

    @property
    def accounts(self) -> pd.DataFrame:
        """Chart of accounts: what each line of the ledger is to the budget."""
        return self.tables["accounts"]

    @property
    def prices(self) -> pd.DataFrame:
        """Price classes: how fast they rise, and their contingency."""
        return self.tables["prices"]

    @property
    def standards(self) -> pd.DataFrame:
        """Product standards that compost is compared with."""
        return self.tables["standards"]

    @property
    def crops(self) -> pd.DataFrame:
        """What crops are given without compost."""
        return self.tables["crops"]

    @property
    def fertilisers(self) -> pd.DataFrame:
        """Mineral fertilisers that compost stands in for."""
        return self.tables["fertilisers"]

    @property
    def roads(self) -> pd.DataFrame:
        """Road sections; no rows if straight lines are used."""
        return self.tables["roads"]

    @property
    def years(self) -> pd.DataFrame:
        """The years ahead; no rows if only one year is planned."""
        return self.tables["years"]

    @property
    def loans(self) -> pd.DataFrame:
        """Loans that the years ahead may take."""
        return self.tables["loans"]

    @property
    def ranges(self) -> pd.DataFrame:
        """What is uncertain; no rows if the library's ranges are used."""
        return self.tables["ranges"]

    @property
    def land(self) -> pd.DataFrame:
        """Coast, rivers, dwellings and other features."""
        return self.tables["land"]

    @property
    def places(self) -> pd.DataFrame:
        """Towns and villages with their rank; those of the land table count besides."""
        return self.tables["places"]

    @property
    def people(self) -> pd.DataFrame:
        """Places where people live; no rows if those of the land table are counted."""
        return self.tables["people"]


def read_scenario(
    path: Path,
    edited: Mapping[str, TableText] | None = None,
    settings_edited: str | None = None,
) -> Scenario:
    """
    Read and check a scenario folder.

    Parameters
    ----------
    path
        Folder with `scenario.toml` and the tables as CSV files, as sheets of one
        workbook or as layers of one GeoPackage.
    edited
        Tables that are being edited: read in place of what their files hold.
    settings_edited
        Text of the settings that is read in place of their file.

    Returns
    -------
    Scenario
        Typed and complete.

    Raises
    ------
    ScenarioError
        With all faults, if there is any.
    """
    folder = _folder(Path(path))
    found = read_tables(folder, edited)
    pay = _pay(found)
    values, problems = read_settings(folder, pay, settings_edited)
    line = partial(line_in, folder, edited=settings_edited)
    scale = money_scale(values, pay)
    if settings_edited is not None or (folder / FILE).is_file():
        problems += disagreement(values, pay, line)
    settings = settings_from({**values, SETTING: scale.value})
    readable = "materials" in found.raw or "materials" not in found.places
    materials = complete_materials(found.raw, readable, found.problems)
    problems += materials.problems
    raw = found.raw | ({"materials": materials.raw} if materials.raw else {})
    calendar = work_calendar(values)
    if "periods" in raw:
        raw["periods"], problems = days_to_count(raw["periods"], problems, calendar)
    cells: dict[str, Cells] = {}
    for table in tables():
        if table in raw:
            cells[table], more = read_cells(raw[table], scale.value)
            problems += more
    if materials.filled:
        cells["materials"] = with_filled(cells["materials"], materials.filled)
    given = cells.get("periods")
    months_used = not given.rows if given else "periods" not in found.places
    if months_used:
        cells["periods"] = months()
    periods = tuple(cells["periods"].frame["period"]) if "periods" in cells else ()
    problems += check_links(Tables(cells, district(settings), periods, values, line))
    library_used: dict[str, list[str]] = {}
    whole = {}
    for table in COMPLETED:
        whole[table], library_used[table] = complete(
            table, cells.get(table), scale.value
        )
    problems += misspelt_factors(cells.get("factors"), whole["factors"])
    if problems:
        raise ScenarioError(problems)
    cells |= whole
    frames = {table: _inside(table, cells.get(table)) for table in tables()}
    frames["periods"] = with_working_days(frames["periods"], calendar)
    defaults = list_defaults(cells, values, months_used, library_used, scale)
    accepted = read_accepted(folder, settings_edited)
    return Scenario(folder, settings, frames, defaults, accepted)


def _pay(found: Found) -> float:
    """Return what truck crews are paid, as far as it can be read. [money/h]"""
    trucks = found.raw.get("trucks")
    return crew_pay(trucks.cells.get("crew_cost_per_hour", [])) if trucks else nan


def _folder(path: Path) -> Path:
    """Return the scenario folder; a path to its settings file will do."""
    try:
        if path.is_file() and path.name == FILE:
            return path.parent
        if path.is_dir():
            next(path.iterdir(), None)
            return path
        why = "is not a folder" if path.exists() else "does not exist"
    except (OSError, ValueError) as error:
        why = f"cannot be opened ({error})"
    remedy = f"Name the folder with {FILE} and the tables"
    raise ScenarioError([Problem(str(path), None, "", None, why, remedy)])


def _inside(table: str, cells: Cells | None) -> pd.DataFrame:
    """Return the typed table with shares for percentages; 0 rows if it is absent."""
    columns = columns_of(table)
    if cells is None:
        return pd.DataFrame({c.inside: typed([], c) for c in columns})
    values = {c.inside: cells.frame[c.name].array.copy() for c in columns}
    for c in columns:
        if c.kind == "percent":
            values[c.inside] = values[c.inside] / 100
    frame = pd.DataFrame(values)
    if table == "calendar":
        total = frame.groupby("season")["share"].transform("sum")
        frame = frame.assign(share=frame["share"] / total)
    return frame


def write_scenario(scenario: Scenario, path: Path) -> None:
    """
    Write a scenario as a folder of CSV files that reads back the same.

    Cells that hold an untouched default stay blank; each file is replaced whole.

    Parameters
    ----------
    scenario
        Scenario to write.
    path
        Folder; made if it is not there.
    """
    tables_, used = scenario.tables, scenario.defaults_used
    write_files(Path(path), scenario.settings, tables_, used, scenario.accepted)
