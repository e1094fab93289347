"""Short names of periods, for the axis of a chart: never a word cut with dots."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence

LONGEST = 5
"""Letters a short name may have; where one needs more, all are numbered."""
WHOLE = 4
"""A name of so few letters is never cut."""
LEAST = 3


def short_names(labels: Sequence[str]) -> list[str]:
    """
    Shorten names so that they can still be told apart; numbers where that takes long.

    >>> short_names(["janvier", "février", "mai", "juin", "juillet"])
    ['jan', 'fév', 'mai', 'juin', 'juil']
    >>> short_names(["semaine 1", "semaine 12"]), short_names(["Dry season", "Wet"])
    (['1', '12'], ['Dry', 'Wet'])
    >>> short_names(["Harvest, early", "Harvest, early and late"])
    ['1', '2']
    """
    names = [" ".join(unicodedata.normalize("NFC", label).split()) for label in labels]
    own = _without_common_words(names)
    first = [name.split(" ")[0] for name in own]
    starts = [_start(name, own) for name in own]
    for found, most in ((own, WHOLE), (first, LONGEST), (starts, LONGEST)):
        apart = len(set(found)) == len(found)
        if apart and all(0 < len(each) <= most for each in found):
            return found
    return [str(number) for number in range(1, len(names) + 1)]


def first_words(labels: Sequence[str]) -> list[str]:
    """
    Give the first word of every name; nothing where two are alike.

    >>> first_words(["First quarter, rain", "Second quarter"])
    ['First', 'Second']
    >>> first_words(["week 1", "week 2"])
    []
    """
    found = [label.replace(",", " ").split()[:1] for label in labels]
    words = [word[0] for word in found if word]
    return words if len(set(words)) == len(labels) else []


def _without_common_words(names: list[str]) -> list[str]:
    """Leave out the words with which all names begin."""
    words = [name.split(" ") for name in names]
    while len(words) > 1 and min(map(len, words)) > 1:
        if len({each[0] for each in words}) > 1:
            break
        words = [each[1:] for each in words]
    return [" ".join(each) for each in words]


def _start(name: str, names: list[str]) -> str:
    """Cut a name after the letters that no other begins with, marks and letter kept."""
    if len(name) <= WHOLE:
        return name
    for end in range(LEAST, len(name)):
        if unicodedata.category(name[end]).startswith("M"):
            continue
        if sum(other.startswith(name[:end]) for other in names) == 1:
            return name[:end].strip(" ,.;:-")
    return name
