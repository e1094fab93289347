"""Write roads that were brought in, and a report of what was mended."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from logistics.roads import RoadImport
    from logistics.scenario import Scenario

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
    from logistics.scenario import Problem, ScenarioError, read_scenario

    folder = scenario.path or Path()
    if len(scenario.roads) and not replace:
        why = f"holds {len(scenario.roads)} roads already"
        remedy = "Add --replace to put the new ones in their place"
        raise ScenarioError([Problem("roads.csv", None, "", None, why, remedy)])
    made = import_roads(scenario, file, tolerance_m, layer, tracks)
    target = folder / "roads.csv"
    before = target.read_bytes() if target.exists() else None
    _write(made, folder)
    try:
        read_scenario(folder)
    except ScenarioError:
        # as it was: the new roads do not go with the rest
        if before is None:
            target.unlink()
        else:
            target.write_bytes(before)
        raise
    return report_lines(made, folder)


def _write(made: RoadImport, folder: Path) -> None:
    """Write roads.csv, without columns that are blank or default, and the report."""
    from logistics.scenario import columns_of, outside, replace_file

    nothing = pd.DataFrame(columns=["table", "key", "column", "value"])
    table = outside("roads", made.roads, nothing)
    idle = [
        column.name
        for column in columns_of("roads")
        if not column.required
        and column.name != "class"
        and table[column.name].isin(["", column.default]).all()
    ]
    text = table.drop(columns=idle).to_csv(index=False, lineterminator="\n")
    replace_file(folder / "roads.csv", text)
    counts = pd.DataFrame({"what": "count", "words": list(made.counts)})
    notes = pd.concat([made.notes, counts]) if len(made.notes) else counts
    rounded = notes.round({"metres": 1, "lon": 7, "lat": 7})
    order = ["what", "road", "name", "metres", "lon", "lat", "words"]
    text = rounded.reindex(columns=order).to_csv(index=False, lineterminator="\n")
    replace_file(folder / REPORT, text)


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
    return [*lines, f"Written to {folder}: roads.csv, {REPORT}."]
