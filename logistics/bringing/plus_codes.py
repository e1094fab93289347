"""
Plus codes: places as short texts.

Written from the specification of the open standard (Open Location Code, file
docs/specification.md of google/open-location-code, from memory) and checked against its
published test tables. Whole numbers throughout, so that no place on an edge falls to
the other side.
"""

from __future__ import annotations

import math
import re
from typing import NamedTuple

SIGNS = "23456789CFGHJMPQRVWX"
PAIRS, MOST_SIGNS = 10, 15
LAT_PARTS, LON_PARTS = 8000 * 5**5, 8000 * 4**5
"""Parts of a degree that the last sign tells apart."""
FULL = re.compile(rf"[2-9C][2-9CFGHJMPQRV](?:[{SIGNS}]{{6}}\+(?:[{SIGNS}]{{2,}})?"
                  rf"|[{SIGNS}]{{4}}00\+|[{SIGNS}]{{2}}0000\+|000000\+)")  # fmt: skip
SHORT = re.compile(rf"(?:[{SIGNS}]{{2}}){{0,3}}\+[{SIGNS}]{{2,}}"
                   rf"|(?:[{SIGNS}]{{2}}){{1,3}}\+")  # fmt: skip


class Cell(NamedTuple):
    """Edges of the area a code stands for. [degrees]"""

    south: float
    west: float
    north: float
    east: float

    @property
    def middle(self) -> tuple[float, float]:
        """Longitude and latitude of its middle. [degrees]"""
        return (self.west + self.east) / 2, min((self.south + self.north) / 2, 90.0)


def is_full(text: str) -> bool:
    """
    Whether a text is a whole plus code.

    >>> is_full("7FG49QCJ+2V"), is_full("9QCJ+2V"), is_full("7FG49QCJ")
    (True, False, False)
    """
    return FULL.fullmatch(text.upper()) is not None


def is_short(text: str) -> bool:
    """
    Whether a text is a plus code whose first signs were left out.

    >>> is_short("9QCJ+2V"), is_short("7FG49QCJ+2V"), is_short("+")
    (True, False, False)
    """
    return SHORT.fullmatch(text.upper()) is not None


def area_of(code: str) -> Cell:
    """
    Return the area that a whole plus code stands for.

    Signs behind the fifteenth are left aside, as the standard says.

    Examples
    --------
    >>> area_of("7FG49QCJ+2V")
    Cell(south=20.37, west=2.782125, north=20.370125, east=2.78225)
    """
    signs = code.upper().replace("+", "").rstrip("0")[:MOST_SIGNS]
    lat, lon = -90 * LAT_PARTS, -180 * LON_PARTS
    high, wide = LAT_PARTS * 400, LON_PARTS * 400
    for place in range(0, min(len(signs), PAIRS), 2):
        high, wide = high // 20, wide // 20
        lat += SIGNS.index(signs[place]) * high
        lon += SIGNS.index(signs[place + 1]) * wide
    for sign in signs[PAIRS:]:
        high, wide = high // 5, wide // 4
        row, column = divmod(SIGNS.index(sign), 4)
        lat += row * high
        lon += column * wide
    return Cell(
        lat / LAT_PARTS,
        lon / LON_PARTS,
        (lat + high) / LAT_PARTS,
        (lon + wide) / LON_PARTS,
    )


def code_of(lon: float, lat: float, length: int = PAIRS) -> str:
    """
    Return the plus code of a place.

    Parameters
    ----------
    lon, lat
        Place [degrees]; latitudes beyond a pole are those of the pole.
    length
        Signs: 2, 4, 6, 8, or 10 to 15.

    Examples
    --------
    >>> code_of(2.7821875, 20.3700625), code_of(2.775, 20.375, 6)
    ('7FG49QCJ+2V', '7FG49Q00+')
    """
    high = math.floor(round(lat * LAT_PARTS, 6)) + 90 * LAT_PARTS
    wide = (math.floor(round(lon * LON_PARTS, 6)) + 180 * LON_PARTS) % (360 * LON_PARTS)
    high = min(max(high, 0), 180 * LAT_PARTS - 1)
    signs = ""
    for _ in range(MOST_SIGNS - PAIRS):
        high, row = divmod(high, 5)
        wide, column = divmod(wide, 4)
        signs = SIGNS[4 * row + column] + signs
    for _ in range(PAIRS // 2):
        high, north = divmod(high, 20)
        wide, east = divmod(wide, 20)
        signs = SIGNS[north] + SIGNS[east] + signs
    if length < 8:
        return signs[:length] + "0" * (8 - length) + "+"
    return f"{signs[:8]}+{signs[8:length]}"


def nearest_full(short: str, lon: float, lat: float) -> str:
    """
    Return the whole code of a short one: that nearest to a place.

    Parameters
    ----------
    short
        Plus code without its first signs.
    lon, lat
        A place not far from it. [degrees]

    Examples
    --------
    >>> nearest_full("9QCJ+2VX", -1.217765625, 51.3701125)
    '9C3W9QCJ+2VX'
    """
    missing = 8 - short.index("+")
    reach = 20.0 ** (2 - missing // 2)
    lat = min(max(lat, -90.0), 90.0)
    whole = code_of(lon, lat)[:missing] + short.upper()
    east, north = area_of(whole).middle
    if lat + reach / 2 < north and north - reach >= -90:
        north -= reach
    elif lat - reach / 2 > north and north + reach <= 90:
        north += reach
    if lon + reach / 2 < east:
        east -= reach
    elif lon - reach / 2 > east:
        east += reach
    return code_of(east, north, max(len(whole) - 1, PAIRS) if len(whole) > 9 else 8)
