"""
What road data call a road, turned into the columns of the table roads.

The tables in this module are OpenStreetMap tag practice, from memory. Speeds are ours
(`speeds.SPEED_KMH`): a speed limit only ever slows a truck down.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from logistics.roads.speeds import SPEED_KMH

DRIVEN = {
    "motorway": "paved_main",
    "motorway_link": "paved_main",
    "trunk": "paved_main",
    "trunk_link": "paved_main",
    "primary": "paved_main",
    "primary_link": "paved_main",
    "secondary": "paved_main",
    "secondary_link": "paved_main",
    "tertiary": "paved_local",
    "tertiary_link": "paved_local",
    "unclassified": "gravel",
    "road": "gravel",
    "residential": "town",
    "living_street": "town",
}
"""`highway` values that trucks drive, and the class where no surface is tagged."""

TRACKS = {
    "service": "town",
    "track": "earth",
    "track_grade1": "gravel",
    "track_grade2": "gravel",
}
"""Ways to fields and yards, brought in on demand."""

PAVED = {"paved", "asphalt", "concrete", "chipseal", "paving_stones", "sett", "bricks"}
GRAVELLED = {"gravel", "fine_gravel", "compacted", "pebblestone", "unpaved"}
EARTHEN = {"ground", "dirt", "earth", "mud", "sand", "grass", "clay", "soil", "rock"}

REFUSED = {"no", "private", "agricultural", "forestry", "military", "emergency"}
"""Values of an access tag that keep a haulier's truck out."""

ACCESS = ("hgv", "motor_vehicle", "vehicle", "access")
"""Access tags, the one that decides first."""

ABOARD = ("hgv", "goods", "motor_vehicle", "motorcar", "vehicle", "ferry")
"""Tags by which a ferry says that it carries vehicles; many carry people only."""

UNITS_T = {"": 1.0, "t": 1.0, "mt": 1.0, "st": 0.907185, "lbs": 0.000453592, "kg": 1e-3}

DAY_START, DAY_END = 6.0, 18.0
"""Trucks come to a ferry evenly over these hours: judgement. [h]"""

INTERVAL_MINUTES = 60.0
"""Between sailings where none is tagged, so that the mean wait is half: judgement."""

Tags = Mapping[str, str]


def hstore(text: str) -> dict[str, str]:
    r"""
    Read the tags that have no column of their own.

    Examples
    --------
    >>> hstore('"oneway"=>"yes","name:fi"=>"A \\"b\\""')
    {'oneway': 'yes', 'name:fi': 'A "b"'}
    """
    pairs = re.findall(r'"((?:[^"\\]|\\.)*)"=>"((?:[^"\\]|\\.)*)"', text or "")
    return {_plain(key): _plain(value) for key, value in pairs}


def _plain(text: str) -> str:
    return re.sub(r"\\(.)", r"\1", text)


def road_class(tags: Tags, tracks: bool) -> str:
    """
    Return the class of a road; "" if trucks do not drive it.

    Parameters
    ----------
    tags
        Tags of the way.
    tracks
        Whether ways to fields and yards are wanted.

    Examples
    --------
    >>> road_class({"highway": "unclassified", "surface": "asphalt"}, False)
    'paved_local'
    >>> road_class({"highway": "footway"}, True)
    ''
    """
    if tags.get("area") == "yes" or refused(tags):
        return ""
    if tags.get("route") == "ferry":
        return "ferry" if carries_vehicles(tags) else ""
    kind = tags.get("highway", "")
    kind = kind if kind in DRIVEN else f"{kind}_{tags.get('tracktype', '')}".strip("_")
    if tracks:
        kind = kind if kind in DRIVEN | TRACKS else kind.split("_")[0]
    found = DRIVEN.get(kind, TRACKS.get(kind, "") if tracks else "")
    surface = tags.get("surface", "").split(":")[0]
    if found and surface in EARTHEN:
        return "earth"
    if found not in {"", "town"} and surface in GRAVELLED:
        return "gravel"
    if found in {"gravel", "earth"} and surface in PAVED:
        return "paved_local"
    return found


def refused(tags: Tags) -> bool:
    """Whether an access tag keeps trucks out; the most particular one decides."""
    said = [tags[name] for name in ACCESS if tags.get(name)]
    return bool(said) and said[0] in REFUSED


def carries_vehicles(tags: Tags) -> bool:
    """
    Whether a ferry says that it carries vehicles.

    Examples
    --------
    >>> carries_vehicles({"route": "ferry", "motor_vehicle": "yes"})
    True
    >>> carries_vehicles({"route": "ferry", "foot": "yes"})
    False
    """
    said = [tags[name] for name in ABOARD if tags.get(name)]
    return bool(said) and said[0] not in REFUSED


def part_of_year(tags: Tags) -> str:
    """Return the tag that says a road is open in part of the year only, or ""."""
    for name in ("seasonal", "dry_weather_only", "winter_road", "ice_road"):
        if yes(tags, name):
            return f"{name}={tags[name]}"
    return ""


def direction(tags: Tags) -> int:
    """Return 1 for one way as drawn, -1 for one way against it, 0 for both ways."""
    oneway = tags.get("oneway", "")
    if oneway in {"-1", "reverse"}:
        return -1
    if oneway in {"yes", "true", "1"}:
        return 1
    turns = tags.get("junction") in {"roundabout", "circular"}
    return int(not oneway and (turns or tags.get("highway") == "motorway"))


def level(tags: Tags) -> int:
    """Return the level at which a road crosses others; bridges 1, tunnels -1."""
    match = re.fullmatch(r"[+-]?\d", tags.get("layer", "").strip())
    if match:
        return int(match.group())
    return int(yes(tags, "bridge")) - int(yes(tags, "tunnel"))


def yes(tags: Tags, name: str) -> bool:
    """Whether something is tagged, and not with no."""
    return tags.get(name, "").casefold() not in {"", "no", "0", "false", "f", "n"}


def max_gross_t(tags: Tags) -> float | None:
    """
    Return the heaviest truck allowed. [t]

    Examples
    --------
    >>> max_gross_t({"maxweight": "7.5 t"}), max_gross_t({"maxweight": "none"})
    (7.5, None)
    """
    found = []
    for name in ("maxweight", "maxweight:hgv", "maxweightrating"):
        match = re.fullmatch(r"([\d.]+)\s*([a-z]*)", tags.get(name, "").casefold())
        if match and match[2] in UNITS_T and match[1].count(".") < 2:
            found.append(float(match[1]) * UNITS_T[match[2]])
    return min((t for t in found if t >= 0.5), default=None)


def speed_kmh(tags: Tags, kind: str, km: float) -> float | None:
    """
    Return a limit below the speed of the class, or a ferry's timetable speed. [km/h]

    Examples
    --------
    >>> speed_kmh({"maxspeed": "30"}, "paved_main", 1.0)
    30.0
    >>> speed_kmh({"maxspeed": "80"}, "paved_main", 1.0) is None
    True
    >>> speed_kmh({"duration": "00:20"}, "ferry", 3.0)
    9.0
    """
    if kind == "ferry":
        hours = _clock(tags.get("duration", ""))
        return min(max(km / hours, 1.0), 120.0) if hours else None
    match = re.fullmatch(r"(\d{1,3})\s*(mph|km/h|)", tags.get("maxspeed", ""))
    if not match:
        return None
    limit = float(match[1]) * (1.609344 if match[2] == "mph" else 1.0)
    return limit if 1 <= limit < SPEED_KMH[kind] else None


def _clock(text: str) -> float | None:
    """Read 1:30, 01:30:00 or minutes as hours."""
    if re.fullmatch(r"\d+", text):
        return int(text) / 60
    match = re.fullmatch(r"(\d{1,2}):(\d{2})(?::\d{2})?", text)
    return int(match[1]) + int(match[2]) / 60 if match else None


def wait_minutes(tags: Tags) -> float:
    """
    Return the mean wait for a ferry, sailing hours counted. [min]

    Examples
    --------
    >>> wait_minutes({"interval": "00:40"})
    20.0
    >>> wait_minutes({"interval": "01:00", "opening_hours": "Mo-Su 08:00-16:00"}) > 30
    True
    """
    every = (_clock(tags.get("interval", "")) or 0.0) * 60 or INTERVAL_MINUTES
    spans = re.findall(
        r"(\d{1,2}:\d{2})-(\d{1,2}:\d{2})", tags.get("opening_hours", "")
    )
    if len(spans) != 1:
        return every / 2
    first, last = (_clock(text) or 0.0 for text in spans[0])
    return mean_wait(every, first, last if last > first else last + 24)


def mean_wait(every: float, first: float, last: float) -> float:
    """
    Mean wait of trucks that come to a ferry evenly over the working day. [min]

    Parameters
    ----------
    every
        Between sailings. [min]
    first, last
        First and last sailing, hours of the day; after the last, trucks wait for the
        first of the next day. [h]
    """
    step = every / 60
    count = int((last - first) / step + 1e-9) + 1
    sailings = [first + step * k + day for day in (-24, 0, 24) for k in range(count)]
    total, at = 0.0, DAY_START
    for sails in sorted(sailings):
        if sails > at:
            till = min(sails, DAY_END)
            total += (till - at) * (sails - (at + till) / 2)
            at = till
        if at >= DAY_END:
            break
    return 60 * total / (DAY_END - DAY_START)
