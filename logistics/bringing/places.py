"""Places of rows: longitude and latitude, whatever they were written as."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice
from statistics import median

from logistics.bringing.angles import degrees_of, is_plus_code, pair_of, plus_place
from logistics.bringing.body import Body
from logistics.bringing.numbers import PLAIN, NumberFault, parted, value_of
from logistics.bringing.recipe import ASK, SheetRecipe
from logistics.bringing.standing import Surroundings
from logistics.scenario import WORLD, Problem

WRITE = "Write longitude and latitude in decimal degrees, as 34.10 and -13.52"
FAR, SPREADS = 2.0, 8.0
"""Least distance from the middle of all places at which one may be a slip [degrees],
and how often the median distance from it that has to be (our judgement)."""
LATITUDE_FIRST = "taken as latitude, longitude"
LOOKED_AT = 2_000
"""Places that show the system of coordinates of a sheet."""
Placed = dict[int, tuple[float, float]]


def complete_places(body: Body, standing: Surroundings) -> SheetRecipe:
    """Settle or ask the system of coordinates, their order, and what is near."""
    recipe, told = body.recipe, dict(body.recipe.told)
    texts = [text for _, text in body.texts(body.pair)]
    if any(is_plus_code(t) and len(t.split("+")[0]) < 8 for t in texts):
        told.setdefault("near", _middle_text(standing) or ASK)
    read = islice(_read(body), LOOKED_AT)
    pairs = [pair for _, pair, way in read if not way]
    if not pairs:
        return replace(recipe, told=told)
    column = recipe.column(body.pair)
    if column is not None and LATITUDE_FIRST not in column.why:
        why = f"{column.why}; {LATITUDE_FIRST}"
        recipe = recipe.with_column(replace(column, why=why))
    large = [p for p in pairs if abs(p[0]) > 180 or abs(p[1]) > 180]
    if len(large) > len(pairs) / 2:
        told.setdefault("crs", _stated_system(body) or ASK)
        return replace(recipe, told=told)
    turned = [(b, a) for a, b in pairs]
    as_is, other = (sum(map(_on_earth, some)) for some in (pairs, turned))
    if standing.box != WORLD:
        inside = [sum(standing.box.holds(*p) for p in some) for some in (pairs, turned)]
        as_is, other = inside if any(inside) else (as_is, other)
    if other > as_is and other > len(pairs) / 2:
        told.setdefault("swapped", "yes")
    return replace(recipe, told=told)


def _on_earth(point: tuple[float, float]) -> bool:
    return WORLD.holds(*point)


def _middle_text(standing: Surroundings) -> str:
    """Middle of the district, as `lat, lon`; empty if it is not known."""
    box = standing.box
    if box == WORLD:
        return ""
    return f"{(box.south + box.north) / 2:.4f}, {(box.west + box.east) / 2:.4f}"


def _stated_system(body: Body) -> str:
    """Return the system that a heading, or a line above, names; empty if none does."""
    above = range(max(body.headings.rows) + 1)
    texts = [*body.headings.texts, *(" ".join(body.sheet.rows[p]) for p in above)]
    for text in texts:
        code = re.search(r"EPSG[:\s]*(\d{4,5})", text, re.IGNORECASE)
        zone = re.search(r"UTM\D{0,8}(\d{1,2})\s*([NS])\b", text, re.IGNORECASE)
        if code:
            return f"EPSG:{code[1]}"
        if zone and 1 <= int(zone[1]) <= 60:
            return f"EPSG:{32600 + int(zone[1]) + (100 if zone[2] in 'sS' else 0)}"
    return ""


def _read(
    body: Body, faults: list[Problem] | None = None
) -> Iterator[tuple[int, tuple[float, float], str]]:
    """
    Yield position, two coordinates (x first) and what says that they are so.

    Plain numbers have no such word: their system and order are still open.
    """
    near = _near(body.recipe.told.get("near", ""))
    columns = map(body.column, (body.pair, "lon", "lat"))
    for position, text, x, y in zip(body.rows, *columns, strict=True):
        ours = body.pair if body.pair in body.places else "lon"
        try:
            if text:
                yield position, *_one_cell(text, near)
                continue
            if not x and not y:
                continue
            ours = "lon"
            lon, way = _coordinate(body, x, "lon")
            ours = "lat"
            lat, other = _coordinate(body, y, "lat")
            yield position, (lon, lat), way or other
        except NumberFault as fault:
            if faults is not None:
                value = body.text(position, ours) or None
                why = str(fault) if value else "is blank"
                faults.append(body.fault(position, ours, why, WRITE, value))


def _near(text: str) -> tuple[float, float] | None:
    try:
        lat, lon, _ = pair_of(text)
    except NumberFault:
        return None
    return lon, lat


def _one_cell(
    text: str, near: tuple[float, float] | None
) -> tuple[tuple[float, float], str]:
    """Read a cell that holds a whole place."""
    if is_plus_code(text):
        return plus_place(text, near), "plus code"
    a, b, way = pair_of(text)
    if way == "lon lat":
        return (a, b), way
    return (b, a), way


def _coordinate(body: Body, text: str, axis: str) -> tuple[float, str]:
    """Read one coordinate; a letter that names the other axis is a fault."""
    if PLAIN.fullmatch(text):
        return float(text), ""
    if re.search(r"[NSEWO°º˚'’′:]", text, re.IGNORECASE) or " " in text.strip():
        try:
            value, named = degrees_of(text)
        except NumberFault:
            if re.search(r"[NSEWO°º˚'’′:]", text, re.IGNORECASE):
                raise
        else:
            if named and named != axis:
                message = f"names a {'latitude' if named == 'lat' else 'longitude'}"
                raise NumberFault(message)
            return value, named
    parts = parted(text)
    if parts.unit and parts.unit.casefold() not in {"m", "dd"}:
        message = "is not a coordinate"
        raise NumberFault(message)
    figures = parts.figures
    column = body.recipe.column(axis)
    sign = column.decimal if column else ""
    if sign not in {".", ","}:
        sign = "," if figures.count(",") == 1 and "." not in figures else "."
    return value_of(figures, sign), ""


def placed(
    body: Body, standing: Surroundings, faults: list[Problem], warnings: list[Problem]
) -> Placed:
    """
    Return longitude and latitude of every row that has a place. [degrees]

    Parameters
    ----------
    body
        Sheet and recipe.
    standing
        The scenario: where its other places lie.
    faults, warnings
        Get the places that cannot be, and those far from all others.
    """
    found: Placed = {}
    told = body.recipe.told
    system = told.get("crs", "")
    for position, point, way in _read(body, faults):
        if not way and told.get("swapped") == "yes":
            point = point[::-1]
        found[position] = point
    if system and system != ASK:
        found = _in_degrees(body, found, system, faults)
    for position, (lon, lat) in list(found.items()):
        why = ""
        if lon == 0 and lat == 0:
            why = "is at 0, 0, which is in the sea and where a phone without signal is"
        elif not WORLD.holds(lon, lat):
            why = f"is not a place on earth (lon {lon:g}, lat {lat:g})"
        if why:
            faults.append(_place_fault(body, position, why, WRITE))
            del found[position]
    _check_strays(body, found, standing, faults, warnings)
    return found


def _place_fault(body: Body, position: int, why: str, remedy: str) -> Problem:
    ours = body.pair if body.pair in body.places else "lon"
    return body.fault(position, ours, why, remedy, body.text(position, ours) or None)


def _in_degrees(
    body: Body, points: Placed, system: str, faults: list[Problem]
) -> Placed:
    """Bring projected metres to degrees."""
    from pyproj import Transformer
    from pyproj.exceptions import ProjError

    try:
        turn = Transformer.from_crs(system, "EPSG:4326", always_xy=True)
    except ProjError:
        why, remedy = f"has no system {system!r}", "Write it as in EPSG:32736"
        faults.append(Problem("bring.toml", None, "crs", None, why, remedy))
        return {}
    found = {}
    for position, (x, y) in points.items():
        lon, lat = turn.transform(x, y)
        found[position] = (round(lon, 7), round(lat, 7))
    return found


def _check_strays(
    body: Body,
    found: Placed,
    standing: Surroundings,
    faults: list[Problem],
    warnings: list[Problem],
) -> None:
    """Find single places that are swapped or lost a minus, by where the rest is."""
    others = list(found.values()) + standing.points()
    if len(others) < 4:
        return
    x, y = (median(values) for values in zip(*others, strict=True))
    reach = median(max(abs(a - x), abs(b - y)) for a, b in others)
    reach = max(FAR, SPREADS * reach)

    def near(lon: float, lat: float) -> bool:
        return bool(abs(lon - x) < reach and abs(lat - y) < reach)

    sign = "lacks a minus, or has one too many"
    for position, (lon, lat) in list(found.items()):
        if near(lon, lat):
            continue
        ways = ((lat, lon, "looks swapped"), (-lon, lat, sign), (lon, -lat, sign),
                (-lon, -lat, sign))  # fmt: skip
        meant = next(((a, b, why) for a, b, why in ways if near(a, b)), None)
        at = f"(lon {lon:g}, lat {lat:g})"
        if meant is None:
            remedy = f"Check it; most lie near lon {x:g}, lat {y:g}"
            why = f"{at} is far from the other places"
            warnings.append(_place_fault(body, position, why, remedy))
            continue
        remedy = f"Write lon {meant[0]:g} and lat {meant[1]:g} if you meant that"
        why = f"{at} {meant[2]}: the other places lie elsewhere"
        faults.append(_place_fault(body, position, why, remedy))
        del found[position]
