"""What the map beside the grid shows, and what a yard would meet at a place."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logistics.scenario import TableText, clear_number, is_example, plain_name
from maps.desk.grid.checking import Checker, checker_of
from maps.desk.grid.faults import NoPlace

if TYPE_CHECKING:
    from logistics.land import Laid
    from logistics.scenario import Scenario

POINTS = ("sources", "yards", "markets")
"""Tables whose rows are points."""
DIGITS = 5
"""Of a degree, about 1 m."""


def rows_of(text: TableText) -> Iterator[dict[str, str]]:
    """Rows as column -> text; of an example row, which is never read, blanks."""
    names = [plain_name(heading) for heading in text.headings]
    for row in text.rows:
        cells = [""] * len(row) if is_example(row) else row
        yield dict(zip(names, cells, strict=True))


def background(texts: Mapping[str, TableText]) -> dict[str, Any]:
    """
    Land and roads as the tables have them now; shapes that cannot be read are left out.

    Returns
    -------
    dict
        land: kind, name, shape, parts; roads: class, parts; positions are (lat, lon).
    """
    land = [
        {"kind": row.get("kind", ""), "name": row.get("name", ""), **shape}
        for row in rows_of(texts["land"])
        if (shape := _shape(row.get("wkt", "")))
    ]
    roads = [
        {"class": row.get("class") or "gravel", "parts": shape["parts"]}
        for row in rows_of(texts["roads"])
        if (shape := _shape(row.get("wkt", "")))
    ]
    return {"land": land, "roads": roads}


def _shape(wkt: str) -> dict[str, Any] | None:
    """Kind of a shape and its lines, latitude first; None if it is none."""
    import shapely

    from logistics.land import parts

    try:
        kind, lines = parts(wkt)
    except shapely.errors.GEOSException:
        return None
    flat = [[_position(lon, lat) for lon, lat, *_ in line] for line in lines]
    return {"shape": kind, "parts": flat} if flat else None


def _position(lon: float, lat: float) -> list[float]:
    return [round(lat, DIGITS), round(lon, DIGITS)]


def points(texts: Mapping[str, TableText]) -> dict[str, list[list[Any]]]:
    """Rows of each table that are points: latitude, longitude, name."""
    found: dict[str, list[list[Any]]] = {}
    for table in POINTS:
        found[table] = []
        for row in rows_of(texts[table]):
            lat, lon = (clear_number(row.get(name, "")) for name in ("lat", "lon"))
            if abs(lat) <= 90 and abs(lon) <= 360:
                label = row.get("name") or row.get(table.removesuffix("s"), "")
                found[table].append([*_position(lon, lat), label])
    return found


@dataclass(frozen=True, eq=False)
class Terrain:
    """A scenario without faults and its land on a plane."""

    scenario: Scenario
    laid: Laid


class Places:
    """Judges places of one scenario by its last state without faults."""

    def __init__(self, checker: Checker) -> None:
        self.checker = checker
        self.lock = threading.Lock()
        self._terrain: Terrain | None = None

    def terrain(self) -> Terrain:
        """Lay the land of the last state without faults, once for each state."""
        from logistics.land import lay

        with self.lock:
            scenario = self.checker.good or self.checker.check().scenario
            if scenario is None:
                message = "Distances are known once the tables have no faults"
                raise NoPlace(message)
            if self._terrain is None or self._terrain.scenario is not scenario:
                self._terrain = Terrain(scenario, lay(scenario))
            return self._terrain

    def judge(self, cells: Mapping[str, str]) -> dict[str, Any]:
        """
        Say what a yard would meet at a place.

        Parameters
        ----------
        cells
            Cells of its row in the table yards, as typed.

        Returns
        -------
        dict
            status: free, warned, partly or refused; reasons: action and words of each
            rule broken; near: nearest neighbours, see `Near`.

        Raises
        ------
        NoPlace
            If it has no position, or the tables have faults.
        """
        from logistics.land import nearest, refused, screen_spot

        terrain = self.terrain()
        yard = _yard(cells)
        lon, lat, area = (float(yard[name]) for name in ("lon", "lat", "area_m2"))
        broken = screen_spot(terrain.scenario, terrain.laid, yard)
        reasons = [
            {"action": action, "words": words}
            for action, words in zip(broken["action"], broken["reason"], strict=True)
        ]
        near = [
            {
                **{"words": one.words, "name": one.name, "metres": round(one.metres)},
                "at": _position(one.lon, one.lat),
            }
            for one in nearest(terrain.laid, lon, lat, area)
        ]
        status = "warned" if reasons else "free"
        if any(one["action"] == "refuse" for one in reasons):
            status = "refused" if refused(broken) else "partly"
        return {"status": status, "reasons": reasons, "near": near}

    def no_go(self, area_m2: float) -> dict[str, Any]:
        """Shapes in which a yard of an area would be refused: name -> polygons."""
        from logistics.land import no_go

        terrain = self.terrain()
        shapes = no_go(terrain.scenario, terrain.laid, area_m2)
        return {name: _polygons(shape) for name, shape in shapes.items()}


def _polygons(shape: Any) -> list[list[list[list[float]]]]:
    """Polygons of a shape: each its outer edge, then its holes; latitude first."""
    import shapely

    return [
        [
            [_position(lon, lat) for lon, lat in ring.coords]
            for ring in (piece.exterior, *piece.interiors)
        ]
        for piece in shapely.get_parts(shape)
        if piece.geom_type == "Polygon" and not piece.is_empty
    ]


def _yard(cells: Mapping[str, str]) -> dict[str, Any]:
    """Read the cells of a yard that a siting rule looks at."""
    numbers = {name: clear_number(cells.get(name, "")) for name in ("lon", "lat")}
    if not (abs(numbers["lat"]) <= 90 and abs(numbers["lon"]) <= 360):
        message = "The row has no position: type lon and lat"
        raise NoPlace(message)
    area = clear_number(cells.get("area_m2", ""))
    decision = cells.get("decision", "").strip()
    return {
        **numbers,
        "yard": cells.get("yard", ""),
        "area_m2": area if area >= 0 else 0.0,
        "slope": clear_number(cells.get("slope_pct", "")) / 100,
        "water_table_m": clear_number(cells.get("water_table_m", "")),
        "existing_size": cells.get("existing_size", "").strip(),
        "decision": decision if decision in ("open", "closed") else "free",
    }


@cache
def places_of(folder: Path) -> Places:
    """Return the judge of places of a scenario folder, one object for all requests."""
    return Places(checker_of(folder))
