"""A small map as SVG text: land, water, roads, villages, and yards by their intake."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import pandas as pd
import shapely
from markupsafe import Markup

from logistics.land import with_places
from logistics.scenario import records
from maps.geo import frame
from maps.report.charts import INK, PAPER, SOFT
from maps.report.map_labels import Sheet, label
from maps.report.pieces import plain, shorten
from maps.report.plan_facts import Facts, intake_by_yard
from maps.shared import amount, names, yard_status

WIDTH, LOWEST, HIGHEST = 640, 300, 560
LAND, WATER, SHORE, RIVER = "#f2efe3", "#d3e3e6", "#9fb6b8", "#7fa5b5"
ROAD, YARD = "#a08f78", "#2f5d3a"
KM_PER_DEGREE = 111.32
MARGIN_PX = 26
LONGEST = 22
LARGEST = 19.0
YARD_TYPE, VILLAGE_TYPE = 13.5, 11.5
SMALL_NAMES = 20, 11.0
"""Letters of a yard's name, and its type, on a map that is not of full width. [px]"""
MARK = "#c4501a"
BAR_PX, STEPS_KM = 130, (100, 50, 20, 10, 5, 2, 1, 0.5, 0.2)


@dataclass(frozen=True)
class Look:
    """
    How a map is drawn; one drawn narrower keeps the size of its type.

    Attributes
    ----------
    width, high
        Of the drawing, and the most of its height. [px]
    top
        Intake of the largest disc; the plan's own largest if it is None. [t/yr]
    marks
        Yards told apart: "opened" gets a ring, "closed" a cross.
    """

    width: int = WIDTH
    high: int = HIGHEST
    top: float | None = None
    marks: Mapping[str, str] = field(default_factory=dict)

    @property
    def part(self) -> float:
        """Share of the usual width. [px/px]"""
        return self.width / WIDTH


USUAL = Look()


def sheet(facts: Facts, look: Look = USUAL) -> Sheet:
    """Fit the district, or all its sites, into the drawing."""
    scenario = facts.result.scenario
    edges, margin = frame(scenario.settings.district), MARGIN_PX * look.part
    sites = pd.concat(
        [scenario.tables[t][["lon", "lat"]] for t in ("yards", "sources", "markets")]
    )
    west, east = float(sites["lon"].min()), float(sites["lon"].max())
    south, north = float(sites["lat"].min()), float(sites["lat"].max())
    if edges is not None and len(scenario.tables["land"]):
        ((south, west), (north, east)), margin = edges, 0
    across = math.cos(math.radians((south + north) / 2))
    wide = max((east - west) * across, 0.01)
    high = max(north - south, 0.01)
    highest, lowest = look.high, min(LOWEST * look.part, look.high)
    scale = min((look.width - 2 * margin) / wide, (highest - 2 * margin) / high)
    width = int(max(lowest, wide * scale + 2 * margin))
    height = int(max(lowest, high * scale + 2 * margin))
    left = west - (width / scale - wide) / 2 / across
    top = north + (height / scale - high) / 2
    return Sheet(left, top, scale * across, scale, width, height)


def district_map(
    facts: Facts, code: str, title: str, describe: str, look: Look = USUAL
) -> Markup:
    """
    Draw the district with its yards.

    Parameters
    ----------
    facts
        The plan.
    code
        Letters that no other drawing of the page uses.
    title, describe
        Name of the map and what there is to see.
    look
        How wide it is, and what is told apart.

    Returns
    -------
    Markup
        An ``<svg>``; area of a yard's disc is in proportion to its intake.
    """
    here = sheet(facts, look)
    room = look.part == 1
    spots = [(name if room else "", *here.at(x, y)) for name, x, y in villages(facts)]
    parts = [*_base(facts, here), *_scale_bar(here)]
    if room:
        here.taken += [(x - 4, y - 4, x + 4, y + 4) for _, x, y in spots]
    parts += [*_partners(facts, here, look), *_sites(facts, here, look)]
    parts += _villages(spots, here)
    head = Markup(
        '<svg class="chart" role="img" aria-labelledby="{c}-t {c}-d" '
        'viewBox="0 0 {w} {h}"><title id="{c}-t">{t}</title>'
        '<desc id="{c}-d">{d}</desc>'
    ).format(c=code, w=here.width, h=here.height, t=title, d=describe)
    edge = (
        f'<rect x="1" y="1" width="{here.width - 2}" height="{here.height - 2}" '
        f'fill="none" stroke="{SOFT}"/>'
    )
    return head + Markup("".join(parts)) + Markup(edge + "</svg>")


def _path(shape: shapely.Geometry, here: Sheet) -> str:
    """Outline of lines or polygons as a path, to a third of a pixel."""
    fine = shapely.simplify(shape, 0.3 / here.px_per_lat)
    pieces = []
    for part in shapely.get_parts(fine):
        rings = [part]
        if part.geom_type == "Polygon":
            rings = [part.exterior, *part.interiors]
        for ring in rings:
            spots = [here.at(x, y) for x, y, *_ in ring.coords]
            path = "L".join(f"{x:.1f},{y:.1f}" for x, y in spots)
            pieces.append(f"M{path}" + ("Z" if part.geom_type == "Polygon" else ""))
    return "".join(pieces)


def _base(facts: Facts, here: Sheet) -> Iterator[str]:
    """Water, land, rivers, lakes and roads; plain paper where no land is given."""
    land, roads = (facts.result.scenario.tables[name] for name in ("land", "roads"))
    shapes = {
        kind: [shapely.from_wkt(wkt) for wkt in rows["wkt"]]
        for kind, rows in land.groupby("kind")
    }
    back = WATER if shapes.get("land") else LAND
    yield f'<rect width="{here.width}" height="{here.height}" fill="{back}"/>'
    looks = (
        ("land", f'fill="{LAND}" stroke="{SHORE}" stroke-width=".8"'),
        ("water", f'fill="{WATER}" stroke="{SHORE}" stroke-width=".8"'),
        ("river", f'fill="none" stroke="{RIVER}" stroke-width="1.4"'),
    )
    for kind, look in looks:
        for shape in shapes.get(kind, []):
            yield f'<path d="{_path(shape, here)}" {look}/>'
    for kind, wkt in zip(roads["class"], roads["wkt"], strict=True):
        width = {"paved_main": 1.8, "ferry": 1.0}.get(str(kind), 0.9)
        dash = ' stroke-dasharray="4 3"' if kind == "ferry" else ""
        yield (
            f'<path d="{_path(shapely.from_wkt(wkt), here)}" fill="none" '
            f'stroke="{ROAD}" stroke-width="{width}"{dash}/>'
        )


def _sites(facts: Facts, here: Sheet, look: Look) -> Iterator[str]:
    """Unused sites as open diamonds, yards as discs with name and tonnes."""
    status, name = yard_status(facts.result), names(facts.result, "yard")
    intake = intake_by_yard(facts).sum(axis=1)
    top = look.top or max([*intake, 1e-9])
    table = facts.result.scenario.tables["yards"]
    spot = {str(r["yard"]): here.at(r["lon"], r["lat"]) for r in records(table)}
    for code, (x, y) in spot.items():
        if status[code] in ("unused", "closed", "refused"):
            here.taken.append((x - 5, y - 5, x + 5, y + 5))
            yield (
                f'<path d="M{x:.1f},{y - 5:.1f} l5,5 l-5,5 l-5,-5 Z" '
                f'fill="{PAPER}" stroke="{INK}" stroke-width="1.1"/>'
            )
        if look.marks.get(code) == "closed":
            yield (
                f'<path d="M{x - 7:.1f},{y - 7:.1f} l14,14 m0,-14 l-14,14" '
                f'stroke="{MARK}" stroke-width="2.2"/>'
            )
    large = LARGEST * math.sqrt(look.part)
    longest, type_px = (LONGEST, YARD_TYPE) if look.part == 1 else SMALL_NAMES
    radius = {str(c): max(5.0, large * math.sqrt(t / top)) for c, t in intake.items()}
    for code, size in radius.items():
        x, y = spot[code]
        here.taken.append((x - size, y - size, x + size, y + size))
        yield (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{size:.1f}" fill="{YARD}" '
            f'stroke="{PAPER}" stroke-width="1.5"/>'
        )
        if status[code] in ("existing", "enlarged"):
            yield (
                f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{size - 3:.1f}" fill="none" '
                f'stroke="{PAPER}" stroke-width="1.5"/>'
            )
        if look.marks.get(code) == "opened":
            yield (
                f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{size + 3:.1f}" fill="none" '
                f'stroke="{MARK}" stroke-width="2.2"/>'
            )
    for code, size in radius.items():
        lines = [
            _within(plain(name[code]), longest),
            f"{amount(intake[code], facts.digits)} t",
        ]
        yield from label(here, spot[code], size, lines, type_px, "yard")


def _within(name: str, longest: int) -> str:
    """
    Cut a long name in its middle: names of a family often differ at their ends.

    >>> _within("Terrain Northby, parcel 3", 18)
    'Terrain… parcel 3'
    """
    if len(name) <= longest or longest == LONGEST:
        return shorten(name, longest)
    part = (longest - 1) // 2
    return f"{name[:part].rstrip(' ,')}…{name[-part - 1 :]}"


def bare(facts: Facts) -> bool:
    """Whether the map would be empty but for the yards."""
    tables = facts.result.scenario.tables
    return not len(tables["land"]) and not len(tables["roads"])


def _partners(facts: Facts, here: Sheet, look: Look) -> Iterator[str]:
    """Draw sources as rings and markets as triangles, where all else is empty."""
    if not bare(facts):
        return
    tables = facts.result.scenario.tables
    for kind in ("sources", "markets"):
        for lon, lat in zip(tables[kind]["lon"], tables[kind]["lat"], strict=True):
            x, y = here.at(lon, lat)
            if look.part == 1:  # a small map has room for labels, or for nothing
                here.taken.append((x - 5, y - 5, x + 5, y + 5))
            yield _sign(kind, x, y)


def _sign(kind: str, x: float, y: float) -> str:
    """Sign of a source or a market."""
    if kind == "sources":
        shape = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4"'
    else:
        shape = f'<path d="M{x:.1f},{y - 5:.1f} l5,9 h-10 Z"'
    return f'{shape} fill="{PAPER}" stroke="{INK}" stroke-width="1.3"/>'


def villages(facts: Facts) -> list[tuple[str, float, float]]:
    """Name, longitude and latitude of every village."""
    land = with_places(facts.result.scenario)
    rows = land[land["kind"] == "village"]
    points = [shapely.from_wkt(wkt).centroid for wkt in rows["wkt"]]
    return [(str(n), p.x, p.y) for n, p in zip(rows["name"], points, strict=True)]


def _villages(spots: list[tuple[str, float, float]], here: Sheet) -> Iterator[str]:
    """Villages as small squares; a name only where there is room for it."""
    for _, x, y in spots:
        yield (
            f'<rect x="{x - 2.5:.1f}" y="{y - 2.5:.1f}" width="5" height="5" '
            f'fill="{INK}" stroke="{PAPER}" stroke-width=".8"/>'
        )
    for name, x, y in spots:
        text = [shorten(plain(name), LONGEST)] if name else []
        yield from label(here, (x, y), 3, text, VILLAGE_TYPE, "village")


WEIGHTY = 8
"""A label rather covers so many signs than the words of the scale."""


def _scale_bar(here: Sheet) -> Iterator[str]:
    """Round number of kilometres as a bar in the lower left corner."""
    px_per_km = here.px_per_lat / KM_PER_DEGREE
    km = next((k for k in STEPS_KM if k * px_per_km <= BAR_PX), STEPS_KM[-1])
    long, x, y = km * px_per_km, 12, here.height - 12
    box = (x - 4, y - 24, x + max(long, 50) + 4, y + 6)
    here.taken += [box] * WEIGHTY
    yield (
        f'<path d="M{x},{y - 5} v5 h{long:.1f} v-5" fill="none" stroke="{INK}" '
        f'stroke-width="1.3"/><text class="over" x="{x + 4}" y="{y - 6}" '
        f'font-size="11.5">{km:g} km</text>'
    )


def map_key(facts: Facts) -> Markup:
    """Key to the signs of the map."""
    disc = f'<circle cx="8" cy="8" r="6.5" fill="{YARD}"/>'
    ring = (
        f'<circle cx="8" cy="8" r="4" fill="none" stroke="{PAPER}" stroke-width="1.5"/>'
    )
    diamond = (
        f'<path d="M8,3 l5,5 l-5,5 l-5,-5 Z" fill="{PAPER}" stroke="{INK}" '
        'stroke-width="1.1"/>'
    )
    square = f'<rect x="5" y="5" width="6" height="6" fill="{INK}"/>'
    status = set(yard_status(facts.result).values())
    items = [("new", disc, "New yard; its area is in proportion to its intake")]
    items.append(("existing", disc + ring, "Existing yard, in use"))
    items.append(("enlarged", disc + ring, "Existing yard, enlarged"))
    items.append(("unused", diamond, "Site not used"))
    shown = [(sign, text) for key, sign, text in items if key in status]
    if status & {"closed", "refused"} and "unused" not in status:
        shown.append((diamond, "Site not used"))
    land = with_places(facts.result.scenario)
    if (land["kind"] == "village").any():
        shown.append((square, "Village"))
    if bare(facts):
        shown += [
            (_sign("sources", 8, 8), "Source"),
            (_sign("markets", 8, 8), "Market"),
        ]
    entry = Markup(
        '<li><svg aria-hidden="true" viewBox="0 0 16 16" width="16" height="16">{}'
        "</svg> {}</li>"
    )
    rows = Markup("").join(entry.format(Markup(sign), text) for sign, text in shown)
    return Markup('<ul class="keys">{}</ul>').format(rows)
