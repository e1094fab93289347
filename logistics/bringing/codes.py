"""Codes of places: made from names, unique, and the same on the next run."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection

LONGEST = 40
RESERVED = {"all", "compost", "spoils"}

NO_ACCENTS = str.maketrans("łŁøØđĐıßæÆ", "lLoOdDisaA")
"""Letters that are not a plain one with an accent."""


def code_from(name: str) -> str:
    """
    Make a code of a name; empty if it has no letter or figure that a code may have.

    Examples
    --------
    >>> code_from("Moulin de Dàô (Est)"), code_from("Łódź mill"), code_from("مطحنة")
    ('moulin_de_dao_est', 'lodz_mill', '')
    """
    plain = name.casefold()
    if not name.isascii():
        text = name.translate(NO_ACCENTS).casefold()
        plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[:LONGEST].strip("_")


def free_code(
    name: str, table: str, taken: Collection[str], last: dict[str, int] | None = None
) -> str:
    """
    Return a code for a name that no other has.

    Parameters
    ----------
    name, table, taken
        Name, our table, and the codes that are given already.
    last
        Kept between calls while codes are only added: the number behind each code.

    Examples
    --------
    >>> free_code("North mill", "sources", {"north_mill"})
    'north_mill_2'
    >>> free_code("مطحنة", "sources", {"source_1"})
    'source_2'
    """
    base = code_from(name)
    if base in RESERVED:
        base = f"my_{base}"
    numbered = not base
    base = base or table.removesuffix("s")
    last = {} if last is None else last
    number = last.get(base, 1)
    while True:
        end = f"_{number}" if number > 1 or numbered else ""
        code = f"{base[: LONGEST - len(end)]}{end}"
        if code not in taken:
            last[base] = number
            return code
        number += 1
