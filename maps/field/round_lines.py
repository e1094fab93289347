"""Rounds along the road: a line for every leg, as GeoJSON and as GPX."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

import pandas as pd
import shapely

from logistics.roads import Line, lines
from logistics.scenario import lon_about, records
from maps.field.driven_tables import DONE, clock
from maps.report import plain

if TYPE_CHECKING:
    from logistics.results import Result

NOT_IN_XML = re.compile("[\ud800-\udfff\ufffe\uffff]")
"""Signs that no XML file may hold."""
DETAIL_DEG = 0.00005
"""Detail kept in lines [degrees], about 5 m."""
KIND = {"in": "source", "out": "market", "yard": "yard", "way": "yard"}


def leg_lines(result: Result, period: str, table: pd.DataFrame) -> list[Line]:
    """
    Draw the leg to every call along the road.

    Parameters
    ----------
    result, period
        A planned scenario, and the period driven.
    table
        See `rounds_tables.calls`: tour by tour, in the order driven.

    Returns
    -------
    list
        One line (lon, lat) a row; legs that are driven more than once share theirs.
    """
    wanted, last, tour = [], "", None
    for row in records(table):
        this = row["day"], row["truck"]
        if this != tour:
            tour, last = this, f"yard:{row['home']}"
        here = f"{KIND[row['kind']]}:{row['place']}"
        state = result.travel.state_of[row["type"], period]
        wanted.append((state, last, here))
        last = here
    legs = list(dict.fromkeys(wanted))
    drawn = dict(zip(legs, lines(result.scenario, result.travel, legs), strict=True))
    thin = {leg: _thin(line) for leg, line in drawn.items()}
    return [thin[leg] for leg in wanted]


def _thin(line: Line) -> Line:
    """Leave out points that hardly bend the line."""
    return list(shapely.simplify(shapely.LineString(line), DETAIL_DEG).coords)


def joined(legs: list[Line]) -> Line:
    """
    Put legs behind each other into one line.

    >>> joined([[(0, 0), (1, 0)], [(1, 0), (1, 2)]])
    [(0, 0), (1, 0), (1, 2)]
    """
    found: Line = []
    for leg in legs:
        found += leg[1:] if found and found[-1] == leg[0] else leg
    return found


def gpx(title: str, tour: pd.DataFrame, legs: list[Line], known: dict[str, str]) -> str:
    """
    Write the round of a truck and day as GPX 1.1: calls as waypoints, trips as tracks.

    Parameters
    ----------
    title
        Name of the round.
    tour, legs
        Its calls and the legs to them.
    known
        Names of the places.

    Returns
    -------
    str
        The file. Names are escaped; it names no address but that of the format.
    """
    points, tracks = [], []
    rows = records(tour)
    for row, leg in zip(rows, legs, strict=True):
        lon, lat = lon_about(leg[-1][0], 0.0), leg[-1][1]
        name = f"{row['trip']}.{row['call']} {clock(row['arrives_h'])} "
        name += f"{known[row['place']]}: {what(row)}"
        points.append(
            f'<wpt lat="{lat:.5f}" lon="{lon:.5f}"><name>{_text(name)}</name></wpt>'
        )
    for trip in dict.fromkeys(tour["trip"]):
        line = joined([g for r, g in zip(rows, legs, strict=True) if r["trip"] == trip])
        ways = [(lon_about(x, 0.0), y) for x, y in line]
        spots = "".join(f'<trkpt lat="{y:.5f}" lon="{x:.5f}"/>' for x, y in ways)
        tracks.append(
            f"<trk><name>{_text(f'{title}, trip {trip}')}</name>"
            f"<trkseg>{spots}</trkseg></trk>"
        )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="loamhaul" '
        'xmlns="http://www.topografix.com/GPX/1/1">\n'
        + "\n".join([*points, *tracks])
        + "\n</gpx>\n"
    )


def _text(text: str) -> str:
    """Make a text safe for XML."""
    return escape(NOT_IN_XML.sub("", plain(text)))


def what(row: dict[str, Any]) -> str:
    """
    Say in a few words what is done at a call.

    >>> what({"kind": "in", "tonnes": 2.5})
    'load 2.5 t'
    >>> what({"kind": "yard", "tonnes": 0.0})
    'back, empty'
    """
    if row["kind"] == "way":
        return DONE["way"]
    if row["kind"] == "yard" and row["tonnes"] <= 0:
        return "back, empty"
    return f"{DONE[row['kind']]} {row['tonnes']:.1f} t"
