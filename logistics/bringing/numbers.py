"""
Numbers as people type them.

What a comma and a point mean is decided for a column from all of its cells. Where no
cell shows it, it is asked: 1.200 may be 1.2 or 1200, and nobody can see which.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

GROUPS = " '’\xa0\u202f\u2009"
FIGURES = re.compile(
    rf"(?P<before>[^\d.,+\-−(~<>]*?)\s*(?P<sign>[+\-−]?)\s*"
    rf"(?P<number>\d[\d.,{GROUPS}٬٫]*\d|\d|[.,٫]\d+)(?P<power>[eE][+-]?\d+)?"
    rf"\s*(?P<after>.*)"
)
MONEY = re.compile(r"[$€£¥₦₹₱฿]|[A-Z]{2,3}\.?|Rp\.?|Rs\.?|S/\.?|Q\.?|KSh|TSh|USh")
PLAIN = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
NOTHING = {"-", "--", "---", "—", "–", "n/a", "na", "n.a.", "none", "null", "?", "tbd",
           "unknown", "n.d.", "s/d", "nd", "no data", "..", "..."}  # fmt: skip
"""Cells that say that nothing is known."""
MAKINGS = re.compile(r"\d")


class NumberFault(ValueError):
    """A cell that holds no single number."""


class Parted(NamedTuple):
    """A number cell in parts: figures with their separators, and the unit behind."""

    figures: str
    unit: str


def latin(text: str) -> str:
    """
    Write the figures of other scripts as ours; their separators say what they are.

    >>> latin("١٢٫٥"), latin("١٬٢٠٠")
    ('12.5', '1200')
    """
    if text.isascii():
        return text
    digits = "".join(
        str(unicodedata.decimal(c)) if c.isdecimal() and not c.isascii() else c
        for c in text
    )
    return digits.replace("٬", "").replace("٫", ".")


def is_nothing(text: str) -> bool:
    """Whether a cell says that nothing is known."""
    return bool(text) and not text[0].isdigit() and text.casefold() in NOTHING


@lru_cache(maxsize=300_000)
def parted(text: str) -> Parted:
    """
    Part a cell into figures and unit.

    Raises
    ------
    NumberFault
        If it is not one number.

    Examples
    --------
    >>> tuple(parted("1 200 kg")), tuple(parted("$ 1,200.50"))
    (('1 200', 'kg'), ('1,200.50', ''))
    """
    if PLAIN.fullmatch(text):
        return Parted(text, "")
    found = FIGURES.fullmatch(latin(text).strip())
    if found is None:
        raise NumberFault("is not a number" if MAKINGS.search(text) is None
                          else "is not one plain number")  # fmt: skip
    before, after = found["before"].strip(), found["after"].strip()
    if before and not MONEY.fullmatch(before):
        message = "has words before the number"
        raise NumberFault(message)
    if after and MONEY.fullmatch(after):
        after = ""
    if re.match(r"[-–/]\s*\d|to\s+\d|a\s+\d|\+|[x*]\s*\d|½|¼|¾", after):
        message = "is not one plain number"
        raise NumberFault(message)
    if after.startswith(("-", "–")):
        message = "is not one plain number"
        raise NumberFault(message)
    sign = "-" if found["sign"] in ("-", "−") else ""
    number = found["number"].rstrip(".,") if after else found["number"]
    return Parted(f"{sign}{number}{found['power'] or ''}", after)


class Shown(NamedTuple):
    """What the figures of a column show: cells for a point, for a comma, and open."""

    point: list[str]
    comma: list[str]
    open: list[str]


def _evidence(figures: str) -> str:
    """Return "." or "," if figures show their decimal sign, "?" if open, else ""."""
    if figures.isdigit():
        return ""
    bare = figures.lstrip("-").split("e")[0].split("E")[0]
    bare = re.sub(rf"[{GROUPS}]", "_", bare)
    points, commas = bare.count("."), bare.count(",")
    if points and commas:
        last = "." if bare.rindex(".") > bare.rindex(",") else ","
        return last if bare.count(last) == 1 else "!"
    if points + commas == 0:
        return ""
    sign = "." if points else ","
    other = "," if points else "."
    if points + commas > 1:
        return other
    whole, _, part = bare.partition(sign)
    if len(part) != 3 or "_" in bare or not re.fullmatch(r"[1-9]\d{0,2}", whole):
        return sign
    return "?"


def shown_signs(cells: Iterable[str]) -> Shown:
    """
    Return which figures of a column show a decimal point, a decimal comma, or neither.

    Examples
    --------
    >>> shown_signs(["1,200", "3.5", "850"])
    Shown(point=['3.5'], comma=[], open=['1,200'])
    """
    cells = list(cells)
    evidence = {figures: _evidence(figures) for figures in set(cells)}
    kinds: dict[str, list[str]] = {".": [], ",": [], "?": [], "": [], "!": []}
    for figures in cells:
        kinds[evidence[figures]].append(figures)
    return Shown(kinds["."], kinds[","], kinds["?"])


def value_of(figures: str, sign: str) -> float:
    """
    Return the number that figures are, given the decimal sign.

    Parameters
    ----------
    figures
        As in `Parted`.
    sign
        "." or ","; empty if no cell of the column needs it.

    Raises
    ------
    NumberFault
        If they do not go with the sign.

    Examples
    --------
    >>> value_of("1,200", "."), value_of("1.200", ","), value_of("1 200,5", ",")
    (1200.0, 1200.0, 1200.5)
    """
    if figures.isdigit() or (sign != "," and PLAIN.fullmatch(figures)):
        return float(figures)
    base, power = re.fullmatch(r"(.*?)([eE][+-]?\d+)?", figures).groups("")  # type: ignore[union-attr]
    base = re.sub(rf"[{GROUPS}]", " ", base).strip()
    sign = sign or "."
    other = "," if sign == "." else "."
    whole, found, part = base.partition(sign)
    groups = re.fullmatch(rf"-?(?:\d+|\d{{1,3}}(?:{re.escape(other)}\d{{3}})+"
                          rf"|\d{{1,3}}(?: \d{{3}})+|\d{{1,3}}(?:,\d{{2}})+,\d{{3}}|)",
                          whole)  # fmt: skip
    if groups is None or not re.fullmatch(r"\d*", part) or (found and not part):
        name = "point" if sign == "." else "comma"
        message = f"does not go with a decimal {name}"
        raise NumberFault(message)
    digits = re.sub(r"[^\d-]", "", whole) or "0"
    return float(f"{digits}.{part or '0'}{power}")
