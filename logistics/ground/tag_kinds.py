"""
What a map calls a thing, turned into our kinds of land features and ranks of places.

The rows of kinds.csv are OpenStreetMap tag practice, from memory of its wiki (pages
*Map features*, *Key:place*, *Key:waterway*, *Key:landuse*, *Key:natural*,
*Key:building*, *Key:healthcare*, *Tag:natural=coastline*). The first row that fits
decides, so what a siting rule asks for stands before what is only drawn.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from importlib import resources

RULED = (
    *("school", "clinic", "well", "protected", "water", "river", "flood"),
    *("dwellings", "coast", "place"),
)
"""Kinds that siting rules measure to; the others are drawn only."""
DRAWN = ("wood", "built", "district")
AREAS = {"water", "protected", "flood", "wood", "built", "district"}
"""Kinds whose closed lines are areas."""


@cache
def known_kinds() -> dict[tuple[str, str], tuple[str, str]]:
    """Return key and value of a tag -> kind and rank, in the order that decides."""
    text = (resources.files("logistics.ground") / "kinds.csv").read_text("utf-8")
    return {
        (row["key"], row["value"]): (row["kind"], row["rank"])
        for row in csv.DictReader(text.splitlines())
    }


@cache
def tag_keys() -> tuple[str, ...]:
    """Return the keys of tags that are looked at."""
    return tuple(dict.fromkeys(key for key, _ in known_kinds()))


def kind_of(tags: Mapping[str, str], own: Mapping[str, str]) -> tuple[str, str]:
    """
    Return the kind and rank of a feature; two blanks if it is none of ours.

    Parameters
    ----------
    tags
        Its tags.
    own
        "key=value" -> kind, of the recipe; these come first.

    Examples
    --------
    >>> kind_of({"amenity": "school", "building": "yes"}, {})
    ('school', '')
    >>> kind_of({"place": "town"}, {}), kind_of({"building": "barn"}, {})
    (('place', 'town'), ('', ''))
    >>> kind_of({"waterway": "ditch"}, {"waterway=ditch": "river"})
    ('river', '')
    """
    for key, value in tags.items():
        if f"{key}={value}" in own:
            kind = own[f"{key}={value}"]
            rank = known_kinds().get((key, value), ("", ""))[1]
            return kind, rank or ("village" if kind == "place" else "")
    for (key, value), found in known_kinds().items():
        if tags.get(key) == value:
            return found
    word = tags.get("fclass", "")
    return kind_of_word(word) if word else ("", "")


def kind_of_word(text: str) -> tuple[str, str]:
    """
    Return the kind and rank that the name of a layer or class says; blanks if none.

    Examples
    --------
    >>> kind_of_word("Schools_2026"), kind_of_word("riverbank"), kind_of_word("Layer 1")
    (('school', ''), ('water', ''), ('', ''))
    >>> kind_of_word("villages"), kind_of_word("protected areas")
    (('place', 'village'), ('protected', ''))
    """
    words = text.casefold().replace("-", "_").replace(" ", "_")
    by_value = {value: found for (_, value), found in known_kinds().items()}
    by_value |= {kind: (kind, "") for kind in (*RULED, *DRAWN) if kind != "place"}
    by_value |= WORDS
    for form in (words, *words.split("_")):
        for one in (form, form.removesuffix("s"), f"{form.removesuffix('ies')}y"):
            if one in by_value and one != "yes":
                return by_value[one]
    return "", ""


WORDS = {
    **dict.fromkeys(("home", "house", "building"), ("dwellings", "")),
    **dict.fromkeys(("lake", "pond", "reservoir"), ("water", "")),
    **dict.fromkeys(("borehole", "spring"), ("well", "")),
    "nature_reserve": ("protected", ""),
    "coastline": ("coast", ""),
    "settlement": ("place", "village"),
    "place": ("place", "village"),
}
"""Words for kinds that are no values of a tag."""
