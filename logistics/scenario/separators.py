"""Points, commas and blanks in numbers: what they mean, and where that is open."""

import math
import re
from collections.abc import Iterable

from logistics.scenario.schema import Column, number_text

PLAIN = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
OPEN = re.compile(r"([+-]?[1-9]\d{0,2})([.,])(\d{3})")
"""One separator before exactly three figures: thousands, or decimals."""
THOUSANDS = re.compile(
    r"[+-]?[1-9]\d{0,2}(?:([,' \xa0\u202f])\d{3})(?:\1\d{3})*(\.\d+)?"
)
POINT_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}(?:\.\d{3}){2,}")
DECIMAL_COMMA = re.compile(r"[+-]?\d+(?:\.\d{3})*,\d+")
NAMES = {".": "point", ",": "comma"}
DEGREES = 180.0


def options(text: str, column: Column, sign: str) -> list[str]:
    """
    Return what a number with an open separator may mean, the likelier first.

    Parameters
    ----------
    text
        Number as typed.
    column
        Column of the cell: what lies outside its limits is not meant.
    sign
        Decimal sign of the file's other numbers; empty if they do not show one.

    Returns
    -------
    list of str
        One or two plain numbers; none if the separator is not open.

    Examples
    --------
    >>> from logistics.scenario.schema import column
    >>> options("4.200", column("sources", "amount"), ",")
    ['4200', '4.2']
    >>> options("4,200", column("trucks", "payload_t"), "")
    ['4.2']
    """
    found = OPEN.fullmatch(text)
    if found is None:
        return []
    both = [float(found[1] + found[3]), float(f"{found[1]}.{found[3]}")]
    if sign == found[2]:
        both.reverse()
    meant = [value for value in both if _fits(value, column)]
    return [number_text(value) for value in meant or both]


def _fits(value: float, column: Column) -> bool:
    """Whether a column takes a value; degrees have no limits while they are read."""
    if column.kind in {"lon", "lat"}:
        return abs(value) <= DEGREES
    if column.kind == "integer" and not value.is_integer():
        return False
    above = column.low is None or value >= column.low
    return above and (column.high is None or value <= column.high)


def choice(meant: list[str], sign: str, alone: str = "") -> str:
    """
    Return the remedy that lets the planner choose what a number means.

    Parameters
    ----------
    meant
        See `options`.
    sign
        Decimal sign of the file's other numbers; empty if they do not show one.
    alone
        Words behind the number.

    Examples
    --------
    >>> choice(["4200", "4.2"], "")
    'Write 4200 or 4.2, whichever you meant'
    """
    first, *other = meant
    if not other:
        return f"Write {first}{alone}"
    if not sign:
        return f"Write {first} or {other[0]}{alone}, whichever you meant"
    why = f"the file's other numbers have a decimal {NAMES[sign]}"
    return f"Write {first}{alone}, because {why}; if you meant {other[0]}, write that"


def separated(text: str) -> tuple[str, str]:
    """
    Return the plain number that separators stand in, and what it has; else blanks.

    Examples
    --------
    >>> separated("1.234,5"), separated("1'200")
    (('1234.5', 'a decimal comma'), ('1200', 'a thousands separator'))
    """
    if THOUSANDS.fullmatch(text):
        return re.sub(r"[,' \xa0\u202f]", "", text), "a thousands separator"
    if POINT_THOUSANDS.fullmatch(text):
        return text.replace(".", ""), "a thousands separator"
    if DECIMAL_COMMA.fullmatch(text):
        return text.replace(".", "").replace(",", "."), "a decimal comma"
    return "", ""


def with_point(text: str, meant: list[str]) -> str:
    """
    Return a number from a file with decimal commas as a plain one, if it is clear.

    Parameters
    ----------
    text
        Number as typed.
    meant
        See `options`: none if its separator is not open.

    Examples
    --------
    >>> with_point("1.234,5", []), with_point("46,054", ["46.054"]), with_point("x", [])
    ('1234.5', '46.054', 'x')
    """
    if meant:
        return meant[0]
    clear = DECIMAL_COMMA.fullmatch(text) or POINT_THOUSANDS.fullmatch(text)
    return separated(text)[0] if clear else text


def clear_number(text: str) -> float:
    """
    Return a number that can be read one way only; not a number for any other text.

    Examples
    --------
    >>> clear_number("2900,5"), clear_number("2.900"), clear_number("twelve")
    (2900.5, nan, nan)
    """
    plain = with_point(text, [])
    if OPEN.fullmatch(text) or not PLAIN.fullmatch(plain):
        return math.nan
    return float(plain)


def decimal_sign(numbers: Iterable[tuple[str, Column]]) -> str:
    """
    Return the decimal sign that most numbers of a file show; empty if none prevails.

    Parameters
    ----------
    numbers
        Numbers as typed, without units, each with its column.

    Examples
    --------
    >>> from logistics.scenario.schema import column
    >>> amount = column("sources", "amount")
    >>> decimal_sign([("3,5", amount), ("4.200", amount), ("12", amount)])
    ','
    """
    shown = [_sign_of(text, column) for text, column in numbers]
    points, commas = shown.count("."), shown.count(",")
    if points == commas:
        return ""
    return "." if points > commas else ","


def _sign_of(text: str, column: Column) -> str:
    """Return the decimal sign that one number shows; empty if it shows none."""
    found = OPEN.fullmatch(text)
    if found is not None:
        meant = options(text, column, "")
        if len(meant) > 1:
            return ""
        other = {".": ",", ",": "."}[found[2]]
        return found[2] if "." in meant[0] else other
    thousands = THOUSANDS.fullmatch(text)
    if thousands:
        return "." if thousands[1] == "," or thousands[2] else ""
    if POINT_THOUSANDS.fullmatch(text) or DECIMAL_COMMA.fullmatch(text):
        return ","
    return "." if "." in text and PLAIN.fullmatch(text) else ""
