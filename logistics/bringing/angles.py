"""Coordinates as people write them: decimals, minutes, pairs, plus codes."""

from __future__ import annotations

import re
from collections.abc import Iterable

from logistics.bringing.numbers import NumberFault, latin
from logistics.bringing.plus_codes import area_of, is_full, is_short, nearest_full

NUMBER = r"\d+(?:[.,]\d+)?"
DEGREES = re.compile(
    rf"(?P<first>[NSEWO])?\s*(?P<sign>[+\-−]?)\s*(?P<deg>{NUMBER})\s*[°º˚d:\s]\s*"
    rf"(?:(?P<min>{NUMBER})\s*['’′‘:m\s]?\s*)?"
    rf"(?:(?P<sec>{NUMBER})\s*(?:\"|”|″|''|’’|s)?\s*)?(?P<last>[NSEWO])?",
    re.IGNORECASE,
)
DECIMAL = re.compile(
    rf"(?P<first>[NSEWO])?\s*(?P<sign>[+\-−]?)\s*(?P<deg>{NUMBER})\s*°?\s*"
    rf"(?P<last>[NSEWO])?",
    re.IGNORECASE,
)
POINT = re.compile(r"POINT\s*Z?M?\s*\(\s*(\S+)\s+(\S+)[^()]*\)", re.IGNORECASE)
PLUS = re.compile(r"[2-9CFGHJMPQRVWX0]{2,8}\+[2-9CFGHJMPQRVWX]{0,7}", re.IGNORECASE)


def is_plus_code(text: str) -> bool:
    """Whether a text begins with a plus code, whole or short."""
    found = PLUS.match(text.strip())
    return found is not None and (is_full(found[0]) or is_short(found[0]))


def degrees_of(text: str) -> tuple[float, str]:
    r"""
    Read one coordinate; return it and the axis that its letter names, if any.

    Examples
    --------
    >>> degrees_of("13° 31' 12\" S"), degrees_of("34,5"), degrees_of("E 34 30.6")
    ((-13.52, 'lat'), (34.5, ''), (34.51, 'lon'))

    Raises
    ------
    NumberFault
        If it is no coordinate, or minutes or seconds reach 60.
    """
    plain = latin(text).strip().replace("\xa0", " ")
    found = DECIMAL.fullmatch(plain) or DEGREES.fullmatch(plain)
    if found is None:
        message = "is not a coordinate"
        raise NumberFault(message)
    parts = found.groupdict()
    letters = {c.upper() for c in (parts["first"], parts["last"]) if c}
    if len(letters) > 1 or (letters and parts["sign"]):
        message = "names its direction twice"
        raise NumberFault(message)
    letter = next(iter(letters), "")
    if letter == "O":
        message = "has the letter O, which is west or east by language"
        raise NumberFault(message)
    deg, minutes, seconds = (
        float((parts.get(name) or "0").replace(",", "."))
        for name in ("deg", "min", "sec")
    )
    if minutes >= 60 or seconds >= 60:
        message = "has minutes or seconds of 60 or more"
        raise NumberFault(message)
    if parts.get("min") and not deg.is_integer():
        message = "has minutes behind degrees that are not whole"
        raise NumberFault(message)
    if parts.get("sec") and not minutes.is_integer():
        message = "has seconds behind minutes that are not whole"
        raise NumberFault(message)
    value = deg + minutes / 60 + seconds / 3600
    minus = letter in "SW" if letter else parts["sign"] in ("-", "−")
    axis = {"N": "lat", "S": "lat", "E": "lon", "W": "lon"}.get(letter, "")
    return round(-value if minus else value, 9), axis


def pair_of(text: str) -> tuple[float, float, str]:
    r"""
    Read a place in one cell; return two coordinates and what they are.

    Returns
    -------
    tuple
        Coordinates, and "lon lat" or "lat lon" where letters or the form say which, ""
        where both are plain numbers.

    Examples
    --------
    >>> pair_of("-13.52, 34.1"), pair_of("POINT (34.1 -13.52)")
    ((-13.52, 34.1, ''), (34.1, -13.52, 'lon lat'))
    >>> pair_of("13°31'12\"S 34°06'00\"E")
    (-13.52, 34.1, 'lat lon')

    Raises
    ------
    NumberFault
        If it is no place.
    """
    plain = latin(text).strip()
    shape = POINT.fullmatch(plain)
    if shape:
        return float(shape[1]), float(shape[2]), "lon lat"
    for one, other in _halves(plain):
        try:
            (a, first), (b, second) = degrees_of(one), degrees_of(other)
        except NumberFault:
            continue
        if first and first == second:
            message = "names the same direction twice"
            raise NumberFault(message)
        if first or second:
            lat_first = first == "lat" or second == "lon"
            return a, b, "lat lon" if lat_first else "lon lat"
        return a, b, ""
    message = "is not a place"
    raise NumberFault(message)


def _halves(text: str) -> Iterable[tuple[str, str]]:
    """Ways to part a text into two coordinates."""
    letter = re.fullmatch(r"(.*?[NSEW])[\s,;/]*(.+)", text, re.IGNORECASE)
    if letter:
        yield letter[1], letter[2]
    for sign in (";", ", ", "/", ","):
        if text.count(sign) == 1:
            one, other = text.split(sign)
            yield one, other
    words = text.replace(",", " ").split() if "." in text else text.split()
    if len(words) in (2, 3, 4) and all(
        re.fullmatch(r"[+-]?\d+(\.\d+)?", w) for w in words
    ):
        yield words[0], words[1]
    if len(words) == 2:
        yield words[0], words[1]


def plus_place(text: str, near: tuple[float, float] | None) -> tuple[float, float]:
    """
    Return longitude and latitude of the middle of a plus code.

    Parameters
    ----------
    text
        Code, with or without a town behind it.
    near
        Longitude and latitude from which a short code is meant.

    Raises
    ------
    NumberFault
        If it is none, or short and nothing says near what.
    """
    found = PLUS.match(text.strip())
    code = found[0] if found else ""
    if is_full(code):
        lon, lat = area_of(code).middle
    elif is_short(code) and near is not None:
        lon, lat = area_of(nearest_full(code, *near)).middle
    elif is_short(code):
        message = "is a short plus code, and nothing says near which place"
        raise NumberFault(message)
    else:
        message = "is not a plus code"
        raise NumberFault(message)
    return round(lon, 7), round(lat, 7)
