"""Write roads that were brought in, and a report of what was mended."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from logistics.roads import RoadImport
    from logistics.scenario import Scenario

TARGET = "roads.csv"
REPORT = "roads_report.csv"

MOST_SHOWN = 10
"""Mendings of a kind that are printed; the report file holds all."""


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
    return report_lines(made, folder)


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

    before = {name: _bytes(folder / name) for name in (TARGET, REPORT)}
    try:
        replace_file(folder / TARGET, _roads_text(made))
        read_scenario(folder)
        replace_file(folder / REPORT, _report_text(made))
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
    """Return roads.csv, without columns that are blank or default."""
    from logistics.scenario import columns_of, outside

    nothing = pd.DataFrame(columns=["table", "key", "column", "value"])
    table = outside("roads", made.roads, nothing)
    idle = [
        column.name
        for column in columns_of("roads")
        if not column.required
        and column.name != "class"
        and table[column.name].isin(["", column.default]).all()
    ]
    return table.drop(columns=idle).to_csv(index=False, lineterminator="\n")


def _report_text(made: RoadImport) -> str:
    """Return the report of what was mended, with the counts at its end."""
    counts = pd.DataFrame({"what": "count", "words": list(made.counts)})
    notes = pd.concat([made.notes, counts]) if len(made.notes) else counts
    rounded = notes.round({"metres": 1, "lon": 7, "lat": 7})
    order = ["what", "road", "name", "metres", "lon", "lat", "words"]
    return rounded.reindex(columns=order).to_csv(index=False, lineterminator="\n")


def report_lines(made: RoadImport, folder: Path) -> list[str]:
    """Return the counts, the first mendings of each kind, and where all stand."""
    lines = [f"{count}." for count in made.counts]
    for what, notes in made.notes.groupby("what", sort=False):
        columns = ["road", "name", "metres", "words"]
        shown = notes[columns].head(MOST_SHOWN)
        for road, name, metres, words in shown.itertuples(index=False, name=None):
            called = f"{name} ({road})" if name and road else name or road
            far = f" {metres:,.1f} m," if metres else ""
            lines.append(f"  {what}: {called},{far} {words}")
        if len(notes) > MOST_SHOWN:
            lines.append(f"  {what}: {len(notes) - MOST_SHOWN} more in {REPORT}")
    return [*lines, f"Written to {folder}: {TARGET}, {REPORT}."]
