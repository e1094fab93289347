"""Write roads that were brought in, and a report of what was mended."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from maps.bringing import ROADS, report_lines, report_table, roads_table
from maps.shared import table_csv

if TYPE_CHECKING:
    from logistics.roads import RoadImport
    from logistics.scenario import Scenario

TARGET = "roads.csv"


def bring_roads(
    scenario: Scenario,
    file: Path,
    tolerance_m: float,
    layer: str | None,
    tracks: bool,
    replace: bool,
) -> list[str]:
    """
    Bring a road file into the folder of a scenario.

    Parameters
    ----------
    scenario
        As read from its folder.
    file, tolerance_m, layer, tracks
        See `road_import.import_roads`.
    replace
        Whether roads that are there may be replaced.

    Returns
    -------
    list of str
        The report, line by line.
    """
    from logistics.roads import import_roads
    from logistics.scenario import Problem, ScenarioError

    folder = scenario.path or Path()
    if len(scenario.roads) and not replace:
        why = f"already has {len(scenario.roads)} roads"
        remedy = "Add --replace to replace them"
        raise ScenarioError([Problem(TARGET, None, "", None, why, remedy)])
    _refuse_a_sheet(scenario, folder)
    made = import_roads(scenario, file, tolerance_m, layer, tracks)
    _write(made, folder)
    return [*report_lines(made), f"Written to {folder}: {TARGET}, {ROADS}."]


def _refuse_a_sheet(scenario: Scenario, folder: Path) -> None:
    """Raise if roads stand in a workbook or GeoPackage, which is not written to."""
    from logistics.scenario import Problem, ScenarioError, read_tables

    place = read_tables(folder).places.get("roads", [TARGET])[0]
    if len(scenario.roads) and place != TARGET:
        why = (
            f"has {len(scenario.roads)} roads, but this command only writes to {TARGET}"
        )
        remedy = "Delete its rows below the headings, then import the roads again"
        raise ScenarioError([Problem(place, None, "", None, why, remedy)])


def _write(made: RoadImport, folder: Path) -> None:
    """Write roads and report if the folder can be read with them, else neither."""
    from logistics.scenario import read_scenario, replace_file

    before = {name: _bytes(folder / name) for name in (TARGET, ROADS)}
    try:
        replace_file(folder / TARGET, _roads_text(made))
        read_scenario(folder)
        replace_file(folder / ROADS, _report_text(made))
    except BaseException:
        for name, data in before.items():
            _put_back(folder / name, data)
        raise


def _bytes(path: Path) -> bytes | None:
    return path.read_bytes() if path.is_file() else None


def _put_back(path: Path, data: bytes | None) -> None:
    """Leave a file as it was; None if there was none."""
    if data is not None:
        path.write_bytes(data)
    elif path.is_file():
        path.unlink()


def _roads_text(made: RoadImport) -> str:
    return table_csv(roads_table(made))


def _report_text(made: RoadImport) -> str:
    return table_csv(report_table(made))
