"""Write rounds: workbook, run sheets, yard sheets, GeoJSON of rounds, summary."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from logistics.rounds_tables import calls, summary
from maps.roundtables import clock, place_names, round_tables
from maps.runsheets import run_sheets
from maps.sheeting import write_sheets
from maps.workbook import write_tables

if TYPE_CHECKING:
    from logistics.pipeline import Result
    from logistics.rounds_drive import Driven


def write_rounds(result: Result, driven: Driven, out: Path) -> Path:
    """
    Write everything into `out/rounds_PERIOD`; an older folder goes only at the end.

    Returns
    -------
    Path
        The folder.
    """
    folder = out / f"rounds_{driven.period}"
    fresh = out / f"rounds_{driven.period}.new"
    if fresh.exists():
        shutil.rmtree(fresh)
    fresh.mkdir(parents=True)
    write_tables(round_tables(result, driven), fresh / "rounds.xlsx")
    for day, page in run_sheets(result, driven).items():
        path = fresh / f"run_sheets_day_{day:02d}.html"
        path.write_text(page, encoding="utf-8", newline="\n")
    (fresh / "yard_sheets").mkdir()
    write_sheets(result, driven.period, fresh / "yard_sheets", driven)
    (fresh / "geojson").mkdir()
    for name, shape in round_shapes(result, driven).items():
        text = json.dumps(shape, ensure_ascii=False)
        (fresh / "geojson" / name).write_text(text + "\n", encoding="utf-8")
    figures = {k: v for k, v in summary(result, driven).items() if k != "seconds"}
    text = json.dumps(figures, indent=2, ensure_ascii=False)
    (fresh / "rounds.json").write_text(text + "\n", encoding="utf-8")
    if folder.exists():
        shutil.rmtree(folder)
    fresh.rename(folder)
    return folder


def round_shapes(result: Result, driven: Driven) -> dict[str, dict[str, Any]]:
    """
    Draw every truck and day as GeoJSON: its calls as points, its trips as lines.

    The lines join the places straight; they are not the road.
    """
    where = _places(result)
    known = place_names(result)
    found = {}
    for (day, truck), tour in calls(driven).groupby(["day", "truck"], sort=False):
        name = f"day_{int(str(day)):02d}_{str(truck).replace(' ', '_')}.geojson"
        features = [_point(call, where, known) for _, call in tour.iterrows()]
        features += [
            _line(int(str(trip)), str(truck), part, where)
            for trip, part in tour.groupby("trip")
        ]
        found[name] = {"type": "FeatureCollection", "features": features}
    return found


def _places(result: Result) -> dict[tuple[str, str], list[float]]:
    """Longitude and latitude by kind of call and code."""
    tables = {
        "in": (result.scenario.sources, "source"),
        "out": (result.scenario.markets, "market"),
        "yard": (result.scenario.yards, "yard"),
    }
    return {
        (kind, str(row[key])): [float(row["lon"]), float(row["lat"])]
        for kind, (table, key) in tables.items()
        for row in table[[key, "lon", "lat"]].to_dict("records")
    }


def _point(
    call: pd.Series,
    where: dict[tuple[str, str], list[float]],
    known: dict[str, str],
) -> dict[str, Any]:
    """One call."""
    place = str(call["place"])
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": where[str(call["kind"]), place]},
        "properties": {
            "trip": int(call["trip"]),
            "call": int(call["call"]),
            "place": known[place],
            "freight": str(call["material"]),
            "tonnes": round(float(call["tonnes"]), 3),
            "m3": round(float(call["m3"]), 2),
            "arrives": clock(float(call["arrives_h"])),
            "ready": clock(float(call["ends_h"])),
        },
    }


def _line(
    trip: int,
    truck: str,
    part: pd.DataFrame,
    where: dict[tuple[str, str], list[float]],
) -> dict[str, Any]:
    """One trip, from the yard to the yard."""
    yard = where["yard", str(part["yard"].iloc[0])]
    ways = [
        where[str(k), str(p)] for k, p in zip(part["kind"], part["place"], strict=True)
    ]
    return {
        "type": "Feature",
        "geometry": {"type": "LineString", "coordinates": [yard, *ways]},
        "properties": {
            "truck": truck,
            "trip": trip,
            "km": round(float(part["km"].sum()), 1),
        },
    }
