"""Roads that were brought in as a table, and the report of what was mended."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from logistics.roads import RoadImport

ROADS = "roads_report.csv"
"""File of the report."""
MOST_SHOWN = 10
"""Mendings of a kind that are printed; the report file holds all."""


def roads_table(made: RoadImport) -> pd.DataFrame:
    """Return roads.csv as texts, without columns that are blank or default."""
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
    return table.drop(columns=idle)


def report_table(made: RoadImport) -> pd.DataFrame:
    """Return the report of what was mended, with the counts at its end."""
    counts = pd.DataFrame({"what": "count", "words": list(made.counts)})
    notes = pd.concat([made.notes, counts]) if len(made.notes) else counts
    rounded = notes.round({"metres": 1, "lon": 7, "lat": 7})
    order = ["what", "road", "name", "metres", "lon", "lat", "words"]
    return rounded.reindex(columns=order)


def report_lines(made: RoadImport) -> list[str]:
    """Return the counts and the first mendings of each kind."""
    lines = [f"{count}." for count in made.counts]
    for what, notes in made.notes.groupby("what", sort=False):
        columns = ["road", "name", "metres", "words"]
        shown = notes[columns].head(MOST_SHOWN)
        for road, name, metres, words in shown.itertuples(index=False, name=None):
            called = f"{name} ({road})" if name and road else name or road
            far = f" {metres:,.1f} m," if metres else ""
            lines.append(f"  {what}: {called},{far} {words}")
        if len(notes) > MOST_SHOWN:
            lines.append(f"  {what}: {len(notes) - MOST_SHOWN} more in {ROADS}")
    return lines
