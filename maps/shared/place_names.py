"""Names and colours that every output shares, so that one place has one name."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import pandas as pd

from logistics.land import no_screening, refused

if TYPE_CHECKING:
    from logistics.results import Result

COMPOST_COLOUR = "#3B2A1D"
"""Colour of compost on every map and chart."""

FEEDSTOCK_COLOURS = (
    "#B5690B",
    "#2B63C6",
    "#2A8C7C",
    "#6E1F63",
    "#B23A2E",
    "#0A4A6B",
    "#6E6A1E",
    "#80489C",
)
"""Colours of feedstocks that state none, in the order of the materials table.

Contrast with the land colour of the map is at least 3.5. The first four and
compost differ by at least 27 in CIE L*a*b* under normal, deuteranope and protanope
vision (own computation); shape and text carry the rest.
"""

_KINDS = {"source": "sources", "yard": "yards", "market": "markets"}


def names(result: Result, kind: str) -> dict[str, str]:
    """
    Name of every source, yard, market, material, period, truck or size.

    Parameters
    ----------
    result
        A planned scenario.
    kind
        One of ``source yard market material period truck size``.

    Returns
    -------
    dict
        Code -> name; the code itself where no name is given. Two of a kind with the
        same name get their code behind it, so that no table takes them for one.
    """
    tables = {
        **_KINDS,
        "material": "materials",
        "period": "periods",
        "truck": "trucks",
        "size": "yard_sizes",
    }
    table = result.scenario.tables[tables[kind]]
    found = {"compost": "Compost"} if kind == "material" else {}
    for code, name in zip(table[kind], table["name"], strict=True):
        found[str(code)] = str(name) or str(code)
    return told_apart(found)


def told_apart(lookup: dict[str, str]) -> dict[str, str]:
    """
    Put the code behind every name that more than one code bears.

    >>> told_apart({"a": "Mill", "b": "Mill", "c": "Port"})
    {'a': 'Mill (a)', 'b': 'Mill (b)', 'c': 'Port'}
    """
    often = Counter(lookup.values())
    return {
        code: f"{name} ({code})" if often[name] > 1 else name
        for code, name in lookup.items()
    }


def named(codes: pd.Series, lookup: dict[str, str]) -> pd.Series:
    """Replace codes by names; an unknown code stays as it is."""
    return codes.map(lambda code: lookup.get(str(code), str(code)))


def feedstock_name(result: Result, codes: pd.Series) -> pd.Series:
    """Name feedstocks; one with laboratory values says whose they are."""
    material, source = names(result, "material"), names(result, "source")

    def name(code: str) -> str:
        base, _, own = str(code).partition("__")
        label = material.get(base, base)
        return f"{label} (laboratory, {source.get(own, own)})" if own else label

    return codes.map(name)


def colours(result: Result) -> dict[str, str]:
    """
    Colour of every material as ``#rrggbb``, with compost's.

    A material's own colour is kept if it is written as ``#rrggbb``.
    """
    table = result.scenario.tables["materials"]
    found = {"compost": COMPOST_COLOUR}
    for order, (code, colour) in enumerate(
        zip(table["material"], table["colour"], strict=True)
    ):
        default = FEEDSTOCK_COLOURS[order % len(FEEDSTOCK_COLOURS)]
        found[str(code)] = str(colour) if is_colour(str(colour)) else default
    return found


def is_colour(text: str) -> bool:
    """
    Say whether a text is a colour written ``#rrggbb``.

    >>> is_colour("#B5690B"), is_colour("red;}"), is_colour("")
    (True, False, False)
    """
    digits = set("0123456789abcdefABCDEF")
    return len(text) == 7 and text[0] == "#" and set(text[1:]) <= digits


def period_order(result: Result) -> list[str]:
    """Codes of the periods in the order of the year."""
    return [str(code) for code in result.scenario.tables["periods"]["period"]]


def screening(result: Result) -> pd.DataFrame:
    """Rows of the land screening; none where the result has no screening."""
    found: pd.DataFrame = getattr(result, "screening", no_screening())
    return found


def given_up(result: Result) -> list[str]:
    """Codes of the existing yards that the plan, not the scenario, closes."""
    table, status = result.scenario.tables["yards"], yard_status(result)
    return [
        str(code)
        for code, built, decision in zip(
            table["yard"], table["existing_size"], table["decision"], strict=True
        )
        if str(built) and str(decision) != "closed" and status[str(code)] == "closed"
    ]


def yard_status(result: Result) -> dict[str, str]:
    """
    Status of every yard in the plan.

    Returns
    -------
    dict
        Yard -> ``open`` (to be built), ``existing`` (built already and in use),
        ``closed`` (forbidden by the scenario, or built and given up), ``refused``
        (by the land screening) or ``unused`` (a candidate the plan does not need).
    """
    out = refused(screening(result))
    table = result.scenario.tables["yards"]
    used = {str(code) for code in result.plan.yards["yard"]}
    found = {}
    for code, built, decision in zip(
        table["yard"], table["existing_size"], table["decision"], strict=True
    ):
        if str(code) in used:
            found[str(code)] = "existing" if str(built) else "open"
        elif str(decision) == "closed" or str(built):
            found[str(code)] = "closed"
        elif str(code) in out:
            found[str(code)] = "refused"
        else:
            found[str(code)] = "unused"
    return found
