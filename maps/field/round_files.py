"""Write rounds: workbook, run sheets, yard sheets, map, GeoJSON, GPX, summary."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logistics.rounds import calls, summary
from logistics.scenario import records
from maps.field.day_map import write_rounds_map
from maps.field.driven_tables import clock, place_names, round_tables
from maps.field.driver_sheets import run_sheets
from maps.field.feedback import turn_table
from maps.field.round_lines import gpx, joined, leg_lines
from maps.field.yard_choice import choice_table
from maps.field.yard_sheets import write_sheets
from maps.shared import names, whole_set, write_csv
from maps.tables import write_tables

if TYPE_CHECKING:
    from logistics.results import Result
    from logistics.roads import Line
    from logistics.rounds import Driven, Turn, YardChoice

Data = dict[str, Any]

SHEETS = {
    "summary": "The month's totals as driven",
    "by freight": "How driven tonnes, hours and money compare with the plan",
    "fleet": "How many trucks the month needs, and the most on one day",
    "trucks": "What each truck does each day",
    "stops": "Where and when each truck calls, and with what",
    "not driven": "What could not be driven",
    "feedback": "What changed when the plan was made again with driven costs",
    "yard choice": "What other yards would cost as driven",
}
"""Sheet -> what it answers."""


def day_code(day: int, last: int) -> str:
    """
    Write a working day so that names of files stand in the order of the days.

    >>> day_code(7, 27), day_code(7, 156)
    ('07', '007')
    """
    return f"{day:0{max(2, len(str(last)))}d}"


def write_rounds(
    result: Result,
    driven: Driven,
    out: Path,
    turns: Sequence[Turn] = (),
    choice: YardChoice | None = None,
) -> Path:
    """
    Write everything into `out/rounds_PERIOD`, in place of an older set.

    Parameters
    ----------
    result, driven, out
        The plan, a period of it driven, and the folder of outputs.
    turns
        What planning again with driven cost gave, for a sheet of its own.
    choice
        Yards chosen by the rounds of what spoils, for a sheet and a CSV.

    Returns
    -------
    Path
        The folder.
    """
    folder = out / f"rounds_{driven.period}"
    with whole_set(folder, "rounds") as fresh:
        _write(result, driven, fresh, turns, choice)
    return folder


def _write(
    result: Result,
    driven: Driven,
    fresh: Path,
    turns: Sequence[Turn],
    choice: YardChoice | None,
) -> None:
    """Write everything into a folder that is there."""
    sheets = round_tables(result, driven)
    if turns:
        sheets["feedback"] = turn_table(list(turns))
    if choice:
        sheets["yard choice"] = choice_table(result, choice)
        write_csv(sheets["yard choice"], fresh / "yard_choice.csv")
    title = result.scenario.settings.name
    what = f"Rounds of {names(result, 'period')[driven.period]}"
    write_tables(sheets, fresh / "rounds.xlsx", title, what, SHEETS)
    pages = run_sheets(result, driven)
    for day, page in pages.items():
        path = fresh / f"run_sheets_day_{day_code(day, max(pages))}.html"
        path.write_text(page, encoding="utf-8", newline="\n")
    (fresh / "yard_sheets").mkdir()
    write_sheets(result, driven.period, fresh / "yard_sheets", driven)
    for kind in ("geojson", "gpx"):
        (fresh / kind).mkdir()
    for name, (shape, track) in round_shapes(result, driven).items():
        text = json.dumps(shape, ensure_ascii=False) + "\n"
        (fresh / "geojson" / f"{name}.geojson").write_text(text, encoding="utf-8")
        (fresh / "gpx" / f"{name}.gpx").write_text(track, encoding="utf-8")
    write_rounds_map(result, driven, fresh / "rounds_map.html")
    figures = {k: v for k, v in summary(result, driven).items() if k != "seconds"}
    text = json.dumps(figures, indent=2, ensure_ascii=False)
    (fresh / "rounds.json").write_text(text + "\n", encoding="utf-8")


def round_shapes(result: Result, driven: Driven) -> dict[str, tuple[Data, str]]:
    """
    Draw every truck and day: its calls as points, its trips as lines along the road.

    Returns
    -------
    dict
        Name of the round -> its GeoJSON and its GPX. Where the scenario has no roads
        the lines are straight.
    """
    known, table = place_names(result), calls(driven)
    drawn = leg_lines(result, driven.period, table)
    period = names(result, "period")[driven.period]
    found = {}
    for (day, truck), tour in table.groupby(["day", "truck"], sort=False):
        legs = [drawn[n] for n in tour.index]
        code = day_code(int(str(day)), int(table["day"].max()))
        name = f"day_{code}_{str(truck).replace(' ', '_')}"
        features = [
            _point(call, leg[-1], known)
            for call, leg in zip(records(tour), legs, strict=True)
        ]
        for trip in dict.fromkeys(tour["trip"]):
            here = [n for n, t in enumerate(tour["trip"]) if t == trip]
            km = float(tour["km"].iloc[here].sum())
            line = joined([legs[n] for n in here])
            features.append(_line(int(trip), str(truck), km, line))
        shape = {"type": "FeatureCollection", "features": features}
        title = f"{period}, day {day}, {truck}"
        found[name] = shape, gpx(title, tour, legs, known)
    return found


def _point(
    call: dict[str, Any], at: tuple[float, float], known: dict[str, str]
) -> Data:
    """One call."""
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": list(at)},
        "properties": {
            "trip": call["trip"],
            "call": call["call"],
            "place": known[call["place"]],
            "freight": call["material"],
            "tonnes": round(call["tonnes"], 3),
            "m3": round(call["m3"], 2),
            "arrives": clock(call["arrives_h"]),
            "ready": clock(call["ends_h"]),
        },
    }


def _line(trip: int, truck: str, km: float, line: Line) -> Data:
    """One trip, from the yard to the yard."""
    spots = [[round(x, 6), round(y, 6)] for x, y in line]
    return {
        "type": "Feature",
        "geometry": {"type": "LineString", "coordinates": spots},
        "properties": {"truck": truck, "trip": trip, "km": round(km, 1)},
    }
