"""Names put into a sentence one after the other."""

from __future__ import annotations

from collections.abc import Iterable


def in_list(names: Iterable[str]) -> str:
    """
    Join names with commas; with semicolons where a name has a comma of its own.

    The comma of a number, as in 1,200 t, divides nothing.

    Examples
    --------
    >>> in_list(["North mill", "Port", "1,200 t of husk"])
    'North mill, Port, 1,200 t of husk'
    >>> in_list(["Moulin Dao, Est", "Port"])
    'Moulin Dao, Est; Port'
    """
    texts = list(names)
    return between(texts).join(texts)


def between(texts: Iterable[str]) -> str:
    """Return what stands between names in a list."""
    return "; " if any(", " in text for text in texts) else ", "
