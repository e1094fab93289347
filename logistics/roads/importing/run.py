"""Bring roads of other makers into a scenario: read, translate, mend, tell."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from logistics.roads.geometry import DIGITS
from logistics.roads.importing.columns import given, is_own, own_row, usable
from logistics.roads.importing.cut_off_parts import drop_islands, length_km
from logistics.roads.importing.files import NO_LINE, read_lines, road_fault
from logistics.roads.importing.gaps import join_gaps
from logistics.roads.importing.repair import (
    Note,
    drop_twins,
    geodesic_length_km,
    join_crossings,
)
from logistics.roads.importing.tags import (
    DRIVEN,
    TRACKS,
    carries_vehicles,
    direction,
    level,
    max_gross_t,
    part_of_year,
    refused,
    road_class,
    speed_kmh,
    wait_minutes,
    yes,
)
from logistics.roads.travel_matrices import sites
from logistics.scenario import WORLD, Box, columns_of, district, lon_about

if TYPE_CHECKING:
    from logistics.scenario import Scenario

TOLERANCE_M = 10.0
"""Gaps up to this are joined unless told otherwise. [m]"""


@dataclass(frozen=True, eq=False)
class RoadImport:
    """
    Roads brought in.

    Attributes
    ----------
    roads
        Table roads.
    notes
        What was mended, dropped and found: what, road, name, metres, lon, lat, words.
    counts
        Sentences that sum it up.
    """

    roads: pd.DataFrame
    notes: pd.DataFrame
    counts: tuple[str, ...]


def translate(lines: pd.DataFrame, tracks: bool = False) -> pd.DataFrame:
    """
    Turn tags, or columns named like ours, into the table roads; others are left out.

    Parameters
    ----------
    lines
        See `read_lines`.
    tracks
        Whether ways to fields and yards are brought in as well.

    Returns
    -------
    DataFrame
        Columns of roads, and line in place of wkt.
    """
    made = []
    for tags, line in lines[["tags", "line"]].itertuples(index=False, name=None):
        own = is_own(tags)
        row = own_row(tags) if own else _tagged(tags, line, tracks)
        if row is None:
            continue
        turn = not own and direction(tags) < 0
        made.append({**row, "line": shapely.reverse(line) if turn else line})
    names = [c.inside for c in columns_of("roads") if c.name != "wkt"]
    roads = pd.DataFrame(made, columns=[*names, "line"])
    return roads.assign(road=_codes(roads["road"].tolist()))


def _tagged(tags: dict[str, str], line: Any, tracks: bool) -> dict[str, object] | None:
    """Row of a way with OpenStreetMap tags."""
    kind = road_class(tags, tracks)
    if not kind:
        return None
    osm_id = tags.get("osm_id", "")
    limit = max_gross_t(tags)
    speed = speed_kmh(tags, kind, geodesic_length_km(line))
    return {
        "road": f"w{osm_id}" if osm_id.isdigit() else "",
        "name": tags.get("name") or tags.get("ref") or "",
        "class": kind,
        "bridge": yes(tags, "bridge"),
        "oneway": direction(tags) != 0,
        "level": level(tags),
        "speed_kmh": np.nan if speed is None else speed,
        "max_gross_t": np.nan if limit is None else min(limit, 100.0),
        "wait_minutes": wait_minutes(tags) if kind == "ferry" else 0.0,
        "fare_per_trip": 0.0,
        "closed_periods": (),
    }


def _codes(wanted: list[str]) -> list[str]:
    """Codes of the roads: those given, made fit and told apart."""
    made, seen = [], Counter[str]()
    for number, text in enumerate(wanted, start=1):
        code = re.sub(r"\W+", "_", text, flags=re.ASCII).strip("_")[:30] or f"r{number}"
        seen[code] += 1
        made.append(code if seen[code] == 1 else f"{code}_{seen[code]}")
    return (
        made if len(set(made)) == len(made) else [f"r{n + 1}" for n in range(len(made))]
    )


def _in_box(lines: NDArray[np.object_], box: Box) -> NDArray[np.bool_]:
    west, south, east, north = shapely.bounds(lines).T
    inside = (west <= box.east) & (east >= box.west)
    return np.asarray(inside & (south <= box.north) & (north >= box.south))


def _about(lines: NDArray[np.object_], middle: float) -> NDArray[np.object_]:
    """Write lines on beyond 180 degrees, as the tables of the district are."""
    return np.asarray(
        shapely.transform(
            lines, lambda x, y: (lon_about(x, middle), y), interleaved=False
        ),
        dtype=object,
    )


def import_roads(
    scenario: Scenario,
    path: Path,
    tolerance_m: float = TOLERANCE_M,
    layer: str | None = None,
    tracks: bool = False,
    area: Any = None,
) -> RoadImport:
    """
    Read a road file for a district and mend it.

    Parameters
    ----------
    scenario
        Its sites say which islands serve somebody; its edges what is left out.
    path, layer, tracks
        See `read_lines` and `translate`.
    tolerance_m
        Gaps up to this are joined. [m]
    area
        Roads that miss it are left out as well, if one is given. [degrees]
    """
    lines = read_lines(path, layer)
    box = district(scenario.settings)
    if box.east > WORLD.east:
        lines["line"] = _about(lines["line"].to_numpy(), (box.west + box.east) / 2)
    near = lines[_in_box(lines["line"].to_numpy(), box)]
    if area is not None:
        near = near[shapely.intersects(near["line"].to_numpy(dtype=object), area)]
    roads = translate(near, tracks)
    if roads.empty:
        why = f"holds no road in the district; {len(lines)} lines were read"
        remedy = "Check the district's edges in scenario.toml and the file's layer"
        raise road_fault(path, why, remedy)
    before = len(roads), length_km(roads)
    places = sites(scenario)
    roads, notes = mend(roads, tolerance_m, places)
    notes = notes + _to_fill_in(roads, near) + _left_out(near, tracks)
    counts = [
        f"{len(lines)} lines read, {len(lines) - len(near)} outside the district",
        *_without_line(lines),
        f"{before[0]} open to trucks, {before[1]:.1f} km",
        *(
            f"{n} {WORDS[what][n > 1]}"
            for what, n in Counter(x.what for x in notes).items()
        ),
        f"{len(roads)} roads, {length_km(roads):.1f} km",
    ]
    wkt = shapely.to_wkt(
        roads["line"].to_numpy(dtype=object), rounding_precision=DIGITS
    )
    columns = [c.inside for c in columns_of("roads")]
    table = pd.DataFrame([vars(n) for n in notes], columns=list(Note.__annotations__))
    return RoadImport(roads.assign(wkt=wkt)[columns], table, tuple(counts))


def _without_line(lines: pd.DataFrame) -> list[str]:
    """Count the rows of a file that give no road, as their shape is blank or broken."""
    lost = int(lines.attrs.get(NO_LINE, 0))
    rows = "row" if lost == 1 else "rows"
    return [f"{lost} {rows} left out: no line, or one that cannot be read"] * bool(lost)


WORDS = {
    "crossing": ("crossing joined", "crossings joined"),
    "gap": ("gap joined", "gaps joined"),
    "twin": ("duplicate road dropped", "duplicate roads dropped"),
    "island": (
        "cut-off part that serves no site dropped",
        "cut-off parts that serve no site dropped",
    ),
    "cut off": ("cut-off part with sites on it", "cut-off parts with sites on them"),
    "toll": (
        "toll road or ferry without a fare: fill it in",
        "toll roads and ferries without a fare: fill it in",
    ),
    "season": (
        "road open for part of the year: fill in closed_periods",
        "roads open for part of the year: fill in closed_periods",
    ),
    "value": ("unusable value left blank", "unusable values left blank"),
    "left out": ("kind of road left out", "kinds of road left out"),
    "ferry": (
        "ferry left out because nothing says it carries vehicles",
        "ferries left out because nothing says they carry vehicles",
    ),
}
"""What was done or found, of one and of several."""


def mend(
    roads: pd.DataFrame, tolerance_m: float, places: pd.DataFrame
) -> tuple[pd.DataFrame, list[Note]]:
    """
    Mend roads: drop twins, join crossings and gaps, drop islands that serve nobody.

    Parameters
    ----------
    roads
        See `translate`.
    tolerance_m
        Gaps up to this are joined. [m]
    places
        Sites: site, lon, lat.
    """
    roads, notes = drop_twins(roads, 0.0)
    roads, more = join_crossings(roads)
    roads, gaps = join_gaps(roads, tolerance_m)
    roads, twins = drop_twins(roads, tolerance_m)
    names = [str(site).replace(":", " ") for site in places["site"]]
    lon, lat = places["lon"].to_numpy(dtype=float), places["lat"].to_numpy(dtype=float)
    roads, lost = drop_islands(roads, names, lon, lat)
    return roads, [*notes, *more, *gaps, *twins, *lost]


def _to_fill_in(roads: pd.DataFrame, lines: pd.DataFrame) -> list[Note]:
    """Tell of tolls, fares and seasons that are not known, and of unusable values."""
    tolled = {f"w{t.get('osm_id', '')}" for t in lines["tags"] if yes(t, "toll")}
    notes = []
    asked = roads["road"].isin(tolled) | (roads["class"] == "ferry")
    for _, road in roads[asked & (roads["fare_per_trip"] == 0)].iterrows():
        at = shapely.get_coordinates(road["line"])[0]
        words = (
            "fare_per_trip is not in the data: fill it in, and wait_minutes for a ferry"
        )
        place = float(at[0]), float(at[1])
        notes.append(Note("toll", road["road"], road["name"], 0.0, *place, words))
    kept = set(roads["road"])
    for tags, line in lines[["tags", "line"]].itertuples(index=False, name=None):
        code = f"w{tags.get('osm_id', '')}"
        when = part_of_year(tags)
        if when and code in kept:
            words = f"open for part of the year ({when}): fill in closed_periods"
            notes.append(_note_of_line("season", code, tags, line, words))
        for column in columns_of("roads") if is_own(tags) else ():
            text = given(tags, column)
            if text and not usable(column, text):
                words = f"{column.name} '{text}' cannot be used: fill it in"
                code = tags.get("road", "")
                notes.append(_note_of_line("value", code, tags, line, words))
    return notes


def _note_of_line(
    what: str, code: str, tags: dict[str, str], line: shapely.LineString, words: str
) -> Note:
    at = shapely.get_coordinates(line)[0]
    name = tags.get("name", "")
    return Note(what, code, name, 0.0, float(at[0]), float(at[1]), words)


def _left_out(lines: pd.DataFrame, tracks: bool) -> list[Note]:
    """Tell of kinds of road and of ferries that were not brought in."""
    notes = []
    kinds = Counter(t["highway"] for t in lines["tags"] if t.get("highway"))
    for kind, count in kinds.items():
        if kind not in DRIVEN and not (tracks and kind in TRACKS):
            hint = "; --tracks includes them" if kind in TRACKS else ""
            words = f"{count} lines of kind '{kind}'{hint}"
            notes.append(Note("left out", "", kind, 0.0, np.nan, np.nan, words))
    words = "is not marked as carrying vehicles: draw it in roads if it takes trucks"
    for tags, line in lines[["tags", "line"]].itertuples(index=False, name=None):
        boat = tags.get("route") == "ferry" and not refused(tags)
        if boat and not carries_vehicles(tags):
            code = f"w{tags.get('osm_id', '')}"
            notes.append(_note_of_line("ferry", code, tags, line, words))
    return notes
